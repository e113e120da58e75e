//! Calibration: a dated correction to one probe, over temperature.
//!
//! A correction is what is *added* to the true junction temperature. It is given at up to eight
//! temperatures and straight between them; outside them the nearest point's correction holds, so
//! that no extrapolation can run away. It is refused where it would hide a broken probe: beyond
//! 25 °C only with an override that the caller has recorded, and never so steep over temperature
//! that a hotter junction could read colder.

mod day;

use core::fmt;

pub use day::Day;

use crate::units::{Celsius, CelsiusDelta};

/// The most points one calibration can hold.
pub const POINTS_MOST: usize = 8;

/// Beyond this a correction needs a recorded override: a whole class-2 type K error at 1200 °C
/// is 9 °C (IEC 60584-1), so more than 25 °C says that something is wrong, not that it is inexact.
pub const UNQUESTIONED_C: f64 = 25.0;

/// The steepest change of correction over temperature, in °C per °C. Engineering judgement: a
/// certificate's points differ by thousandths, a drifted probe's by hundredths.
const STEEPEST: f64 = 0.25;

/// A correction at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// The junction temperature as read, uncorrected.
    pub at: Celsius,
    /// Added to it.
    pub add: CelsiusDelta,
}

/// Whether a person has, on record, allowed more than [`UNQUESTIONED_C`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Override {
    /// Nobody has.
    None,
    /// Somebody has, and the caller has recorded who and when.
    Recorded,
}

/// Why a correction is refused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Refusal {
    /// More points than [`POINTS_MOST`].
    TooManyPoints,
    /// Each point must be hotter than the one before. Counted from zero.
    NotRising {
        /// The point that isn't.
        point: usize,
    },
    /// The correction changes by more than a quarter of a degree per degree up to this point.
    TooSteep {
        /// The point.
        point: usize,
    },
    /// The correction exceeds 25 °C and no override is recorded.
    TooMuch {
        /// The correction.
        correction: CelsiusDelta,
    },
}

/// A correction over temperature. Small and `Copy`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    everywhere: CelsiusDelta,
    points: [Option<Point>; POINTS_MOST],
    day: Option<Day>,
}

impl Calibration {
    /// No correction.
    pub const NONE: Self = Self { everywhere: CelsiusDelta::ZERO, points: [None; POINTS_MOST], day: None };

    /// The same correction at every temperature.
    pub fn offset(add: CelsiusDelta, allowance: Override) -> Result<Self, Refusal> {
        Self { everywhere: add, ..Self::NONE }.checked(allowance)
    }

    /// A correction at each of up to eight rising temperatures.
    pub fn piecewise(points: &[Point], allowance: Override) -> Result<Self, Refusal> {
        let mut calibration = Self::NONE;
        for (index, point) in points.iter().enumerate() {
            *calibration.points.get_mut(index).ok_or(Refusal::TooManyPoints)? = Some(*point);
        }
        calibration.checked(allowance)
    }

    /// Both corrections together, as of the later day: the limits hold for the sum.
    pub fn and(self, other: Self, allowance: Override) -> Result<Self, Refusal> {
        let everywhere = self.everywhere + other.everywhere;
        let mut sum = Self { everywhere, day: self.day.max(other.day), ..Self::NONE };
        let mut held = 0;
        let mut last: Option<Celsius> = None;
        // The sum bends wherever either does: walk both sets of points in order of temperature.
        while let Some(at) =
            self.next_above(last).into_iter().chain(other.next_above(last)).reduce(Celsius::colder)
        {
            let add = self.at_points(at) + other.at_points(at);
            *sum.points.get_mut(held).ok_or(Refusal::TooManyPoints)? = Some(Point { at, add });
            held += 1;
            last = Some(at);
        }
        sum.checked(allowance)
    }

    /// The same, made on a day.
    #[must_use]
    pub const fn dated(self, day: Day) -> Self {
        Self { day: Some(day), ..self }
    }

    /// The day it was made, where known.
    #[must_use]
    pub const fn day(&self) -> Option<Day> {
        self.day
    }

