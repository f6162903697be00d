//! Sine, cosine and arc tangent that give the same bits on every machine: the
//! standard library's may differ between platforms.

/// Binary places of the fixed-point sines and cosines.
pub(crate) const PLACES: u32 = 60;
const ONE: i128 = 1 << PLACES;
/// pi in 60 binary places.
const PI: i128 = 3_622_009_729_038_561_421;
/// sin 45 degrees in 60 binary places.
const HALF_ROOT_TWO: i128 = 815_238_614_083_298_888;

/// Sine and cosine of an angle in hundredths of a degree (0 to 35,999) in 60
/// binary places. Exact at multiples of 90 degrees, and the sine of 30 degrees
/// is exactly a half; elsewhere within a few units of the last place.
pub(crate) fn sin_cos(hundredths: i128) -> (i128, i128) {
    let (quarter, rest) = (hundredths.div_euclid(9_000), hundredths.rem_euclid(9_000));
    let (sin, cos) = first_quarter(rest);
    match quarter.rem_euclid(4) {
        0 => (sin, cos),
        1 => (cos, -sin),
        2 => (-sin, -cos),
        _ => (-cos, sin),
    }
}

fn first_quarter(hundredths: i128) -> (i128, i128) {
    match hundredths {
        0 => (0, ONE),
        4_500 => (HALF_ROOT_TWO, HALF_ROOT_TWO),
        1..4_500 => series(hundredths),
        _ => {
            let (sin, cos) = series(9_000 - hundredths);
            (cos, sin)
        }
    }
}

/// Taylor series for angles below 45 degrees.
fn series(hundredths: i128) -> (i128, i128) {
    let x = divided(hundredths * PI, 18_000);
    let square = times(x, x);
    let (mut sin, mut cos) = (ONE, ONE);
    // Horner from the far end; x^23/23! is below 2^-80 here.
    for k in (1..=11).rev() {
        sin = ONE - divided(times(square, sin), 2 * k * (2 * k + 1));
        cos = ONE - divided(times(square, cos), 2 * k * (2 * k - 1));
    }
    let sin = if hundredths == 3_000 { ONE / 2 } else { times(x, sin) };
    (sin, cos)
}

/// Product of two numbers in 60 places, rounded to nearest.
pub(crate) fn times(left: i128, right: i128) -> i128 {
    (left * right + ONE / 2) >> PLACES
}

fn divided(number: i128, by: i128) -> i128 {
    (number + by / 2).div_euclid(by)
}

/// Sine and cosine as floats, from the fixed-point ones.
pub(crate) fn sin_cos_float(hundredths: i128) -> (f64, f64) {
    let (sin, cos) = sin_cos(hundredths);
    (sin as f64 / ONE as f64, cos as f64 / ONE as f64)
}

/// Arc tangent of a number not below zero, from halved angles and a series.
pub(crate) fn atan(tangent: f64) -> f64 {
    let mut t = tangent;
    let mut doublings = 1.0;
    while t > 0.0625 {
        t /= 1.0 + (1.0 + t * t).sqrt();
        doublings *= 2.0;
    }
    let square = t * t;
    let mut sum = 0.0;
    for k in (0..8_i32).rev() {
        sum = 1.0 / f64::from(2 * k + 1) - square * sum;
    }
    doublings * t * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An angle near 2 pi is itself rounded by up to 1e-15 on its way into the
    /// standard library's functions, so no closer agreement can be asked.
    #[test]
    fn sines_agree_with_the_standard_library() {
        for hundredths in 0..36_000_i32 {
            let radians = f64::from(hundredths) * std::f64::consts::PI / 18_000.0;
            let (sin, cos) = sin_cos_float(i128::from(hundredths));
            assert!((sin - radians.sin()).abs() < 3e-15, "sin {hundredths}");
            assert!((cos - radians.cos()).abs() < 3e-15, "cos {hundredths}");
        }
    }

    #[test]
    fn right_angles_and_halves_are_exact() {
        assert_eq!(sin_cos(0), (0, ONE));
        assert_eq!(sin_cos(9_000), (ONE, 0));
        assert_eq!(sin_cos(18_000), (0, -ONE));
        assert_eq!(sin_cos(27_000), (-ONE, 0));
        assert_eq!(sin_cos(3_000).0, ONE / 2);
        let (sin, cos) = sin_cos(4_500);
        assert_eq!(sin, cos);
    }

    #[test]
    fn squares_add_up_to_one() {
        for hundredths in 0..9_000 {
            let (sin, cos) = sin_cos(hundredths);
            let error = sin * sin + cos * cos - ONE * ONE;
            assert!(error.abs() < 16 * ONE, "{hundredths}: {error}");
        }
    }

    #[test]
    fn arc_tangent_agrees_with_the_standard_library() {
        for tangent in [0.0, 1e-9, 0.05, 0.0625, 0.3, 1.0, 2.5, 80.0, 1e9] {
            assert!((atan(tangent) - tangent.atan()).abs() < 1e-14, "{tangent}");
        }
    }
}
