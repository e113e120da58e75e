//! Pins and buses: what drives what, and what must not be shared.

use std::ops::Range;

use hal::bus::Connection;

use super::duties::Duty;
use super::parts::whole;
use super::wire::{KilnSections, ProbeSection};
use super::words::{ActiveLevel, BoardKind};
use super::{Board, Line, contacts, duties, heartbeat, signals};
use crate::files::number::PinNumber;
use crate::files::problem::{Problems, Told};
use crate::files::wire::At;

/// The highest GPIO on a Raspberry Pi's header (its 40-pin header has GPIO 0 to 27).
const HEADER_LAST: f64 = 27.0;

/// A pin as the file has it.
pub(super) struct Used<'a> {
    pub(super) what: String,
    pub(super) pin: &'a At<PinNumber>,
    /// The level that energises; only outputs have one.
    pub(super) active: Option<&'a At<ActiveLevel>>,
    pub(super) role: Role,
}

/// What a pin is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    /// It switches heat.
    Heats,
    /// It switches what heats nothing.
    Signals,
    /// Its edges keep an outside relay closed.
    Beats,
    /// It senses a contact.
    Senses,
}

/// Everything that the file gives a pin, the contactor first.
pub(super) fn used(file: &KilnSections) -> Vec<Used<'_>> {
    let contactor = file.warden.iter().filter_map(|warden| {
        let (what, active) = ("the contactor".to_owned(), warden.value.active.as_ref());
        warden.value.contactor_pin.as_ref().map(|pin| Used { what, pin, active, role: Role::Heats })
    });
    let banks = file.bank.iter().filter_map(|bank| {
        let what = format!("bank \"{}\"", bank.value.name.value.0);
        let active = bank.value.active.as_ref();
        bank.value.pin.as_ref().map(|pin| Used { what, pin, active, role: Role::Heats })
    });
    let contacts = contacts::sections(file).iter().filter_map(|contact| {
        let what = contacts::name(contact.value.senses.value.sensed()).to_owned();
        contact.value.pin.as_ref().map(|pin| Used { what, pin, active: None, role: Role::Senses })
    });
    let rest = contacts.chain(heartbeat::output(file)).chain(signals::outputs(file));
    contactor.chain(banks).chain(rest).collect()
}

/// Refuses pins that are shared, that the header does not have, or that a bus needs.
pub(super) fn refuse_clashes(file: &KilnSections, problems: &mut Problems) {
    let used = used(file);
    let on_header = file.board.value.kind.value == BoardKind::RaspberryPi;
    for (index, output) in used.iter().enumerate() {
        let (pin, span) = (output.pin.value, &output.pin.span);
        if let Some(earlier) = used[..index].iter().find(|earlier| earlier.pin.value == pin) {
            let wrong = format!("pin {} is given to {} and to {}", pin.0, earlier.what, output.what);
            problems.add(span, wrong, "give each its own pin");
        }
        if on_header && pin.0 > HEADER_LAST {
            problems.add(span, format!("a Raspberry Pi's header has no GPIO {}", pin.0), "use 9 to 27");
        }
        if !on_header {
            continue;
        }
        if let Some((bus, user)) = buses(file).into_iter().find(|(bus, _)| bus.needs(pin.0)) {
            let wrong = format!("GPIO {} is needed by {}, where {user} is", pin.0, bus.name());
            problems.add(span, wrong, "use another pin");
        } else if let Some(Duty::Reserved(duty)) = duties::of(pin.0) {
            let wrong = format!("GPIO {} {duty}; {} is on it", pin.0, output.what);
            problems.add(span, wrong, duties::FREE);
        }
        if let (Role::Heats, Some((pull, active))) = (output.role, on_at_boot(output)) {
            let wrong = format!(
                "GPIO {} is pulled {pull} at boot: {}, active {active}, would be energised before any program runs",
                pin.0, output.what
            );
            problems.add(span, wrong, SAFE_PIN);
        }
    }
    refuse_shared_chips(file, problems);
}

/// What keeps a relay off while nothing drives its pin.
pub(super) const SAFE_PIN: &str =
    "use GPIO 9 to 27 with a driver that is active high, and an external resistor to off";
/// The last pin that resets with a pull up; those above it are pulled down (BCM2835 ARM
/// Peripherals, table 6-31).
const PULLED_UP_LAST: f64 = 8.0;

/// The pin's own pull and the level that energises, where that pull switches an output on before any
/// program runs.
pub(super) fn on_at_boot(output: &Used<'_>) -> Option<(&'static str, &'static str)> {
    let pin = output.pin.value.0;
    match output.active?.value {
        ActiveLevel::High if pin <= PULLED_UP_LAST => Some(("up", "high")),
        ActiveLevel::Low if pin > PULLED_UP_LAST => Some(("down", "low")),
        ActiveLevel::High | ActiveLevel::Low => None,
    }
}

