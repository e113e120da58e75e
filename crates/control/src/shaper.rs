//! The reference the regulator follows: the schedule with its corners rounded.
//!
//! A kiln cannot turn a corner: the elements hold heat that must still come out. Two equal lags in
//! series round every corner, and feeding them the schedule as it will be a little later makes up
//! exactly for the lag they cause, so on a straight ramp the reference *is* the schedule.

use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, between, lesser};

/// Each of the two lags. Together they reach about as far as the elements' lag (20 to 60 s) and the
/// thermocouple's: with less drawn kilns go further beyond their soaks, and zones come further apart where
/// a climb begins.
const LAG_S: f64 = 60.0;

/// How much later the schedule is read: the sum of the two lags.
pub(crate) const LOOK_AHEAD: Millis = Millis::from_seconds(120);

/// The rounded reference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shaper {
    first_c: f64,
    second_c: f64,
}

/// What the regulator is to follow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reference {
    /// The temperature to be at.
    pub(crate) at: Celsius,
    /// The rate at which `at` moves now.
    pub(crate) moves: CelsiusPerHour,
    /// The rate to move with, a little earlier than `at` turns, because heat comes late.
    pub(crate) rate: CelsiusPerHour,
}

impl Shaper {
    /// At rest at a temperature.
    pub(crate) const fn at_rest(at: Celsius) -> Self {
        Self { first_c: at.c(), second_c: at.c() }
    }

    /// Moving with the schedule already, `later` being its setpoint after the look-ahead.
    pub(crate) fn follow(&mut self, later: Celsius, span: Millis) -> Reference {
        let share = lesser(span.seconds() / LAG_S, 1.0);
        let rate_c_per_s = (later.c() - self.first_c) / LAG_S;
        self.first_c += (later.c() - self.first_c) * share;
        self.second_c += (self.first_c - self.second_c) * share;
        Reference {
            at: Celsius::new(self.second_c).unwrap_or(later),
            moves: per_hour((self.first_c - self.second_c) / LAG_S),
            rate: per_hour(rate_c_per_s),
        }
    }
}

pub(crate) fn per_hour(c_per_s: f64) -> CelsiusPerHour {
    let most = CelsiusPerHour::GREATEST.c_per_h();
    CelsiusPerHour::new(between(c_per_s * 3600.0, -most, most)).unwrap_or(constant!(CelsiusPerHour, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn later(now_s: u64, ramp: impl Fn(f64) -> f64) -> Celsius {
        Celsius::new(ramp(Millis::from_seconds(now_s).seconds() + LOOK_AHEAD.seconds())).unwrap()
    }

    #[test]
    fn on_a_long_ramp_the_reference_is_the_schedule() {
        let ramp = |t_s: f64| 20.0 + 150.0 / 3600.0 * t_s;
        let mut shaper = Shaper::at_rest(Celsius::new(20.0).unwrap());
        let mut reference = None;
        for t_s in 0..1800 {
            reference = Some(shaper.follow(later(t_s, ramp), Millis::from_seconds(1)));
        }
        let reference = reference.unwrap();
        assert!((reference.at.c() - ramp(1799.0)).abs() < 0.1, "{reference:?}");
        assert!((reference.rate.c_per_h() - 150.0).abs() < 0.1);
    }

    #[test]
    fn a_corner_is_rounded_without_passing_the_soak() {
        let corner = |t_s: f64| if t_s < 600.0 { 300.0 + 0.1 * t_s } else { 360.0 };
        let mut shaper = Shaper::at_rest(Celsius::new(300.0).unwrap());
        for t_s in 0..1500 {
            let reference = shaper.follow(later(t_s, corner), Millis::from_seconds(1));
            assert!(reference.at.c() <= 360.0 + 1e-9);
        }
    }
}
