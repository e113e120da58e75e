//! Kiln files: read, checked, and turned into the kiln that the controller runs.

mod body;
mod check;
mod chip;
mod contacts;
mod currents;
mod duties;
mod heartbeat;
mod limit;
mod lint;
mod outliving;
mod parts;
mod pins;
mod points;
mod signals;
mod uncertainty;
mod wire;
mod wiring;
mod words;

#[cfg(test)]
mod board_tests;
#[cfg(test)]
mod tests;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use control::Kiln;
use hal::amplifier::Mains;
use hal::bus::Connection;
use hal::{ClosedAt, Sensed};
use insight::Body;
use jiff::civil::Date;
use pyrometry::uncertainty::Lead;
use pyrometry::units::{Celsius, CelsiusDelta, Millis, Watts};

use super::problem::{Checked, Problems, Refused, Source};
use super::scale::Scale;
use super::{LoadError, read_source};

pub use currents::{ClampPart, ConverterPart};
pub use limit::NoLimit;
pub use outliving::{Outliving, say_outliving};
pub use signals::{SignalPart, SignalParts, VentPart};
pub use uncertainty::{BOX, Uncertain, say_uncertainty};
pub use words::{ActiveLevel, BoardKind, ToleranceClass};

/// The kiln file of the simulated kiln, used when a person names none.
pub const SIMULATED: &str = include_str!("../../../../../config/kilns/simulated.toml");

/// A kiln that can be fired.
#[derive(Clone, Debug, PartialEq)]
pub struct KilnFile {
    /// What the potter calls it.
    pub name: String,
    /// The scale its file is written in.
    pub scale: Scale,
    /// Chamber and wall.
    pub body: Body,
    /// What a usual load weighs, kg, shelves and posts included.
    pub load_kg: f64,
    /// No junction may be hotter.
    pub ceiling: Celsius,
    /// The most that may be drawn at once.
    pub supply_limit: Watts,
    /// The longest firing.
    pub firing_longest: Millis,
    /// The hum that its amplifiers leave out.
    pub mains: Mains,
    /// What runs its electronics.
    pub board: Board,
    /// The banks, in the order of [`Kiln::banks`].
    pub banks: Vec<BankPart>,
    /// The probes, in the order of [`Kiln::probes`].
    pub probes: Vec<ProbePart>,
    /// The safety contactor's coil; `None` only on a simulated board.
    pub contactor: Option<Line>,
    /// The file of the warden's own limit probe, where one is fitted.
    pub limit_file: Option<PathBuf>,
    /// The GPIO of the heartbeat, where an outside relay is fitted that its edges keep closed.
    pub heartbeat: Option<u16>,
    /// What it drives besides, which heats nothing.
    pub signals: SignalParts,
    /// The converter of its current clamps.
    pub converter: Option<ConverterPart>,
    /// What else the board senses.
    pub contacts: Vec<ContactPart>,
    /// How a person shows to be at the kiln at light-up.
    pub presence: Presence,
    /// What happens when power returns.
    pub outage: Outage,
    /// Where the page is served.
    pub page: SocketAddr,
    /// What electricity costs.
    pub tariff: Option<Tariff>,
    /// The same kiln as the controller knows it, with a guessed model.
    pub kiln: Kiln,
}

/// What runs a kiln's electronics.
#[derive(Clone, Debug, PartialEq)]
pub enum Board {
    /// A computed kiln.
    Simulated(Simulated),
    /// A Raspberry Pi's header.
    RaspberryPi,
    /// Linux's character devices.
    Linux {
        /// The GPIO device.
        gpio_chip: String,
    },
}

/// What the simulated kiln needs besides the other sections.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulated {
    /// What stands in it, kg, shelves and posts included.
    pub load_kg: f64,
    /// Temperature of the room.
    pub ambient: Celsius,
    /// The mains over its nominal tension.
    pub mains_ratio: f64,
    /// How many times faster than real time, where the file says.
    pub speed: Option<f64>,
    /// Where chance starts.
    pub seed: u64,
}

