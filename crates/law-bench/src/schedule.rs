//! The schedule that is fired, and its setpoint second by second for laws without a controller.

use control::{Pace, Programme, Segment, Target};
use pyrometry::units::{CelsiusPerHour, Millis};

use crate::case::celsius;

/// One way of the schedule and the soak at its end.
struct Way {
    c_per_h: f64,
    to_c: f64,
    soak_min: u64,
}

/// A mid-fire schedule of 16 h: dried, through quartz inversion, up to 1220 °C with the last 100 °C
/// slow, held, cooled slowly to 1000 °C.
const MID_FIRE: [Way; 5] = [
    Way { c_per_h: 60.0, to_c: 120.0, soak_min: 30 },
    Way { c_per_h: 100.0, to_c: 600.0, soak_min: 0 },
    Way { c_per_h: 120.0, to_c: 1120.0, soak_min: 0 },
    Way { c_per_h: 60.0, to_c: 1220.0, soak_min: 30 },
    Way { c_per_h: -80.0, to_c: 1000.0, soak_min: 0 },
];

/// A kiln without a controller is waited for when it is further off than this, as the controller does.
const WAITS_BEYOND_C: f64 = 8.0;

/// What a second of the schedule is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Climb,
    Soak,
    Cooling,
}

/// A second of the schedule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Second {
    pub(crate) setpoint_c: f64,
    pub(crate) part: Part,
}

/// The schedule as the controller is given it.
pub(crate) fn mid_fire() -> Programme {
    let segments = MID_FIRE.iter().map(|way| {
        let (rate, to, soak) = (rate(way.c_per_h), celsius(way.to_c), Millis::from_minutes(way.soak_min));
        if way.c_per_h > 0.0 {
            Segment::Climb { pace: Pace::Rate(rate), target: Target::Temperature(to), soak }
        } else {
            Segment::SlowCool { rate, to, soak }
        }
    });
    Programme::new(segments.collect()).expect("the bench's schedule")
}

fn rate(c_per_h: f64) -> CelsiusPerHour {
    CelsiusPerHour::new(c_per_h).expect("a rate of the bench")
}

/// The schedule as a row of seconds, with a place in it.
#[derive(Clone, Debug)]
pub(crate) struct Course {
    seconds: Vec<Second>,
    at: usize,
}

impl Course {
    /// The schedule as written, leaving from a temperature.
    pub(crate) fn from(start_c: f64) -> Self {
        let mut seconds = Vec::new();
        let mut from_c = start_c;
        for way in &MID_FIRE {
            let (c_per_s, part) =
                (way.c_per_h / 3600.0, if way.c_per_h > 0.0 { Part::Climb } else { Part::Cooling });
            let mut gone_s = 0.0;
            while gone_s * c_per_s.abs() < (way.to_c - from_c).abs() {
                seconds.push(Second { setpoint_c: from_c + gone_s * c_per_s, part });
                gone_s += 1.0;
            }
            seconds.extend((0..way.soak_min * 60).map(|_| Second { setpoint_c: way.to_c, part: Part::Soak }));
            from_c = way.to_c;
        }
        Self { seconds, at: 0 }
    }

    /// Hours without any waiting.
    pub(crate) fn lasts_h(&self) -> f64 {
        self.seconds.iter().map(|_| 1.0 / 3600.0).sum()
    }

    /// Where it stands; `None` when it is over.
    pub(crate) fn now(&self) -> Option<Second> {
        self.seconds.get(self.at).copied()
    }

    /// Goes on by a second, unless the kiln is so far off that it must be waited for.
    pub(crate) fn go_on(&mut self, reading_c: f64) {
        let Some(now) = self.now() else { return };
        let lag_c = now.setpoint_c - reading_c;
        let waits = match now.part {
            Part::Climb => lag_c > WAITS_BEYOND_C,
            Part::Soak => lag_c.abs() > WAITS_BEYOND_C,
            Part::Cooling => -lag_c > WAITS_BEYOND_C,
        };
        if !waits {
            self.at += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_row_of_seconds_lasts_as_long_as_the_written_rates_and_soaks_take() {
        // (120−20)/60 + 0.5 + 480/100 + 520/120 + 100/60 + 0.5 + 220/80, by hand
        let hours = 100.0 / 60.0 + 0.5 + 4.8 + 520.0 / 120.0 + 100.0 / 60.0 + 0.5 + 2.75;
        assert!((Course::from(20.0).lasts_h() - hours).abs() < 5.0 / 3600.0, "a second for each way");
    }

    #[test]
    fn the_row_waits_for_a_kiln_more_than_eight_degrees_behind_and_not_for_one_a_little_less() {
        let mut course = Course::from(18.0);
        let start_c = course.now().unwrap().setpoint_c;
        course.go_on(start_c - 8.1);
        assert_eq!(course.at, 0);
        course.go_on(start_c - 7.9);
        assert_eq!(course.at, 1);
    }
}
