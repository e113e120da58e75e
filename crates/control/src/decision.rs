//! What one step decides.

use heapless::Vec;
use pyrometry::units::{Celsius, CelsiusDelta, Duty, Millis};

use crate::finding::Finding;
use crate::order::Outcome;
use crate::phase::Phase;
use crate::{BANKS_MOST, NOTICES_MOST, ORDERS_MOST, PROBES_MOST};

/// Which banks are to be energised; `true` is energised. Default is all off.
pub type BankLevels = [bool; BANKS_MOST];

/// How a climb came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClimbEnd {
    /// At its temperature.
    Temperature,
    /// Its cone will be down when the kiln is unloaded.
    ConeDown,
    /// Its cone was waited for as long as the segment allows, and is not down.
    ConeNotDown,
    /// A person ended it.
    Ordered,
}

/// Everything one step decides and derives. Recorded in the trace as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The observation's time.
    pub at: Millis,
    /// The phase after this step.
    pub phase: Phase,
    /// The segment being run, counted from zero.
    pub segment: Option<u8>,
    /// The schedule's own setpoint, before any shaping. The reading itself where there is no plan.
    pub setpoint: Option<Celsius>,
    /// Corrected junction temperature of each probe, where this step's report supports one.
    pub junctions: [Option<Celsius>; PROBES_MOST],
    /// The temperature the firing is judged by: the mean of the good probes.
    pub chamber: Option<Celsius>,
    /// Setpoint minus chamber.
    pub lag: Option<CelsiusDelta>,
    /// The duty asked of each bank.
    pub duty: [Duty; BANKS_MOST],
    /// What each bank's relay is told.
    pub banks: BankLevels,
    /// Whether the contactor may be closed.
    pub permission: bool,
    /// How a climb ended, in the step in which it did.
    pub climb_end: Option<ClimbEnd>,
    /// Whether the schedule's clock stood still in this step, waiting for the kiln.
    pub waiting: bool,
    /// The latched trip.
    pub trip: Option<Finding>,
    /// What withholds heat in this step, if anything.
    pub withheld: Option<Finding>,
    /// What would refuse a light-up now: a sensor that could not guide a firing.
    pub refuses_light_up: Option<Finding>,
    /// What a person should know.
    pub notices: Vec<Finding, NOTICES_MOST>,
    /// The cone reached so far: its continuous ordinal.
    pub cone: Option<f64>,
    /// What became of each of this step's orders, in order.
    pub outcomes: Vec<Outcome, ORDERS_MOST>,
}
