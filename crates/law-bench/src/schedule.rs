//! The schedule that is fired, and its setpoint at every second for laws without a controller.

use control::{Pace, Programme, Segment, Target};
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

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

/// The setpoint second by second from a start, as a kiln that keeps up sees it.
pub(crate) fn course(programme: &Programme, start: Celsius) -> Vec<(f64, Part)> {
    let mut seconds = Vec::new();
    let mut at_c = start.c();
    for segment in programme.segments() {
        let (c_per_s, to_c, part) = match *segment {
            Segment::Climb { pace, target: Target::Temperature(to), .. } => {
                (pace.rate().c_per_s(), to.c(), Part::Climb)
            }
            Segment::SlowCool { rate, to, .. } => (rate.c_per_s(), to.c(), Part::Cooling),
            Segment::Climb { .. } | Segment::LetFall { .. } | Segment::Watch { .. } => continue,
        };
        while (to_c - at_c) * c_per_s.signum() > c_per_s.abs() {
            at_c += c_per_s;
            seconds.push((at_c, part));
        }
        at_c = to_c;
        for _ in 0..segment.soak().ms() / 1000 {
            seconds.push((at_c, Part::Soak));
        }
    }
    seconds
}
