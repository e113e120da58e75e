//! SR-10: the parts a kiln is fired with, kept with each firing, and what changed since they were proven.

use pyrometry::units::{CelsiusDelta, Watts};
use serde::{Deserialize, Serialize};
use trace::wire::{Exact, Named};

use crate::files::kiln::{Board, KilnFile};

/// Probes and banks as the kiln file has them: what a firing proves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    probes: Vec<ProbeFitted>,
    banks: Vec<BankFitted>,
    /// Tells one wiring of them all from another, within one build: pins, levels, buses, contacts. It
    /// proves nothing, but a firing under way is not carried on behind another (SR-40).
    #[serde(default)]
    wired: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct ProbeFitted {
    name: String,
    thermocouple: Named<pyrometry::thermocouple::Thermocouple>,
    amplifier: Named<pyrometry::amplifier::Amplifier>,
    /// The day it was fitted, where the file says: only that tells a new one from the one before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    fitted: Option<String>,
    /// Added everywhere, and at points: °C read, °C added.
    offset_c: Exact<CelsiusDelta>,
    points_c: Vec<[f64; 2]>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct BankFitted {
    name: String,
    power_w: Exact<Watts>,
    switch: Named<control::SwitchKind>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pin: Option<u16>,
}

/// A thermocouple of another type.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TypeChanged {
    /// Which probe, counted from one.
    pub number: usize,
    /// Its name.
    pub probe: String,
    /// The letter before.
    pub before: String,
    /// The letter now.
    pub now: String,
}

/// What is new since a firing ran to its end.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changes {
    /// Why the next firing is a proving firing, in words; none when it is not.
    pub proving: Vec<String>,
    /// Thermocouples of another type, each to be confirmed.
    pub types: Vec<TypeChanged>,
    /// Switches that were changed, for which a look at their bank is enough; in words.
    pub switches: Vec<String>,
}

impl Parts {
    /// The parts of a kiln file.
    #[must_use]
    pub fn of(kiln: &KilnFile) -> Self {
        let probes = kiln.probes.iter().zip(&kiln.kiln.probes);
        let banks = kiln.banks.iter().zip(&kiln.kiln.banks);
        Self {
            probes: probes
                .map(|(part, probe)| ProbeFitted {
                    name: part.name.clone(),
                    thermocouple: Named(probe.sensor.thermocouple),
                    amplifier: Named(probe.sensor.amplifier),
                    fitted: part.fitted.map(|day| day.to_string()),
                    offset_c: Exact(probe.sensor.calibration.everywhere()),
                    points_c: probe
                        .sensor
                        .calibration
                        .points()
                        .map(|point| [point.at.c(), point.add.c()])
                        .collect(),
                })
                .collect(),
            banks: banks
                .map(|(part, bank)| BankFitted {
                    name: part.name.clone(),
                    power_w: Exact(bank.power),
                    switch: Named(bank.switch),
                    pin: part.line.map(|line| line.pin),
                })
                .collect(),
            wired: wired(kiln),
        }
    }

    /// What is new in these since those of the latest firing that ran to its end.
    #[must_use]
    pub fn since(&self, proven: Option<&Self>) -> Changes {
        let mut changes = Changes::default();
        let Some(proven) = proven else {
            changes.proving.push("No firing with these parts has run to its end yet.".to_owned());
            return changes;
        };
        if proven.probes.len() != self.probes.len() {
            changes.proving.push("The number of thermocouples changed.".to_owned());
        }
        if proven.banks.len() != self.banks.len() {
            changes.proving.push("The number of banks changed.".to_owned());
        }
        for ((number, now), before) in (1..).zip(&self.probes).zip(&proven.probes) {
            now.since(number, before, &mut changes);
        }
        for (now, before) in self.banks.iter().zip(&proven.banks) {
            now.since(before, &mut changes);
        }
        changes
    }
}

/// How everything is connected, as an edition of its text.
fn wired(kiln: &KilnFile) -> String {
    let board = match &kiln.board {
        // How its kiln is computed is no wiring.
        Board::Simulated(_) => None,
        real @ (Board::RaspberryPi | Board::Linux { .. }) => Some(real),
    };
    let banks: Vec<_> = kiln.banks.iter().map(|bank| bank.line).collect();
    let probes: Vec<_> = kiln.probes.iter().map(|probe| (probe.connection, probe.lead)).collect();
    let clamps: Vec<_> = kiln.banks.iter().map(|bank| bank.clamp).collect();
    let rest = (kiln.contactor, kiln.heartbeat, &kiln.contacts, kiln.signals, kiln.converter, clamps);
    super::edition(&format!("{board:?} {banks:?} {probes:?} {rest:?}"))
}

