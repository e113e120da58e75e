//! The file of the warden's own limit probe.
//!
//! ```text
//! # Beside the kiln's own probe, on an amplifier of its own.
//! ceiling-c 1280
//! amplifier MAX31856
//! thermocouple K
//! spi 0 1
//! mains-hz 50
//! ```
//! In place of `spi BUS CHIP-SELECT` an MCP9600 has `i2c BUS ADDRESS`, such as `i2c 1 0x67`; a simulated
//! kiln may have `readings FILE` (`limit_probe.rs`). What follows a `#` is for people. Nothing has a
//! default, and nothing is taken from anywhere else: a ceiling that a slip could move is none.

use std::fmt::{self, Display};
use std::fs;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use hal::amplifier::Mains;
use hal::bus::Connection;
use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::constant;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, CelsiusDelta};

/// A lower ceiling would fire nothing; it is a slip of the pen. Engineering judgement.
const CEILING_LEAST: Celsius = constant!(Celsius, 100.0);
/// The warden must be able to read so much above the ceiling, or it could never find it passed.
const TO_BE_SEEN: CelsiusDelta = constant!(CelsiusDelta, 1.0);
/// The box in which a chip must be able to say that; no chip's end moves by 1 °C with its box.
const BOX: Celsius = constant!(Celsius, 25.0);
/// The addresses that an MCP9600 can be set to (datasheet DS20005426G, table 6-2, from memory).
const MCP9600_ADDRESSES: std::ops::RangeInclusive<u8> = 0x60..=0x67;

/// Every key with how it is written.
const KEYS: [(&str, &str); 7] = [
    ("ceiling-c", "write the ceiling in °C, such as: ceiling-c 1280"),
    ("amplifier", "write the chip: amplifier MAX31856, or MAX31855, MAX6675, MCP9600"),
    ("thermocouple", "write the letter printed on the thermocouple, such as: thermocouple K"),
    ("mains-hz", "write: mains-hz 50, or: mains-hz 60"),
    ("spi", "write bus and chip select, such as: spi 0 1"),
    ("i2c", "write bus and address (0x60 to 0x67), such as: i2c 1 0x67"),
    ("readings", "write the file of a simulated kiln's readings, such as: readings limit-readings"),
];

/// What a limit file says.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitFile {
    /// Above this the contactor is opened.
    pub ceiling: Celsius,
    /// The thermocouple and its chip.
    pub sensor: Sensor,
    /// Where its readings come from.
    pub place: Place,
    /// The hum that the chip is to leave out.
    pub mains: Mains,
}

/// Where a limit probe's readings come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A chip on a bus.
    Connected(Connection),
    /// A file that stands for one, on a simulated kiln.
    Readings(PathBuf),
}

/// Why a limit file cannot be used.
#[derive(Debug)]
pub struct BadLimitFile {
    path: PathBuf,
    slip: Slip,
}

impl Display for BadLimitFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Slip { line, wrong, cure } = &self.slip;
        write!(f, "limit file {}", self.path.display())?;
        if let Some(line) = line {
            write!(f, ", line {line}")?;
        }
        write!(f, ": {wrong}; {cure}")
    }
}

impl std::error::Error for BadLimitFile {}

#[derive(Debug, PartialEq, Eq)]
struct Slip {
    line: Option<usize>,
    wrong: String,
    cure: String,
}

impl LimitFile {
    /// Reads a limit file. What it names by a relative path lies beside it.
    pub fn read(path: &Path) -> Result<Self, BadLimitFile> {
        let bad = |slip| BadLimitFile { path: path.to_owned(), slip };
        let text = fs::read_to_string(path).map_err(|why| {
            let cure = "is the path right, and may this user read it?".to_owned();
            bad(Slip { line: None, wrong: format!("it cannot be read ({why})"), cure })
        })?;
        let file = Self::from_text(&text).map_err(bad)?;
        let place = match (file.place, path.parent()) {
            (Place::Readings(readings), Some(folder)) => Place::Readings(folder.join(readings)),
            (place, _) => place,
        };
        Ok(Self { place, ..file })
    }

    fn from_text(text: &str) -> Result<Self, Slip> {
        let lines = lines(text)?;
        let ceiling_line = Line::of(&lines, "ceiling-c")?;
        let amplifier_line = Line::of(&lines, "amplifier")?;
        let thermocouple_line = Line::of(&lines, "thermocouple")?;
        let mains_line = Line::of(&lines, "mains-hz")?;
        let amplifier = amplifier_line.value(Amplifier::parse)?;
        let thermocouple = thermocouple_line.value(Thermocouple::parse)?;
        let ceiling = ceiling_line.value(|text| Celsius::new(f64::from_str(text).ok()?))?;
        let mains = mains_line.value(|text| match text {
            "50" => Some(Mains::Hertz50),
            "60" => Some(Mains::Hertz60),
            _ => None,
        })?;
        let chip = amplifier.name().to_uppercase();
        let letter = thermocouple.letter();
        if !amplifier.serves(thermocouple) {
            let wrong = format!("a {chip} does not read type {letter}");
            return Err(amplifier_line.slip(wrong, "look at what is printed on chip and thermocouple"));
        }
        let sensor = Sensor { thermocouple, amplifier, calibration: Calibration::NONE };
        if ceiling < CEILING_LEAST {
            let wrong = format!("a ceiling of {} °C is below {} °C", ceiling.c(), CEILING_LEAST.c());
            return Err(ceiling_line.slip(wrong, "write it in °C, a little above the hottest firing"));
        }
        if !says_more_than(&sensor, ceiling) {
            let wrong = format!("above {} °C a {chip} tells nothing of type {letter}", ceiling.c());
            return Err(ceiling_line.slip(wrong, "choose a lower ceiling, or another thermocouple and chip"));
        }
        Ok(Self { ceiling, sensor, place: place(&lines, amplifier)?, mains })
    }
}

