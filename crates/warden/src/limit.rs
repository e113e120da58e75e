//! The judgement of the warden's own limit probe (SR-37): too hot, or not known.
//!
//! Readings and time in, an objection out. What stands here of the kiln's heat is one ceiling; the probe,
//! its chip and its file are the process's. A reading that cannot be used neither counts as hot nor ends a
//! row of hot ones, and no age makes a kiln cold that was seen hot.

use pyrometry::amplifier::SensorFault;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, Millis};

use crate::judge::Distrust;

/// Readings above the ceiling, one after the other, that open: one or two may be transfers that a noisy
/// workshop garbled (as SR-20 has it).
const ABOVE_IN_A_ROW: u8 = 3;
/// The longest without a usable reading with the contactor closed. A loose wire or a chip that was reset
/// may come back; a kiln at full power rises by less than 10 °C meanwhile. Engineering judgement.
pub const BLIND_LONGEST: Millis = Millis::from_seconds(10);
/// How far below the ceiling a kiln that was above it must be read before it may be heated again: more
/// than a reading wavers, and more than a light-up after light-up could keep on the ceiling. Engineering
/// judgement.
pub const COOLED_BY: CelsiusDelta = constant!(CelsiusDelta, 10.0);

/// How the limit probe finds the kiln.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitFinding {
    /// Nothing usable has been read since the warden began, which is not long enough ago to speak of.
    Unread,
    /// At or below the ceiling.
    Within,
    /// Above the ceiling, or not yet well below it again.
    Above,
    /// Not known for longer than [`BLIND_LONGEST`].
    Blind,
}

/// The limit probe as it is told to others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitNow {
    /// How it finds the kiln.
    pub finding: LimitFinding,
    /// Its ceiling.
    pub ceiling: Celsius,
    /// The latest reading; `None` before the first.
    pub latest: Option<Result<Celsius, SensorFault>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Heat {
    Borne { above_in_a_row: u8 },
    TooHot,
}

/// The limit probe's judgement. Times count from when the warden began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Limit {
    ceiling: Celsius,
    heat: Heat,
    latest: Option<Result<Celsius, SensorFault>>,
    usable_at: Option<Millis>,
}

impl Limit {
    pub(crate) const fn new(ceiling: Celsius) -> Self {
        Self { ceiling, heat: Heat::Borne { above_in_a_row: 0 }, latest: None, usable_at: None }
    }

    /// Takes a reading, and when it was taken.
    pub(crate) fn read(&mut self, reading: Result<Celsius, SensorFault>, at: Millis) {
        self.latest = Some(reading);
        let Ok(junction) = reading else { return };
        self.usable_at = Some(at);
        self.heat = match self.heat {
            Heat::TooHot if junction < self.ceiling - COOLED_BY => Heat::Borne { above_in_a_row: 0 },
            Heat::TooHot => Heat::TooHot,
            Heat::Borne { .. } if junction <= self.ceiling => Heat::Borne { above_in_a_row: 0 },
            Heat::Borne { above_in_a_row } => match above_in_a_row.saturating_add(1) {
                ABOVE_IN_A_ROW.. => Heat::TooHot,
                above_in_a_row => Heat::Borne { above_in_a_row },
            },
        };
    }

    /// How it finds the kiln.
    pub(crate) fn finding(&self, at: Millis) -> LimitFinding {
        let known_at = self.usable_at.unwrap_or(Millis::ZERO);
        let is_fresh = at.since(known_at) <= BLIND_LONGEST;
        match (is_fresh, self.usable_at, self.heat) {
            (false, _, _) => LimitFinding::Blind,
            (true, None, _) => LimitFinding::Unread,
            (true, Some(_), Heat::TooHot) => LimitFinding::Above,
            (true, Some(_), Heat::Borne { .. }) => LimitFinding::Within,
        }
    }

    /// Why the contactor may not be closed, if it may not. Not having read yet is not knowing, too.
    pub(crate) fn objection(&self, at: Millis) -> Option<Distrust> {
        match self.finding(at) {
            LimitFinding::Within => None,
            LimitFinding::Above => Some(Distrust::AboveLimit),
            LimitFinding::Unread | LimitFinding::Blind => Some(Distrust::LimitBlind),
        }
    }

