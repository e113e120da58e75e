//! The schedule being run: which segment, how far into it, and its setpoint.
//!
//! The schedule has a clock of its own, which stands still while the kiln is too far from the
//! setpoint; so the setpoint never runs away and nothing winds up.

use libm::exp;
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, CelsiusPerHour, Millis, greater, lesser};

use crate::phase::Phase;
use crate::programme::{Programme, Segment, Target};

/// The schedule's clock waits while the kiln is further than this from the setpoint; a segment whose
/// target lies further than this on the wrong side of the kiln is past.
pub const WAITS_BEYOND: CelsiusDelta = constant!(CelsiusDelta, 8.0);

/// At this rate a climb turns into its soak without more ado; a faster one slows down to it.
const LANDS_AT: CelsiusPerHour = constant!(CelsiusPerHour, 100.0);

/// How long before its target a faster climb slows down: so that what is above [`LANDS_AT`] shrinks to
/// 1/e in this time, slow against the loop (about 100 s). A climb at 1000 °C/h begins 75 °C below.
const LANDING_S: f64 = 300.0;

/// The schedule's clock waits for a kiln further behind than this where a climb slows down: there it
/// is to catch up before the target, not at it.
const WAITS_BEYOND_LANDING: CelsiusDelta = constant!(CelsiusDelta, 3.0);

/// What follows a way to a target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Then {
    /// What the segment says.
    AsWritten,
    /// What is left of a soak that a gap had cut short.
    SoakFor { left: Millis },
    /// The wait for a cone, of which so much was used up before a gap.
    WaitHaving { waited: Millis },
}

/// What the present segment is doing, each with the data only it has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Leg {
    /// Moving the setpoint at a rate since it stood at `from`.
    Moving { from: Celsius, rate: CelsiusPerHour, to: Celsius, clock: Millis, then: Then },
    /// At a cone segment's hottest, waiting for the heat-work, for so long already.
    AwaitingCone { at: Celsius, waited: Millis, at_most: Millis },
    /// Holding a temperature for what is left of the soak.
    Soaking { at: Celsius, left: Millis },
    /// Elements off until the kiln has fallen this far.
    Falling { to: Celsius },
    /// Elements off for what is left of a watch.
    Watching { left: Millis },
}

/// A place in a programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Run {
    pub(crate) segment: u8,
    pub(crate) leg: Leg,
}

/// What a step of the schedule's clock brought about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Progress {
    /// Still on its way.
    Going,
    /// At the segment's target.
    Arrived,
    /// The soak or watch is over.
    Over,
}

impl Programme {
    /// Whether a kiln found at a temperature would be fired at all: not when it is hotter than
    /// everything the programme asks for.
    #[must_use]
    pub fn begins_at(&self, found_at: Celsius, open_below: Celsius) -> bool {
        Run::begin(self, found_at, open_below).is_some()
    }
}

impl Run {
    /// The place where a programme begins in a kiln found at a temperature, or `None` where it
    /// leaves no heat to be given.
    ///
    /// A kiln cool enough to open may have been loaded just now, so its ware needs every soak from
    /// the first. One found hotter has its ware at that temperature already: it joins past the
    /// opening climbs that it has made.
    pub(crate) fn begin(programme: &Programme, found_at: Celsius, open_below: Celsius) -> Option<Self> {
        let behind = programme
            .segments()
            .iter()
            .take_while(|segment| match segment {
                Segment::Climb { target: Target::Temperature(to), .. }
                | Segment::Climb { target: Target::Cone { no_hotter_than: to, .. }, .. } => {
                    found_at > open_below && found_at - *to > WAITS_BEYOND
                }
                Segment::SlowCool { .. } | Segment::LetFall { .. } | Segment::Watch { .. } => false,
            })
            .count();
        Self::from_segment(programme, u8::try_from(behind).ok()?, found_at)
    }

    /// The start of the first segment, from this one on, that the kiln is not already past on its
    /// way down: nothing heats it up so that it can cool. `None` past the last.
    pub(crate) fn from_segment(programme: &Programme, segment: u8, from: Celsius) -> Option<Self> {
        let passed = |segment: &Segment| match segment {
            Segment::SlowCool { to, .. } | Segment::LetFall { to, .. } => *to - from > WAITS_BEYOND,
            Segment::Climb { .. } | Segment::Watch { .. } => false,
        };
        let segments = programme.segments().iter().zip(0_u8..).skip(usize::from(segment));
        let (next, number) = segments.into_iter().find(|(segment, _)| !passed(segment))?;
        Some(Self::at_start(next, number, from))
    }

    /// The start of a segment, its setpoint leaving from a temperature.
    fn at_start(segment: &Segment, number: u8, from: Celsius) -> Self {
        let leg = match *segment {
            Segment::Climb { pace, target, .. } => {
                let (Target::Temperature(to) | Target::Cone { no_hotter_than: to, .. }) = target;
                // Only an order or a warm kiln brings it here from above: elements off until it is met.
                if from - to > WAITS_BEYOND {
                    Leg::Falling { to }
                } else {
                    Leg::Moving { from, rate: pace.rate(), to, clock: Millis::ZERO, then: Then::AsWritten }
                }
            }
            // A cooling never raises the setpoint, not by the little it may be late either.
            Segment::SlowCool { rate, to, .. } => {
                Leg::Moving { from, rate, to: to.colder(from), clock: Millis::ZERO, then: Then::AsWritten }
            }
            Segment::LetFall { to, .. } => Leg::Falling { to: to.colder(from) },
            Segment::Watch { lasting } => Leg::Watching { left: lasting },
        };
        Self { segment: number, leg }
    }

