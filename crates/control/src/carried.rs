//! What a firing hands on when the power or the program ends it, so that another controller can
//! carry it on (SR-40).
//!
//! Plain data. Interlocks, regulators and switching begin afresh in the new controller, as they do
//! with any kiln that is found hot; a person's stay or shut-off is not handed on, because only that
//! person knows what they meant by it.

use pyrometry::constant;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, CelsiusPerHour, Joules, Millis};

use crate::controller::Controller;
use crate::plan::{Leg, Run, Then};
use crate::programme::{Pace, Programme, Segment, Target};
use crate::stage::Stage;

/// A soak, or a wait for a cone, is climbed back to at the rate of its segment, but no faster: ware
/// that has just cooled all at once is to be warmed with care. Engineering judgement.
const RETURNS_AT_MOST: CelsiusPerHour = constant!(CelsiusPerHour, 150.0);
/// And no slower, or the way back would be a firing of its own: the ware stood at that temperature
/// a quarter of an hour ago. Engineering judgement; cone charts begin at about this rate.
const RETURNS_AT_LEAST: CelsiusPerHour = constant!(CelsiusPerHour, 60.0);

/// Where a firing stood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carried {
    /// Its segment, counted from zero.
    pub segment: u8,
    /// What of that segment is left.
    pub left: Left,
    /// The chamber then.
    pub chamber: Celsius,
    /// How long ago that was, when the new controller sees its first step.
    pub gap: Millis,
    /// Heating until then, stays not counted.
    pub elapsed: Millis,
    /// Energy given to the elements until then, stays not counted.
    pub given: Joules,
    /// Heating until then, stays counted: the longest firing counts on from here.
    pub alight: Millis,
    /// The heat-work until then.
    pub heat_work: HeatWork,
}

/// What of a segment is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Left {
    /// Its way to its target, begun anew from where the kiln is found, and everything after.
    Way,
    /// At a cone climb's hottest: the wait for the cone, of which so much is used up.
    Wait {
        /// How long it had waited.
        waited: Millis,
    },
    /// So much of the soak at a temperature.
    Soak {
        /// The temperature.
        at: Celsius,
        /// How long.
        left: Millis,
    },
    /// So much of a watch.
    Watch {
        /// How long.
        left: Millis,
    },
}

impl Controller {
    /// What another controller needs to carry this firing on after a gap; `None` where nothing runs
    /// that could be carried on, or the kiln's temperature is not known.
    #[must_use]
    pub fn to_carry(&self, gap: Millis) -> Option<Carried> {
        let Stage::Running(run) = self.stage else { return None };
        let left = match run.leg {
            Leg::Moving { then: Then::SoakFor { left }, to, .. } => Left::Soak { at: to, left },
            Leg::Moving { then: Then::WaitHaving { waited }, .. } => Left::Wait { waited },
            Leg::Moving { then: Then::AsWritten, .. } | Leg::Falling { .. } => Left::Way,
            Leg::AwaitingCone { waited, .. } => Left::Wait { waited },
            Leg::Soaking { at, left } => Left::Soak { at, left },
            Leg::Watching { left } => Left::Watch { left },
        };
        let mut heat_work = self.heat_work;
        heat_work.break_off(); // the new controller goes on from `chamber`
        Some(Carried {
            segment: run.segment,
            left,
            chamber: self.chamber?.mean,
            gap,
            elapsed: self.elapsed,
            given: self.given,
            alight: self.alight,
            heat_work,
        })
    }
}

impl Carried {
    /// What is left of the segment it stood in, written as a segment: for forecasts, which must go
    /// the way that the controller does.
    #[must_use]
    pub fn rest_of(&self, segment: &Segment) -> Segment {
        let pace = Pace::Rate(returns_at(segment));
        match (self.left, *segment) {
            (Left::Soak { at, left }, _) => {
                Segment::Climb { pace, target: Target::Temperature(at), soak: left }
            }
            (
                Left::Wait { waited },
                Segment::Climb { target: Target::Cone { cone, no_hotter_than, at_most }, soak, .. },
            ) => {
                let target = Target::Cone { cone, no_hotter_than, at_most: at_most.since(waited) };
                Segment::Climb { pace, target, soak }
            }
            (Left::Watch { left }, Segment::Watch { .. }) => Segment::Watch { lasting: left.since(self.gap) },
            (Left::Way | Left::Wait { .. } | Left::Watch { .. }, segment) => segment,
        }
    }

    /// The heat-work until then, to be gone on with from the temperature then.
    ///
    /// The time of the gap is counted along the straight line to the temperature found. A kiln left
    /// alone falls steeply first and ever more slowly, below that line, so the line counts a little too
    /// much: the cone is taken for further down than it is, never for less, and the climb ends early
    /// rather than late.
    #[must_use]
    pub fn heat_work_at_its_end(&self) -> HeatWork {
        let mut heat_work = self.heat_work;
        heat_work.add(self.chamber, Millis::ZERO);
        heat_work
    }
}

impl Run {
    /// The place where a firing is carried on in a kiln found at a temperature, or `None` where
    /// nothing of it is left.
    pub(crate) fn carried(programme: &Programme, carried: &Carried, found_at: Celsius) -> Option<Self> {
        let number = carried.segment;
        let segment = programme.segments().get(usize::from(number))?;
        let leg = match (carried.left, segment) {
            (Left::Soak { at, left }, _) => back(segment, found_at, at, Then::SoakFor { left }),
            (Left::Wait { waited }, Segment::Climb { .. }) => {
                back(segment, found_at, segment.hottest()?, Then::WaitHaving { waited })
            }
            // It is there to see a kiln without heat, and a gap has none either.
            (Left::Watch { left }, Segment::Watch { .. }) => Leg::Watching { left: left.since(carried.gap) },
            (Left::Way | Left::Wait { .. } | Left::Watch { .. }, _) => {
                return Self::from_segment(programme, number, found_at);
            }
        };
        Some(Self { segment: number, leg })
    }
}

/// How fast a segment's soak or wait is climbed back to.
fn returns_at(segment: &Segment) -> CelsiusPerHour {
    match segment {
        Segment::Climb { pace, .. } if pace.rate() < RETURNS_AT_LEAST => RETURNS_AT_LEAST,
        Segment::Climb { pace, .. } if pace.rate() < RETURNS_AT_MOST => pace.rate(),
        Segment::Climb { .. }
        | Segment::SlowCool { .. }
        | Segment::LetFall { .. }
        | Segment::Watch { .. } => RETURNS_AT_MOST,
    }
}

/// The way back to where a segment stood.
fn back(segment: &Segment, from: Celsius, to: Celsius, then: Then) -> Leg {
    Leg::Moving { from, rate: returns_at(segment), to, clock: Millis::ZERO, then }
}
