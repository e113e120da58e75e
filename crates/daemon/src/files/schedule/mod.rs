//! Schedule files: read, checked, and compiled into the programme that the controller runs.

mod check;
mod direction;
mod keeping_up;
mod lint;
mod price;
mod segment;
mod wire;

#[cfg(test)]
mod tests;

use std::path::Path;

use control::{Programme, Segment};
use pyrometry::cone::Cone;

use super::kiln::KilnFile;
use super::problem::{Checked, Problems, Refused, Source};
use super::scale::Scale;
use super::{LoadError, read_source};

pub use keeping_up::{Reach, falls_short, reach, warn_of_reach};
pub use price::price;
pub use wire::Vent;

/// A schedule that can be fired.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    /// What the potter calls it.
    pub title: String,
    /// The scale its file is written in, and in which the potter thinks.
    pub scale: Scale,
    /// The cone it aims at.
    pub aim: Option<Cone>,
    /// What is done, one after another; the same number and order as the programme's.
    pub segments: Vec<Planned>,
    /// The same, compiled for the controller.
    pub programme: Programme,
}

/// One segment, with what only people need.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// What the controller runs.
    pub segment: Segment,
    /// What to remind the potter of when it begins.
    pub remind: Option<String>,
    /// What the vent does in it, where the schedule says.
    pub vent: Option<Vent>,
    /// The line of the file where it begins, counted from one.
    pub line: usize,
}

/// Loads and checks a schedule, against a kiln where one is given.
pub fn load(path: &Path, kiln: Option<&KilnFile>) -> Result<Checked<Schedule>, LoadError> {
    Ok(check(read_source(path)?, kiln)?)
}

/// Checks the text of a schedule, against a kiln where one is given.
pub fn check(source: Source, kiln: Option<&KilnFile>) -> Result<Checked<Schedule>, Refused> {
    let mut problems = Problems::default();
    super::refuse_other_kind(&source, "[kiln]", "[[segment]]", &mut problems);
    if !problems.is_empty() {
        return Err(Refused::new(source, problems));
    }
    let file = super::wire::read_file::<wire::ScheduleFile>(source.text(), &mut problems);
    let schedule = file.as_ref().and_then(|file| check::schedule(file, &source, kiln, &mut problems));
    match (file, schedule) {
        (Some(file), Some(schedule)) if problems.is_empty() => {
            let mut notes = Problems::default();
            lint::schedule(&file, &schedule, kiln, &mut notes);
            Ok(Checked::new(schedule, source, notes))
        }
        _ => Err(Refused::new(source, problems)),
    }
}

/// The scale of a schedule's text, whatever else is in it: one fired long ago may break a rule of
/// today. Celsius where none can be read.
#[must_use]
pub fn scale_of(text: &str) -> Scale {
    let table: Option<toml::Table> = text.parse().ok();
    let written = table.as_ref().and_then(|table| table.get("scale")).and_then(toml::Value::as_str);
    Scale::ALL.iter().copied().find(|scale| Some(scale.name()) == written).unwrap_or(Scale::Celsius)
}

/// The JSON Schema of schedule files.
#[must_use]
pub fn json_schema() -> String {
    super::schema::text_of::<wire::ScheduleFile>("Saggar schedule")
}
