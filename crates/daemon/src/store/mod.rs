//! What outlives the program: the data folder with logbook, traces, schedules and the latch.
//!
//! The trace of a firing is the primary record; the logbook is its index and the list of events.
//! Nothing here runs on the control thread: the keeper, a thread of its own, writes what that
//! thread hands over.

mod folder;
mod health;
mod keeper;
mod latch;
mod logbook;
mod migrations;
mod recover;
mod replacement;
mod sealed;
mod starts;

pub use folder::{DataFolder, Owner, usual_folder};
pub use health::{Health, Trouble};
pub use keeper::{Keeper, LiveCurve, Record, Recorded};
pub use latch::{Latch, Latched};
pub use logbook::{Closing, Event, EventKind, FiringRow, LastSeen, Logbook, NewFiring, Outcome};
pub use recover::{Became, Interrupted, LastStep, close_interrupted, find_interrupted, last_step};
pub(crate) use sealed::{seal, unseal};
pub use starts::Starts;

/// Puts a small file in an old one's place as a whole.
pub(crate) fn replace(path: &std::path::Path, text: &str) -> std::io::Result<()> {
    replacement::Replacement::of(path)?.put(text)
}

/// Why the store cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The folder or a file in it.
    #[error("{what}: {why}")]
    Io {
        /// What was tried.
        what: String,
        /// What the system said.
        why: std::io::Error,
    },
    /// Another daemon owns the folder (SR-43).
    #[error("another saggar is running on {folder}; two of them cannot own one kiln")]
    Taken {
        /// The folder.
        folder: String,
    },
    /// The logbook was written by a later version.
    #[error(
        "the logbook is of version {found}, this program knows up to {known}: use the program that wrote it, or newer"
    )]
    FromTheFuture {
        /// Its version.
        found: i64,
        /// The newest known here.
        known: i64,
    },
    /// The logbook's file is no logbook any more.
    #[error(
        "the logbook {path} is damaged ({why}): move it aside and start again; a new one begins, and the traces beside it stay"
    )]
    Damaged {
        /// Where it lies.
        path: String,
        /// What the database says.
        why: String,
    },
    /// The logbook itself.
    #[error("the logbook: {0}")]
    Logbook(#[from] rusqlite::Error),
    /// A trace.
    #[error(transparent)]
    Trace(#[from] trace::TraceError),
}

impl StoreError {
    pub(crate) fn io(what: impl Into<String>) -> impl FnOnce(std::io::Error) -> Self {
        let what = what.into();
        move |why| Self::Io { what, why }
    }
}
