//! From a kiln file's words to a kiln that can be fired.

use std::net::SocketAddr;

use control::{Closeness, Kiln, KilnModel};
use hal::amplifier::Mains;
use insight::{Body, guess};
use pyrometry::constant;
use pyrometry::units::{Celsius, CelsiusDelta, Millis, Watts};

use super::body::{self, Limits, lasting, temperature};
use super::parts::{self, whole};
use super::wire::{KilnSection, KilnSections, OutageSection, PageSection, SimulatedSection};
use super::words::{BoardKind, ReturnWord};
use super::{
    BankPart, Board, KilnFile, Line, Outage, ProbePart, Simulated, Tariff, contacts, currents, heartbeat,
    limit, pins, signals,
};
use crate::files::problem::{Problems, Told};
use crate::files::scale::Scale;
use crate::files::wire::At;

/// Load of a kiln whose file gives none, kg/L: ware and shelves in a well-filled kiln (common
/// practice, no source). It only starts the guess; the first firing teaches better.
const LOAD_KG_PER_L: f64 = 0.2;
/// A room is not colder or hotter where people fire.
const ROOM: (Celsius, Celsius) = (constant!(Celsius, -20.0), constant!(Celsius, 50.0));
/// Hard bounds of carrying on (SR-40).
const GAP_LONGEST: Millis = Millis::from_minutes(15);
const DROP_LARGEST_C: f64 = 100.0;
/// Where the page is served when the file does not say.
const PAGE: SocketAddr = SocketAddr::V4(std::net::SocketAddrV4::new(std::net::Ipv4Addr::LOCALHOST, 8471));

pub(super) fn kiln(file: &KilnSections, problems: &mut Problems) -> Option<KilnFile> {
    let scale = file.scale.value;
    let section = &file.kiln.value;
    parts::refuse_crowds(file, problems);
    pins::refuse_clashes(file, problems);
    let body = body::body(&file.kiln, problems);
    let ceiling = body::ceiling(section, scale, problems);
    let supply = body::supply(&file.kiln, problems);
    let limits = body::limits(&file.limits.value, scale, problems);
    let outage = outage(file.outage.as_ref(), scale, problems);
    let page = page(file.page.as_ref(), problems);
    let governors = parts::governors(file, problems);
    let body = body?;
    let load_kg = section
        .load_kg
        .as_ref()
        .map_or(body.chamber.volume_m3() * 1000.0 * LOAD_KG_PER_L, |load| load.value.0);
    let board = board(file, load_kg, problems)?;
    let contactor = contactor(file, &board, problems);
    let contacts = contacts::contacts(file, &board, problems).ok()?;
    let presence = contacts::presence(file, &contacts, problems);
    let signals = signals::signals(file, &board, problems);
    let converter = currents::converter(file, &board, problems);
    let (probe_parts, probes) = probes(file, ceiling?, scale, &board, problems)?;
    let (bank_parts, banks) = banks(file, &governors?, supply?, &board, problems)?;
    if !problems.is_empty() {
        return None; // more parts than the controller holds are among the problems
    }
    let model = model(file, &body, &banks, load_kg, problems)?;
    let (limits, ceiling, supply_limit) = (limits?, ceiling?, supply?);
    let kiln = Kiln {
        probes: probes.into_iter().collect(),
        banks: banks.into_iter().collect(),
        ..bounded(section, &limits, ceiling, supply_limit, model)
    };
    Some(KilnFile {
        name: section.name.value.0.clone(),
        scale,
        body,
        load_kg,
        ceiling,
        supply_limit,
        firing_longest: limits.firing_longest,
        mains: section.mains.as_ref().map_or(Mains::Hertz50, |mains| mains.value.mains()),
        board,
        banks: bank_parts,
        probes: probe_parts,
        contactor: contactor.ok()?,
        limit_file: file.warden.as_ref().and_then(|warden| limit::file(&warden.value)),
        heartbeat: heartbeat::pin(file),
        signals: signals.ok()?,
        converter: converter.ok()?,
        contacts,
        presence: presence.ok()?,
        outage: outage?,
        page: page?,
        tariff: tariff(file),
        kiln,
    })
}

