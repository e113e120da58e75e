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
        says_kept_true(state, asked.status)
    }
}

/// Whether `adjtimex(2)` says by its answer and its status bits that the clock is kept true.
const fn says_kept_true(state: libc::c_int, status: libc::c_int) -> bool {
    state >= 0 && state != libc::TIME_ERROR && status & libc::STA_UNSYNC == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    // The numbers are those of Linux, include/uapi/linux/timex.h: answers TIME_OK 0 to TIME_WAIT 4 and
    // TIME_ERROR 5; status bits STA_PLL 0x0001, STA_UNSYNC 0x0040, STA_NANO 0x2000 (from memory).

    #[test]
    fn a_clock_that_the_kernel_calls_set_is_kept_true_leap_second_or_not() {
        for state in 0..=4 {
            assert!(says_kept_true(state, 0x2001), "answer {state}");
        }
    }

    #[test]
    fn an_error_an_unset_clock_and_a_call_that_failed_are_not_kept_true() {
        assert!(!says_kept_true(5, 0x2001), "TIME_ERROR");
        assert!(!says_kept_true(0, 0x2041), "STA_UNSYNC");
        assert!(!says_kept_true(-1, 0), "the call failed");
    }
}