/// Whether a healthy chip says of a junction just above the ceiling that it is above.
fn says_more_than(sensor: &Sensor, ceiling: Celsius) -> bool {
    let said = sensor.would_say(ceiling + TO_BE_SEEN, BOX);
    sensor.measure(&said).is_ok_and(|measured| measured.junction > ceiling)
}

fn place(lines: &[Line<'_>], amplifier: Amplifier) -> Result<Place, Slip> {
    let is_on_i2c = amplifier == Amplifier::Mcp9600;
    let mut places = lines.iter().filter(|line| ["spi", "i2c", "readings"].contains(&line.key));
    let Some(line) = places.next() else {
        let key = if is_on_i2c { "i2c" } else { "spi" };
        return Err(Slip {
            line: None,
            wrong: "it does not say where the chip is".to_owned(),
            cure: cure(key),
        });
    };
    if let Some(second) = places.next() {
        return Err(second.slip("a second place for one chip".to_owned(), "keep the one that is so"));
    }
    match line.key {
        "readings" => Ok(Place::Readings(line.value(|text| (!text.is_empty()).then(|| text.into()))?)),
        "i2c" if is_on_i2c => Ok(Place::Connected(line.value(|text| {
            let (bus, address) = text.split_once(char::is_whitespace)?;
            let address = address.trim_start();
            let address = match address.strip_prefix("0x") {
                Some(hexadecimal) => u8::from_str_radix(hexadecimal, 16),
                None => u8::from_str(address),
            };
            let address = address.ok().filter(|address| MCP9600_ADDRESSES.contains(address))?;
            Some(Connection::I2c { bus: bus.parse().ok()?, address })
        })?)),
        "spi" if !is_on_i2c => Ok(Place::Connected(line.value(|text| {
            let (bus, chip_select) = text.split_once(char::is_whitespace)?;
            Some(Connection::Spi {
                bus: bus.parse().ok()?,
                chip_select: chip_select.trim_start().parse().ok()?,
            })
        })?)),
        _ => {
            let wrong = format!("a {} is not connected so", amplifier.name().to_uppercase());
            Err(line.slip(wrong, "an MCP9600 is on i2c, the others are on spi"))
        }
    }
}

/// A line that says something.
#[derive(Clone, Copy)]
struct Line<'a> {
    number: usize,
    key: &'static str,
    rest: &'a str,
}

impl<'a> Line<'a> {
    fn of(lines: &[Self], key: &str) -> Result<Self, Slip> {
        let found = lines.iter().find(|line| line.key == key).copied();
        found.ok_or_else(|| Slip { line: None, wrong: format!("it has no `{key}`"), cure: cure(key) })
    }

    fn value<T>(self, read: impl FnOnce(&'a str) -> Option<T>) -> Result<T, Slip> {
        let Self { key, rest, .. } = self;
        read(rest).ok_or_else(|| self.slip(format!("`{key} {rest}` cannot be understood"), &cure(key)))
    }

    fn slip(self, wrong: String, cure: &str) -> Slip {
        Slip { line: Some(self.number), wrong, cure: cure.to_owned() }
    }
}

fn cure(key: &str) -> String {
    KEYS.iter().find(|(known, _)| *known == key).map_or_else(String::new, |(_, how)| (*how).to_owned())
}

/// The lines that say something, each key once.
fn lines(text: &str) -> Result<Vec<Line<'_>>, Slip> {
    let mut lines: Vec<Line<'_>> = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        let said = line.split('#').next().unwrap_or_default().trim();
        if said.is_empty() {
            continue;
        }
        let (word, rest) = said.split_once(char::is_whitespace).unwrap_or((said, ""));
        let Some((key, _)) = KEYS.into_iter().find(|(key, _)| *key == word) else {
            let known: Vec<&str> = KEYS.iter().map(|(key, _)| *key).collect();
            let cure = format!("known here: {}", known.join(", "));
            return Err(Slip { line: Some(number), wrong: format!("`{word}` is not known"), cure });
        };
        let line = Line { number, key, rest: rest.trim_start() };
        if lines.iter().any(|earlier| earlier.key == key) {
            return Err(line.slip(format!("a second `{key}`"), "keep the one that is so"));
        }
        lines.push(line);
    }
    Ok(lines)
}

#[cfg(test)]
mod tests;