/// The kiln without its parts.
fn bounded(
    section: &KilnSection,
    limits: &Limits,
    ceiling: Celsius,
    supply_limit: Watts,
    model: KilnModel,
) -> Kiln {
    Kiln {
        probes: heapless::Vec::new(),
        banks: heapless::Vec::new(),
        switching: section.switching.as_ref().map_or_else(Closeness::default, |word| word.value.closeness()),
        ceiling,
        supply_limit,
        firing_longest: limits.firing_longest,
        stay_longest: limits.stay_longest,
        open_below: limits.open_below,
        model,
    }
}

fn model(
    file: &KilnSections,
    body: &Body,
    banks: &[control::Bank],
    load_kg: f64,
    problems: &mut Problems,
) -> Option<control::KilnModel> {
    let rated_w: f64 = banks.iter().map(|bank| bank.power.w()).sum();
    guess(body, Watts::new(rated_w)?, load_kg)
        .map_err(|fault| {
            let wrong = format!("no kiln can be like this: its {} is out of all bounds", fault.field);
            problems.add(&file.kiln.span, wrong, "check size, wall, load and power");
        })
        .ok()
}

fn probes(
    file: &KilnSections,
    ceiling: Celsius,
    scale: Scale,
    board: &Board,
    problems: &mut Problems,
) -> Option<(Vec<ProbePart>, Vec<control::Probe>)> {
    let read = file.probe.iter().map(|section| {
        let probe = parts::probe(&section.value, ceiling, scale, problems);
        let connection = pins::connection(section, board, problems);
        Some((parts::probe_part(&section.value, connection.ok()?, scale), probe?))
    });
    // Collected in two steps, so that one bad part does not hide what is wrong with the next.
    let read: Vec<Option<_>> = read.collect();
    read.into_iter().collect::<Option<Vec<_>>>().map(|all| all.into_iter().unzip())
}

fn banks(
    file: &KilnSections,
    governors: &[u8],
    supply: Watts,
    board: &Board,
    problems: &mut Problems,
) -> Option<(Vec<BankPart>, Vec<control::Bank>)> {
    let read = file.bank.iter().zip(governors).map(|(section, governor)| {
        let found = &section.value;
        let bank = parts::bank(found, *governor, supply, problems);
        let bank =
            bank.map(|bank| control::Bank { current: parts::current(&bank, &file.kiln.value), ..bank });
        let (what, span) = (format!("bank \"{}\"", found.name.value.0), &found.name.span);
        let line = pins::line((&found.pin, &found.active), &what, span, board, problems);
        Some((parts::bank_part(found, line.ok()?), bank?))
    });
    let read: Vec<Option<_>> = read.collect();
    read.into_iter().collect::<Option<Vec<_>>>().map(|all| all.into_iter().unzip())
}

fn board(file: &KilnSections, load_kg: f64, problems: &mut Problems) -> Option<Board> {
    let found = &file.board.value;
    let kind = found.kind.value;
    if let (Some(section), true) = (&file.simulated, kind != BoardKind::Simulated) {
        let right = "remove one of the two";
        problems.add(&section.span, format!("[simulated] beside a board of kind \"{}\"", kind.name()), right);
    }
    if let (Some(chip), true) = (&found.gpio_chip, kind != BoardKind::Linux) {
        problems.add(
            &chip.span,
            format!("a board of kind \"{}\" needs no gpio_chip", kind.name()),
            "remove it",
        );
    }
    match kind {
        BoardKind::Simulated => {
            simulated(file.simulated.as_ref(), load_kg, file.scale.value, problems).map(Board::Simulated)
        }
        BoardKind::RaspberryPi => Some(Board::RaspberryPi),
        BoardKind::Linux => {
            if found.gpio_chip.is_none() {
                let right = "add gpio_chip, such as \"/dev/gpiochip0\"";
                problems.add(&found.kind.span, "a board of kind \"linux\" without gpio_chip", right);
            }
            found.gpio_chip.as_ref().map(|chip| Board::Linux { gpio_chip: chip.value.0.clone() })
        }
    }
}

