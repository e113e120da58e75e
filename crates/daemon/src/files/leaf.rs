//! Texts, durations, dates, rates and targets: the values of a file that are no plain numbers.

use pyrometry::cone::Cone;
use pyrometry::units::Millis;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;
use toml::de::DeValue;

use super::near::nearest;
use super::number::finite;
use super::problem::Problems;
use super::slips::number_alone;
use super::time::{self, LONGEST_DAYS};
use super::wire::{Node, Wire};

/// Gives a type's schema without the ceremony around it.
macro_rules! schema {
    ($name:ident, $schema:tt) => {
        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!($schema)
            }
        }
    };
}

const TEXT_LONGEST: usize = 200; // characters; a sentence or two, and it fits a phone's screen

/// A short text for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Text(pub(super) String);

schema!(Text, { "type": "string", "minLength": 1, "maxLength": 200 });

impl Wire for Text {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let fits = |text: &str| {
            !text.trim().is_empty()
                && text.chars().count() <= TEXT_LONGEST
                && !text.chars().any(char::is_control)
        };
        let text = node.value.as_str().filter(|text| fits(text));
        if text.is_none() {
            let right = format!("write 1 to {TEXT_LONGEST} characters in quotes, on one line");
            node.refuse(problems, "not a text", right);
        }
        text.map(|text| Self(text.trim().to_owned()))
    }
}

/// A list of names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Names(pub(super) Vec<String>);

schema!(Names, { "type": "array", "minItems": 1, "items": { "type": "string" } });

impl Wire for Names {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let names: Option<Vec<String>> = node
            .value
            .as_array()
            .and_then(|items| items.iter().map(|item| item.get_ref().as_str().map(str::to_owned)).collect());
        let names = names.filter(|names| !names.is_empty());
        if names.is_none() {
            node.refuse(
                problems,
                "not a list of names",
                "write names in quotes, such as [\"upper\", \"lower\"]",
            );
        }
        names.map(Self)
    }
}

/// A span of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lasting(pub(super) Millis);

schema!(Lasting, { "type": "string", "pattern": time::PATTERN });

impl Wire for Lasting {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        const RIGHT: &str =
            "write a time with its units, such as \"30 min\", \"1 h 20 min\", \"90 s\" or \"2 d\"";
        let DeValue::String(text) = node.value else {
            let right = match finite(node) {
                Some(number) => format!("say of what: \"{number} min\" or \"{number} h\""),
                None => RIGHT.to_owned(),
            };
            node.refuse(problems, "not a time", right);
            return None;
        };
        let Some(span) = time::parse(text) else {
            let right = time::mend(text).map(|mended| format!("did you mean \"{mended}\"?"));
            node.refuse(problems, "not a time", right.unwrap_or_else(|| RIGHT.to_owned()));
            return None;
        };
        if span > Millis::from_hours(24 * LONGEST_DAYS) {
            node.refuse(problems, "too long", format!("at most {LONGEST_DAYS} d"));
            return None;
        }
        Some(Self(span))
    }
}

/// A day, as people note when a part was fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Day(pub(super) jiff::civil::Date);

schema!(Day, {});

impl Wire for Day {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let whole_day =
            node.value.as_datetime().filter(|found| found.time.is_none()).and_then(|found| found.date);
        let date = whole_day.and_then(|date| {
            let (month, day) = (i8::try_from(date.month).ok()?, i8::try_from(date.day).ok()?);
            jiff::civil::Date::new(i16::try_from(date.year).ok()?, month, day).ok()
        });
        if date.is_none() {
            node.refuse(problems, "not a date", "write year-month-day without quotes, such as 2026-03-01");
        }
        date.map(Self)
    }
}

/// How a segment gets to where it goes; a rate is in the file's scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Rate {
    /// Degrees an hour; negative cools.
    PerHour(f64),
    /// As fast as the kiln can.
    FlatOut,
    /// Elements off.
    LetFall,
}

schema!(Rate, { "anyOf": [{ "type": "number" }, { "type": "string", "enum": ["flat out", "let fall"] }] });

