//! Which kiln: the file a person names, or the simulated one.

use std::path::Path;

use crate::files::kiln::{self, Board, KilnFile};
use crate::files::{LoadError, Refused, Source};

/// How fast a simulated kiln runs where nobody says: a firing of twelve hours takes six minutes.
pub const SIMULATED_SPEED: f64 = 120.0;

/// The kiln simulated where no file is named.
pub fn simulated() -> Result<KilnFile, Refused> {
    Ok(kiln::check(Source::new("the built-in simulated kiln", kiln::SIMULATED))?.value)
}

/// The kiln of a file, or the simulated one. Remarks go to the log.
pub fn load(path: Option<&Path>) -> Result<KilnFile, LoadError> {
    let Some(path) = path else { return Ok(simulated()?) };
    let checked = kiln::load(path)?;
    if !checked.notes.is_empty() {
        crate::cli::remark(&checked.remarks().trim_end());
    }
    Ok(checked.value)
}

/// The speed of a simulated kiln as its file has it; `None` for a real board.
#[must_use]
pub fn speed(file: &KilnFile) -> Option<f64> {
    match &file.board {
        Board::Simulated(simulated) => Some(simulated.speed.unwrap_or(SIMULATED_SPEED)),
        Board::RaspberryPi | Board::Linux { .. } => None,
    }
}
