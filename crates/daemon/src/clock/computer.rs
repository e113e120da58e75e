//! The computer's own clock, and whether anybody keeps it true.

use std::fmt::Debug;

use jiff::Timestamp;

/// The computer's own clock.
pub trait ComputerClock: Debug + Send + Sync {
    /// What it says.
    fn now(&self) -> Timestamp;
    /// Whether the system says that it is kept to the true time. A board without a clock battery
    /// wakes with any time at all.
    fn is_kept_true(&self) -> bool;
}

/// What the computer's clock said at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wall {
    /// What it said.
    pub now: Timestamp,
    /// Whether it could be relied on.
    pub is_true: bool,
}

/// The system's clock.
#[derive(Clone, Copy, Debug)]
pub struct SystemClock;

impl Wall {
    /// Milliseconds since 1970-01-01T00:00Z, where it could be relied on.
    #[must_use]
    pub fn dated_ms(self) -> Option<u64> {
        u64::try_from(self.now.as_millisecond()).ok().filter(|_| self.is_true)
    }
}

impl ComputerClock for SystemClock {
    fn now(&self) -> Timestamp {
        Timestamp::now()
    }

    /// As the kernel has it: `adjtimex(2)` gives `TIME_ERROR` until something has set the clock by
    /// the true time, and again when nothing has for too long.
    #[allow(unsafe_code, reason = "the kernel offers no file with this; the call only fills what it is lent")]
    fn is_kept_true(&self) -> bool {
        // SAFETY: all zeros is a `timex` (plain numbers), and its `modes` of 0 only asks.
        let mut asked: libc::timex = unsafe { std::mem::zeroed() };
        // SAFETY: `asked` is ours, whole, and lives until the call has returned.
        let state = unsafe { libc::adjtimex(&raw mut asked) };
        state >= 0 && state != libc::TIME_ERROR && asked.status & libc::STA_UNSYNC == 0
    }
}
