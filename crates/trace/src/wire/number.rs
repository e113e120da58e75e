//! Numbers that come back with the same bits.

use std::fmt;

use pyrometry::units::{Amps, Celsius, CelsiusDelta, CelsiusPerHour, Duty, Joules, Millivolts, Watts};
use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A unit that can travel as a JSON number.
pub trait Quantity: Copy {
    /// What it is, for messages.
    const WHAT: &'static str;
    /// Checks the range.
    fn checked(number: f64) -> Option<Self>;
    /// The bare number.
    fn number(self) -> f64;
}

macro_rules! quantities {
    ($($unit:ident $accessor:ident $what:literal),* $(,)?) => {$(
        impl Quantity for $unit {
            const WHAT: &'static str = $what;
            fn checked(number: f64) -> Option<Self> {
                Self::new(number)
            }
            fn number(self) -> f64 {
                self.$accessor()
            }
        }
    )*};
}
quantities! {
    Amps a "a current in A",
    Celsius c "a temperature in °C",
    CelsiusDelta c "a temperature difference in °C",
    CelsiusPerHour c_per_h "a rate in °C/h",
    Duty ratio "a duty",
    Millivolts mv "an emf in mV",
    Watts w "a power in W",
    Joules j "an energy in J",
}

/// A unit's number: printed with as few digits as give the same bits back, range-checked when read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exact<T>(pub T);

impl<T: Quantity> Serialize for Exact<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.0.number())
    }
}

impl<'de, T: Quantity> Deserialize<'de> for Exact<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let number = f64::deserialize(deserializer)?;
        let refusal = || D::Error::custom(format_args!("{number} is outside the range of {}", T::WHAT));
        T::checked(number).map(Self).ok_or_else(refusal)
    }
}

/// Any number, also one that JSON has no digits for: those travel as words.
///
/// All NaN are one: a trace does not keep their bits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number(pub f64);

const NOT_A_NUMBER: &str = "not-a-number";
const ABOVE_ALL: &str = "infinite";
const BELOW_ALL: &str = "minus-infinite";

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.is_nan() {
            serializer.serialize_str(NOT_A_NUMBER)
        } else if self.0 == f64::INFINITY {
            serializer.serialize_str(ABOVE_ALL)
        } else if self.0 == f64::NEG_INFINITY {
            serializer.serialize_str(BELOW_ALL)
        } else {
            serializer.serialize_f64(self.0)
        }
    }
}

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NumberVisitor)
    }
}

struct NumberVisitor;

impl Visitor<'_> for NumberVisitor {
    type Value = Number;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a number, \"{NOT_A_NUMBER}\", \"{ABOVE_ALL}\" or \"{BELOW_ALL}\"")
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Number, E> {
        Ok(Number(number))
    }

    #[allow(clippy::cast_precision_loss, reason = "serde's own reading of an integer as f64 rounds the same")]
    fn visit_u64<E: Error>(self, number: u64) -> Result<Number, E> {
        Ok(Number(number as f64))
    }

    #[allow(clippy::cast_precision_loss, reason = "serde's own reading of an integer as f64 rounds the same")]
    fn visit_i64<E: Error>(self, number: i64) -> Result<Number, E> {
        Ok(Number(number as f64))
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<Number, E> {
        match word {
            NOT_A_NUMBER => Ok(Number(f64::NAN)),
            ABOVE_ALL => Ok(Number(f64::INFINITY)),
            BELOW_ALL => Ok(Number(f64::NEG_INFINITY)),
            other => Err(E::invalid_value(serde::de::Unexpected::Str(other), &self)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_temperature_outside_its_range_is_refused_by_name() {
        let refusal = serde_json::from_str::<Exact<Celsius>>("4000.5").expect_err("hotter than any kiln");
        assert!(refusal.to_string().contains("a temperature in °C"), "{refusal}");
    }

    #[test]
    fn numbers_without_digits_travel_as_words() {
        for number in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -0.0, 0.1, 5e-324, f64::MAX] {
            let text = serde_json::to_string(&Number(number)).expect("serialises");
            let back: Number = serde_json::from_str(&text).expect("parses");
            assert_eq!(back.0.to_bits(), number.to_bits(), "{text}");
        }
    }
}
