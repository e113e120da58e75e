//! A step as the reader hands it out: an observation that owns its data, and the decision.

use control::{BANKS_MOST, Contact, Decision, Expected, ORDERS_MOST, Observation, Order, PROBES_MOST};
use heapless::Vec;
use pyrometry::amplifier::Report;
use pyrometry::units::{Amps, Millis};

/// An observation that owns its data.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Monotonic time since the first step.
    pub at: Millis,
    /// What each probe's amplifier said.
    pub probes: Vec<Report, PROBES_MOST>,
    /// The lid's contact.
    pub lid: Contact,
    /// What the contactor's mirror contact says.
    pub contactor: Contact,
    /// Measured current of each bank, where it could be measured.
    pub amps: [Option<Amps>; BANKS_MOST],
    /// What people asked for.
    pub orders: Vec<Order, ORDERS_MOST>,
    /// A new forecast of the firing's length.
    pub forecast: Option<Expected>,
}

/// An observation with more probes or orders than a controller takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an observation carries at most {PROBES_MOST} probes and {ORDERS_MOST} orders")]
pub struct TooMuchSeen;

impl Seen {
    /// What the controller takes.
    #[must_use]
    pub fn observation(&self) -> Observation<'_> {
        let Self { at, probes, lid, contactor, amps, orders, forecast } = self;
        Observation {
            at: *at,
            probes,
            lid: *lid,
            contactor: *contactor,
            amps: *amps,
            orders,
            forecast: *forecast,
        }
    }
}

impl TryFrom<&Observation<'_>> for Seen {
    type Error = TooMuchSeen;

    fn try_from(observation: &Observation<'_>) -> Result<Self, TooMuchSeen> {
        let Observation { at, probes, lid, contactor, amps, orders, forecast } = *observation;
        let probes = Vec::from_slice(probes).map_err(|_| TooMuchSeen)?;
        let orders = Vec::from_slice(orders).map_err(|_| TooMuchSeen)?;
        Ok(Self { at, probes, lid, contactor, amps, orders, forecast })
    }
}

/// One line of a trace.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Steps just before this one that could not be kept.
    pub lost: u64,
    /// Time of day, ms since 1970-01-01T00:00Z, where the computer's clock could be relied on.
    pub clock_ms: Option<u64>,
    /// What the controller saw.
    pub seen: Seen,
    /// What it decided; `None` in a trace of inputs alone.
    pub decided: Option<Decision>,
}
