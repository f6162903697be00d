//! One line of the log: length, checksum, payload, newline. A line is told whole from its own bytes alone, so damage to
//! one says nothing about its neighbours.

use std::ops::Range;

use sha2::{Digest, Sha256};

/// Hexadecimal digits of the checksum: the first half of a SHA-256.
const DIGITS: usize = 16;
/// Most digits of a length.
const MOST_DIGITS: usize = 8;

fn checksum(payload: &[u8]) -> String {
    use std::fmt::Write as _;
    Sha256::digest(payload).iter().take(DIGITS / 2).fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// A payload, JSON on one line, as a line of the log.
pub(crate) fn encode(payload: &str) -> String {
    format!("{} {} {payload}\n", payload.len(), checksum(payload.as_bytes()))
}

/// What the bytes of a log hold.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Scan<'b> {
    /// Whole payloads, in order.
    pub(crate) payloads: Vec<&'b str>,
    /// Bytes between or after whole lines that belong to none.
    pub(crate) damaged: Vec<Range<usize>>,
    /// Bytes after the last newline that make no whole line: an append that never came to its end.
    pub(crate) torn: Option<Range<usize>>,
    /// End of the last whole line.
    pub(crate) end: usize,
}

/// Finds every whole line, wherever it begins.
pub(crate) fn scan(bytes: &[u8]) -> Scan<'_> {
    let mut scan = Scan::default();
    let (mut at, mut bad) = (0, None);
    while at < bytes.len() {
        match payload(&bytes[at..]) {
            Some((payload, length)) => {
                if let Some(from) = bad.take() {
                    scan.damaged.push(from..at);
                }
                scan.payloads.push(payload);
                at += length;
                at += usize::from(bytes.get(at) == Some(&b'\n'));
                scan.end = at;
            }
            None => {
                bad.get_or_insert(at);
                at += 1;
            }
        }
    }
    if let Some(from) = bad {
        // Whatever ends in a newline was written whole once.
        let torn = bytes[from..].iter().rposition(|byte| *byte == b'\n').map_or(from, |last| from + last + 1);
        if torn > from {
            scan.damaged.push(from..torn);
        }
        if torn < bytes.len() {
            scan.torn = Some(torn..bytes.len());
        }
    }
    scan
}

/// The payload of a line that begins here, and the length of the line without its newline.
fn payload(bytes: &[u8]) -> Option<(&str, usize)> {
    let digits = bytes.iter().take(MOST_DIGITS + 1).position(|byte| !byte.is_ascii_digit())?;
    let length: usize = std::str::from_utf8(bytes.get(..digits)?).ok()?.parse().ok()?;
    let from = digits + DIGITS + 2;
    let payload = bytes.get(from..from.checked_add(length)?)?;
    let framed = bytes[digits] == b' ' && bytes[from - 1] == b' ' && payload.first() == Some(&b'{');
    let sum = bytes.get(digits + 1..from - 1)?;
    let whole = framed && sum == checksum(payload).as_bytes();
    whole.then(|| std::str::from_utf8(payload).ok()).flatten().map(|payload| (payload, from + length))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn log(count: usize) -> (Vec<String>, Vec<u8>) {
        let payloads: Vec<String> = (0..count).map(|at| format!("{{\"n\":{at},\"ü\":\"§ 7\"}}")).collect();
        let bytes = payloads.iter().map(|payload| encode(payload)).collect::<String>().into_bytes();
        (payloads, bytes)
    }

    #[test]
    fn the_checksum_is_sha_256() {
        // SHA-256 of "abc" begins with ba7816bf 8f01cfea (FIPS 180-2, appendix B.1).
        assert_eq!(checksum(b"abc"), "ba7816bf8f01cfea");
    }

    #[test]
    fn cut_off_anywhere_the_lines_before_are_read() {
        let (payloads, bytes) = log(4);
        let last = bytes.len() - encode(&payloads[3]).len();
        for end in last..=bytes.len() {
            let scan = scan(&bytes[..end]);
            let whole = if end + 1 >= bytes.len() { 4 } else { 3 };
            assert_eq!(scan.payloads, payloads[..whole], "{end}");
            assert!(scan.damaged.is_empty(), "{end}");
            let torn = (whole == 3 && end > last).then_some(last..end);
            assert_eq!(scan.torn, torn, "{end}");
        }
    }

    #[test]
    fn a_changed_byte_costs_no_more_than_its_own_line() {
        let (payloads, bytes) = log(3);
        let ends: Vec<usize> =
            bytes.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(at, _)| at).collect();
        for at in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[at] ^= 0x11;
            let line = ends.iter().filter(|end| **end < at).count();
            let scan = scan(&changed);
            // A newline is nobody's content: without it both neighbours are still read.
            let lost = !ends.contains(&at);
            let left: Vec<&String> = payloads
                .iter()
                .enumerate()
                .filter(|(own, _)| !lost || *own != line)
                .map(|(_, p)| p)
                .collect();
            assert_eq!(scan.payloads, left, "{at}");
            assert!(!scan.damaged.is_empty() || scan.torn.is_some(), "{at}");
        }
    }

    proptest! {
        #[test]
        fn nothing_makes_the_reader_fail(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            let scan = scan(&bytes);
            let told: usize = scan.damaged.iter().chain(&scan.torn).map(Range::len).sum();
            prop_assert!(told <= bytes.len());
            prop_assert!(scan.payloads.is_empty() || told < bytes.len());
        }

        #[test]
        fn rubbish_between_lines_costs_no_line(
            rubbish in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 0..40), 4),
        ) {
            let (payloads, _) = log(3);
            let mut bytes = rubbish[0].clone();
            for (payload, more) in payloads.iter().zip(&rubbish[1..]) {
                // A digit just before a line would belong to its length.
                bytes.push(b'\n');
                bytes.extend(encode(payload).as_bytes());
                bytes.extend(more);
            }
            prop_assert_eq!(scan(&bytes).payloads, payloads);
        }
    }
}
