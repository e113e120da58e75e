//! Which phase follows which: one table of phase and event, and nothing else.
//!
//! The controller turns a [`Move`] into a stage with its data; this file only says what is
//! allowed. `docs/states.md` shows the same table to people and a test keeps the two alike.

use crate::order::Refusal;
use crate::phase::Phase;

/// What can happen to a kiln.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Event {
    /// The time set for light-up has come.
    Due,
    /// A climb or cooling got to its target.
    Arrived,
    /// A soak or watch is over.
    SoakOver,
    /// The longest stay is over.
    StayOver,
    /// No segment is left.
    ProgrammeOver,
    /// Cold enough to open.
    ColdEnough,
    /// Warmer again than is good to open.
    WarmAgain,
    /// A person's order to stay.
    Stay,
    /// A person's order to carry on.
    CarryOn,
    /// A person's order to shut off.
    ShutOff,
    /// A person's order to skip the rest of the segment.
    NextSegment,
    /// A person's order to begin the soak now.
    EndClimb,
    /// A person's order to lengthen the soak or stay.
    AddMinutes,
    /// An interlock tripped.
    Trip,
    /// A person cleared the trip, and its cause is gone.
    ClearTrip,
}

/// What the controller does about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Move {
    /// Nothing: the event says nothing new in this phase.
    Ignore,
    /// The order has no place here.
    Refuse(Refusal),
    /// Begin the first segment.
    Begin,
    /// Hold where the segment arrived, for its soak.
    Soak,
    /// Go to the next segment.
    Advance,
    /// Keep the present setpoint until told.
    Hold,
    /// Go back to what was left for a stay or a shut-off.
    Resume,
    /// Lengthen the present hold.
    Lengthen,
    /// End the heating for a person, who may soon undo it.
    Extinguish,
    /// Call off a light-up that has not come yet.
    CallOff,
    /// The firing is done: let the kiln cool.
    Finish,
    /// The kiln may be opened.
    Open,
    /// Latch the trip.
    Latch,
    /// Leave the trip, cold or hot.
    Release,
}

impl Event {
    /// Every event.
    #[cfg(test)]
    pub(crate) const ALL: [Self; 15] = [
        Self::Due,
        Self::Arrived,
        Self::SoakOver,
        Self::StayOver,
        Self::ProgrammeOver,
        Self::ColdEnough,
        Self::WarmAgain,
        Self::Stay,
        Self::CarryOn,
        Self::ShutOff,
        Self::NextSegment,
        Self::EndClimb,
        Self::AddMinutes,
        Self::Trip,
        Self::ClearTrip,
    ];

    /// Whether a person asked for it, and so must be told when it has no place.
    const fn is_an_order(self) -> bool {
        match self {
            Self::Stay
            | Self::CarryOn
            | Self::ShutOff
            | Self::NextSegment
            | Self::EndClimb
            | Self::AddMinutes
            | Self::ClearTrip => true,
            Self::Due
            | Self::Arrived
            | Self::SoakOver
            | Self::StayOver
            | Self::ProgrammeOver
            | Self::ColdEnough
            | Self::WarmAgain
            | Self::Trip => false,
        }
    }
}

/// The table. What it doesn't name changes nothing: an order is refused, an event ignored.
pub(crate) const fn transition(phase: Phase, event: Event) -> Move {
    use Event as E;
    use Phase as P;
    match (phase, event) {
        (_, E::Trip) => Move::Latch,
        (P::Tripped, E::ClearTrip) => Move::Release,

        (P::SetForLater, E::Due) => Move::Begin,
        (P::Climbing | P::SlowCooling | P::Cooling, E::Arrived) => Move::Soak,
        (P::Climbing, E::EndClimb) => Move::Soak,
        (P::Soaking | P::Cooling, E::SoakOver) => Move::Advance,
        (P::Climbing | P::Soaking | P::SlowCooling | P::Staying | P::Cooling, E::NextSegment) => {
            Move::Advance
        }

        (P::Climbing | P::Soaking | P::SlowCooling | P::Cooling, E::Stay) => Move::Hold,
        (P::Staying | P::Cooling, E::CarryOn) | (P::Staying, E::StayOver) => Move::Resume,
        (P::Soaking | P::Staying, E::AddMinutes) => Move::Lengthen,

        (P::SetForLater, E::ShutOff) => Move::CallOff,
        (P::Climbing | P::Soaking | P::SlowCooling | P::Staying | P::Cooling, E::ShutOff) => Move::Extinguish,
        (P::Climbing | P::Soaking | P::SlowCooling | P::Staying | P::Cooling, E::ProgrammeOver)
        | (P::CoolEnoughToOpen, E::WarmAgain) => Move::Finish,
        (P::Cooling, E::ColdEnough) => Move::Open,

        _ if event.is_an_order() => Move::Refuse(Refusal::NotInThisPhase),
        _ => Move::Ignore,
    }
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;
    use std::string::String;

    use super::*;

    /// The table as people read it in `docs/states.md`.
    fn drawn() -> String {
        let mut table = String::from("| phase |");
        for event in Event::ALL {
            let _ = write!(table, " {event:?} |");
        }
        table.push_str("\n| --- |");
        for _ in Event::ALL {
            table.push_str(" --- |");
        }
        for phase in Phase::ALL {
            let _ = write!(table, "\n| {} |", phase.name());
            for event in Event::ALL {
                let done = transition(phase, event);
                if done == Move::Ignore {
                    table.push_str(" · |");
                } else if matches!(done, Move::Refuse(_)) {
                    table.push_str(" refused |");
                } else {
                    let _ = write!(table, " {done:?} |");
                }
            }
        }
        table
    }

    #[test]
    fn every_phase_and_event_is_as_the_manual_shows_it() {
        let manual = include_str!("../../../docs/states.md");
        assert!(manual.contains(&drawn()), "docs/states.md must hold this table:\n{}", drawn());
    }

    #[test]
    fn a_trip_latches_from_every_phase_and_only_a_clearing_leaves_it() {
        for phase in Phase::ALL {
            assert_eq!(transition(phase, Event::Trip), Move::Latch);
        }
        for event in Event::ALL {
            let leaves =
                !matches!(transition(Phase::Tripped, event), Move::Ignore | Move::Refuse(_) | Move::Latch);
            assert_eq!(leaves, event == Event::ClearTrip);
        }
    }
}