impl ProbeFitted {
    fn since(&self, number: usize, before: &Self, changes: &mut Changes) {
        let name = &self.name;
        if self.thermocouple != before.thermocouple {
            let [was, is] =
                [before.thermocouple, self.thermocouple].map(|named| named.0.letter().to_string());
            changes.proving.push(format!("The type of thermocouple \"{name}\" changed from {was} to {is}."));
            changes.types.push(TypeChanged { number, probe: name.clone(), before: was, now: is });
        }
        if self.amplifier != before.amplifier {
            let [was, is] = [before.amplifier, self.amplifier].map(|named| named.0.name().to_uppercase());
            changes.proving.push(format!("The amplifier of \"{name}\" changed from {was} to {is}."));
        }
        if self.fitted != before.fitted {
            let is = match &self.fitted {
                Some(day) => format!("is another one, fitted on {day}"),
                None => "no longer says when it was fitted".to_owned(),
            };
            changes.proving.push(format!("The thermocouple \"{name}\" {is}."));
        }
        if (self.offset_c, &self.points_c) != (before.offset_c, &before.points_c) {
            changes.proving.push(format!("The calibration of \"{name}\" changed."));
        }
    }
}

impl BankFitted {
    fn since(&self, before: &Self, changes: &mut Changes) {
        let name = &self.name;
        if self.power_w != before.power_w {
            let (was, is) = (before.power_w.0.w(), self.power_w.0.w());
            changes
                .proving
                .push(format!("The power of bank \"{name}\" changed from {was:.0} W to {is:.0} W."));
        } else if (self.switch, self.pin) != (before.switch, before.pin) {
            changes.switches.push(format!(
                "The switch or pin of bank \"{name}\" changed: see that this bank, and no other, switches with it. \
                 The bench that would check it is not built yet."
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Source;

    const REAL: &str = include_str!("../../../../config/kilns/raspberry-pi.toml");

    fn parts(from: &str, to: &str) -> Parts {
        assert!(REAL.contains(from), "{from}");
        let source = Source::new("kiln.toml", REAL.replacen(from, to, 1));
        Parts::of(&crate::files::kiln::check(source).expect("a kiln").value)
    }

    fn changed(from: &str, to: &str) -> Changes {
        parts(from, to).since(Some(&parts("", "")))
    }

    #[test]
    fn sr_10_every_change_of_probe_chip_calibration_or_bank_makes_a_proving_firing_and_says_which() {
        for (from, to, why) in [
            ("thermocouple = \"K\"", "thermocouple = \"N\"", "\"middle\" changed from K to N"),
            ("\"MAX31856\"", "\"MAX31855\"", "from MAX31856 to MAX31855"),
            ("fitted = 2026-03-01", "fitted = 2026-11-01", "another one, fitted on 2026-11-01"),
            ("offset = 0", "offset = -2", "calibration of \"middle\" changed"),
            ("rating_w = 2900", "rating_w = 2500", "\"top\" changed from 2900 W to 2500 W"),
        ] {
            let changes = changed(from, to);
            assert_eq!(changes.proving.len(), 1, "{changes:?}");
            assert!(changes.proving[0].contains(why), "{changes:?}");
            assert_eq!(changes.types.len(), usize::from(from.starts_with("thermocouple")), "{changes:?}");
        }
        let first = parts("", "").since(None);
        assert!(first.proving[0].contains("No firing with these parts") && first.types.is_empty());
    }

    #[test]
    fn sr_10_the_same_parts_and_a_relay_swap_alone_make_no_proving_firing() {
        assert_eq!(changed("", ""), Changes::default());
        assert_eq!(changed("name = \"Garage kiln\"", "name = \"Shed kiln\""), Changes::default());
        let swapped = changed("pin = 22", "pin = 12");
        assert!(swapped.proving.is_empty() && swapped.switches[0].contains("bank \"top\""), "{swapped:?}");
    }

    #[test]
    fn sr_40_another_wiring_tells_parts_apart_and_makes_no_proving_firing_and_a_name_does_not() {
        for (from, to) in [
            ("contactor_pin = 25", "contactor_pin = 12"),
            ("closed_at = \"high\"", "closed_at = \"low\""),
            ("chip_select = 0", "chip_select = 1"),
        ] {
            let rewired = parts(from, to);
            assert_ne!(rewired, parts("", ""), "{from}");
            assert_eq!(rewired.since(Some(&parts("", ""))), Changes::default(), "{from}");
        }
        assert_eq!(parts("name = \"Garage kiln\"", "name = \"Shed kiln\""), parts("", ""));
    }

    #[test]
    fn parts_come_back_from_the_logbook_as_they_went_in() {
        let parts = parts("offset = 0", "offset = -0.1");
        let text = serde_json::to_string(&parts).expect("JSON");
        assert_eq!(serde_json::from_str::<Parts>(&text).expect("parts"), parts);
    }
}
