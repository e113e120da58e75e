//! The programme: a compiled schedule, of fixed capacity.

use heapless::Vec;
use pyrometry::cone::Cone;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

use crate::SEGMENTS_MOST;

/// The fastest climb there is. A kiln that could do more is held to it, flat out too: beyond it a
/// thermocouple near hot elements runs ahead of everything else, and no reading can be trusted to
/// stop in time. Fitted on simulated kilns with a fifteenth to three times the load told.
pub const FASTEST: CelsiusPerHour = constant!(CelsiusPerHour, 1000.0);

/// How fast a segment climbs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// At a positive rate.
    Rate(CelsiusPerHour),
    /// As fast as the kiln can, up to [`FASTEST`].
    FlatOut,
}

impl Pace {
    /// The rate at which the setpoint is to move.
    #[must_use]
    pub fn rate(self) -> CelsiusPerHour {
        match self {
            Self::Rate(rate) if rate < FASTEST => rate,
            Self::Rate(_) | Self::FlatOut => FASTEST,
        }
    }
}

/// Where a climb ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// At a temperature.
    Temperature(Celsius),
    /// When the heat-work of a cone is done.
    Cone {
        /// The cone, as it will be unloaded.
        cone: Cone,
        /// The climb stops here and waits for the cone.
        no_hotter_than: Celsius,
        /// The longest wait at `no_hotter_than`.
        at_most: Millis,
    },
}

/// One segment of a programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// Heat up to a target, then hold it.
    Climb {
        /// How fast.
        pace: Pace,
        /// How far.
        target: Target,
        /// How long it holds there.
        soak: Millis,
    },
    /// Cool at a rate, with heat as needed, then hold.
    SlowCool {
        /// How fast: a negative rate.
        rate: CelsiusPerHour,
        /// How far.
        to: Celsius,
        /// How long it holds there.
        soak: Millis,
    },
    /// Elements off until the kiln has fallen to a temperature, then hold it.
    LetFall {
        /// How far.
        to: Celsius,
        /// How long it holds there.
        soak: Millis,
    },
    /// Elements off for a time, only watching the probes.
    Watch {
        /// How long.
        lasting: Millis,
    },
}

/// Why segments make no programme. Segments are counted from zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProgrammeFault {
    /// No segment at all.
    Empty,
    /// A climb's rate must be above zero, a slow cooling's below.
    RateOfWrongSign {
        /// Which segment.
        segment: u8,
    },
    /// A climb towards a temperature below where the segment before it ends.
    ClimbsDownwards {
        /// Which segment.
        segment: u8,
    },
    /// A cooling towards a temperature above where the segment before it ends.
    CoolsUpwards {
        /// Which segment.
        segment: u8,
    },
}

/// A schedule compiled for the controller: 1 to 64 segments that can be run.
#[derive(Clone, Debug, PartialEq)]
pub struct Programme {
    segments: Vec<Segment, SEGMENTS_MOST>,
    hottest: Option<Celsius>,
}

impl Segment {
    /// The hottest the plan lets the kiln be in this segment; `None` when it asks for no heat.
    #[must_use]
    pub const fn hottest(&self) -> Option<Celsius> {
        match self {
            Self::Climb { target: Target::Temperature(to), .. }
            | Self::Climb { target: Target::Cone { no_hotter_than: to, .. }, .. }
            | Self::SlowCool { to, .. }
            | Self::LetFall { to, .. } => Some(*to),
            Self::Watch { .. } => None,
        }
    }

    /// How long it holds its target.
    #[must_use]
    pub const fn soak(&self) -> Millis {
        match self {
            Self::Climb { soak, .. } | Self::SlowCool { soak, .. } | Self::LetFall { soak, .. } => *soak,
            Self::Watch { .. } => Millis::ZERO,
        }
    }
}

impl Programme {
    /// Checks that the segments can be run one after another.
    ///
    /// A climb that ends on a cone may end anywhere up to its `no_hotter_than`, so what follows it
    /// is judged against that bound only when it cools.
    pub fn new(segments: Vec<Segment, SEGMENTS_MOST>) -> Result<Self, ProgrammeFault> {
        if segments.is_empty() {
            return Err(ProgrammeFault::Empty);
        }
        let mut hottest: Option<Celsius> = None;
        let mut before: Option<Segment> = None;
        for (segment, number) in segments.iter().zip(0_u8..) {
            check(segment, before.as_ref(), number)?;
            if let Some(to) = segment.hottest() {
                hottest = Some(hottest.map_or(to, |so_far| so_far.hotter(to)));
                before = Some(*segment);
            }
        }
        Ok(Self { segments, hottest })
    }

    /// The segments.
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// What is left of it from a segment on; `None` past the last.
    #[must_use]
    pub fn rest(&self, segment: u8) -> Option<Self> {
        Self::new(self.segments.iter().skip(usize::from(segment)).copied().collect()).ok()
    }

    /// The hottest temperature it can ask for; `None` when it asks for no heat at all.
    #[must_use]
    pub const fn hottest(&self) -> Option<Celsius> {
        self.hottest
    }
}

fn check(segment: &Segment, before: Option<&Segment>, number: u8) -> Result<(), ProgrammeFault> {
    match *segment {
        Segment::Climb { pace, target, .. } => {
            if let Pace::Rate(rate) = pace
                && !(rate.c_per_h() > 0.0)
            {
                return Err(ProgrammeFault::RateOfWrongSign { segment: number });
            }
            let (Target::Temperature(to) | Target::Cone { no_hotter_than: to, .. }) = target;
            if ends_exactly(before).is_some_and(|from| to < from) {
                return Err(ProgrammeFault::ClimbsDownwards { segment: number });
            }
        }
        Segment::SlowCool { rate, to, .. } => {
            if !(rate.c_per_h() < 0.0) {
                return Err(ProgrammeFault::RateOfWrongSign { segment: number });
            }
            return check_cooling(to, before, number);
        }
        Segment::LetFall { to, .. } => return check_cooling(to, before, number),
        Segment::Watch { .. } => {}
    }
    Ok(())
}

