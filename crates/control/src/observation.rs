//! What one step gets to see.

use pyrometry::amplifier::Report;
use pyrometry::units::{Amps, Millis};

use crate::BANKS_MOST;
use crate::expected::Expected;
use crate::order::Order;

/// What a contact input says, such as the lid's.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Contact {
    /// The kiln file names no such contact.
    #[default]
    NotFitted,
    /// Closed: the lid is shut, or the contactor is closed.
    Shut,
    /// Open: the lid or the contactor is.
    Open,
    /// Fitted, but it could not be read.
    Unreadable,
}

/// Everything one step gets to see. Recorded in the trace as it stands.
#[derive(Clone, Copy, Debug)]
pub struct Observation<'a> {
    /// Monotonic time since the controller's first step.
    pub at: Millis,
    /// What each probe's amplifier said, in the kiln file's order.
    pub probes: &'a [Report],
    /// The lid's contact.
    pub lid: Contact,
    /// What the safety contactor's mirror contact says of the contactor: shut is closed.
    pub contactor: Contact,
    /// Measured current of each bank; `None` where there is no sensor or it could not be read.
    pub amps: [Option<Amps>; BANKS_MOST],
    /// What people asked for since the last step, oldest first.
    pub orders: &'a [Order],
    /// What the rest of the schedule is forecast to take, made outside after an order that
    /// changed it; stays left out.
    pub forecast: Option<Expected>,
}
