#!/usr/bin/env python3
"""Every package that is built must offer a licence from the list below, itself or as one of its choices.

Works offline from `cargo metadata`. Licence expressions follow SPDX: OR offers a choice, AND asks for all.
The reading of expressions is tried first, on examples.
"""

import json
import re
import subprocess
import sys

PERMISSIVE = {
    "0BSD", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0",
    "CC0-1.0", "ISC", "MIT", "MIT-0", "Unicode-3.0", "Unlicense", "Zlib",
}


def permitted(expression):
    """Whether an SPDX expression can be met with licences of the list. AND binds closer than OR."""
    words = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))
    answer, rest = either(words)
    return answer and not rest


def either(words):
    answer, words = both(words)
    while words and words[0] == "OR":
        other, words = both(words[1:])
        answer = answer or other
    return answer, words


def both(words):
    answer, words = one(words)
    while words and words[0] == "AND":
        other, words = one(words[1:])
        answer = answer and other
    return answer, words


def one(words):
    if not words:
        return False, words
    if words[0] == "(":
        answer, words = either(words[1:])
        return answer and words[:1] == [")"], words[1:]
    if words[1:2] == ["WITH"]:
        return " ".join(words[:3]) in PERMISSIVE, words[3:]
    return words[0] in PERMISSIVE, words[1:]


def test():
    for expression in ("MIT", "MIT OR GPL-3.0", "MIT/Apache-2.0", "(MIT OR GPL-2.0) AND Unicode-3.0",
                       "Apache-2.0 WITH LLVM-exception OR MPL-2.0"):
        assert permitted(expression), expression
    for expression in ("", "GPL-3.0", "MIT AND GPL-3.0", "GPL-3.0 OR MPL-2.0", "(MIT", "MIT MIT",
                       "Apache-2.0 WITH other"):
        assert not permitted(expression), expression


def main():
    test()
    told = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked"], check=True, stdout=subprocess.PIPE)
    packages = json.loads(told.stdout)["packages"]
    refused = [f"{p['name']} {p['version']}: {p['license']}" for p in packages if not permitted(p["license"] or "")]
    print(f"{len(packages)} packages, {len(refused)} without a permissive licence")
    print("\n".join(refused))
    return 1 if refused else 0


if __name__ == "__main__":
    sys.exit(main())
