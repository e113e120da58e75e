//! What a careful colleague would say about a kiln file that can be fired.

use pyrometry::calibration::UNQUESTIONED_C;
use pyrometry::units::{Celsius, CelsiusDelta};

use super::duties::{self, Duty};
use super::pins::{self, Role, SAFE_PIN};
use super::wire::KilnSections;
use super::words::{ActiveLevel, BoardKind, SwitchWord};
use super::{Board, KilnFile, contacts, currents};
use crate::files::problem::Problems;

/// A contactor stands 600 closings an hour (small contactors' limit, maker's catalogue): a cycle of 6 s,
/// and half as much again for good measure.
const CYCLE_ADVISED_S: f64 = 9.0;

pub(super) fn kiln(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    match file.board.value.kind.value {
        BoardKind::RaspberryPi => note_pins(file, notes),
        BoardKind::Linux => note_lines(file, notes),
        BoardKind::Simulated => {}
    }
    contacts::note(file, kiln.presence, &kiln.contacts, notes);
    currents::note(file, kiln, notes);
    note_supply(file, kiln, notes);
    note_wires(file, kiln, notes);
    note_switches(file, kiln, notes);
    note_allowances(file, kiln, notes);
    warn_of_contradictions(file, kiln, notes);
    if file.outage.is_none() {
        let right = "write [outage] with on_return to choose; \"remain off\" says the same";
        notes.note(&(0..0), "no [outage]: after a power cut the kiln stays off", right);
    }
}

/// Pins that need care; those that energise at boot, and those that must be left alone, are refused
/// (`pins`).
fn note_pins(file: &KilnSections, notes: &mut Problems) {
    for used in pins::used(file) {
        let (pin, span, what) = (used.pin.value.0, &used.pin.span, &used.what);
        if let Some(Duty::Doubtful(duty)) = duties::of(pin) {
            notes.warn(span, format!("GPIO {pin} {duty}; {what} is on it"), duties::FREE);
        }
        match (used.role, used.active.map(|active| active.value)) {
            (Role::Heats, Some(ActiveLevel::Low)) => notes.warn(
                span,
                format!("{what} is active low: a broken wire or a dead supply at the pin can energise it"),
                SAFE_PIN,
            ),
            (Role::Signals, Some(ActiveLevel::High | ActiveLevel::Low)) => {
                if let Some((pull, active)) = pins::on_at_boot(&used) {
                    let wrong = format!(
                        "GPIO {pin} is pulled {pull} at boot: {what}, active {active}, is on until saggar runs"
                    );
                    notes.warn(span, wrong, format!("{}, active high", duties::FREE));
                }
            }
            (Role::Heats | Role::Signals | Role::Beats | Role::Senses, _) => {}
        }
    }
}

/// Of another computer's lines nothing is known before a program drives them. What is active low is on wherever
/// the boot leaves its line at ground.
fn note_lines(file: &KilnSections, notes: &mut Problems) {
    for used in pins::used(file) {
        let Some(ActiveLevel::Low) = used.active.map(|active| active.value) else { continue };
        let wrong = format!(
            "{} is active low, on while its line is at ground; where line {} lies until saggar runs is not known",
            used.what, used.pin.value.0
        );
        match used.role {
            Role::Heats => {
                let wrong = format!("{wrong}, and a broken wire or a dead supply can bring it there");
                notes.warn(&used.pin.span, wrong, MEASURE_LINE);
            }
            Role::Signals | Role::Beats | Role::Senses => {
                notes.warn(&used.pin.span, wrong, "measure it, or take a driver that is active high");
            }
        }
    }
}

/// What keeps a relay off while nobody drives its line, and what shows that it does.
const MEASURE_LINE: &str = "better a driver that is active high; or, before the first heat, with the isolator off, \
     locked and proved dead and the coils' supply unplugged, measure the driver's input through power-on, boot, \
     shutdown and a pulled plug: it must stay at the line's own supply, where 10 kΩ to that supply holds it \
     (docs/wiring.md)";

