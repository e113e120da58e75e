//! Whoever holds the contactor: a small door, so that the warden can live in a process of its own.

use hal::{Contactor, Level};
use pyrometry::units::Millis;
use warden::{Beat, Warden};

/// Hears beats and holds the contactor. Times are monotonic, counted from the program's start.
pub trait Guard {
    /// A deliberate arming: at a light-up, or after a cleared trip.
    fn arm(&mut self, at: Millis);
    /// Hears a beat; gives what the contactor is now, as far as it can be known.
    fn hear(&mut self, beat: Beat, at: Millis) -> Level;
}

/// A warden inside this process. It guards against a loop that misses its stages; against the
/// death of the process only one outside of it can.
#[derive(Debug)]
pub struct OwnWarden<C: Contactor> {
    warden: Warden,
    contactor: C,
}

impl<C: Contactor> OwnWarden<C> {
    /// Takes the contactor, and opens it.
    pub fn new(mut contactor: C) -> Self {
        open(&mut contactor);
        Self { warden: Warden::default(), contactor }
    }
}

impl<C: Contactor> Guard for OwnWarden<C> {
    fn arm(&mut self, at: Millis) {
        self.warden.arm(at);
    }

    fn hear(&mut self, beat: Beat, at: Millis) -> Level {
        self.warden.hear(beat, at);
        let level = self.warden.contactor(at);
        if self.contactor.set(level).is_err() {
            tracing::error!("the contactor's pin cannot be driven");
            return Level::Off;
        }
        level
    }
}

impl<C: Contactor> Drop for OwnWarden<C> {
    fn drop(&mut self) {
        open(&mut self.contactor);
    }
}

fn open(contactor: &mut impl Contactor) {
    if contactor.set(Level::Off).is_err() {
        tracing::error!("the contactor's pin cannot be driven");
    }
}
