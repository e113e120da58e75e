//! Witness cones: how far they bend, and how to say it.
//!
//! Bend angle, from the 8° at which a cone is set to 90° at D = 1: tan(θ/2) = tan 4° · exp(2.66 D).
//! Our own model, good to a factor 1.5, not validated; it keeps what potters describe: slow at
//! first, quick at the end.

use core::fmt;

use super::HeatWork;
use crate::cone::Cone;

const TAN_4_DEG: f64 = 0.06992681194351041;
const PER_D: f64 = 2.66; // exp(2.66) = 1/tan 4°: 90° at D = 1

/// A fallen cone lies on the shelf: it can't bend farther. Our judgement of its shape.
const FLAT_DEG: f64 = 120.0;

/// An angle of bend in degrees, 8 (as set) to 120 (lying flat).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Bend(f64);

/// How a bent cone is described. A guard cone that is right (33° by this model when 6 is down and
/// 7 stands guard) must read as just moving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Posture {
    /// No movement to be seen.
    Standing,
    /// The tip has begun to lean: from 12°.
    JustMoving,
    /// Between: from 40°.
    Bending,
    /// More than half over: from 65°.
    WellOver,
    /// The tip level with the top of the base: from 85°.
    Down,
    /// Lying: from 110°.
    Flat,
}

impl Bend {
    /// The bend after a share D of the cone's work.
    #[must_use]
    pub fn after(progress: f64) -> Self {
        let half = libm::atan(TAN_4_DEG * libm::exp(PER_D * progress));
        let degrees = 2.0 * half.to_degrees();
        Self(if degrees < FLAT_DEG { degrees } else { FLAT_DEG })
    }

    /// An angle as a person sees it; `None` outside 0 to 180° and for NaN.
    #[must_use]
    pub fn seen(degrees: f64) -> Option<Self> {
        (0.0..=180.0).contains(&degrees).then_some(Self(if degrees < FLAT_DEG { degrees } else { FLAT_DEG }))
    }

    /// In degrees from upright.
    #[must_use]
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// The D that this bend shows; `None` where a cone shows none: upright (nothing yet) or flat
    /// (only that it is past).
    #[must_use]
    pub fn progress(self) -> Option<f64> {
        let moving = self.posture() >= Posture::JustMoving && self.0 < FLAT_DEG;
        moving.then(|| libm::log(libm::tan((self.0 / 2.0).to_radians()) / TAN_4_DEG) / PER_D)
    }

    /// How it is described.
    #[must_use]
    pub fn posture(self) -> Posture {
        match self.0 {
            flat if flat >= 110.0 => Posture::Flat,
            down if down >= 85.0 => Posture::Down,
            over if over >= 65.0 => Posture::WellOver,
            bending if bending >= 40.0 => Posture::Bending,
            moving if moving >= 12.0 => Posture::JustMoving,
            _ => Posture::Standing,
        }
    }
}

impl fmt::Display for Posture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Standing => "standing",
            Self::JustMoving => "just moving",
            Self::Bending => "bending",
            Self::WellOver => "well over",
            Self::Down => "down",
            Self::Flat => "flat",
        })
    }
}

/// A cone as it should look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WitnessCone {
    /// Which.
    pub cone: Cone,
    /// How far it is bent.
    pub bend: Bend,
}

/// The three cones of a set. The chart ends at 022 and 14, which have no guide or no guard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WitnessSet {
    /// One whole cone cooler: down when all is well.
    pub guide: Option<WitnessCone>,
    /// The target: at 90° when all is well.
    pub firing: WitnessCone,
    /// One whole cone hotter: barely bent when all is well.
    pub guard: Option<WitnessCone>,
}

/// Where a firing is, in words: "6 down, 7 just moving".
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Running {
    down: Option<WitnessCone>,
    next: Option<WitnessCone>,
}

impl HeatWork {
    /// A cone as it should look now.
    #[must_use]
    pub fn witness(&self, cone: Cone) -> WitnessCone {
        WitnessCone { cone, bend: Bend::after(self.progress(cone)) }
    }

    /// The witness set around a target cone as it should look now.
    #[must_use]
    pub fn witness_set(&self, target: Cone) -> WitnessSet {
        WitnessSet {
            guide: target.cooler().map(|cone| self.witness(cone)),
            firing: self.witness(target),
            guard: target.hotter().map(|cone| self.witness(cone)),
        }
    }

    /// The highest cone that is down and the next one, for people to read.
    #[must_use]
    pub fn running(&self) -> Running {
        let down = self.down();
        let next = down.map_or(Some(Cone::COOLEST), Cone::next);
        Running { down: down.map(|cone| self.witness(cone)), next: next.map(|cone| self.witness(cone)) }
    }
}

impl fmt::Display for WitnessCone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.cone, self.bend.posture())
    }
}

impl fmt::Display for WitnessSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(guide) = self.guide {
            write!(f, "{guide}, ")?;
        }
        write!(f, "{}", self.firing)?;
        self.guard.map_or(Ok(()), |guard| write!(f, ", {guard}"))
    }
}

impl fmt::Display for Running {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.down, self.next) {
            (None, None) => f.write_str("no cone"),
            (None, Some(next)) => next.fmt(f),
            (Some(down), None) => write!(f, "{} down", down.cone),
            (Some(down), Some(next)) => write!(f, "{} down, {next}", down.cone),
        }
    }
}