fn note_supply(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    let sum_w: f64 = kiln.kiln.banks.iter().map(|bank| bank.power.w()).sum();
    let limit_w = kiln.supply_limit.w();
    if sum_w > limit_w {
        let found = &file.kiln.value;
        let span =
            found.supply_w.as_ref().map(|key| &key.span).or(found.supply_a.as_ref().map(|key| &key.span));
        let wrong = format!("the banks together draw {sum_w:.0} W, more than the supply's {limit_w:.0} W");
        let right = "they will take turns, and the kiln will be slower than its elements";
        notes.warn(span.unwrap_or(&file.kiln.span), wrong, right);
    }
}

fn note_wires(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    for probe in &file.probe {
        let Some(wire) = &probe.value.wire_mm else { continue };
        let letter = probe.value.thermocouple.value;
        let lasts_to = letter.wire_lasts_to_c(wire.value.0).and_then(Celsius::new);
        if let Some(top) = lasts_to.filter(|top| *top < kiln.ceiling) {
            let (ceiling, top) = (kiln.scale.say(kiln.ceiling), kiln.scale.say(top));
            let wrong = format!(
                "type {} wire of {} mm lasts to about {top}; the ceiling is {ceiling}",
                letter.name(),
                wire.value.0
            );
            notes.warn(
                &wire.span,
                wrong,
                "above that it drifts and breaks sooner: replace it often, or fit thicker wire or type S",
            );
        }
    }
}

/// Two facts that can't both be meant.
fn warn_of_contradictions(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    let (limits, scale) = (&file.limits.value, kiln.scale);
    let open_below = kiln.kiln.open_below;
    if kiln.kiln.stay_longest > kiln.firing_longest {
        let wrong = "longest_stay is longer than longest_firing";
        notes.warn(&limits.longest_stay.span, wrong, "make it shorter: a stay is part of a firing");
    }
    if open_below >= kiln.ceiling {
        let wrong = format!("open_below is not below the ceiling, {}", scale.say(kiln.ceiling));
        notes.warn(
            &limits.open_below.span,
            wrong,
            "check both: the kiln would always be cool enough to open",
        );
    }
    if let Board::Simulated(simulated) = &kiln.board
        && simulated.ambient >= open_below
    {
        let wrong = format!("open_below is not above the room, {}", scale.say(simulated.ambient));
        notes.warn(&limits.open_below.span, wrong, "the kiln would never be cool enough to open");
    }
    for probe in &file.probe {
        if let (Some(fitted), Some(calibrated)) = (&probe.value.fitted, &probe.value.calibrated)
            && calibrated.value.0 < fitted.value.0
        {
            let wrong = format!("calibrated before the probe was fitted, {}", fitted.value.0);
            notes.warn(
                &calibrated.span,
                wrong,
                "check both days: another probe's calibration does not fit this one",
            );
        }
    }
}

/// An allowance that lies about unused would let a later slip of the pen pass.
fn note_allowances(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    for (section, probe) in file.probe.iter().zip(&kiln.kiln.probes) {
        let Some(allowed) = &section.value.correction_allowed_by else { continue };
        let calibration = probe.sensor.calibration;
        let larger = |add: CelsiusDelta| add.magnitude().c() > UNQUESTIONED_C;
        let needed = larger(calibration.correction(Celsius::LEAST))
            || calibration.points().any(|point| larger(calibration.correction(point.at)));
        if !needed {
            let right = "remove it: no correction here is beyond 25 °C (45 °F)";
            notes.note(&allowed.span, "correction_allowed_by is not needed", right);
        }
    }
}

fn note_switches(file: &KilnSections, kiln: &KilnFile, notes: &mut Problems) {
    for (section, bank) in file.bank.iter().zip(&kiln.kiln.banks) {
        let found = &section.value;
        match found.switch.value {
            SwitchWord::Mechanical => {
                if let Some(cycle) =
                    found.cycle_at_least.as_ref().filter(|_| bank.cycle_least.seconds() < CYCLE_ADVISED_S)
                {
                    let right = "10 s or more spares the contacts";
                    notes.warn(&cycle.span, "a short cycle for a mechanical switch", right);
                }
            }
            SwitchWord::SolidState => {
                if let Some(rated) = &found.rated_operations {
                    let right = "remove it: operations wear moving contacts only";
                    notes.warn(&rated.span, "rated_operations of a solid-state switch", right);
                }
            }
        }
    }
}