    pub(crate) fn now(&self, at: Millis) -> LimitNow {
        LimitNow { finding: self.finding(at), ceiling: self.ceiling, latest: self.latest }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CEILING: Celsius = constant!(Celsius, 1280.0);

    fn degrees(c: f64) -> Result<Celsius, SensorFault> {
        Celsius::new(c).ok_or(SensorFault::OutOfRange)
    }

    /// A probe that read these, one a second from 1 s on.
    fn after(readings: &[Result<Celsius, SensorFault>]) -> (Limit, Millis) {
        let mut limit = Limit::new(CEILING);
        let mut at = Millis::ZERO;
        for reading in readings {
            at += Millis::from_seconds(1);
            limit.read(*reading, at);
        }
        (limit, at)
    }

    fn found(readings: &[Result<Celsius, SensorFault>]) -> LimitFinding {
        let (limit, at) = after(readings);
        limit.finding(at)
    }

    #[test]
    fn sr_37_three_readings_in_a_row_above_the_ceiling_are_too_hot_and_two_or_at_the_ceiling_are_not() {
        let (at, above) = (degrees(1280.0), degrees(1280.1));
        assert_eq!(found(&[at, at, at, at]), LimitFinding::Within);
        assert_eq!(found(&[above, above]), LimitFinding::Within);
        assert_eq!(found(&[above, above, at, above, above]), LimitFinding::Within);
        assert_eq!(found(&[above, above, above]), LimitFinding::Above);
    }

    #[test]
    fn sr_37_a_reading_that_cannot_be_used_does_not_end_a_row_of_hot_ones_nor_belong_to_it() {
        let (above, open) = (degrees(1300.0), Err(SensorFault::Open));
        assert_eq!(found(&[above, open, above, open, above]), LimitFinding::Above);
        assert_eq!(found(&[above, open, above, open, open]), LimitFinding::Within);
    }

    #[test]
    fn sr_37_a_kiln_that_was_too_hot_is_within_again_only_ten_degrees_below_the_ceiling() {
        let hot = [degrees(1281.0); 3];
        let (mut limit, at) = after(&hot);
        limit.read(degrees(1270.0), at);
        assert_eq!(limit.objection(at), Some(Distrust::AboveLimit), "at the margin");
        limit.read(degrees(1269.9), at);
        assert_eq!(limit.objection(at), None);
        limit.read(degrees(1281.0), at);
        limit.read(degrees(1281.0), at);
        assert_eq!(limit.objection(at), None, "and counted anew");
        limit.read(degrees(1281.0), at);
        assert_eq!(limit.objection(at), Some(Distrust::AboveLimit));
    }

    #[test]
    fn sr_37_ten_seconds_without_a_usable_reading_are_borne_and_a_moment_more_is_blind() {
        let (mut limit, at) = after(&[degrees(900.0)]);
        for second in 1..=10 {
            limit.read(Err(SensorFault::NoAnswer), at + Millis::from_seconds(second));
        }
        assert_eq!(limit.objection(Millis::new(11_000)), None);
        assert_eq!(limit.objection(Millis::new(11_001)), Some(Distrust::LimitBlind));
        limit.read(degrees(901.0), Millis::new(11_002));
        assert_eq!(limit.objection(Millis::new(11_002)), None, "seen again");
    }

    #[test]
    fn sr_37_being_blind_for_a_while_makes_no_hot_kiln_cold() {
        let (mut limit, _) = after(&[degrees(1300.0); 3]);
        assert_eq!(limit.finding(Millis::from_seconds(60)), LimitFinding::Blind);
        limit.read(degrees(1275.0), Millis::from_seconds(60));
        assert_eq!(limit.finding(Millis::from_seconds(60)), LimitFinding::Above);
    }

    #[test]
    fn sr_37_before_the_first_usable_reading_it_objects_and_is_called_blind_after_ten_seconds() {
        let (limit, at) = after(&[Err(SensorFault::Short)]);
        assert_eq!(limit.objection(at), Some(Distrust::LimitBlind));
        assert_eq!(limit.finding(Millis::new(10_000)), LimitFinding::Unread);
        assert_eq!(limit.finding(Millis::new(10_001)), LimitFinding::Blind);
        let told = limit.now(at);
        assert_eq!((told.ceiling, told.latest), (CEILING, Some(Err(SensorFault::Short))));
    }
}
