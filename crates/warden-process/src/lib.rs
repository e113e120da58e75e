//! The warden as a process: owns the safety contactor's pin, hears the daemon's beats over its
//! standard input, and opens when anything is not as it must be.
//!
//! Here live the line, the pins in hand, the time (monotonic), the limit probe with its file, and the
//! helper that drives every pin off. What does *not* live here: the judgement and the messages (crate
//! `warden`), any network, any thread but the one that asks the limit probe and holds nothing, any word on
//! a screen while the contactor may be closed, since a blocked reader would block the warden.
//!
//! `docs/warden.md` tells who starts whom and what happens when either of the two fails.
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::indexing_slicing,
        clippy::as_conversions,
        clippy::wildcard_enum_match_arm
    )
)]

mod limit_file;
mod limit_probe;
mod line;
mod pins_off;
mod post;
mod safety_pins;
mod start;

pub use limit_file::{BadLimitFile, LimitFile, Place};
pub use start::{CONTACTOR_TAKEN, run};

/// The name by which the warden is called. The daemon's program, called by it, is the warden.
pub const NAME: &str = "saggar-warden";
/// The argument before the file of pins to guard.
pub const GUARD: &str = "--pins";
/// The argument before the file of the limit probe.
pub const LIMIT: &str = "--limit";
