//! The files a person edits: schedules and the kiln file.
//!
//! Both are TOML. Each is read into the shape it is written in (`wire`), checked as a whole, and
//! turned into the types that the rest of the program uses. A file with any error is refused, with
//! every error named at its line and column; remarks never refuse. Unknown keys are errors: a
//! mistyped limit must not be taken for no limit (SR-41).

pub mod kiln;
mod leaf;
mod near;
mod number;
mod problem;
mod scale;
pub mod schedule;
mod schema;
pub mod time;
mod wire;
mod words;

use std::path::{Path, PathBuf};

pub use problem::{Checked, Place, Problem, Refused, Source, Weight};
pub use scale::Scale;

/// A file larger than this is none of ours: 64 segments need 10 kB, the fullest kiln file 5 kB.
const LARGEST_BYTES: u64 = 256 * 1024;

/// Why a file could not be loaded.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// It could not be read.
    #[error("cannot read {}: {why}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// It has errors.
    #[error(transparent)]
    Refused(#[from] Refused),
}

fn read_source(path: &Path) -> Result<Source, LoadError> {
    let unreadable = |why| LoadError::Unreadable { path: path.to_owned(), why };
    let bytes = std::fs::metadata(path).map_err(unreadable)?.len();
    if bytes > LARGEST_BYTES {
        let why = format!("{bytes} bytes; a schedule or kiln file has at most {LARGEST_BYTES}");
        return Err(unreadable(std::io::Error::other(why)));
    }
    let text = std::fs::read_to_string(path).map_err(unreadable)?;
    Ok(Source::new(path.display().to_string(), text))
}
