//! The parts of the `saggar` program.
//!
//! Here live the files a person edits and everything else that touches the outside world: disk,
//! network, wall clock. What does *not* live here: any decision about heat (crate `control`), any
//! arithmetic on a reading (crate `pyrometry`), any pin (crate `hal`).
//!
//! Four kinds of thread, which meet only over bounded channels: *control* (`run`) steps the kiln
//! once a second and never waits; the *keeper* (`store`) writes to the disk; a few workers serve
//! the page (`web`); the main thread waits for the end.

pub mod attention;
pub mod carrying;
pub mod chronicle;
pub mod cli;
pub mod client;
pub mod clock;
pub mod cosim;
pub mod electronics;
pub mod files;
pub mod heads;
pub mod kilns;
pub mod learning;
pub mod lighting;
pub mod limit;
pub mod logs;
pub mod plant;
pub mod rate;
pub mod run;
pub mod schedules;
pub mod sentence;
pub mod serve;
pub mod service;
pub mod simulate;
pub mod store;
pub mod tally;
pub mod web;
pub mod words;
