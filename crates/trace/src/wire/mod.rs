//! The wire types: what a line of a trace looks like, apart from what the controller works with.
//!
//! Nothing in `control` is `Serialize`; these types are, and convert both ways. A number is
//! checked against its unit's range while it is parsed, and a name against its table, so the
//! message of a bad line tells the place. What single values cannot show (a programme that
//! cannot be run, a bank governed by a probe that isn't there) is checked by the conversion.
//!
//! Co-simulation and the page reuse [`Order`], [`Finding`] and [`Named`], so a name is spelt the
//! same everywhere.

mod carried;
mod few;
mod names;
mod number;
mod plan;
mod probe;
mod step;
mod talk;
mod workshop;

pub use carried::Carried;
pub use few::Few;
pub use names::{Name, Named};
pub use number::{Exact, Number, Quantity};
pub use plan::{Firing, Segment};
pub use probe::Probe;
pub use step::{Answer, Did, Faults, Line, Saw};
pub use talk::{Finding, Order, Outcome, Refusal};
pub use workshop::{Kiln, Model, Setup};

/// Well-formed JSON that says something no kiln, programme or reading can be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {reason}")]
pub struct WireFault {
    /// Which field.
    pub field: &'static str,
    /// What is wrong with it.
    pub reason: String,
}

impl WireFault {
    pub(crate) fn new(field: &'static str, reason: impl Into<String>) -> Self {
        Self { field, reason: reason.into() }
    }
}
