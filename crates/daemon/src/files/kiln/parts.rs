//! Banks and probes: each one alone, and which governs which.

use control::{BANKS_MOST, Bank, PROBES_MOST, Probe, SwitchKind};
use hal::bus::Connection;
use pyrometry::amplifier::Sensor;
use pyrometry::uncertainty::Lead;
use pyrometry::units::{Amps, Celsius, CelsiusDelta, Millis, Watts};

use super::body::lasting;
use super::wire::{BankSection, KilnSection, KilnSections, ProbeSection};
use super::{BankPart, Line, ProbePart, currents, points};
use crate::files::leaf::{Lasting, Text};
use crate::files::number::Difference;
use crate::files::problem::Problems;
use crate::files::scale::Scale;
use crate::files::wire::At;

/// A mechanical relay needs time to open and close; the step is 1 s.
const LEAST: Millis = Millis::from_seconds(1);
const LEAST_HIGHEST: Millis = Millis::from_seconds(60);
/// Longer cycles show as ripple in a light kiln (engineering judgement).
const CYCLE_LONGEST: Millis = Millis::from_seconds(120);

/// What a switch does where the file is silent: shortest on or off time and shortest cycle. Mechanical:
/// 2 s, and 10 s, which only soaks make use of where switching is sparing; solid-state: one step, and 4 s.
const fn usual(switch: SwitchKind) -> (Millis, Millis) {
    match switch {
        SwitchKind::Mechanical => (Millis::from_seconds(2), Millis::from_seconds(10)),
        SwitchKind::SolidState => (LEAST, Millis::from_seconds(4)),
    }
}

/// Refuses more parts than a kiln may have, and names given twice.
pub(super) fn refuse_crowds(file: &KilnSections, problems: &mut Problems) {
    let banks: Vec<&At<Text>> = file.bank.iter().map(|bank| &bank.value.name).collect();
    let probes: Vec<&At<Text>> = file.probe.iter().map(|probe| &probe.value.name).collect();
    for (what, names, most) in [("bank", banks, BANKS_MOST), ("probe", probes, PROBES_MOST)] {
        if let Some(too_many) = names.get(most) {
            problems.add(&too_many.span, format!("too many {what}s"), format!("at most {most} {what}s"));
        }
        for (index, name) in names.iter().enumerate() {
            if names[..index].iter().any(|earlier| earlier.value == name.value) {
                let wrong = format!("a second {what} called \"{}\"", name.value.0);
                problems.add(&name.span, wrong, "give each its own name");
            }
        }
    }
    if file.bank.is_empty() || file.probe.is_empty() {
        problems.add(
            &(0..0),
            "a kiln without bank or probe",
            "write at least one [[bank]] and one [[probe]]",
        );
    }
}

/// The probe that governs each bank, counted from zero; every bank needs exactly one.
pub(super) fn governors(file: &KilnSections, problems: &mut Problems) -> Option<Vec<u8>> {
    for probe in &file.probe {
        for name in &probe.value.banks.value.0 {
            if !file.bank.iter().any(|bank| bank.value.name.value.0 == *name) {
                let known: Vec<&str> =
                    file.bank.iter().map(|bank| bank.value.name.value.0.as_str()).collect();
                let wrong =
                    format!("probe \"{}\" governs \"{name}\", which is no bank", probe.value.name.value.0);
                problems.add(&probe.value.banks.span, wrong, format!("the banks are: {}", known.join(", ")));
            }
        }
    }
    let governors = file.bank.iter().map(|bank| governor(bank, file, problems));
    governors.collect::<Vec<_>>().into_iter().collect()
}

fn governor(bank: &At<BankSection>, file: &KilnSections, problems: &mut Problems) -> Option<u8> {
    let name = &bank.value.name.value.0;
    let governing: Vec<usize> =
        (0..file.probe.len()).filter(|&probe| file.probe[probe].value.banks.value.0.contains(name)).collect();
    match governing[..] {
        [one] => u8::try_from(one).ok(),
        [] => {
            let right = format!("add \"{name}\" to the `banks` of one probe");
            problems.add(&bank.value.name.span, format!("no probe governs bank \"{name}\""), right);
            None
        }
        [_, second, ..] => {
            let right = "each bank follows one probe: remove it from the others";
            let span = &file.probe[second].value.banks.span;
            problems.add(span, format!("bank \"{name}\" is governed by two probes"), right);
            None
        }
    }
}

