//! The parts of the `saggar` program.
//!
//! Here live the files a person edits and everything else that touches the outside world: disk,
//! network, wall clock. What does *not* live here: any decision about heat (crate `control`), any
//! arithmetic on a reading (crate `pyrometry`), any pin (crate `hal`).

pub mod files;
