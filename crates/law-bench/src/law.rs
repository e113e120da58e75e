//! The laws that are compared.

use control::Closeness;

use crate::baseline::{on_off, pid};
use crate::case::Case;
use crate::fire::{Begun, fire, fire_again};
use crate::track::Track;

/// A way to fire a kiln.
pub(crate) struct Law {
    pub(crate) name: &'static str,
    pub(crate) fire: fn(&Case) -> Track,
}

/// All of them, the plainest first.
pub(crate) const LAWS: [Law; 7] = [
    Law { name: "on and off", fire: on_off::fire },
    Law { name: "PID", fire: pid::fire_plain },
    Law { name: "PID, scheduled", fire: pid::fire_scheduled },
    Law { name: "Saggar, sparing, first firing", fire: |case| fire(case, Begun::default(), |_, _| {}) },
    Law { name: "Saggar, sparing, second firing", fire: |case| fire_again(case, Closeness::Sparing) },
    Law {
        name: "Saggar, close, first firing",
        fire: |case| fire(case, Begun { switching: Closeness::Close, learned: None }, |_, _| {}),
    },
    Law { name: "Saggar, close, second firing", fire: |case| fire_again(case, Closeness::Close) },
];
