//! What the latch on disk says, as the control thread knows it.

use std::sync::Arc;

use control::Finding;

use crate::store::Latched;

/// What the latch on disk says as far as it was handed over, and why it may be unreadable.
#[derive(Debug)]
pub(super) struct LatchWord {
    /// The latch as the keeper has it.
    pub(super) handed_over: Latched,
    /// Why it cannot be read, until a person has cleared it.
    pub(super) unreadable: Option<Arc<str>>,
}

impl LatchWord {
    pub(super) fn of(latched: &Latched) -> Self {
        let unreadable = match latched {
            Latched::Clear | Latched::Trip(_) => None,
            Latched::Unreadable(why) => Some(Arc::from(why.as_str())),
        };
        Self { handed_over: latched.clone(), unreadable }
    }

    pub(super) fn trip(&self) -> Option<Finding> {
        match self.handed_over {
            Latched::Trip(finding) => Some(finding),
            Latched::Clear | Latched::Unreadable(_) => None,
        }
    }

    /// Whether nothing has to be written. An unreadable latch is only overwritten by a trip, until
    /// a person has cleared it.
    pub(super) fn is_as(&self, trip: Option<Finding>) -> bool {
        match (&self.handed_over, trip) {
            (Latched::Trip(before), Some(now)) => {
                before.interlock == now.interlock && before.part == now.part
            }
            (Latched::Clear, None) => true,
            (Latched::Unreadable(_), None) => self.unreadable.is_some(),
            (Latched::Trip(_), None) | (Latched::Clear | Latched::Unreadable(_), Some(_)) => false,
        }
    }
}
