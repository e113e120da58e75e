//! The laws that are compared.

use crate::baseline::{on_off, pid};
use crate::case::Case;
use crate::fire::fire;
use crate::track::Track;

/// A way to fire a kiln.
pub(crate) struct Law {
    pub(crate) name: &'static str,
    pub(crate) fire: fn(&Case) -> Track,
}

/// All of them, the plainest first.
pub(crate) const LAWS: [Law; 4] = [
    Law { name: "on and off", fire: on_off::fire },
    Law { name: "PID", fire: pid::fire_plain },
    Law { name: "PID, scheduled", fire: pid::fire_scheduled },
    Law { name: "Saggar, first firing", fire: |case| fire(case, case.kiln.model, |_, _| {}) },
];