/// One bank as the controller knows it.
pub(super) fn bank(
    section: &BankSection,
    governor: u8,
    supply: Watts,
    problems: &mut Problems,
) -> Option<Bank> {
    let switch = section.switch.value.kind();
    let (least, cycle) = usual(switch);
    let within = |written: &Option<At<Lasting>>, key, bounds, usual, problems: &mut Problems| match written {
        Some(written) => lasting(written, key, bounds, problems),
        None => Some(usual),
    };
    let on_least = within(&section.on_at_least, "on_at_least", (LEAST, LEAST_HIGHEST), least, problems);
    let off_least = within(&section.off_at_least, "off_at_least", (LEAST, LEAST_HIGHEST), least, problems);
    let cycle_span = section.cycle_at_least.as_ref().map_or(&section.name.span, |cycle| &cycle.span);
    let cycle_least =
        within(&section.cycle_at_least, "cycle_at_least", (LEAST, CYCLE_LONGEST), cycle, problems);
    let power = Watts::new(section.rating_w.value.0)?;
    if power > supply {
        let wrong = format!(
            "bank \"{}\" alone draws more than the supply's limit, {supply:.0} W",
            section.name.value.0
        );
        problems.add(
            &section.rating_w.span,
            wrong,
            "split it, or correct the supply: it could never be switched on",
        );
    }
    let (on_least, off_least, cycle_least) = (on_least?, off_least?, cycle_least?);
    if cycle_least < on_least + off_least {
        let right = "make it at least on_at_least and off_at_least together";
        problems.add(cycle_span, "the cycle is too short for the shortest on and off times", right);
    }
    Some(Bank { power, current: None, switch, on_least, off_least, cycle_least, probe: governor })
}

/// A bank's current at full power, where the file tells the supply's tension.
pub(super) fn current(bank: &Bank, kiln: &KilnSection) -> Option<Amps> {
    let tension_v = kiln.supply_v.as_ref()?.value.0;
    Amps::new(bank.power.w() / tension_v)
}

/// What only people and the board need of a bank.
pub(super) fn bank_part(section: &BankSection, line: Option<Line>) -> BankPart {
    let clamp = section.current.as_ref().and_then(|clamp| currents::clamp(&clamp.value));
    BankPart {
        name: section.name.value.0.clone(),
        line,
        rated_operations: section.rated_operations.as_ref().and_then(|rated| whole(rated.value.0)),
        clamp,
    }
}

/// One probe as the controller knows it.
pub(super) fn probe(
    section: &ProbeSection,
    ceiling: Celsius,
    scale: Scale,
    problems: &mut Problems,
) -> Option<Probe> {
    let (letter, chip) = (section.thermocouple.value, section.amplifier.value);
    if !chip.reads(letter) {
        let wrong = format!("a {} does not read type {}", chip.name(), letter.name());
        problems.add(
            &section.amplifier.span,
            wrong,
            "check what is printed on the chip and on the thermocouple",
        );
    } else if ceiling.c() > chip.top_c(letter) {
        let top = Celsius::new(chip.top_c(letter)).map_or(String::new(), |top| scale.say(top));
        let wrong = format!(
            "the ceiling, {}, is above what a {} can say of type {}",
            scale.say(ceiling),
            chip.name(),
            letter.name()
        );
        problems.add(
            &section.amplifier.span,
            wrong,
            format!("lower the ceiling to {top}, or fit another probe"),
        );
    }
    if !letter.has_class(section.class.value) {
        let right = "IEC 60584-1 gives type B class 2";
        problems.add(
            &section.class.span,
            format!("type {} has no class {}", letter.name(), section.class.value.name()),
            right,
        );
    }
    let calibration = points::calibration(section, scale, problems)?;
    let sensor = Sensor { thermocouple: letter.thermocouple(), amplifier: chip.amplifier(), calibration };
    Some(Probe { sensor })
}

/// What only people and the board need of a probe.
pub(super) fn probe_part(section: &ProbeSection, connection: Option<Connection>, scale: Scale) -> ProbePart {
    let half_width = |written: &Option<At<Difference>>| {
        written.as_ref().and_then(|written| scale.difference(written.value.0)).map(CelsiusDelta::magnitude)
    };
    ProbePart {
        name: section.name.value.0.clone(),
        class: section.class.value,
        wire_mm: section.wire_mm.as_ref().map(|wire| wire.value.0),
        connection,
        fitted: section.fitted.as_ref().map(|fitted| fitted.value.0),
        // Not knowing better, the way that is less certain.
        lead: section.lead.as_ref().map_or(Lead::Extension, |lead| lead.value.lead()),
        calibrated: section.calibrated.as_ref().map(|day| day.value.0),
        calibrated_within: half_width(&section.calibrated_within),
        drift: half_width(&section.drift),
        correction_allowed_by: section.correction_allowed_by.as_ref().map(|text| text.value.0.clone()),
    }
}

/// A number that was read as whole and from 0 to 2³².
pub(super) fn whole<T: TryFrom<u64>>(read: f64) -> Option<T> {
    #[allow(clippy::cast_possible_truncation, reason = "whole, below 2³²")]
    #[allow(clippy::cast_sign_loss, reason = "the reader took none below 0")]
    T::try_from(read as u64).ok()
}
