//! What is known of a firing besides the controller's own state.

use std::sync::Arc;

use insight::Forecast;
use pyrometry::units::Millis;

use crate::files::schedule::Schedule;

/// A firing as people read it.
#[derive(Clone, Debug)]
pub struct FiringSheet {
    /// Its number in the logbook.
    pub id: i64,
    /// The schedule's file name.
    pub file: String,
    /// The schedule.
    pub schedule: Arc<Schedule>,
    /// What it was forecast to do, made at light-up.
    pub forecast: Arc<Forecast>,
    /// How long after light-up heating begins.
    pub delay: Millis,
    /// When it was lit, RFC 3339.
    pub started: String,
    /// Why it is a proving firing, in words; `None` when it is none.
    pub proving: Option<String>,
}