/// An output of the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its GPIO number.
    pub pin: u16,
    /// The level that energises.
    pub active: ActiveLevel,
}

/// An input of the board that a contact brings to ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ContactPin {
    /// Its GPIO number.
    pub pin: u16,
    /// Its level when what is sensed is closed.
    pub closed_at: ClosedAt,
}

/// A contact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ContactPart {
    /// What it senses.
    pub sensed: Sensed,
    /// What reads it; `None` only on a simulated board.
    pub pin: Option<ContactPin>,
}

/// How a person shows to be at the kiln at light-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Presence {
    /// By pressing the button there.
    Button,
    /// By confirming it with the checklist.
    Checklist,
    /// It is not asked.
    NotAsked,
}

impl KilnFile {
    /// Whether there is a contact that senses it.
    #[must_use]
    pub fn senses(&self, sensed: Sensed) -> bool {
        self.contacts.iter().any(|part| part.sensed == sensed)
    }
}

/// What only people and the board need of a bank.
#[derive(Clone, Debug, PartialEq)]
pub struct BankPart {
    /// What the potter calls it.
    pub name: String,
    /// What drives its relay; `None` only on a simulated board.
    pub line: Option<Line>,
    /// Operations its switch stands, where the file says.
    pub rated_operations: Option<u64>,
    /// The clamp that measures its current.
    pub clamp: Option<ClampPart>,
}

/// What only people and the board need of a probe.
#[derive(Clone, Debug, PartialEq)]
pub struct ProbePart {
    /// What the potter calls it.
    pub name: String,
    /// Its tolerance class.
    pub class: ToleranceClass,
    /// Thickness of its wire, where the file says.
    pub wire_mm: Option<f64>,
    /// Where its amplifier is; `None` only on a simulated board.
    pub connection: Option<Connection>,
    /// The day it was fitted, where the file says.
    pub fitted: Option<Date>,
    /// The way to its amplifier.
    pub lead: Lead,
    /// The day of its calibration, where the file says.
    pub calibrated: Option<Date>,
    /// How far that calibration may be out, where the file says.
    pub calibrated_within: Option<CelsiusDelta>,
    /// What the file allows for age and drift.
    pub drift: Option<CelsiusDelta>,
    /// Who allowed a correction beyond 25 °C, when and why.
    pub correction_allowed_by: Option<String>,
}

/// What happens when power returns in the middle of a firing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outage {
    /// The kiln stays off.
    RemainOff,
    /// The firing carries on from the temperature found.
    CarryOn {
        /// After a longer gap it stays off.
        gap_at_most: Millis,
        /// After a greater drop it stays off.
        drop_at_most: CelsiusDelta,
    },
}

/// What electricity costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Tariff {
    /// The currency.
    pub currency: String,
    /// The price of a kilowatt hour.
    pub per_kwh: f64,
}

/// Loads and checks a kiln file.
pub fn load(path: &Path) -> Result<Checked<KilnFile>, LoadError> {
    let mut checked = check(read_source(path)?)?;
    limit::place_beside(path, &mut checked.value);
    Ok(checked)
}

/// Checks the text of a kiln file.
pub fn check(source: Source) -> Result<Checked<KilnFile>, Refused> {
    let mut problems = Problems::default();
    super::refuse_other_kind(&source, "[[segment]]", "[kiln]", &mut problems);
    if !problems.is_empty() {
        return Err(Refused::new(source, problems));
    }
    let file = super::wire::read_file::<wire::KilnSections>(source.text(), &mut problems);
    let kiln = file.as_ref().and_then(|file| check::kiln(file, &mut problems));
    match (file, kiln) {
        (Some(file), Some(kiln)) if problems.is_empty() => {
            let mut notes = Problems::default();
            lint::kiln(&file, &kiln, &mut notes);
            Ok(Checked::new(kiln, source, notes))
        }
        _ => Err(Refused::new(source, problems)),
    }
}

/// The JSON Schema of kiln files.
#[must_use]
pub fn json_schema() -> String {
    super::schema::text_of::<wire::KilnSections>("Saggar kiln file")
}
