//! When the next step is due: once a second of kiln time, on monotonic time, without drift.

use std::time::{Duration, Instant};

use pyrometry::units::Millis;

/// A step of kiln time.
const STEP: Millis = Millis::from_seconds(1);
/// Behind by more than this, missed steps are not made up for.
const LATE_MOST: Duration = Duration::from_millis(200);

/// The steps' rhythm.
#[derive(Clone, Copy, Debug)]
pub enum Pace {
    /// A real kiln: a step's time is when it happens.
    Real,
    /// A simulated one, so many times faster than real time: every step is one second later.
    Simulated {
        /// How many times faster.
        speed: f64,
    },
}

impl Pace {
    /// How many times faster than real time.
    #[must_use]
    pub const fn times_real(self) -> f64 {
        match self {
            Self::Real => 1.0,
            Self::Simulated { speed } => speed,
        }
    }
}

/// Counts the steps.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rhythm {
    pace: Pace,
    began: Instant,
    /// Where the present count of steps began.
    anchor: Instant,
    steps: u32,
    at: Millis,
    late_worst: Duration,
}

impl Rhythm {
    /// Begins now; the first step is due at once.
    pub(super) fn begin(pace: Pace, now: Instant) -> Self {
        Self { pace, began: now, anchor: now, steps: 0, at: Millis::ZERO, late_worst: Duration::ZERO }
    }

    fn period(&self) -> Duration {
        match self.pace {
            Pace::Real => Duration::from_secs(1),
            Pace::Simulated { speed } => Duration::from_secs_f64(1.0 / speed),
        }
    }

    /// When the next step is due.
    pub(super) fn due(&self) -> Instant {
        self.anchor + self.period() * self.steps
    }

    /// How long after it was due the latest step was done, since the beginning.
    pub(super) const fn late_worst(&self) -> Duration {
        self.late_worst
    }

    /// A step that was due then is done now.
    pub(super) fn done(&mut self, was_due: Instant, now: Instant) {
        self.late_worst = self.late_worst.max(now.saturating_duration_since(was_due));
    }

    /// The time of the step that happens now.
    pub(super) fn step(&mut self, now: Instant) -> Millis {
        let first = self.steps == 0 && self.anchor == self.began;
        if now.saturating_duration_since(self.due()) > LATE_MOST.max(self.period()) {
            self.anchor = now;
            self.steps = 0;
        }
        self.steps += 1;
        if self.steps == u32::MAX {
            self.anchor = self.due();
            self.steps = 0;
        }
        self.at = match self.pace {
            Pace::Real => Millis::new(u64::try_from((now - self.began).as_millis()).unwrap_or(u64::MAX)),
            Pace::Simulated { .. } if first => Millis::ZERO,
            Pace::Simulated { .. } => self.at + STEP,
        };
        self.at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_stay_on_the_second_however_late_each_one_wakes() {
        let began = Instant::now();
        let mut rhythm = Rhythm::begin(Pace::Real, began);
        for number in 0..1000_u32 {
            assert_eq!(rhythm.due(), began + Duration::from_secs(u64::from(number)));
            let late = Duration::from_millis(u64::from(number % 90));
            let at = rhythm.step(rhythm.due() + late);
            assert_eq!(at.ms(), u64::from(number) * 1000 + u64::from(number % 90));
        }
    }

    #[test]
    fn a_simulated_step_is_one_second_however_fast() {
        let mut rhythm = Rhythm::begin(Pace::Simulated { speed: 120.0 }, Instant::now());
        for number in 0..1000 {
            let at = rhythm.step(rhythm.due());
            assert_eq!(at, Millis::from_seconds(number));
        }
    }

    #[test]
    fn sr_36_the_latest_step_is_remembered_and_the_punctual_ones_after_it_change_nothing() {
        let began = Instant::now();
        let mut rhythm = Rhythm::begin(Pace::Real, began);
        for late_ms in [1, 40, 3, 2] {
            let due = rhythm.due();
            rhythm.step(due);
            rhythm.done(due, due + Duration::from_millis(late_ms));
        }
        assert_eq!(rhythm.late_worst(), Duration::from_millis(40));
    }

    #[test]
    fn after_a_long_sleep_missed_steps_are_not_made_up_for() {
        let began = Instant::now();
        let mut rhythm = Rhythm::begin(Pace::Real, began);
        rhythm.step(began);
        let woke = began + Duration::from_hours(1);
        assert_eq!(rhythm.step(woke), Millis::from_hours(1));
        assert_eq!(rhythm.due(), woke + Duration::from_secs(1));
    }
}
