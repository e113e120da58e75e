//! Everything that can go wrong with the simulated kiln, and when.

use core::fmt;

use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Millis;

use crate::spec::KilnSpec;

/// A fault with its onset. Any number may overlap; of two that set the same part's condition the
/// later in the list wins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// When it sets in, counted from the plant's start.
    pub onset: Millis,
    /// When it is over; `None` if it stays.
    pub until: Option<Millis>,
    /// What it is.
    pub fault: Fault,
}

/// What can go wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A probe, by index, or its amplifier.
    Probe(usize, ProbeFault),
    /// A bank, by index: its elements, switch, pin or current sensor.
    Bank(usize, BankFault),
    /// The safety contactor welds at its next closing, or at once if it is closed.
    ContactorWelds,
    /// The safety contactor never closes: coil broken, or a mechanical cone shut-off dropped.
    ContactorStuckOpen,
    /// The mains' tension times `ratio`, 0 to 1.5.
    MainsSag {
        /// Tension over what it would be.
        ratio: f64,
    },
    /// No mains. What keeps the electronics alive is not the kiln's matter.
    PowerCut,
    /// Somebody opens the lid.
    LidOpened,
    /// The lid's contact says shut whatever the lid does.
    LidContactStuckShut,
    /// The lid's contact cannot be read.
    LidContactDead,
    /// A gap opens: more gas exchange of the top zone with ambient, 0 to 100 W/K.
    LeakGrown {
        /// How much more.
        w_per_k: f64,
    },
    /// Something heats the enclosure, 0 to 2000 W: a bad terminal, a blocked vent.
    EnclosureHeated {
        /// How much.
        w: f64,
    },
}

/// What can go wrong with a probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ProbeFault {
    /// The circuit is broken.
    Open,
    /// A wire touches ground. A chip that does not look for it reads the cold junction.
    ShortToGround,
    /// A wire touches the supply. A chip that does not look for it reads its highest.
    ShortToSupply,
    /// The two wires touch each other: what is read is the temperature there, and no chip tells.
    /// `share` says where: 0 at the terminal head, 1 at the junction.
    ShortedUpstream {
        /// Place between head (0) and junction (1).
        share: f64,
    },
    /// The two wires touch each other at the amplifier.
    ShortedAtAmplifier,
    /// The two wires are swapped at the amplifier.
    ReversedAtAmplifier,
    /// The two wires are swapped at the terminal head.
    ReversedAtHead,
    /// The extension lead is swapped at both its ends: right while all is cold.
    ExtensionSwapped,
    /// The extension lead is of copper.
    CopperExtension,
    /// The wire is of another type than the chip is set to.
    WrongWire {
        /// What it is.
        actual: Thermocouple,
    },
    /// The junction is drawn out of the chamber, wholly (1) or partly.
    PulledOut {
        /// How far, 0 to 1.
        share: f64,
    },
    /// The wire drifts, from its onset on; negative reads low.
    Drift {
        /// How fast, within ±1000 °C/h.
        c_per_h: f64,
        /// Where it ends, 0 to 500 °C either way.
        most_c: f64,
    },
    /// Noise is added that grows from its onset on.
    NoiseGrowing {
        /// How fast its deviation grows, 0 to 1e5 °C/h.
        c_per_h: f64,
        /// Where it ends, 0 to 200 °C.
        most_c: f64,
    },
    /// Noise is added while any element draws current.
    SwitchingNoise {
        /// Its deviation, 0 to 200 °C.
        c: f64,
    },
    /// The reading steps and stays so until the fault is over: for a glitch, let it last a second.
    Jump {
        /// By how much, within ±2000 °C.
        c: f64,
    },
    /// The chip repeats its last answer.
    Stuck,
    /// The chip, or its bus, is dead: all zeros.
    ChipDead,
    /// The chip lost power and woke with its defaults: type K, fault detection off. A driver that
    /// reads the configuration back notices. Only a chip with a configuration can be reset.
    ChipReset,
    /// The chip's cold-junction sensor is wrong, within ±100 °C.
    ColdJunctionOff {
        /// How much too warm it reads.
        c: f64,
    },
}

/// What can go wrong with a bank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BankFault {
    /// Its relay welds at its next closing, or at once if it is closed.
    RelayWelds,
    /// Its solid-state switch conducts whatever it is told.
    SwitchShorted,
    /// Its solid-state switch conducts one half-wave whatever it is told: half power when off.
    SwitchHalfShorted,
    /// Its relay never closes.
    RelayStuckOpen,
    /// Some of its parallel elements are broken; 1 is a dead bank.
    ElementsBroken {
        /// Which share, 0 to 1.
        share: f64,
    },
    /// Its elements' resistance has grown.
    ElementsAged {
        /// Over new, 0.5 to 5.
        resistance_ratio: f64,
    },
    /// The pin that drives its relay cannot be set, and stays as it is.
    PinDead,
    /// Its current sensor cannot be read.
    CurrentSensorDead,
}

/// A fault that this kiln cannot have.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultRefused {
    /// Which of the list.
    pub index: usize,
    /// Why.
    pub reason: String,
}

impl fmt::Display for FaultRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "fault {}: {}", self.index, self.reason)
    }
}

impl core::error::Error for FaultRefused {}

