//! Orders, what becomes of them, and findings.

use std::ops::RangeInclusive;

use control::{Interlock, Part, Severity};
use pyrometry::cone::Cone;
use pyrometry::units::Millis;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize};

use super::{Named, Number};

/// What a person asks for: `"stay"`, `{"add-minutes":15}`, `{"cone-seen":{"cone":"6","bend_deg":45}}`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// Keep the present setpoint.
    Stay,
    /// Go on.
    CarryOn,
    /// End the heating.
    ShutOff,
    /// Acknowledge a trip.
    ClearTrip,
    /// Skip what is left of this segment.
    NextSegment,
    /// Lengthen the present soak or stay.
    AddMinutes(#[serde(deserialize_with = "minutes")] u16),
    /// Begin the soak here.
    EndClimb,
    /// What a person sees through the spyhole.
    ConeSeen {
        /// Which cone.
        cone: Named<Cone>,
        /// Its bend in degrees, 0 to 180; 0 as set, 90 when its tip is level with its base.
        #[serde(deserialize_with = "bend_deg")]
        bend_deg: u8,
    },
}

/// Minutes; a whole number, as many languages write them with a point (`15.0`).
fn minutes<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u16, D::Error> {
    whole(deserializer, 1..=u16::MAX)
}

/// No cone bends further than back onto its own base.
const BENDS_MOST_DEG: u16 = 180;

fn bend_deg<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u8, D::Error> {
    let deg = whole(deserializer, 0..=BENDS_MOST_DEG)?;
    u8::try_from(deg).map_err(D::Error::custom)
}

fn whole<'de, D: Deserializer<'de>>(deserializer: D, bounds: RangeInclusive<u16>) -> Result<u16, D::Error> {
    let written = f64::deserialize(deserializer)?;
    let (least, most) = (*bounds.start(), *bounds.end());
    let mut numbers = bounds;
    numbers
        .find(|number| f64::from(*number).total_cmp(&written).is_eq())
        .ok_or_else(|| D::Error::custom(format_args!("{written} is no whole number from {least} to {most}")))
}

impl From<control::Order> for Order {
    fn from(order: control::Order) -> Self {
        match order {
            control::Order::Stay => Self::Stay,
            control::Order::CarryOn => Self::CarryOn,
            control::Order::ShutOff => Self::ShutOff,
            control::Order::ClearTrip => Self::ClearTrip,
            control::Order::NextSegment => Self::NextSegment,
            control::Order::AddMinutes(minutes) => Self::AddMinutes(minutes),
            control::Order::EndClimb => Self::EndClimb,
            control::Order::ConeSeen { cone, bend_deg } => Self::ConeSeen { cone: Named(cone), bend_deg },
        }
    }
}

impl From<Order> for control::Order {
    fn from(order: Order) -> Self {
        match order {
            Order::Stay => Self::Stay,
            Order::CarryOn => Self::CarryOn,
            Order::ShutOff => Self::ShutOff,
            Order::ClearTrip => Self::ClearTrip,
            Order::NextSegment => Self::NextSegment,
            Order::AddMinutes(minutes) => Self::AddMinutes(minutes),
            Order::EndClimb => Self::EndClimb,
            Order::ConeSeen { cone, bend_deg } => Self::ConeSeen { cone: cone.0, bend_deg },
        }
    }
}

/// What became of an order: `"taken"`, `{"refused":"too-late"}`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Done in this step.
    Taken,
    /// Not done.
    Refused(Refusal),
}

/// Why an order was not done: `"too-late"`, `{"too-long":{"most_ms":86400000}}`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// The present phase has no place for it.
    NotInThisPhase,
    /// The trip's cause is still there.
    CauseStillThere,
    /// Too late to undo.
    TooLate,
    /// Longer than the kiln file allows.
    TooLong {
        /// The time the controller names with the refusal, in milliseconds.
        most_ms: u64,
    },
    /// A stay longer than the kiln file allows.
    StayTooLong {
        /// The time the controller names with the refusal, in milliseconds.
        most_ms: u64,
    },
}

impl From<control::Outcome> for Outcome {
    fn from(outcome: control::Outcome) -> Self {
        use control::Refusal as Why;
        match outcome {
            control::Outcome::Taken => Self::Taken,
            control::Outcome::Refused(why) => Self::Refused(match why {
                Why::NotInThisPhase => Refusal::NotInThisPhase,
                Why::CauseStillThere => Refusal::CauseStillThere,
                Why::TooLate => Refusal::TooLate,
                Why::TooLong(most) => Refusal::TooLong { most_ms: most.ms() },
                Why::StayTooLong(most) => Refusal::StayTooLong { most_ms: most.ms() },
            }),
        }
    }
}

impl From<Outcome> for control::Outcome {
    fn from(outcome: Outcome) -> Self {
        use control::Refusal as Why;
        match outcome {
            Outcome::Taken => Self::Taken,
            Outcome::Refused(why) => Self::Refused(match why {
                Refusal::NotInThisPhase => Why::NotInThisPhase,
                Refusal::CauseStillThere => Why::CauseStillThere,
                Refusal::TooLate => Why::TooLate,
                Refusal::TooLong { most_ms } => Why::TooLong(Millis::new(most_ms)),
                Refusal::StayTooLong { most_ms } => Why::StayTooLong(Millis::new(most_ms)),
            }),
        }
    }
}

/// What one interlock says, with the numbers behind it.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Finding {
    /// Which interlock.
    pub interlock: Named<Interlock>,
    /// How badly.
    pub severity: Named<Severity>,
    /// Which probe, counted from zero; none for the whole kiln.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probe: Option<u8>,
    /// Which bank, counted from zero; none for the whole kiln.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bank: Option<u8>,
    /// What was seen, in the unit its interlock states.
    pub seen: Number,
    /// The bound it broke.
    pub bound: Number,
    /// For how long, in milliseconds.
    pub lasted_ms: u64,
}

impl From<control::Finding> for Finding {
    fn from(finding: control::Finding) -> Self {
        let control::Finding { interlock, severity, part, evidence } = finding;
        let control::Evidence { seen, bound, lasted } = evidence;
        Self {
            interlock: Named(interlock),
            severity: Named(severity),
            probe: if let Some(Part::Probe(probe)) = part { Some(probe) } else { None },
            bank: if let Some(Part::Bank(bank)) = part { Some(bank) } else { None },
            seen: Number(seen),
            bound: Number(bound),
            lasted_ms: lasted.ms(),
        }
    }
}

impl From<Finding> for control::Finding {
    fn from(finding: Finding) -> Self {
        Self {
            interlock: finding.interlock.0,
            severity: finding.severity.0,
            part: finding.probe.map(Part::Probe).or(finding.bank.map(Part::Bank)),
            evidence: control::Evidence {
                seen: finding.seen.0,
                bound: finding.bound.0,
                lasted: Millis::new(finding.lasted_ms),
            },
        }
    }
}
