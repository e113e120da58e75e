//! Comparisons that say what they do with NaN, and the one place where floats become integers.
//!
//! `f64::min`, `max` and `clamp` drop a NaN silently, which would let a missing number pass for
//! a safe one; the control path uses these instead.

/// The lesser of two numbers. A NaN on either side is returned, so it cannot hide.
#[must_use]
pub fn lesser(a: f64, b: f64) -> f64 {
    if a.is_nan() || a < b { a } else { b }
}

/// The greater of two numbers. A NaN on either side is returned, so it cannot hide.
#[must_use]
pub fn greater(a: f64, b: f64) -> f64 {
    if a.is_nan() || a > b { a } else { b }
}

/// `value` brought between `low` and `high`; a NaN stays a NaN.
#[must_use]
pub fn between(value: f64, low: f64, high: f64) -> f64 {
    if value < low {
        low
    } else if value > high {
        high
    } else {
        value
    }
}

/// The nearest whole number of steps, as an amplifier's register would count them.
///
/// Halves round away from zero; NaN gives zero and numbers beyond `i32` its nearest end.
#[must_use]
#[allow(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "`as` saturates and maps NaN to zero, as documented"
)]
pub fn whole_steps(value: f64) -> i32 {
    libm::round(value) as i32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_number_stays_missing() {
        assert!(lesser(f64::NAN, 1.0).is_nan() && lesser(1.0, f64::NAN).is_nan());
        assert!(greater(f64::NAN, 1.0).is_nan() && greater(1.0, f64::NAN).is_nan());
        assert!(between(f64::NAN, 0.0, 1.0).is_nan());
    }

    #[test]
    fn whole_steps_round_halves_away_from_zero_and_saturate() {
        assert_eq!(whole_steps(2.5), 3);
        assert_eq!(whole_steps(-2.5), -3);
        assert_eq!(whole_steps(f64::NAN), 0);
        assert_eq!(whole_steps(1e12), i32::MAX);
    }
}
