//! What interlocks say: which one, how badly, and on what evidence; and the same in a potter's words.

use core::fmt;

use pyrometry::units::Millis;

use crate::interlock::{Row, row};

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
    /// A reading that jitters.
    JaggedReading,
    /// The two wires touch before the tip.
    ShortedLead,
    /// The tip has left the kiln.
    ThermocouplePulledOut,
    /// The box with the electronics too hot.
    EnclosureHot,
    /// Full power, and no climb.
    KilnStalled,
    /// The lid open, or unknown.
    LidOpen,
    /// A bank draws current while its relay is off.
    CurrentWhileOff,
    /// A bank that is on draws too little current.
    WeakCurrent,
    /// A bank that warms its thermocouple far less than its like.
    BankNotFelt,
    /// More energy than forecast.
    MoreEnergyThanForecast,
    /// The safety contactor not as it was told.
    ContactorNotFollowing,
    /// Zones that read too far apart.
    ZonesApart,
    /// An interlock gave no verdict: a fault in itself.
    CheckMissing,
}

impl Interlock {
    /// Every interlock.
    pub const ALL: [Self; 25] = [
        Self::BrokenThermocouple,
        Self::ShortedThermocouple,
        Self::AmplifierNotAnswering,
        Self::StaleReading,
        Self::StuckReading,
        Self::JumpingReading,
        Self::ReversedThermocouple,
        Self::AboveCeiling,
        Self::AbovePlan,
        Self::HeatingWhileOff,
        Self::NotHeating,
        Self::FiringTooLong,
        Self::JaggedReading,
        Self::ShortedLead,
        Self::ThermocouplePulledOut,
        Self::EnclosureHot,
        Self::KilnStalled,
        Self::LidOpen,
        Self::CurrentWhileOff,
        Self::WeakCurrent,
        Self::BankNotFelt,
        Self::MoreEnergyThanForecast,
        Self::ContactorNotFollowing,
        Self::ZonesApart,
        Self::CheckMissing,
    ];

    /// The name in files, protocols and on screens.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::BrokenThermocouple => "broken-thermocouple",
            Self::ShortedThermocouple => "shorted-thermocouple",
            Self::AmplifierNotAnswering => "amplifier-not-answering",
            Self::StaleReading => "stale-reading",
            Self::StuckReading => "stuck-reading",
            Self::JumpingReading => "jumping-reading",
            Self::ReversedThermocouple => "reversed-thermocouple",
            Self::AboveCeiling => "above-ceiling",
            Self::AbovePlan => "above-plan",
            Self::HeatingWhileOff => "heating-while-off",
            Self::NotHeating => "not-heating",
            Self::FiringTooLong => "firing-too-long",
            Self::JaggedReading => "jagged-reading",
            Self::ShortedLead => "shorted-lead",
            Self::ThermocouplePulledOut => "thermocouple-pulled-out",
            Self::EnclosureHot => "enclosure-hot",
            Self::KilnStalled => "kiln-stalled",
            Self::LidOpen => "lid-open",
            Self::CurrentWhileOff => "current-while-off",
            Self::WeakCurrent => "weak-current",
            Self::BankNotFelt => "bank-not-felt",
            Self::MoreEnergyThanForecast => "more-energy-than-forecast",
            Self::ContactorNotFollowing => "contactor-not-following",
            Self::ZonesApart => "zones-apart",
            Self::CheckMissing => "check-missing",
        }
    }

    /// The interlock of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|interlock| interlock.name() == name)
    }

    /// Its row: requirement, condition, worst severity, clear rule and what to look at.
    #[must_use]
    pub const fn row(self) -> &'static Row {
        row(self)
    }
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

/// The part of the kiln that a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A probe, counted from zero.
    Probe(u8),
    /// A bank, counted from zero.
    Bank(u8),
}

/// What one interlock says in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// Which interlock.
    pub interlock: Interlock,
    /// How badly.
    pub severity: Severity,
    /// Which part it is about; `None` for the whole kiln.
    pub part: Option<Part>,
    /// The numbers.
    pub evidence: Evidence,
}

impl Finding {
    /// What was seen, with its numbers, as a sentence.
    #[must_use]
    pub fn seen(self) -> impl fmt::Display {
        fmt::from_fn(move |f| {
            match self.part {
                Some(Part::Probe(probe)) => write!(f, "Probe {}: ", u16::from(probe) + 1)?,
                Some(Part::Bank(bank)) => write!(f, "Bank {}: ", u16::from(bank) + 1)?,
                None => {}
            }
            (self.interlock.row().say)(&self.evidence, f)
        })
    }

    /// What was done about it, as a sentence.
    #[must_use]
    pub const fn done(self) -> &'static str {
        if let Some(urgent) = self.interlock.row().urgent {
            return urgent;
        }
        match self.severity {
            Severity::Notice => "Nothing was switched for it.",
            Severity::Withhold => "Heat is withheld; the firing goes on by itself once this clears.",
            Severity::Trip => "Relays off and contactor open, until a person clears it with the cause gone.",
        }
    }

    /// What to look at, the likeliest first.
    #[must_use]
    pub const fn look_at(self) -> &'static [&'static str] {
        self.interlock.row().look_at
    }
}

impl fmt::Display for Finding {
    /// All three parts in one line: seen, done, look at.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} Look at: ", self.seen(), self.done())?;
        for (what, number) in self.look_at().iter().zip(0_u8..) {
            if number > 0 {
                f.write_str("; ")?;
            }
            f.write_str(what)?;
        }
        f.write_str(".")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString;

    #[test]
    fn every_interlock_is_found_again_by_its_name() {
        for interlock in Interlock::ALL {
            assert_eq!(Interlock::named(interlock.name()), Some(interlock));
            assert_eq!(interlock.row().interlock, interlock);
            assert!(!interlock.row().look_at.is_empty());
        }
    }

    #[test]
    fn a_finding_says_what_was_seen_what_was_done_and_what_to_look_at() {
        let finding = Finding {
            interlock: Interlock::AboveCeiling,
            severity: Severity::Trip,
            part: Some(Part::Probe(0)),
            evidence: Evidence { seen: 1291.4, bound: 1290.0, lasted: Millis::from_seconds(2) },
        };
        assert_eq!(
            finding.to_string(),
            "Probe 1: 1291.4 °C, above the limit of 1290.0 °C. Relays off and contactor open, until a person \
             clears it with the cause gone. Look at: whether a relay or contactor has welded: are the elements \
             still hot with everything off?; the witness cones, before believing the reading; the thermocouple's \
             position and type; the ceiling in the kiln file."
        );
    }
}
