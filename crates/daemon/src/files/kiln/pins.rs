//! Pins and buses: what drives what, and what must not be shared.

use hal::bus::Connection;

use super::parts::whole;
use super::wire::{KilnSections, ProbeSection};
use super::words::{ActiveLevel, BoardKind};
use super::{Board, Line, contacts, heartbeat};
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
}

/// Everything that the file gives a pin, the contactor first.
pub(super) fn used(file: &KilnSections) -> Vec<Used<'_>> {
    let contactor = file.warden.iter().map(|warden| Used {
        what: "the contactor".to_owned(),
        pin: &warden.value.contactor_pin,
        active: Some(&warden.value.active),
    });
    let banks = file.bank.iter().filter_map(|bank| {
        let what = format!("bank \"{}\"", bank.value.name.value.0);
        let active = bank.value.active.as_ref();
        bank.value.pin.as_ref().map(|pin| Used { what, pin, active })
    });
    let contacts = contacts::sections(file).iter().filter_map(|contact| {
        let what = contacts::name(contact.value.senses.value.sensed()).to_owned();
        contact.value.pin.as_ref().map(|pin| Used { what, pin, active: None })
    });
    contactor.chain(banks).chain(contacts).chain(heartbeat::output(file)).collect()
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
        if on_header
            && let Some(bus) = file.probe.iter().find_map(|probe| bus_that_needs(pin.0, &probe.value))
        {
            problems.add(
                span,
                format!("GPIO {} is needed by {bus}, where a probe is", pin.0),
                "use another pin",
            );
        }
    }
    if on_header {
        for output in &used {
            refuse_energised_at_boot(output, problems);
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

/// Refuses a relay that the pin's own pull would close before any program runs.
fn refuse_energised_at_boot(output: &Used<'_>, problems: &mut Problems) {
    let (pin, what) = (output.pin.value.0, &output.what);
    let (pull, active) = match output.active.map(|active| active.value) {
        Some(ActiveLevel::High) if pin <= PULLED_UP_LAST => ("up", "high"),
        Some(ActiveLevel::Low) if pin > PULLED_UP_LAST => ("down", "low"),
        Some(ActiveLevel::High | ActiveLevel::Low) | None => return,
    };
    let wrong = format!(
        "GPIO {pin} is pulled {pull} at boot: {what}, active {active}, would be energised before any program runs"
    );
    problems.add(&output.pin.span, wrong, SAFE_PIN);
}

/// The bus of a probe that uses a pin of the header for itself (Raspberry Pi pin functions: BCM2835
/// ARM Peripherals, 6.2, alternative functions 0 and 4).
fn bus_that_needs(pin: f64, probe: &ProbeSection) -> Option<&'static str> {
    const SPI_0: [f64; 5] = [7.0, 8.0, 9.0, 10.0, 11.0];
    const SPI_1: [f64; 6] = [16.0, 17.0, 18.0, 19.0, 20.0, 21.0];
    const I2C_1: [f64; 2] = [2.0, 3.0];
    let bus = probe.bus.as_ref().map(|bus| bus.value.0)?;
    let on_i2c = probe.amplifier.value.is_on_i2c();
    let (pins, name): (&[f64], _) = match (on_i2c, bus) {
        (false, 0.0) => (&SPI_0, "SPI bus 0"),
        (false, 1.0) => (&SPI_1, "SPI bus 1"),
        (true, 1.0) => (&I2C_1, "I2C bus 1"),
        _ => return None,
    };
    pins.contains(&pin).then_some(name)
}

fn refuse_shared_chips(file: &KilnSections, problems: &mut Problems) {
    for (index, probe) in file.probe.iter().enumerate() {
        let Some(here) = place_of(&probe.value) else { continue };
        if file.probe[..index].iter().any(|earlier| place_of(&earlier.value) == Some(here)) {
            let span = probe.value.chip_select.as_ref().map_or(&probe.value.name.span, |key| &key.span);
            let right = "give each amplifier its own chip select or address";
            problems.add(span, "another probe has the same bus and chip select or address", right);
        }
    }
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

/// The output of a bank. On a real board it must be said.
pub(super) fn line(
    pin: Option<&At<PinNumber>>,
    active: Option<&At<ActiveLevel>>,
    owner: &At<crate::files::leaf::Text>,
    board: &Board,
    problems: &mut Problems,
) -> Result<Option<Line>, Told> {
    match (pin, active) {
        (Some(pin), Some(active)) => Ok(whole(pin.value.0).map(|pin| Line { pin, active: active.value })),
        (None, None) if matches!(board, Board::Simulated(_)) => Ok(None),
        _ => {
            let wrong = format!("what drives bank \"{}\" is not fully said", owner.value.0);
            problems.add(&owner.span, wrong, "give pin and active; there is no default for either");
            Err(Told)
        }
    }
}