    /// The part of the correction that is the same at every temperature.
    #[must_use]
    pub const fn everywhere(&self) -> CelsiusDelta {
        self.everywhere
    }

    /// The points, coldest first.
    pub fn points(&self) -> impl Iterator<Item = Point> + '_ {
        self.points.iter().flatten().copied()
    }

    /// What is added at a temperature.
    #[must_use]
    pub fn correction(&self, at: Celsius) -> CelsiusDelta {
        self.everywhere + self.at_points(at)
    }

    /// The corrected temperature.
    #[must_use]
    pub fn corrected(&self, read: Celsius) -> Celsius {
        read + self.correction(read)
    }

    /// The reading that this calibration corrects to the given temperature, to 1 µ°C.
    #[must_use]
    pub fn uncorrected(&self, corrected: Celsius) -> Celsius {
        let mut read = corrected;
        // Each round shrinks the error at least fourfold (STEEPEST): 30 of them reach a double's end.
        for _ in 0..30 {
            read = corrected - self.correction(read);
        }
        read
    }

    /// How far a temperature lies outside the points: there the correction is only held, not
    /// known. None for a correction without points.
    #[must_use]
    pub fn beyond_evidence(&self, at: Celsius) -> CelsiusDelta {
        match (self.points().next(), self.points().last()) {
            (Some(first), _) if at < first.at => first.at - at,
            (_, Some(last)) if at > last.at => at - last.at,
            (None | Some(_), None | Some(_)) => CelsiusDelta::ZERO,
        }
    }

    /// The part given by points: straight between them, held outside.
    fn at_points(&self, at: Celsius) -> CelsiusDelta {
        let mut below: Option<Point> = None;
        for point in self.points() {
            if at <= point.at {
                return below.map_or(point.add, |before| between(before, point, at));
            }
            below = Some(point);
        }
        below.map_or(CelsiusDelta::ZERO, |last| last.add)
    }

    fn next_above(&self, last: Option<Celsius>) -> Option<Celsius> {
        self.points().map(|point| point.at).find(|at| last.is_none_or(|last| *at > last))
    }

    /// The calibration if it keeps the rules at the head of this file.
    fn checked(self, allowance: Override) -> Result<Self, Refusal> {
        let mut previous: Option<Point> = None;
        let first = self.points().next().map_or(CelsiusDelta::ZERO, |point| point.add);
        let mut largest = self.everywhere + first;
        for (index, point) in self.points().enumerate() {
            if let Some(before) = previous {
                let apart = (point.at - before.at).c();
                if apart <= 0.0 {
                    return Err(Refusal::NotRising { point: index });
                }
                if (point.add + -before.add).magnitude().c() > STEEPEST * apart {
                    return Err(Refusal::TooSteep { point: index });
                }
            }
            let total = self.everywhere + point.add;
            if total.magnitude() > largest.magnitude() {
                largest = total;
            }
            previous = Some(point);
        }
        if largest.magnitude().c() <= UNQUESTIONED_C || allowance == Override::Recorded {
            Ok(self)
        } else {
            Err(Refusal::TooMuch { correction: largest })
        }
    }
}

impl Default for Calibration {
    fn default() -> Self {
        Self::NONE
    }
}

fn between(below: Point, above: Point, at: Celsius) -> CelsiusDelta {
    let share = (at - below.at).c() / (above.at - below.at).c();
    below.add + (above.add + -below.add) * share
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooManyPoints => write!(f, "a calibration holds at most {POINTS_MOST} points"),
            Self::NotRising { point } => {
                write!(f, "calibration point {} is not hotter than the one before", point + 1)
            }
            Self::TooSteep { point } => write!(
                f,
                "the correction changes by more than {STEEPEST} °C per °C up to calibration point {}",
                point + 1
            ),
            Self::TooMuch { correction } => write!(
                f,
                "a correction of {correction} °C is beyond {UNQUESTIONED_C} °C: check the probe, or record an override"
            ),
        }
    }
}

impl core::error::Error for Refusal {}
