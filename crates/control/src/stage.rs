//! The stage of a kiln: its phase with the data that only that phase has.

use pyrometry::units::{Celsius, Millis};

use crate::phase::Phase;
use crate::plan::Run;

/// How long a person's own shut-off can be undone.
pub const UNDO_WITHIN: Millis = Millis::from_minutes(10);
/// How far the kiln may have cooled by then, °C.
pub const UNDO_WITHIN_C: f64 = 30.0;

/// A held setpoint and what follows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stay {
    /// The held setpoint.
    pub(crate) at: Celsius,
    /// What is left of the longest stay.
    pub(crate) left: Millis,
    /// Where the schedule goes on.
    pub(crate) resume: Run,
}

/// What a shut-off interrupted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Interrupted {
    Running(Run),
    Staying(Stay),
}

/// A shut-off, while it can be undone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Undo {
    pub(crate) shut_off_at: Millis,
    pub(crate) chamber: Celsius,
    pub(crate) interrupted: Interrupted,
}

/// What the kiln is doing, with its data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Stage {
    Resting,
    SetForLater {
        due: Millis,
    },
    /// Lit, but no reading yet to begin from: no heat until there is one.
    AwaitingReading,
    Running(Run),
    Staying(Stay),
    Cooling {
        undo: Option<Undo>,
    },
    CoolEnoughToOpen,
    Tripped,
}

impl Stage {
    /// The phase this stage is.
    pub(crate) fn phase(&self) -> Phase {
        match self {
            Self::Resting => Phase::Resting,
            Self::SetForLater { .. } => Phase::SetForLater,
            Self::AwaitingReading => Phase::Climbing,
            Self::Running(run) => run.phase(),
            Self::Staying(_) => Phase::Staying,
            Self::Cooling { .. } => Phase::Cooling,
            Self::CoolEnoughToOpen => Phase::CoolEnoughToOpen,
            Self::Tripped => Phase::Tripped,
        }
    }

    /// Whether heat may be given: not before there is a reading to begin from.
    pub(crate) fn may_heat(&self) -> bool {
        *self != Self::AwaitingReading && self.phase().may_heat()
    }

    /// The place in the programme, while there is one.
    pub(crate) fn run(&self) -> Option<&Run> {
        match self {
            Self::Running(run) | Self::Staying(Stay { resume: run, .. }) => Some(run),
            Self::Resting
            | Self::SetForLater { .. }
            | Self::AwaitingReading
            | Self::Cooling { .. }
            | Self::CoolEnoughToOpen
            | Self::Tripped => None,
        }
    }

    /// The schedule's setpoint.
    pub(crate) fn setpoint(&self) -> Option<Celsius> {
        self.setpoint_after(Millis::ZERO)
    }

    /// The schedule's setpoint some time ahead.
    pub(crate) fn setpoint_after(&self, ahead: Millis) -> Option<Celsius> {
        match self {
            Self::Running(run) => run.setpoint_after(ahead),
            Self::Staying(stay) => Some(stay.at),
            Self::Resting
            | Self::SetForLater { .. }
            | Self::AwaitingReading
            | Self::Cooling { .. }
            | Self::CoolEnoughToOpen
            | Self::Tripped => None,
        }
    }
}
