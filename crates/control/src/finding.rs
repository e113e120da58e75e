//! What interlocks say: which one, how badly, and on what evidence.

use pyrometry::units::Millis;

/// How far an interlock's verdict reaches. The worst one wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// A person should know; heat goes on.
    Notice,
    /// No heat in this step.
    Withhold,
    /// No heat until a person clears it.
    Trip,
}

/// Every interlock by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Interlock {
    /// An open thermocouple.
    BrokenThermocouple,
    /// A thermocouple wire on ground or supply.
    ShortedThermocouple,
    /// A dead amplifier or bus, or a chip that lost its configuration.
    AmplifierNotAnswering,
    /// No good sample for too long.
    StaleReading,
    /// The same word longer than noise allows.
    StuckReading,
    /// A change no kiln can make.
    JumpingReading,
    /// The two wires exchanged.
    ReversedThermocouple,
    /// Hotter than the kiln or the programme allows.
    AboveCeiling,
    /// Hotter than the setpoint by too much.
    AbovePlan,
    /// Heat that nobody asked for.
    HeatingWhileOff,
    /// Asked for heat that does not come.
    NotHeating,
    /// Far longer than forecast.
    FiringTooLong,
    /// An interlock gave no verdict: a fault in itself.
    CheckMissing,
}

/// The numbers behind a finding, in the unit its interlock states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evidence {
    /// What was seen.
    pub seen: f64,
    /// The bound it broke.
    pub bound: f64,
    /// For how long.
    pub lasted: Millis,
}

/// What one interlock says in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// Which interlock.
    pub interlock: Interlock,
    /// How badly.
    pub severity: Severity,
    /// Which probe it is about, counted from zero; `None` for the whole kiln.
    pub probe: Option<u8>,
    /// The numbers.
    pub evidence: Evidence,
}