    /// The phase this place is.
    pub(crate) fn phase(&self) -> Phase {
        match self.leg {
            Leg::Moving { rate, .. } if rate.c_per_h() < 0.0 => Phase::SlowCooling,
            Leg::Moving { .. } | Leg::AwaitingCone { .. } => Phase::Climbing,
            Leg::Soaking { .. } => Phase::Soaking,
            Leg::Falling { .. } | Leg::Watching { .. } => Phase::Cooling,
        }
    }

    /// The schedule's setpoint; `None` where there is no plan for heat.
    pub(crate) fn setpoint(&self) -> Option<Celsius> {
        self.setpoint_after(Millis::ZERO)
    }

    /// The setpoint after some more time on the schedule's clock, within this segment.
    pub(crate) fn setpoint_after(&self, ahead: Millis) -> Option<Celsius> {
        match self.leg {
            Leg::Moving { from, rate, to, clock, .. } => Some(moved(from, rate, to, clock + ahead)),
            Leg::AwaitingCone { at, .. } | Leg::Soaking { at, .. } => Some(at),
            Leg::Falling { .. } | Leg::Watching { .. } => None,
        }
    }

    /// Whether the schedule's clock must wait for a kiln at this temperature.
    pub(crate) fn waits_for(&self, coldest: Celsius, hottest: Celsius) -> bool {
        let Some(setpoint) = self.setpoint() else { return false };
        match self.leg {
            Leg::Moving { rate, .. } if rate.c_per_h() < 0.0 => hottest - setpoint > WAITS_BEYOND,
            Leg::Moving { rate, to, .. } => {
                let lands = (to - setpoint).c() < begins_landing_below_c(rate);
                setpoint - coldest > if lands { WAITS_BEYOND_LANDING } else { WAITS_BEYOND }
            }
            Leg::AwaitingCone { .. } | Leg::Soaking { .. } => {
                setpoint - coldest > WAITS_BEYOND || hottest - setpoint > WAITS_BEYOND
            }
            Leg::Falling { .. } | Leg::Watching { .. } => false,
        }
    }

    /// At a cone segment's hottest, with the cone not yet down: waits for it.
    pub(crate) fn await_cone(&mut self, at: Celsius, at_most: Millis) {
        let waited = match self.leg {
            Leg::Moving { then: Then::WaitHaving { waited }, .. } => waited,
            Leg::Moving { then: Then::AsWritten | Then::SoakFor { .. }, .. }
            | Leg::AwaitingCone { .. }
            | Leg::Soaking { .. }
            | Leg::Falling { .. }
            | Leg::Watching { .. } => Millis::ZERO,
        };
        self.leg = Leg::AwaitingCone { at, waited, at_most };
    }

    /// Lets time pass on the schedule's clock.
    pub(crate) fn advance(&mut self, span: Millis, hottest: Celsius) -> Progress {
        match &mut self.leg {
            Leg::Moving { from, rate, to, clock, .. } => {
                *clock += span;
                if moved(*from, *rate, *to, *clock) == *to { Progress::Arrived } else { Progress::Going }
            }
            Leg::AwaitingCone { waited, at_most, .. } => {
                *waited += span;
                if *waited >= *at_most { Progress::Arrived } else { Progress::Going }
            }
            Leg::Soaking { left, .. } | Leg::Watching { left } => {
                *left = left.since(span);
                if *left == Millis::ZERO { Progress::Over } else { Progress::Going }
            }
            Leg::Falling { to } => {
                if hottest <= *to {
                    Progress::Arrived
                } else {
                    Progress::Going
                }
            }
        }
    }
}

/// A setpoint that left `from` at a rate, and stops at `to`; a fast climb lands there.
fn moved(from: Celsius, rate: CelsiusPerHour, to: Celsius, clock: Millis) -> Celsius {
    let there = from + rate.over(clock);
    if rate.c_per_h() < 0.0 {
        return there.hotter(to);
    }
    let begins_below_c = begins_landing_below_c(rate);
    let left_c = (to - there).c();
    if left_c >= begins_below_c || begins_below_c <= 0.0 {
        return there.colder(to);
    }
    let begins_below_c = lesser(begins_below_c, greater(0.0, (to - from).c()));
    let landing_s = (begins_below_c - left_c) / rate.c_per_s();
    Celsius::new(to.c() - left_after_landing_c(begins_below_c, landing_s)).unwrap_or(to)
}

/// How far below its target a climb at this rate begins to slow down.
fn begins_landing_below_c(rate: CelsiusPerHour) -> f64 {
    greater(0.0, (rate.c_per_s() - LANDS_AT.c_per_s()) * LANDING_S)
}

/// What is left of a landing after a time: its rate is [`LANDS_AT`] and what is left over
/// [`LANDING_S`], d' = −(a + d/τ), so that d = (d₀ + aτ)·exp(−t/τ) − aτ.
fn left_after_landing_c(begins_below_c: f64, landing_s: f64) -> f64 {
    let last_c = LANDS_AT.c_per_s() * LANDING_S;
    greater(0.0, (begins_below_c + last_c) * exp(-landing_s / LANDING_S) - last_c)
}