/// Checks that each fault's part exists and its size is within the stated bounds.
pub(crate) fn check(faults: &[Timed], spec: &KilnSpec) -> Result<(), FaultRefused> {
    for (index, timed) in faults.iter().enumerate() {
        let ends = timed.until.is_none_or(|until| until > timed.onset);
        let verdict =
            if ends { possible(timed.fault, spec) } else { Err("it is over before it begins".into()) };
        verdict.map_err(|reason| FaultRefused { index, reason })?;
    }
    Ok(())
}

fn possible(fault: Fault, spec: &KilnSpec) -> Result<(), String> {
    match fault {
        Fault::Probe(probe, kind) => {
            let fitted = spec.probes.get(probe).ok_or_else(|| format!("there is no probe {probe}"))?;
            if kind == ProbeFault::ChipReset && !has_configuration(fitted.amplifier) {
                return Err(format!("{:?} has no configuration to lose", fitted.amplifier));
            }
            probe_sizes(kind)
        }
        Fault::Bank(bank, kind) => {
            spec.banks.get(bank).ok_or_else(|| format!("there is no bank {bank}"))?;
            bank_sizes(kind)
        }
        Fault::MainsSag { ratio } => sized("ratio", ratio, 0.0, 1.5),
        Fault::LeakGrown { w_per_k } => sized("w_per_k", w_per_k, 0.0, 100.0),
        Fault::EnclosureHeated { w } => sized("w", w, 0.0, 2000.0),
        Fault::ContactorWelds
        | Fault::ContactorStuckOpen
        | Fault::PowerCut
        | Fault::LidOpened
        | Fault::LidContactStuckShut
        | Fault::LidContactDead => Ok(()),
    }
}

fn probe_sizes(kind: ProbeFault) -> Result<(), String> {
    match kind {
        ProbeFault::ShortedUpstream { share } | ProbeFault::PulledOut { share } => {
            sized("share", share, 0.0, 1.0)
        }
        ProbeFault::Drift { c_per_h, most_c } => {
            sized("c_per_h", c_per_h, -1000.0, 1000.0)?;
            sized("most_c", most_c, 0.0, 500.0)
        }
        ProbeFault::NoiseGrowing { c_per_h, most_c } => {
            sized("c_per_h", c_per_h, 0.0, 1.0e5)?;
            sized("most_c", most_c, 0.0, 200.0)
        }
        ProbeFault::SwitchingNoise { c } => sized("c", c, 0.0, 200.0),
        ProbeFault::Jump { c } => sized("c", c, -2000.0, 2000.0),
        ProbeFault::ColdJunctionOff { c } => sized("c", c, -100.0, 100.0),
        ProbeFault::Open
        | ProbeFault::ShortToGround
        | ProbeFault::ShortToSupply
        | ProbeFault::ShortedAtAmplifier
        | ProbeFault::ReversedAtAmplifier
        | ProbeFault::ReversedAtHead
        | ProbeFault::ExtensionSwapped
        | ProbeFault::CopperExtension
        | ProbeFault::WrongWire { .. }
        | ProbeFault::Stuck
        | ProbeFault::ChipDead
        | ProbeFault::ChipReset => Ok(()),
    }
}

fn bank_sizes(kind: BankFault) -> Result<(), String> {
    match kind {
        BankFault::ElementsBroken { share } => sized("share", share, 0.0, 1.0),
        BankFault::ElementsAged { resistance_ratio } => sized("resistance_ratio", resistance_ratio, 0.5, 5.0),
        BankFault::RelayWelds
        | BankFault::SwitchShorted
        | BankFault::SwitchHalfShorted
        | BankFault::RelayStuckOpen
        | BankFault::PinDead
        | BankFault::CurrentSensorDead => Ok(()),
    }
}

fn sized(field: &str, value: f64, low: f64, high: f64) -> Result<(), String> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(format!("{field}: {value} is outside {low} to {high}"))
    }
}

fn has_configuration(amplifier: Amplifier) -> bool {
    match amplifier {
        Amplifier::Max31856 | Amplifier::Mcp9600 => true,
        Amplifier::Max31855 | Amplifier::Max6675 => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(fault: Fault, until: Option<Millis>) -> Option<String> {
        let timed = Timed { onset: Millis::from_seconds(5), until, fault };
        check(&[timed], &KilnSpec::default()).err().map(|refused| refused.to_string())
    }

    #[test]
    fn a_fault_of_a_part_the_kiln_lacks_or_of_no_possible_size_is_refused() {
        let refused = |fault| refusal(fault, None);
        assert_eq!(
            refused(Fault::Probe(1, ProbeFault::Open)).as_deref(),
            Some("fault 0: there is no probe 1")
        );
        assert_eq!(
            refused(Fault::Bank(2, BankFault::PinDead)).as_deref(),
            Some("fault 0: there is no bank 2")
        );
        let nan = refused(Fault::MainsSag { ratio: f64::NAN });
        assert_eq!(nan.as_deref(), Some("fault 0: ratio: NaN is outside 0 to 1.5"));
        assert_eq!(refused(Fault::PowerCut), None);
    }

    #[test]
    fn a_fault_that_ends_before_it_begins_is_refused() {
        assert!(refusal(Fault::PowerCut, Some(Millis::from_seconds(5))).is_some());
        assert!(refusal(Fault::PowerCut, Some(Millis::from_seconds(6))).is_none());
    }
}