fn check_cooling(to: Celsius, before: Option<&Segment>, number: u8) -> Result<(), ProgrammeFault> {
    if before.and_then(Segment::hottest).is_some_and(|from| to > from) {
        return Err(ProgrammeFault::CoolsUpwards { segment: number });
    }
    Ok(())
}

/// Where a segment certainly ends.
const fn ends_exactly(segment: Option<&Segment>) -> Option<Celsius> {
    match segment {
        Some(
            Segment::Climb { target: Target::Temperature(to), .. }
            | Segment::SlowCool { to, .. }
            | Segment::LetFall { to, .. },
        ) => Some(*to),
        Some(Segment::Climb { target: Target::Cone { .. }, .. } | Segment::Watch { .. }) | None => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(c: f64) -> Celsius {
        Celsius::new(c).unwrap()
    }

    fn per_hour(c_per_h: f64) -> CelsiusPerHour {
        CelsiusPerHour::new(c_per_h).unwrap()
    }

    fn climb(c_per_h: f64, to_c: f64) -> Segment {
        let (pace, target) = (Pace::Rate(per_hour(c_per_h)), Target::Temperature(c(to_c)));
        Segment::Climb { pace, target, soak: Millis::ZERO }
    }

    fn to_cone(no_hotter_than_c: f64) -> Segment {
        let target = Target::Cone {
            cone: Cone::parse("6").unwrap(),
            no_hotter_than: c(no_hotter_than_c),
            at_most: Millis::ZERO,
        };
        Segment::Climb { pace: Pace::FlatOut, target, soak: Millis::ZERO }
    }

    fn fall(to_c: f64) -> Segment {
        Segment::LetFall { to: c(to_c), soak: Millis::ZERO }
    }

    fn cool(c_per_h: f64, to_c: f64) -> Segment {
        Segment::SlowCool { rate: per_hour(c_per_h), to: c(to_c), soak: Millis::ZERO }
    }

    fn programme(segments: &[Segment]) -> Result<Programme, ProgrammeFault> {
        Programme::new(segments.iter().copied().collect())
    }

    #[test]
    fn a_climb_moves_at_its_rate_but_never_faster_than_flat_out() {
        let rate = |c_per_h| Pace::Rate(per_hour(c_per_h)).rate();
        assert_eq!(rate(60.0), per_hour(60.0));
        assert_eq!(rate(FASTEST.c_per_h() + 1.0), FASTEST);
        assert_eq!(Pace::FlatOut.rate(), FASTEST);
    }

    #[test]
    fn sr_41_climbs_rise_and_coolings_fall_or_the_programme_is_refused() {
        let wrong = Err(ProgrammeFault::RateOfWrongSign { segment: 1 });
        for rate_c_per_h in [0.0, -60.0] {
            assert_eq!(programme(&[climb(60.0, 100.0), climb(rate_c_per_h, 200.0)]), wrong);
        }
        for rate_c_per_h in [0.0, 60.0] {
            assert_eq!(programme(&[climb(60.0, 100.0), cool(rate_c_per_h, 50.0)]), wrong);
        }
        assert!(programme(&[climb(60.0, 100.0), cool(-60.0, 50.0), climb(0.1, 60.0)]).is_ok());
        assert_eq!(programme(&[]), Err(ProgrammeFault::Empty));
    }

    #[test]
    fn sr_41_a_climb_to_below_where_it_certainly_begins_is_refused_and_to_just_there_is_not() {
        let downwards = Err(ProgrammeFault::ClimbsDownwards { segment: 1 });
        for before in [climb(60.0, 100.0), fall(100.0), cool(-60.0, 100.0)] {
            assert_eq!(programme(&[before, climb(60.0, 99.9)]), downwards);
            assert!(programme(&[before, climb(60.0, 100.0)]).is_ok(), "{before:?}");
        }
        // A climb to a cone may end anywhere below its bound.
        assert!(programme(&[to_cone(1_240.0), climb(60.0, 1_200.0)]).is_ok());
    }

    #[test]
    fn sr_41_a_cooling_to_above_where_it_can_begin_is_refused_and_to_just_there_is_not() {
        for (cooling, just_there) in [(fall(100.1), fall(100.0)), (cool(-60.0, 100.1), cool(-60.0, 100.0))] {
            let upwards = Err(ProgrammeFault::CoolsUpwards { segment: 1 });
            assert_eq!(programme(&[climb(60.0, 100.0), cooling]), upwards);
            assert!(programme(&[climb(60.0, 100.0), just_there]).is_ok());
        }
    }

    #[test]
    fn the_hottest_is_that_of_all_segments_and_what_is_left_loses_those_before() {
        let all = programme(&[climb(60.0, 900.0), fall(500.0), climb(60.0, 700.0)]).unwrap();
        assert_eq!(all.hottest(), Some(c(900.0)));
        assert_eq!(all.rest(1).and_then(|left| left.hottest()), Some(c(700.0)));
        assert_eq!(all.rest(3), None);
        let watch = Segment::Watch { lasting: Millis::from_hours(1) };
        assert_eq!(programme(&[watch]).unwrap().hottest(), None);
        assert_eq!(watch.soak(), Millis::ZERO);
    }
}