impl Wire for Rate {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        const RIGHT: &str = "write degrees per hour as a number, such as 150 (negative cools), \
                             or \"flat out\" or \"let fall\"";
        let found = match node.value.as_str() {
            Some("flat out") => Some(Self::FlatOut),
            Some("let fall") => Some(Self::LetFall),
            Some(_) | None => finite(node).map(Self::PerHour),
        };
        if found == Some(Self::PerHour(0.0)) {
            node.refuse(
                problems,
                "never arrives",
                "to hold a temperature, give the segment before it a soak",
            );
            return None;
        }
        if found.is_none() {
            let right = node.value.as_str().and_then(|text| {
                let alone =
                    number_alone(text).map(|number| format!("write the number alone: rate = {number}"));
                let word = text.to_lowercase().replace(['-', '_'], " ");
                let near = || nearest(&word, ["flat out", "let fall"]);
                alone.or_else(|| Some(format!("did you mean \"{}\"?", near()?)))
            });
            node.refuse(problems, "not a rate", right.unwrap_or_else(|| RIGHT.to_owned()));
        }
        found
    }
}

/// Where a segment goes; a temperature is in the file's scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Goal {
    /// A temperature.
    Temperature(f64),
    /// A cone's heat-work.
    Cone(Cone),
}

schema!(Goal, { "anyOf": [{ "type": "number" }, { "type": "string", "pattern": "^cone " }] });

impl Wire for Goal {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        const RIGHT: &str = "write a temperature as a number, such as 1222, or a cone, such as \"cone 6\"";
        if let DeValue::String(text) = node.value
            && let Some(number) = text.trim().strip_prefix("cone ")
        {
            return cone(number, node, problems).map(Self::Cone);
        }
        let found = finite(node).map(Self::Temperature);
        if found.is_none() {
            let right = node.value.as_str().and_then(|text| {
                let cone = cone_meant(text).map(|cone| format!("did you mean \"cone {cone}\"?"));
                cone.or_else(|| Some(format!("write the number alone: to = {}", number_alone(text)?)))
            });
            node.refuse(problems, "not a target", right.unwrap_or_else(|| RIGHT.to_owned()));
        }
        found
    }
}

/// A cone by its number alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ConeNumber(pub(super) Cone);

schema!(ConeNumber, { "type": "string" });

impl Wire for ConeNumber {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let DeValue::String(text) = node.value else {
            let right = "write it in quotes, because 6 and 06 are different cones: \"6\" or \"06\"";
            node.refuse(problems, "not a cone", right);
            return None;
        };
        cone(text.trim().trim_start_matches("cone "), node, problems).map(Self)
    }
}

fn cone(number: &str, node: &Node<'_>, problems: &mut Problems) -> Option<Cone> {
    let found = Cone::parse(number.trim());
    if found.is_none() {
        let right = match cone_meant(number) {
            Some(cone) => format!("did you mean cone {cone}?"),
            None if is_half(number) => {
                "the only half cones are 05½ and 5½: write the whole one above or below".to_owned()
            }
            None => "cones go from 022 (coolest) through 01 and 1 to 14, such as \"06\" or \"6\"".to_owned(),
        };
        node.refuse(problems, "no such cone", right);
    }
    found
}

fn is_half(number: &str) -> bool {
    ["½", ".5", ",5", "1/2"].iter().any(|half| number.trim().ends_with(half))
}

/// The cone in "06", "Cone 6", "cone06", "^6" or "O6" with a letter for the zero.
fn cone_meant(text: &str) -> Option<Cone> {
    let text = text.trim().to_lowercase().replace('o', "0");
    let number = ["c0ne", "^", "c"].iter().find_map(|mark| text.strip_prefix(mark)).unwrap_or(&text);
    Cone::parse(number.trim_start_matches(['^', ' ']))
}

/// An I2C address, which data sheets give in hexadecimal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct I2cAddress(pub(super) u8);

schema!(I2cAddress, { "type": "integer", "minimum": 8, "maximum": 119 });

impl Wire for I2cAddress {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let written = node.value.as_integer();
        let address = written.and_then(|found| u8::from_str_radix(found.as_str(), found.radix()).ok());
        // 0x08 to 0x77 are the 7-bit addresses that the I2C specification (UM10204) leaves to chips.
        let address = address.filter(|address| (0x08..=0x77).contains(address));
        if address.is_none() {
            node.refuse(problems, "not an I2C address", "write 0x08 to 0x77, such as 0x60");
        }
        address.map(Self)
    }
}
