//! Why a trace can't be read or written.

use std::io;

use crate::head::FORMAT_VERSION;
use crate::step::TooMuchSeen;

/// Why a trace can't be read or written. Lines are counted from one; the head is line 1.
#[derive(Debug, thiserror::Error)]
pub enum TraceError {
    /// The disk or the stream failed.
    #[error("the trace can't be read or written: {0}")]
    Io(#[from] io::Error),
    /// The file is not where it was begun.
    #[error("the trace's file has gone from where it was begun: was the disk or card taken out?")]
    Gone,
    /// Not one whole line.
    #[error("the trace is empty: not even its head was written")]
    Empty,
    /// Some other file.
    #[error("this is no trace: its first line doesn't say that it is one")]
    NotATrace,
    /// A format this software doesn't know.
    #[error(
        "the trace is of format version {version}; this software reads version {FORMAT_VERSION}: \
         read it with the software that wrote it, or newer"
    )]
    UnknownVersion {
        /// What the head says.
        version: u32,
    },
    /// The head is not one.
    #[error("line 1, the head: {0}")]
    Head(String),
    /// A line that is damaged or says what can't be.
    #[error("line {line}: {reason}")]
    Line {
        /// Which.
        line: u64,
        /// What is wrong.
        reason: String,
    },
    /// An observation too large for a trace, and for a controller.
    #[error(transparent)]
    TooMuchSeen(#[from] TooMuchSeen),
    /// An earlier write failed and could not be taken back.
    #[error("an earlier line of this trace was written in part only; nothing more can be added to it")]
    Spoilt,
}