fn simulated(
    section: Option<&At<SimulatedSection>>,
    load_kg: f64,
    scale: Scale,
    problems: &mut Problems,
) -> Option<Simulated> {
    let usual =
        Simulated { load_kg, ambient: constant!(Celsius, 20.0), mains_ratio: 1.0, speed: None, seed: 1 };
    let Some(At { value: found, .. }) = section else { return Some(usual) };
    let ambient = match &found.ambient {
        Some(written) => temperature(written, "ambient", ROOM, scale, problems)?,
        None => usual.ambient,
    };
    Some(Simulated {
        load_kg: found.load_kg.as_ref().map_or(usual.load_kg, |load| load.value.0),
        ambient,
        mains_ratio: found.mains_percent.as_ref().map_or(usual.mains_ratio, |mains| mains.value.0 / 100.0),
        speed: found.speed.as_ref().map(|speed| speed.value.0),
        seed: found.seed.as_ref().and_then(|seed| whole(seed.value.0)).unwrap_or(usual.seed),
    })
}

fn contactor(file: &KilnSections, board: &Board, problems: &mut Problems) -> Result<Option<Line>, Told> {
    match &file.warden {
        Some(At { value: found, span }) => match (&found.contactor_pin, &found.active) {
            (Some(pin), Some(active)) => Ok(whole(pin.value.0).map(|pin| Line { pin, active: active.value })),
            (None, None) if matches!(board, Board::Simulated(_)) => Ok(None),
            _ => {
                let right = "give contactor_pin and active; there is no default for either";
                problems.add(span, "what drives the contactor is not fully said", right);
                Err(Told)
            }
        },
        None if matches!(board, Board::Simulated(_)) => Ok(None),
        None => {
            let right = "add [warden] with contactor_pin and active: without a safety contactor a welded relay cannot be stopped";
            problems.add(&file.board.span, "a real board without [warden]", right);
            Err(Told)
        }
    }
}

fn outage(section: Option<&At<OutageSection>>, scale: Scale, problems: &mut Problems) -> Option<Outage> {
    let Some(At { value: found, .. }) = section else { return Some(Outage::RemainOff) };
    let gap = match &found.gap_at_most {
        Some(written) => lasting(written, "gap_at_most", (Millis::ZERO, GAP_LONGEST), problems),
        None => Some(GAP_LONGEST),
    };
    let drop = match &found.drop_at_most {
        Some(written) => {
            let drop =
                scale.difference(written.value.0).filter(|drop| (0.0..=DROP_LARGEST_C).contains(&drop.c()));
            if drop.is_none() {
                let wrong = format!("drop_at_most = {} is out of bounds", written.value.0);
                problems.add(&written.span, wrong, "0 to 100 °C (180 °F)");
            }
            drop
        }
        None => CelsiusDelta::new(DROP_LARGEST_C),
    };
    match found.on_return.value {
        ReturnWord::RemainOff => Some(Outage::RemainOff),
        ReturnWord::CarryOn => Some(Outage::CarryOn { gap_at_most: gap?, drop_at_most: drop? }),
    }
}

fn page(section: Option<&At<PageSection>>, problems: &mut Problems) -> Option<SocketAddr> {
    let Some(At { value: found, .. }) = section else { return Some(PAGE) };
    let address =
        found.address.value.0.parse::<SocketAddr>().ok().filter(|address| address.ip().is_loopback());
    if address.is_none() {
        let wrong = format!("address = \"{}\" is no address of this computer itself", found.address.value.0);
        let right = "write one such as \"127.0.0.1:8471\"; other devices have to wait for pairing";
        problems.add(&found.address.span, wrong, right);
    }
    address
}

fn tariff(file: &KilnSections) -> Option<Tariff> {
    let found = &file.tariff.as_ref()?.value;
    Some(Tariff { currency: found.currency.value.0.clone(), per_kwh: found.per_kwh.value.0 })
}
