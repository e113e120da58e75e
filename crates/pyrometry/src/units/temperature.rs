//! Temperatures, differences between them, and rates.

use core::ops::{Add, AddAssign, Mul, Neg, Sub};

use super::{Millis, held, unit};

const ABSOLUTE_ZERO_C: f64 = -273.15; // SI Brochure, 9th edition, 2.3.1: t/°C = T/K − 273.15
const HOTTEST_C: f64 = 3000.0; // above any thermocouple, furnace element or refractory of this trade
const WIDEST_DELTA_C: f64 = HOTTEST_C - ABSOLUTE_ZERO_C;

unit! {
    /// A temperature in degrees Celsius, from absolute zero to 3000.
    Celsius, c, "°C", ABSOLUTE_ZERO_C, HOTTEST_C
}

unit! {
    /// A difference of two temperatures, in degrees Celsius (kelvin), within ±3273.15.
    CelsiusDelta, c, "°C", -WIDEST_DELTA_C, WIDEST_DELTA_C
}

unit! {
    /// A rate of temperature change in degrees Celsius per hour, within ±100000; negative cools.
    CelsiusPerHour, c_per_h, "°C/h", -1.0e5, 1.0e5
}

impl Celsius {
    /// Absolute temperature in kelvin.
    #[must_use]
    pub fn kelvin(self) -> f64 {
        self.0 - ABSOLUTE_ZERO_C
    }

    /// In degrees Fahrenheit: t/°F = 1.8 t/°C + 32.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }

    /// From degrees Fahrenheit; `None` outside the range, and for NaN.
    #[must_use]
    pub fn from_fahrenheit(fahrenheit: f64) -> Option<Self> {
        Self::new((fahrenheit - 32.0) / 1.8)
    }

    /// The hotter of two.
    #[must_use]
    pub fn hotter(self, other: Self) -> Self {
        if other.0 > self.0 { other } else { self }
    }

    /// The colder of two.
    #[must_use]
    pub fn colder(self, other: Self) -> Self {
        if other.0 < self.0 { other } else { self }
    }
}

impl CelsiusDelta {
    /// No difference.
    pub const ZERO: Self = Self(0.0);

    /// Without its sign.
    #[must_use]
    pub fn magnitude(self) -> Self {
        Self(self.0.abs())
    }
}

impl CelsiusPerHour {
    /// In degrees per second.
    #[must_use]
    pub fn c_per_s(self) -> f64 {
        self.0 / 3600.0
    }

    /// The change this rate makes in a span of time.
    #[must_use]
    pub fn over(self, span: Millis) -> CelsiusDelta {
        CelsiusDelta(held(self.c_per_s() * span.seconds(), -WIDEST_DELTA_C, WIDEST_DELTA_C, 0.0))
    }
}

impl Sub for Celsius {
    type Output = CelsiusDelta;
    fn sub(self, other: Self) -> CelsiusDelta {
        CelsiusDelta(self.0 - other.0)
    }
}

impl Add<CelsiusDelta> for Celsius {
    type Output = Self;
    /// A sum beyond the range stays at the range's end.
    fn add(self, delta: CelsiusDelta) -> Self {
        Self(held(self.0 + delta.0, ABSOLUTE_ZERO_C, HOTTEST_C, HOTTEST_C))
    }
}

impl AddAssign<CelsiusDelta> for Celsius {
    fn add_assign(&mut self, delta: CelsiusDelta) {
        *self = *self + delta;
    }
}

impl Sub<CelsiusDelta> for Celsius {
    type Output = Self;
    fn sub(self, delta: CelsiusDelta) -> Self {
        self + -delta
    }
}

impl Neg for CelsiusDelta {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Add for CelsiusDelta {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(held(self.0 + other.0, -WIDEST_DELTA_C, WIDEST_DELTA_C, 0.0))
    }
}

impl Mul<f64> for CelsiusDelta {
    type Output = Self;
    /// Scaled; a factor that is no number gives no difference.
    fn mul(self, factor: f64) -> Self {
        Self(held(self.0 * factor, -WIDEST_DELTA_C, WIDEST_DELTA_C, 0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constant;

    #[test]
    fn no_value_outside_the_range_and_no_nan_is_held() {
        assert_eq!(Celsius::new(f64::NAN), None);
        assert_eq!(Celsius::new(-273.16), None);
        assert!(Celsius::new(-273.15).is_some());
        assert_eq!(CelsiusPerHour::new(f64::INFINITY), None);
    }

    #[test]
    fn fahrenheit_goes_both_ways() {
        assert_eq!(constant!(Celsius, 100.0).fahrenheit(), 212.0);
        assert_eq!(Celsius::from_fahrenheit(2232.0).map(Celsius::c), Some(1222.2222222222222));
    }

    #[test]
    fn a_rate_over_a_time_is_a_difference() {
        assert_eq!(constant!(CelsiusPerHour, 150.0).over(Millis::from_minutes(30)).c(), 75.0);
    }
}
