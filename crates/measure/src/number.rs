//! Decimal texts to exact integers, with firm limits so that hundreds of
//! digits are an error and never an overflow; and serde through decimal text
//! for integers that JSON numbers cannot carry.

/// Most digits accepted before the decimal point.
const WHOLE_DIGITS: usize = 12;
/// Most digits accepted after the decimal point.
const DECIMALS: usize = 9;

/// A plain unsigned decimal such as `12`, `12.95` or `.5`, as an exact
/// fraction (numerator, denominator a power of ten). `None` for anything else,
/// exponents and signs included.
pub(crate) fn decimal(text: &str) -> Option<(i128, i128)> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |piece: &str| piece.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(whole) || !digits(part) || (whole.is_empty() && part.is_empty()) {
        return None;
    }
    let whole = whole.trim_start_matches('0');
    let part = part.trim_end_matches('0');
    if whole.len() > WHOLE_DIGITS || part.len() > DECIMALS {
        return None;
    }
    let mut numerator: i128 = 0;
    for digit in whole.bytes().chain(part.bytes()) {
        numerator = numerator * 10 + i128::from(digit - b'0');
    }
    let denominator = (0..part.len()).fold(1_i128, |power, _| power * 10);
    Some((numerator, denominator))
}

/// Whether the text has the form of a decimal, whatever its size.
pub(crate) fn looks_decimal(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
        && text.bytes().filter(|byte| *byte == b'.').count() <= 1
        && text.bytes().any(|byte| byte.is_ascii_digit())
}

/// `text` cut to a length that is safe to repeat in a message.
pub(crate) fn excerpt(text: &str) -> String {
    const KEPT: usize = 40;
    if text.chars().count() <= KEPT {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(KEPT).collect();
    short.push('…');
    short
}

/// `numerator / denominator` rounded half up (away from zero for negatives)
/// and printed with `decimals` digits after the point. The denominator must be
/// above zero.
pub(crate) fn rounded(numerator: i128, denominator: i128, decimals: u32) -> String {
    let power = 10_i128.pow(decimals);
    let sign = if numerator < 0 { "-" } else { "" };
    let size = numerator.unsigned_abs();
    let (power_u, denominator) = (power.unsigned_abs(), denominator.unsigned_abs());
    let whole = size / denominator;
    let rest = size % denominator;
    // Work on the remainder alone: it is small, so the product cannot overflow.
    let scaled = (rest * power_u * 2 + denominator) / (denominator * 2);
    let (whole, scaled) = if scaled == power_u { (whole + 1, 0) } else { (whole, scaled) };
    let sign = if whole == 0 && scaled == 0 { "" } else { sign };
    if decimals == 0 {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{scaled:0width$}", width = decimals as usize)
    }
}

/// Serde for an `i128` as decimal text.
pub(crate) mod as_text {
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serializer};

    pub(crate) fn serialize<S: Serializer>(units: &i128, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(&units.to_string())
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(input: D) -> Result<i128, D::Error> {
        let text = String::deserialize(input)?;
        let units: i128 = text
            .parse()
            .map_err(|_| D::Error::custom(format!("`{}` is not a whole number", super::excerpt(&text))))?;
        // One value, one text: a plan that says "007" was edited by hand.
        if units.to_string() == text {
            Ok(units)
        } else {
            Err(D::Error::custom(format!("`{}` is not written plainly", super::excerpt(&text))))
        }
    }
}
