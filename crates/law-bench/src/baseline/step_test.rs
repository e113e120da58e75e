//! A step test on the simulated kiln: how it answers to a little more heat, at several temperatures.
//!
//! The kiln, its probe quiet and nothing broken, is brought to a temperature by an on-off law and held;
//! then gets the mean duty of the hold, finely divided, until the ripple is gone; then a fifth of full
//! power more. The tangent where the reading rises most steeply gives slope and delay, as for a
//! process that integrates. Half a window of delay added, the mean wait for a window's head, makes the
//! baselines follow worse on nearly every kiln, so it is left out.

use hal::Level;
use kiln_sim::{BANKS_MOST, KilnSpec, Plant, Switches};
use pyrometry::units::Millis;

use super::on_off::OnOff;
use super::pid::FILTER_S;
use super::{Baseline, Seen, reading_c};
use crate::case::Case;

const HOLD_S: u32 = 5400;
const MEAN_OVER_S: u32 = 2400;
const QUIET_S: u32 = 900;
const WATCHED_BEFORE_S: usize = 300;
const WATCHED_AFTER_S: usize = 900;
const TANGENT_S: usize = 40;
const STEP_RATIO: f64 = 0.2;
/// A kiln that has not come to a temperature by then never will.
const REACHED_WITHIN_S: u32 = 30 * 3600;

/// How a kiln answers at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Answer {
    pub(crate) at_c: f64,
    /// By how much full power quickens its climb.
    pub(crate) quickens_c_per_s: f64,
    pub(crate) delay_s: f64,
}

/// The answers of a kiln at these temperatures, which rise.
pub(crate) fn tested(case: &Case, at_c: &[f64]) -> Vec<Answer> {
    let mut spec = KilnSpec { mains_wander: 0.0, ..case.spec.clone() };
    for probe in &mut spec.probes {
        probe.noise_c = 0.0;
    }
    let plant = Plant::new(&spec, case.seed).expect("a kiln that can be simulated");
    let mut bench = Bench { plant, case, reading_c: spec.start_c, owed_s: 0.0 };
    let answers: Vec<Answer> = at_c.iter().filter_map(|at_c| bench.test(*at_c)).collect();
    assert!(!answers.is_empty(), "{} reaches none of the temperatures it is tuned at", case.name);
    answers
}

#[derive(Clone)]
struct Bench<'a> {
    plant: Plant,
    case: &'a Case,
    reading_c: f64,
    owed_s: f64,
}

impl Bench<'_> {
    fn test(&mut self, at_c: f64) -> Option<Answer> {
        let mut law = OnOff::new();
        let reached = (0..REACHED_WITHIN_S).any(|_| {
            self.hold(&mut law, at_c);
            self.reading_c >= at_c
        });
        if !reached {
            return None;
        }
        for _ in MEAN_OVER_S..HOLD_S {
            self.hold(&mut law, at_c);
        }
        let on = (0..MEAN_OVER_S).filter(|_| self.hold(&mut law, at_c) == Level::On).map(|_| 1.0);
        let held_ratio = on.sum::<f64>() / f64::from(MEAN_OVER_S);
        let mut aside = self.clone(); // the hold itself goes on undisturbed to the next temperature
        for _ in 0..QUIET_S {
            aside.give(held_ratio);
        }
        Some(aside.step(at_c, held_ratio))
    }

    /// A second by the on-off law.
    fn hold(&mut self, law: &mut OnOff, at_c: f64) -> Level {
        let level = law.levels(Seen { setpoint_c: at_c, reading_c: self.reading_c });
        self.second(level);
        level
    }

    /// A second of a duty as finely divided as seconds allow.
    fn give(&mut self, duty_ratio: f64) {
        self.owed_s += duty_ratio;
        let level = if self.owed_s >= 0.5 { Level::On } else { Level::Off };
        self.owed_s -= f64::from(u8::from(level == Level::On));
        self.second(level);
    }

    fn second(&mut self, level: Level) {
        let switches = Switches { banks: [level; BANKS_MOST], contactor: Level::On, ..Switches::default() };
        self.plant.step(Millis::from_seconds(1), &switches);
        self.reading_c = reading_c(&mut self.plant, &self.case.kiln).unwrap_or(self.reading_c);
    }

    fn step(&mut self, at_c: f64, held_ratio: f64) -> Answer {
        let step_ratio = if held_ratio + STEP_RATIO <= 1.0 { STEP_RATIO } else { -STEP_RATIO };
        let mut filtered_c = self.reading_c;
        let mut watched = |bench: &mut Self, duty_ratio: f64| {
            bench.give(duty_ratio);
            filtered_c += (bench.reading_c - filtered_c) / FILTER_S;
            filtered_c
        };
        let before_c: Vec<f64> = (0..WATCHED_BEFORE_S).map(|_| watched(self, held_ratio)).collect();
        let after_c: Vec<f64> =
            (0..WATCHED_AFTER_S).map(|_| watched(self, held_ratio + step_ratio)).collect();
        let (slope, delay_s) = tangent(&before_c, &after_c);
        Answer { at_c, quickens_c_per_s: slope / step_ratio, delay_s }
    }
}

/// Steepest slope of what came after a step, less the drift before it, and where the tangent begins.
fn tangent(before_c: &[f64], after_c: &[f64]) -> (f64, f64) {
    let half = before_c.len() / 2;
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.iter().map(|_| 1.0).sum::<f64>();
    let half_s: f64 = before_c[..half].iter().map(|_| 1.0).sum();
    let (early_c, late_c) = (mean(&before_c[..half]), mean(&before_c[half..]));
    let drift_c_per_s = (late_c - early_c) / half_s;
    let began_c = late_c + drift_c_per_s * (half_s - 1.0) / 2.0; // the late half's middle lies that long ago
    let answer_c: Vec<f64> = (1..)
        .map(f64::from)
        .zip(after_c)
        .map(|(s, reading_c): (f64, &f64)| reading_c - began_c - drift_c_per_s * s)
        .collect();
    let span_s: f64 = (0..TANGENT_S).map(|_| 1.0).sum();
    let mut steepest: (f64, f64) = (0.0, 0.0);
    for (run, from_s) in answer_c.windows(TANGENT_S + 1).zip((1..).map(f64::from)) {
        let (first_c, last_c): (f64, f64) = (run[0], run[TANGENT_S]);
        let slope: f64 = (last_c - first_c) / span_s;
        if slope.abs() > steepest.0.abs() {
            steepest = (slope, from_s + span_s / 2.0 - f64::midpoint(first_c, last_c) / slope);
        }
    }
    steepest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delayed_ramp_on_a_drift_shows_its_slope_and_delay() {
        let drift = |s: f64| 600.0 + 0.002 * s;
        let before_c: Vec<f64> = (-299..=0).map(|s| drift(f64::from(s))).collect();
        let after_c: Vec<f64> =
            (1..=900).map(f64::from).map(|s| drift(s) + 0.05 * (s - 35.0).max(0.0)).collect();
        let (slope, delay_s) = tangent(&before_c, &after_c);
        assert!((slope - 0.05).abs() < 1e-9 && (delay_s - 35.0).abs() < 1e-6, "{slope} °C/s, {delay_s} s");
    }
}
