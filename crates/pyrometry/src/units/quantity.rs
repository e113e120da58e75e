//! Electrical and thermal quantities.

use core::ops::{Add, Mul};

use super::{Millis, between, held, unit};

unit! {
    /// A thermocouple's electromotive force in millivolts, within ±1000.
    Millivolts, mv, "mV", -1000.0, 1000.0
}

unit! {
    /// The share of full power asked of a bank or zone, 0 to 1.
    Duty, ratio, "1", 0.0, 1.0
}

unit! {
    /// Power in watts, within ±1 MW.
    Watts, w, "W", -1.0e6, 1.0e6
}

unit! {
    /// Energy in joules, within ±10¹² (about 280 `MWh`).
    Joules, j, "J", -1.0e12, 1.0e12
}

unit! {
    /// Electric current in amperes, 0 to 10000.
    Amps, a, "A", 0.0, 1.0e4
}

unit! {
    /// Electric tension in volts, 0 to 10000.
    Volts, v, "V", 0.0, 1.0e4
}

unit! {
    /// Thermal conductance in watts per kelvin, 0 to 10000.
    WattsPerKelvin, w_per_k, "W/K", 0.0, 1.0e4
}

impl Duty {
    /// No heat.
    pub const OFF: Self = Self(0.0);
    /// Everything on.
    pub const FULL: Self = Self(1.0);

    /// A computed duty brought into 0 to 1; what is not a number is off.
    #[must_use]
    pub fn limited(value: f64) -> Self {
        Self(held(value, 0.0, 1.0, 0.0))
    }
}

impl Add for Watts {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(between(self.0 + other.0, Self::LEAST.0, Self::GREATEST.0))
    }
}

impl Watts {
    /// No power.
    pub const ZERO: Self = Self(0.0);
}

impl Joules {
    /// No energy.
    pub const ZERO: Self = Self(0.0);
}

impl Amps {
    /// No current.
    pub const ZERO: Self = Self(0.0);
}

impl Add for Joules {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(between(self.0 + other.0, Self::LEAST.0, Self::GREATEST.0))
    }
}

impl Mul<Millis> for Watts {
    type Output = Joules;
    fn mul(self, span: Millis) -> Joules {
        Joules(between(self.0 * span.seconds(), Joules::LEAST.0, Joules::GREATEST.0))
    }
}

impl Mul<Duty> for Watts {
    type Output = Self;
    fn mul(self, duty: Duty) -> Self {
        Self(self.0 * duty.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_duty_that_is_no_number_is_off() {
        assert_eq!(Duty::limited(f64::NAN), Duty::OFF);
        assert_eq!(Duty::limited(-0.1), Duty::OFF);
        assert_eq!(Duty::limited(1.7), Duty::FULL);
    }
}
