//! The vocabulary in a potter's words: phases, orders, refusals, cones.

use control::{Order, Phase, Refusal};
use pyrometry::cone::Cone;

use crate::files::time;

/// A phase, as the beginning of a sentence.
#[must_use]
pub const fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Resting => "Resting",
        Phase::SetForLater => "Set for later",
        Phase::Climbing => "Climbing",
        Phase::Soaking => "Soaking",
        Phase::SlowCooling => "Slow cooling",
        Phase::Staying => "Staying",
        Phase::Cooling => "Cooling, elements off",
        Phase::CoolEnoughToOpen => "Cool enough to open",
        Phase::Tripped => "Tripped",
    }
}

/// An order's name in files and protocols.
#[must_use]
pub const fn order_name(order: Order) -> &'static str {
    match order {
        Order::Stay => "stay",
        Order::CarryOn => "carry-on",
        Order::ShutOff => "shut-off",
        Order::ClearTrip => "clear-trip",
        Order::NextSegment => "next-segment",
        Order::AddMinutes(_) => "add-minutes",
        Order::EndClimb => "end-climb",
        Order::ConeSeen { .. } => "cone-seen",
    }
}

/// An order as what a person asked for.
#[must_use]
pub fn order(order: Order) -> String {
    match order {
        Order::Stay => "Stay at this setpoint".to_owned(),
        Order::CarryOn => "Carry on".to_owned(),
        Order::ShutOff => "Shut off".to_owned(),
        Order::ClearTrip => "Clear the trip".to_owned(),
        Order::NextSegment => "Go to the next segment".to_owned(),
        Order::AddMinutes(minutes) => format!("Add {minutes} minutes"),
        Order::EndClimb => "End the climb and soak here".to_owned(),
        Order::ConeSeen { cone, bend_deg } => format!("Cone {cone} seen bent by {bend_deg}°"),
    }
}

/// Why an order was refused in that phase.
#[must_use]
pub fn refusal(refusal: Refusal, phase: Phase) -> String {
    match refusal {
        Refusal::NotInThisPhase => not_in(phase).to_owned(),
        Refusal::CauseStillThere => "What caused the trip is still there: put it right first.".to_owned(),
        Refusal::TooLate => {
            "A shut-off can be undone for ten minutes and within 30 °C (54 °F); it is too late now."
                .to_owned()
        }
        Refusal::TooLong(longest) => {
            format!("That would pass the longest firing in the kiln file, {}.", time::say(longest))
        }
        Refusal::StayTooLong(longest) => {
            format!("That would pass the longest stay in the kiln file, {}.", time::say(longest))
        }
    }
}

const fn not_in(phase: Phase) -> &'static str {
    match phase {
        Phase::Resting => "No firing is under way.",
        Phase::CoolEnoughToOpen => "No firing is under way: the last one is over.",
        Phase::SetForLater => "The firing has not begun yet; it can only be shut off.",
        Phase::Staying => "Not during a stay: carry on first.",
        Phase::Tripped => "Not after a trip: it has to be cleared first.",
        Phase::Climbing | Phase::Soaking | Phase::SlowCooling | Phase::Cooling => {
            "There is nothing of the kind to do just now."
        }
    }
}

/// Short of its end point by this, about 1 °C, a cone has bent by 85° and looks down; the maker's
/// batches vary by twice that.
const LOOKS_DOWN: f64 = 0.05;

/// The hottest cone that is down, by the continuous ordinal; `None` before the first.
#[must_use]
pub fn cone_reached(ordinal: f64) -> Option<String> {
    Cone::ALL
        .into_iter()
        .rev()
        .find(|cone| cone.ordinal() - LOOKS_DOWN <= ordinal)
        .map(|cone| cone.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_order_at_rest_is_told_that_no_firing_is_under_way() {
        assert_eq!(refusal(Refusal::NotInThisPhase, Phase::Resting), "No firing is under way.");
        assert!(refusal(Refusal::NotInThisPhase, Phase::Soaking).starts_with("There is nothing"));
    }

    #[test]
    fn a_cone_is_reached_when_it_is_down_and_not_before() {
        assert_eq!(cone_reached(5.9).as_deref(), Some("5½"));
        assert_eq!(cone_reached(5.999_999).as_deref(), Some("6"));
        assert_eq!(cone_reached(6.0).as_deref(), Some("6"));
        assert_eq!(cone_reached(-5.0).as_deref(), Some("06"));
        assert_eq!(cone_reached(-22.0), None);
    }
}
