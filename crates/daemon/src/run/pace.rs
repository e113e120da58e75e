//! When the next step is due: once a second of kiln time, on monotonic time, without drift. And when,
//! on a real kiln, the samples between two steps are: 250, 500 and 750 ms after a step was due.
//!
//! A sample waits for nobody: one that comes late, or might make the step late, is left out.

use std::time::{Duration, Instant};

use pyrometry::units::Millis;

/// A step of kiln time.
const STEP: Millis = Millis::from_seconds(1);
/// Behind by more than this, missed steps are not made up for.
const LATE_MOST: Duration = Duration::from_millis(200);
/// Samples between two steps, and the time from one to the next and to the step, whose own is the fourth.
const SAMPLES: u32 = 3;
const SAMPLE: Duration = Duration::from_millis(250);
/// A sample later than this is left out, and so is one so near before it that a step comes late: two
/// samples nearer than 150 ms may be one conversion of a chip (110 ms, MAX31856, 19-7534 rev 0, page 3).
const SAMPLE_LATE_MOST: Duration = Duration::from_millis(100);
/// Left between the end of a sampling, as long as the one before it took, and the step.
const ROOM: Duration = Duration::from_millis(100);

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

/// What the thread does next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Turn {
    /// Nothing for so long.
    Wait(Duration),
    /// Asks every probe once more.
    Sample,
    /// A step.
    Step,
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
    /// Samples that are still to come before the next step.
    samples_left: u32,
    /// How long the latest of them took.
    sampling_takes: Duration,
}

impl Rhythm {
    /// Begins now; the first step is due at once.
    pub(super) fn begin(pace: Pace, now: Instant) -> Self {
        Self {
            pace,
            began: now,
            anchor: now,
            steps: 0,
            at: Millis::ZERO,
            late_worst: Duration::ZERO,
            samples_left: 0,
            sampling_takes: Duration::ZERO,
        }
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

    /// What is to be done now. A sample that is told is to be taken at once.
    pub(super) fn turn(&mut self, now: Instant) -> Turn {
        let until_step = self.due().saturating_duration_since(now);
        while self.samples_left > 0 {
            // Before the step by so much.
            let before = SAMPLE * self.samples_left;
            if until_step > before {
                return Turn::Wait(until_step.saturating_sub(before));
            }
            self.samples_left -= 1;
            let late = before.saturating_sub(until_step);
            if late <= SAMPLE_LATE_MOST && self.sampling_takes + ROOM <= until_step {
                return Turn::Sample;
            }
        }
        if until_step.is_zero() { Turn::Step } else { Turn::Wait(until_step) }
    }

    /// A sampling took so long.
    pub(super) const fn sampled(&mut self, took: Duration) {
        self.sampling_takes = took;
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
        self.samples_left = match self.pace {
            Pace::Real => samples_in(self.due().saturating_duration_since(now)),
            Pace::Simulated { .. } => 0,
        };
        self.sampling_takes = Duration::ZERO;
        self.at
    }
}

/// The samples that a step leaves room for, so long before the next one.
fn samples_in(until_step: Duration) -> u32 {
    let far = |sample: &u32| SAMPLE * *sample + SAMPLE <= until_step + SAMPLE_LATE_MOST;
    (1..=SAMPLES).rev().find(far).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn ms(ms: u64) -> Duration {
        Duration::from_millis(ms)
    }

    /// A real kiln's rhythm, its first step done so late.
    fn stepped(late: Duration) -> (Rhythm, Instant) {
        let began = Instant::now();
        let mut rhythm = Rhythm::begin(Pace::Real, began);
        assert_eq!(rhythm.turn(began), Turn::Step, "at once");
        rhythm.step(began + late);
        (rhythm, began)
    }

    /// What is done until the second step, each at which ms, by a thread that wakes so late and a board
    /// whose asking takes so long.
    fn second(
        rhythm: &mut Rhythm,
        began: Instant,
        wakes_late: Duration,
        takes: Duration,
    ) -> Vec<(u64, Turn)> {
        let (mut now, mut done) = (began, Vec::new());
        loop {
            let turn = rhythm.turn(now);
            match turn {
                Turn::Wait(wait) => now += wait + wakes_late,
                Turn::Sample => {
                    done.push((u64::try_from((now - began).as_millis()).expect("short"), turn));
                    now += takes;
                    rhythm.sampled(takes);
                }
                Turn::Step => {
                    done.push((u64::try_from((now - began).as_millis()).expect("short"), turn));
                    return done;
                }
            }
        }
    }

    #[test]
    fn a_real_kiln_is_sampled_a_quarter_half_and_three_quarters_of_a_second_after_each_step() {
        let (mut rhythm, began) = stepped(Duration::ZERO);
        for number in 0..100 {
            let step = began + Duration::from_secs(number);
            let done = second(&mut rhythm, step, Duration::ZERO, ms(5));
            let samples = [250, 500, 750].map(|at| (at, Turn::Sample));
            assert_eq!(done, [samples.as_slice(), &[(1_000, Turn::Step)]].concat());
            rhythm.step(step + ms(1_000));
        }
    }

    #[test]
    fn sr_36_samples_make_no_step_late_however_late_the_thread_wakes_and_however_long_they_take() {
        for wakes_late_ms in (0..400).step_by(7) {
            for takes_ms in (0..640).step_by(9) {
                let (mut rhythm, began) = stepped(Duration::ZERO);
                let done = second(&mut rhythm, began, ms(wakes_late_ms), ms(takes_ms));
                let (stepped_ms, _) = done.last().expect("a step");
                assert!(*stepped_ms <= 1_000 + wakes_late_ms, "{wakes_late_ms} {takes_ms}: {done:?}");
                let nearest = done.windows(2).map(|pair| pair[1].0 - pair[0].0).min();
                assert!(nearest.is_none_or(|ms| ms >= 150), "{wakes_late_ms} {takes_ms}: {done:?}");
            }
        }
    }

    #[test]
    fn a_sample_that_comes_late_or_leaves_the_step_no_room_is_left_out() {
        let samples = |wakes_late_ms, takes_ms| {
            let (mut rhythm, began) = stepped(Duration::ZERO);
            let done = second(&mut rhythm, began, ms(wakes_late_ms), ms(takes_ms));
            done.into_iter().filter(|(_, turn)| *turn == Turn::Sample).map(|(at, _)| at).collect::<Vec<_>>()
        };
        assert_eq!(samples(100, 0), [350, 600, 850]);
        assert_eq!(samples(101, 0), [0_u64; 0]);
        assert_eq!(samples(0, 150), [250, 500, 750]);
        assert_eq!(samples(0, 151), [250, 500], "the third would end within 100 ms of the step");
        assert_eq!(samples(0, 400), [250], "the second would come 150 ms late");
    }

    #[test]
    fn a_step_that_was_late_leaves_out_the_samples_too_near_to_it() {
        let left = |late_ms| stepped(ms(late_ms)).0.samples_left;
        assert_eq!([0, 100, 101, 190].map(left), [3, 3, 2, 2]);
        let (mut rhythm, began) = stepped(ms(150));
        assert_eq!(rhythm.turn(began + ms(150)), Turn::Wait(ms(350)), "until half a second");
    }

    #[test]
    fn a_simulated_kiln_is_not_sampled_between_its_steps() {
        let began = Instant::now();
        let mut rhythm = Rhythm::begin(Pace::Simulated { speed: 1.0 }, began);
        rhythm.step(began);
        assert_eq!(rhythm.turn(began), Turn::Wait(ms(1_000)));
        assert_eq!(rhythm.turn(began + ms(1_000)), Turn::Step);
    }

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
