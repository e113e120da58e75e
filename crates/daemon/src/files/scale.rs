//! The scale a file is written in, Celsius or Fahrenheit, and every conversion from and to it.

use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour};

use super::words::words;

words! {
    /// The scale of every temperature, difference and rate in one file.
    pub enum Scale, "scale", "the scale of every temperature and rate in this file" {
        /// Degrees Celsius.
        Celsius = "C",
        /// Degrees Fahrenheit.
        Fahrenheit = "F",
    }
}

impl Scale {
    /// A temperature written in this scale; `None` when no kiln part could have it.
    #[must_use]
    pub fn temperature(self, written: f64) -> Option<Celsius> {
        match self {
            Self::Celsius => Celsius::new(written),
            Self::Fahrenheit => Celsius::from_fahrenheit(written),
        }
    }

    /// A difference written in this scale.
    #[must_use]
    pub fn difference(self, written: f64) -> Option<CelsiusDelta> {
        CelsiusDelta::new(written / self.degrees_per_c())
    }

    /// A rate written in this scale, in degrees an hour.
    #[must_use]
    pub fn rate(self, written: f64) -> Option<CelsiusPerHour> {
        CelsiusPerHour::new(written / self.degrees_per_c())
    }

    /// The number to write for a temperature.
    #[must_use]
    pub fn write(self, temperature: Celsius) -> f64 {
        match self {
            Self::Celsius => temperature.c(),
            Self::Fahrenheit => temperature.fahrenheit(),
        }
    }

    /// The number to write for a rate.
    #[must_use]
    pub fn write_rate(self, rate: CelsiusPerHour) -> f64 {
        rate.c_per_h() * self.degrees_per_c()
    }

    /// A temperature as a person reads it: whole degrees and the scale.
    #[must_use]
    pub fn say(self, temperature: Celsius) -> String {
        format!("{} °{}", whole(self.write(temperature)), self.name())
    }

    /// A difference as a person reads it, to the tenth.
    #[must_use]
    pub fn say_difference(self, difference: CelsiusDelta) -> String {
        // Adding zero makes a plain one of a negative.
        let tenths = (difference.c() * self.degrees_per_c() * 10.0).round() / 10.0 + 0.0;
        format!("{tenths:.1} °{}", self.name())
    }

    /// What to add to an error about a temperature too hot in °C that would do in °F.
    pub(super) fn hint(self, written: f64, hottest: Celsius) -> &'static str {
        let meant = Celsius::from_fahrenheit(written).filter(|meant| *meant <= hottest);
        match self {
            Self::Celsius if written > hottest.c() && meant.is_some() => {
                "; if your numbers are in °F, write scale = \"F\""
            }
            Self::Celsius | Self::Fahrenheit => "",
        }
    }

    /// A difference in °C as so many degrees of this scale.
    #[must_use]
    pub fn degrees(self, difference_c: f64) -> f64 {
        difference_c * self.degrees_per_c()
    }

    /// A rate as a person reads it.
    #[must_use]
    pub fn say_rate(self, rate: CelsiusPerHour) -> String {
        format!("{} °{}/h", whole(self.write_rate(rate)), self.name())
    }

    const fn degrees_per_c(self) -> f64 {
        match self {
            Self::Celsius => 1.0,
            Self::Fahrenheit => 1.8,
        }
    }
}

/// A number to the whole; never "-0".
fn whole(number: f64) -> f64 {
    number.round() + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_in_fahrenheit_has_no_offset() {
        assert_eq!(Scale::Fahrenheit.rate(180.0), CelsiusPerHour::new(100.0));
        assert_eq!(Scale::Fahrenheit.temperature(212.0), Celsius::new(100.0));
        assert_eq!(Scale::Fahrenheit.difference(9.0), CelsiusDelta::new(5.0));
    }

    #[test]
    fn a_little_below_zero_is_said_without_a_minus() {
        assert_eq!(Scale::Celsius.say(Celsius::new(-0.4).unwrap()), "0 °C");
        assert_eq!(Scale::Celsius.say(Celsius::new(-0.6).unwrap()), "-1 °C");
        assert_eq!(Scale::Celsius.say_difference(CelsiusDelta::new(-0.04).unwrap()), "0.0 °C");
        assert_eq!(Scale::Celsius.say_rate(CelsiusPerHour::new(-0.3).unwrap()), "0 °C/h");
    }
}
