//! SR-26: no heat while the lid is open, or while nobody can tell.

use pyrometry::units::Millis;

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};
use crate::observation::Contact;

pub(crate) const ROW: Row = Row {
    requirement: "SR-26",
    interlock: Interlock::LidOpen,
    condition: "the lid's contact is open or cannot be read: withholds in the same step; 30 min or a drop of 100 °C trips",
    worst: Severity::Withhold,
    clears: "the lid's contact is closed",
    look_at: &["the lid: is it shut?", "the contact: its place, its wires"],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::FORBEARING,
    urgent: None,
    say: |evidence, f| {
        if evidence.seen > 0.0 {
            f.write_str("the lid is open.")
        } else {
            f.write_str("whether the lid is shut cannot be read.")
        }
    },
};

/// It has no state: the contact comes with the step.
pub(crate) fn judge(view: &View<'_>) -> Verdict {
    let seen = match view.seen.lid {
        Contact::NotFitted | Contact::Shut => return Verdict::Clear,
        Contact::Open => 1.0,
        Contact::Unreadable => 0.0,
    };
    Verdict::overall(Severity::Withhold, Evidence { seen, bound: 0.0, lasted: Millis::ZERO })
}
