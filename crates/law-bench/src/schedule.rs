//! The schedule that is fired, and its setpoint at every second for laws without a controller.

use control::{Pace, Programme, Segment, Target};
use pyrometry::units::{CelsiusPerHour, Millis};

use crate::case::celsius;

/// A mid-fire schedule of 16 h: dried, through quartz inversion, up to 1220 °C with the last 100 °C
/// slow, held, cooled slowly to 1000 °C.
pub(crate) fn mid_fire() -> Programme {
    let segments = [
        climb(60.0, 120.0, 30),
        climb(100.0, 600.0, 0),
        climb(120.0, 1120.0, 0),
        climb(60.0, 1220.0, 30),
        Segment::SlowCool { rate: rate(-80.0), to: celsius(1000.0), soak: Millis::ZERO },
    ];
    Programme::new(segments.into_iter().collect()).expect("the bench's schedule")
}

fn climb(c_per_h: f64, to_c: f64, soak_min: u64) -> Segment {
    Segment::Climb {
        pace: Pace::Rate(rate(c_per_h)),
        target: Target::Temperature(celsius(to_c)),
        soak: Millis::from_minutes(soak_min),
    }
}

fn rate(c_per_h: f64) -> CelsiusPerHour {
    CelsiusPerHour::new(c_per_h).expect("a rate of the bench")
}

/// What a second of the schedule is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Climb,
    Soak,
    Cooling,
}
