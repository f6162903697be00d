"""Time to proof of the families of made-up cases: the program's own search against general-purpose solvers.

The cases come from `patchlay-benches families write`. HiGHS and OR-Tools CP-SAT solve the plain compact integer program
of `model.program`, one thread each. All are measured in one run on one machine, in seconds of the processor, which other
work on the machine disturbs less than the clock; limits are by the clock. Only ratios mean something. Where two of them
prove a value it must be the same.

    families.py bed --seconds 60 --times 5
    families.py guild --seconds 40
    families.py startup --times 11

`startup` measures the whole process of `patchlay plan` on the smallest scenario instead. The programs are looked for in
PATCHLAY_RELEASE, else in target/release.
"""

import argparse
import csv
import json
import os
from pathlib import Path
import resource
from statistics import median
import subprocess
import tempfile
from time import monotonic, process_time

from harness import RELEASE, SCENARIOS, program
from model import constraint
from model.cases import job_of_case
from model.lengths import INCH
from model.program import Program

BENCHES = RELEASE / "patchlay-benches"


class Result:
    """What a solver reached: value (inches, None if it found nothing), bound, seconds of the processor."""

    def __init__(self, value, bound, seconds):
        self.value, self.bound, self.seconds = value, bound, seconds
        self.proved = value is not None and abs(value - bound) < 1e-6

    def __str__(self):
        if self.proved:
            return f"proved in {self.seconds:.3g} s"
        if self.value is None:
            return f"nothing in {self.seconds:.3g} s"
        return f"gap {100 * (self.value - self.bound) / self.value:.2f} % at {self.seconds:.3g} s"


def ours(family, name, seconds, times):
    """The program's own search; the run of median time of several where one takes less than a second."""

    def run():
        before = children()
        done = subprocess.run(
            [BENCHES, "families", family, "--only", name, "--seconds", str(seconds)],
            capture_output=True, text=True, check=True, env={**os.environ, "RAYON_NUM_THREADS": "1"})
        row = next(row for row in csv.DictReader(done.stdout.splitlines()) if row["name"] == name)
        return Result(float(row["value"]), float(row["bound"]), children() - before)

    runs = [run()]
    if runs[0].seconds < 1:
        runs += [run() for _ in range(times - 1)]
    return sorted(runs, key=lambda found: found.seconds)[len(runs) // 2], len(runs)


def children():
    """Seconds of the processor that finished child processes took so far."""
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


def highs(job, seconds):
    """The compact integer program with HiGHS; its time includes building it."""
    begun = process_time()
    stage = Program(job, threads=1).solve("weighted", seconds)
    return result(stage.value, stage.bound, process_time() - begun)


def cp_sat(job, seconds):
    """The same program with CP-SAT. No count is ever larger than all patches together."""
    begun = process_time()
    value, bound = constraint.solve(Program(job, threads=1), "weighted", sum(job.demand.values()), seconds)
    return result(value, bound, process_time() - begun)


def result(value, bound, seconds):
    """Inches from units."""
    return Result(None if value is None else float(value / INCH), float(bound / INCH), seconds)


def agree(name, results):
    """Values that are proved are the same, and no bound is above a value that another reached."""
    values = [found.value for found in results if found.value is not None]
    for found in results:
        assert found.bound <= min(values) + 1e-6, f"{name}: a bound of {found.bound} above {min(values)}"
    proved = {found.value for found in results if found.proved}
    assert len(proved) <= 1, f"{name}: proved {sorted(proved)}"


def ratio(other, own):
    """How many times as long another solver took; at least so many where it did not finish."""
    if not own.proved:
        return "ours not proved"
    sign = "" if other.proved else "> "
    return f"{sign}{other.seconds / own.seconds:.3g}"


def startup(times):
    """Prints the median time of planning the smallest scenario, from the start of the process to its end."""
    seconds = []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(times):
            begun = monotonic()
            done = program("plan", SCENARIOS / "smallest.json", "--out", Path(folder) / "out")
            seconds.append(monotonic() - begun)
            assert done.returncode == 0, done.stderr
    print(f"plan smallest.json: median {1000 * median(seconds):.0f} ms, least {1000 * min(seconds):.0f} ms "
          f"of {times} runs")


def main():
    """Reads the options and measures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("family", choices=["bed", "guild", "growth", "startup"])
    parser.add_argument("--seconds", type=float, default=60.0, help="most seconds of each solver and case")
    parser.add_argument("--times", type=int, default=5, help="runs of ours where one is below a second")
    parser.add_argument("--only", default="", help="only cases whose name contains this text")
    options = parser.parse_args()
    if options.family == "startup":
        startup(options.times)
        return
    compare(options)


def compare(options):
    """Prints a table of a family's cases."""
    print("| case | value | ours | runs | HiGHS | CP-SAT | HiGHS / ours | CP-SAT / ours |")
    print("|---|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([BENCHES, "families", "write", folder, options.family], check=True)
        for path in sorted(path for path in Path(folder).glob("*.json") if options.only in path.stem):
            job = job_of_case(json.loads(path.read_text(encoding="utf-8")))
            own, runs = ours(options.family, path.stem, options.seconds, options.times)
            others = [highs(job, options.seconds), cp_sat(job, options.seconds)]
            agree(path.stem, [own, *others])
            cells = [path.stem, f"{own.value:g}", own, runs, *others, *(ratio(other, own) for other in others)]
            print("| " + " | ".join(map(str, cells)) + " |", flush=True)


if __name__ == "__main__":
    main()
