//! What a person can ask of a firing, and what becomes of it.

use pyrometry::cone::Cone;
use pyrometry::units::Millis;

/// What a person asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Keep the present setpoint until told otherwise.
    Stay,
    /// Go on after a stay; or, soon after one's own shut-off, undo it.
    CarryOn,
    /// End the heating.
    ShutOff,
    /// Acknowledge a trip whose cause is gone.
    ClearTrip,
    /// Skip what is left of this segment.
    NextSegment,
    /// Lengthen the present soak or stay.
    AddMinutes(u16),
    /// Stop climbing here and begin the segment's soak.
    EndClimb,
    /// What a person sees through the spyhole. Evidence only; it changes no heat.
    ConeSeen {
        /// Which cone.
        cone: Cone,
        /// Its bend: 0 as set, 90 when its tip is level with its base.
        bend_deg: u8,
    },
}

/// What became of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It was done in this step.
    Taken,
    /// It was not done.
    Refused(Refusal),
}

/// Why an order was not done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The present phase has no place for it.
    NotInThisPhase,
    /// The trip's cause is still there.
    CauseStillThere,
    /// The time in which a shut-off can be undone is over, or the kiln has cooled too far.
    TooLate,
    /// It would make the firing longer than the kiln file allows.
    TooLong(Millis),
    /// It would make the stay longer than the kiln file allows.
    StayTooLong(Millis),
}
