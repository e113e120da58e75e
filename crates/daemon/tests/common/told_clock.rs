//! A computer's clock that says what a test tells it.

use std::sync::Mutex;

use daemon::clock::ComputerClock;
use jiff::{SignedDuration, Timestamp};

/// The clock. It stands still until it is moved.
#[derive(Debug)]
pub(crate) struct ToldClock(Mutex<Timestamp>);

impl ToldClock {
    pub(crate) fn new() -> Self {
        Self(Mutex::new("2026-11-25T10:00:00Z".parse().expect("a time")))
    }

    pub(crate) fn moved(&self, seconds: i64) {
        *self.0.lock().expect("whole") += SignedDuration::from_secs(seconds);
    }
}

impl ComputerClock for ToldClock {
    fn now(&self) -> Timestamp {
        *self.0.lock().expect("whole")
    }

    fn is_kept_true(&self) -> bool {
        true
    }
}
