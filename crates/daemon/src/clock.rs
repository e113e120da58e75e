//! The time of day at the kiln.
//!
//! Control never asks it: a step knows monotonic time alone (SR-35). It is for people, and for how
//! long a power cut lasted (SR-40).

mod computer;

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use pyrometry::units::Millis;

pub use computer::{ComputerClock, SystemClock, Wall};

/// A clock that is set by less than this was corrected, not stepped. Engineering judgement: longer
/// than a step may be late.
const STEPPED_FROM: SignedDuration = SignedDuration::from_secs(3);

/// What time it is at the kiln.
#[derive(Clone, Debug)]
pub struct KilnClock {
    computer: Arc<dyn ComputerClock>,
    day: Day,
}

/// Whose day it is.
#[derive(Clone, Debug)]
enum Day {
    /// The computer's.
    Real,
    /// A simulated kiln's day, which began when the program did and runs at its own speed.
    Simulated {
        /// When the program began.
        began: Timestamp,
        /// How far the kiln has come since, in milliseconds.
        now_ms: Arc<AtomicU64>,
    },
}

impl KilnClock {
    /// A simulated day that begins now.
    #[must_use]
    pub fn simulated() -> Self {
        let day = Day::Simulated { began: Timestamp::now(), now_ms: Arc::default() };
        Self { computer: Arc::new(SystemClock), day }
    }

    /// A real kiln's day, by a computer's clock.
    #[must_use]
    pub fn real(computer: Arc<dyn ComputerClock>) -> Self {
        Self { computer, day: Day::Real }
    }

    /// The computer's clock now. A simulated kiln's needs nobody to keep it true: nothing is hot.
    #[must_use]
    pub fn wall(&self) -> Wall {
        let is_true = match self.day {
            Day::Real => self.computer.is_kept_true(),
            Day::Simulated { .. } => true,
        };
        Wall { now: self.computer.now(), is_true }
    }

    /// How far the computer's clock was set while so much time passed; `None` for a simulated kiln,
    /// whose time runs at its own speed.
    #[must_use]
    pub fn stepped(&self, from: Wall, to: Wall, passed: Millis) -> Option<SignedDuration> {
        match self.day {
            Day::Real => {
                let passed = SignedDuration::from_millis(i64::try_from(passed.ms()).unwrap_or(i64::MAX));
                let moved = to.now.duration_since(from.now) - passed;
                (moved.abs() >= STEPPED_FROM).then_some(moved)
            }
            Day::Simulated { .. } => None,
        }
    }

    /// A simulated kiln's time moves on.
    pub fn tick(&self, at: Millis) {
        match &self.day {
            Day::Real => {}
            Day::Simulated { now_ms, .. } => now_ms.store(at.ms(), Ordering::Relaxed),
        }
    }

    /// The time of day now.
    #[must_use]
    pub fn now(&self) -> ZonedDateTime {
        let now = match &self.day {
            Day::Real => self.computer.now(),
            Day::Simulated { began, now_ms } => {
                let since = i64::try_from(now_ms.load(Ordering::Relaxed)).unwrap_or(i64::MAX);
                began.saturating_add(SignedDuration::from_millis(since)).unwrap_or(*began)
            }
        };
        now.to_zoned_datetime(TimeZone::system())
    }

    /// The time of day, some time ahead.
    #[must_use]
    pub fn ahead(&self, span: Millis) -> ZonedDateTime {
        let now = self.now();
        let span = SignedDuration::from_millis(i64::try_from(span.ms()).unwrap_or(i64::MAX));
        now.saturating_add(span)
    }

    /// Now, as files and the page have it: RFC 3339 to the second.
    #[must_use]
    pub fn now_written(&self) -> String {
        written(&self.now())
    }
}

/// RFC 3339 to the second, with the zone's offset.
#[must_use]
pub fn written(time: &ZonedDateTime) -> String {
    time.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// As a potter says it: the hour and minute, with the weekday when it is not today.
#[must_use]
pub fn told(time: &ZonedDateTime, now: &ZonedDateTime) -> String {
    if time.date() == now.date() {
        time.strftime("%H:%M").to_string()
    } else {
        time.strftime("%A %H:%M").to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_simulated_day_moves_only_when_it_is_told() {
        let clock = KilnClock::simulated();
        let before = clock.now();
        clock.tick(Millis::from_hours(3));
        assert_eq!(clock.now().duration_since(&before), SignedDuration::from_hours(3));
    }

    #[test]
    fn a_time_on_another_day_is_told_with_its_weekday() {
        let now: ZonedDateTime = "2026-11-25T10:12:03+01:00[Europe/Berlin]".parse().expect("a time");
        let later: ZonedDateTime = "2026-11-26T09:10:00+01:00[Europe/Berlin]".parse().expect("a time");
        assert_eq!(told(&now, &now), "10:12");
        assert_eq!(told(&later, &now), "Thursday 09:10");
        assert_eq!(written(&now), "2026-11-25T10:12:03+01:00");
    }
}