/// A bus that takes pins of the header for itself (Raspberry Pi pin functions: BCM2835 ARM Peripherals,
/// 6.2, alternative functions 0 and 4).
#[derive(Clone, Copy)]
enum Bus {
    Spi0,
    Spi1,
    I2c1,
}

impl Bus {
    fn needs(self, pin: f64) -> bool {
        match self {
            Self::Spi0 => (7.0..=11.0).contains(&pin),
            Self::Spi1 => (16.0..=21.0).contains(&pin),
            Self::I2c1 => (2.0..=3.0).contains(&pin),
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Spi0 => "SPI bus 0",
            Self::Spi1 => "SPI bus 1",
            Self::I2c1 => "I2C bus 1",
        }
    }
}

/// The bus of a place, where it takes pins of the header.
const fn bus_of(place: Connection) -> Option<Bus> {
    match place {
        Connection::Spi { bus: 0, .. } => Some(Bus::Spi0),
        Connection::Spi { bus: 1, .. } => Some(Bus::Spi1),
        Connection::I2c { bus: 1, .. } => Some(Bus::I2c1),
        Connection::Spi { .. } | Connection::I2c { .. } => None,
    }
}

/// The name of a chip's bus, where that needs a pin of the header.
pub(super) fn bus_that_needs(place: Connection, pin: u16) -> Option<&'static str> {
    bus_of(place).filter(|bus| bus.needs(f64::from(pin))).map(Bus::name)
}

/// The buses that the file uses, and who is on each.
fn buses(file: &KilnSections) -> Vec<(Bus, &'static str)> {
    let probes = file.probe.iter().filter_map(|probe| place_of(&probe.value)).map(|place| (place, "a probe"));
    let all = probes.chain(converter_of(file).map(|place| (place, "the converter")));
    all.filter_map(|(place, user)| bus_of(place).map(|bus| (bus, user))).collect()
}

fn refuse_shared_chips(file: &KilnSections, problems: &mut Problems) {
    for (index, probe) in file.probe.iter().enumerate() {
        let Some(here) = place_of(&probe.value) else { continue };
        if file.probe[..index].iter().any(|earlier| place_of(&earlier.value) == Some(here)) {
            let span = probe.value.chip_select.as_ref().map_or(&probe.value.name.span, |key| &key.span);
            let right = "give each amplifier its own chip select or address";
            problems.add(span, "another probe has the same bus and chip select or address", right);
        }
        if converter_of(file) == Some(here) {
            let span = probe.value.chip_select.as_ref().map_or(&probe.value.name.span, |key| &key.span);
            problems.add(span, "the converter has the same bus and chip select", "give each chip its own");
        }
    }
}

fn converter_of(file: &KilnSections) -> Option<Connection> {
    let found = &file.converter.as_ref()?.value;
    let (bus, chip_select) = (found.bus.as_ref()?.value.0, found.chip_select.as_ref()?.value.0);
    Some(Connection::Spi { bus: whole(bus)?, chip_select: whole(chip_select)? })
}

fn place_of(probe: &ProbeSection) -> Option<Connection> {
    let bus = whole(probe.bus.as_ref()?.value.0)?;
    if probe.amplifier.value.is_on_i2c() {
        return Some(Connection::I2c { bus, address: probe.address.as_ref()?.value.0 });
    }
    Some(Connection::Spi { bus, chip_select: whole(probe.chip_select.as_ref()?.value.0)? })
}

/// Where a probe's amplifier is. On a real board it must be said.
pub(super) fn connection(
    probe: &At<ProbeSection>,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<Connection>, Told> {
    let found = &probe.value;
    let on_i2c = found.amplifier.value.is_on_i2c();
    let (needed, strange, strange_span) = if on_i2c {
        ("bus and address", "chip_select", found.chip_select.as_ref().map(|key| &key.span))
    } else {
        ("bus and chip_select", "address", found.address.as_ref().map(|key| &key.span))
    };
    let chip = found.amplifier.value.name();
    if let Some(span) = strange_span {
        problems.add(span, format!("a {chip} has no {strange}"), format!("give {needed}"));
    }
    let place = place_of(found);
    if place.is_none() && !matches!(board, Board::Simulated(_)) {
        let wrong =
            format!("where the amplifier of probe \"{}\" is connected is not said", found.name.value.0);
        problems.add(&found.amplifier.span, wrong, format!("give {needed}"));
        return Err(Told);
    }
    Ok(place)
}

/// What drives an output. On a real board it must be said.
pub(super) fn line(
    (pin, active): (&Option<At<PinNumber>>, &Option<At<ActiveLevel>>),
    what: &str,
    span: &Range<usize>,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<Line>, Told> {
    match (pin, active) {
        (Some(pin), Some(active)) => Ok(whole(pin.value.0).map(|pin| Line { pin, active: active.value })),
        (None, None) if matches!(board, Board::Simulated(_)) => Ok(None),
        _ => {
            let wrong = format!("what drives {what} is not fully said");
            problems.add(span, wrong, "give pin and active; there is no default for either");
            Err(Told)
        }
    }
}
