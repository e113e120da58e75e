//! Numbers that know their unit.
//!
//! Every type holds one private, finite number inside a stated range, so no NaN and no infinity
//! can travel between parts of the program. Only physically meaningful operators exist: two
//! temperatures subtract to a difference, a temperature plus a difference is a temperature.

mod number;
mod quantity;
mod temperature;
mod time;

pub use number::{between, greater, lesser, whole_steps};
pub use quantity::{Amps, Duty, Joules, Millivolts, Volts, Watts, WattsPerKelvin};
pub use temperature::{Celsius, CelsiusDelta, CelsiusPerHour};
pub use time::Millis;

/// Builds a unit's constant from a literal, checked while compiling.
///
/// `constant!(Celsius, 25.0)` does not compile when the number is outside the unit's range.
#[macro_export]
macro_rules! constant {
    ($unit:ty, $value:expr) => {{
        #[allow(clippy::panic, reason = "evaluated while compiling, never in the program")]
        const CHECKED: $unit = match <$unit>::new($value) {
            Some(checked) => checked,
            None => panic!("constant outside its unit's range"),
        };
        CHECKED
    }};
}

/// Defines a unit: a private `f64`, its range, its checked constructor and its accessor.
macro_rules! unit {
    ($(#[$doc:meta])* $name:ident, $accessor:ident, $unit:literal, $low:expr, $high:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("The least value that can be held, in ", $unit, ".")]
            pub const LEAST: Self = Self($low);
            #[doc = concat!("The greatest value that can be held, in ", $unit, ".")]
            pub const GREATEST: Self = Self($high);

            #[doc = concat!("A checked value in ", $unit, "; `None` outside the range, and for NaN.")]
            #[must_use]
            pub const fn new(value: f64) -> Option<Self> {
                if value >= $low && value <= $high { Some(Self(value)) } else { None }
            }

            #[doc = concat!("The number, in ", $unit, ".")]
            #[must_use]
            pub const fn $accessor(self) -> f64 {
                self.0
            }
        }

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                core::fmt::Display::fmt(&self.0, f)
            }
        }
    };
}
pub(crate) use unit;

/// Brings a computed number into a unit's range; what is not a number becomes the fallback.
pub(crate) fn held(value: f64, low: f64, high: f64, fallback: f64) -> f64 {
    if value.is_nan() { fallback } else { between(value, low, high) }
}
