//! What a firing did, second by second, and the figures it is judged by.

use crate::schedule::{Part, Second};

/// One second of a firing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub(crate) planned: Second,
    /// The junction as it really is; the mean of several.
    pub(crate) true_c: f64,
    /// Hottest less coldest junction, °C.
    pub(crate) apart_c: f64,
    /// What all elements drew in the second before.
    pub(crate) power_w: f64,
}

/// A whole firing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Track {
    pub(crate) samples: Vec<Sample>,
    /// Closings of the busiest relay.
    pub(crate) operations: u64,
    /// Seconds in which something was withheld.
    pub(crate) withheld_s: u64,
    /// Why it ended early, if it did.
    pub(crate) ended: Option<String>,
}

/// The figures of one firing, all of true junction against schedule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Figures {
    /// Root mean square deviation in climbs after the first hour, °C.
    pub(crate) climb_rms_c: f64,
    /// The same in slow coolings; `None` where it did not come so far.
    pub(crate) cooling_rms_c: Option<f64>,
    /// The most above the setpoint in a soak, °C.
    pub(crate) overshoot_c: Option<f64>,
    /// Highest less lowest in a soak, from ten minutes in, °C.
    pub(crate) soak_span_c: Option<f64>,
    /// The most above the setpoint at any time after the first hour, °C.
    pub(crate) above_c: f64,
    /// Closings of the busiest relay.
    pub(crate) operations: u64,
    /// How long it lasted.
    pub(crate) lasted_h: f64,
    /// How far apart the zones' junctions were at most in climbs after the first hour, °C.
    pub(crate) climbs_apart_c: f64,
    /// The same in slow coolings.
    pub(crate) coolings_apart_c: f64,
    /// The same at the end of soaks.
    pub(crate) soaks_end_apart_c: f64,
}

const SETTLED_S: usize = 600;
const FIRST_HOUR_S: usize = 3600;

impl Sample {
    /// How much hotter it is than planned, °C.
    pub(crate) fn over_c(&self) -> f64 {
        self.true_c - self.planned.setpoint_c
    }
}

impl Track {
    pub(crate) fn figures(&self) -> Figures {
        let settled = |soak: &[Sample]| soak.get(SETTLED_S..).map(<[Sample]>::to_vec);
        let span_c = |soak: Vec<Sample>| {
            let highest_c = soak.iter().map(|sample| sample.true_c).fold(f64::MIN, f64::max);
            let lowest_c = soak.iter().map(|sample| sample.true_c).fold(f64::MAX, f64::min);
            highest_c - lowest_c
        };
        let in_soaks = self.soaks().flatten().map(Sample::over_c);
        Figures {
            climb_rms_c: self.rms_c(Part::Climb).unwrap_or(0.0),
            cooling_rms_c: self.rms_c(Part::Cooling),
            overshoot_c: in_soaks.reduce(f64::max),
            soak_span_c: self.soaks().filter_map(settled).map(span_c).reduce(f64::max),
            above_c: self.samples.iter().skip(FIRST_HOUR_S).map(Sample::over_c).fold(0.0, f64::max),
            operations: self.operations,
            lasted_h: self.samples.iter().map(|_| 1.0 / 3600.0).sum(),
            climbs_apart_c: self.apart_c(Part::Climb),
            coolings_apart_c: self.apart_c(Part::Cooling),
            soaks_end_apart_c: self
                .soaks()
                .filter_map(<[Sample]>::last)
                .map(|sample| sample.apart_c)
                .fold(0.0, f64::max),
        }
    }

    fn apart_c(&self, part: Part) -> f64 {
        let settled = self.samples.iter().skip(FIRST_HOUR_S).filter(|sample| sample.planned.part == part);
        settled.map(|sample| sample.apart_c).fold(0.0, f64::max)
    }

    fn rms_c(&self, part: Part) -> Option<f64> {
        let (mut sum, mut count) = (0.0, 0.0);
        for sample in self.samples.iter().skip(FIRST_HOUR_S).filter(|sample| sample.planned.part == part) {
            sum += sample.over_c() * sample.over_c();
            count += 1.0;
        }
        (count > 0.0).then(|| libm::sqrt(sum / count))
    }

    fn soaks(&self) -> impl Iterator<Item = &[Sample]> {
        let runs = self.samples.chunk_by(|one, next| one.planned.part == next.planned.part);
        runs.filter(|run| run[0].planned.part == Part::Soak)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(part: Part, setpoint_c: f64, true_c: f64) -> Sample {
        Sample { planned: Second { setpoint_c, part }, true_c, apart_c: 0.0, power_w: 0.0 }
    }

    #[test]
    fn the_first_hour_is_left_out_and_what_follows_is_squared_and_averaged() {
        let mut samples = vec![sample(Part::Climb, 100.0, 150.0); 3600];
        samples.extend([sample(Part::Climb, 200.0, 203.0), sample(Part::Climb, 200.0, 196.0)]);
        let figures = Track { samples, ..Track::default() }.figures();
        assert!((figures.climb_rms_c - libm::sqrt(12.5)).abs() < 1e-12, "(9 + 16)/2");
        assert_eq!((figures.cooling_rms_c, figures.overshoot_c, figures.soak_span_c), (None, None, None));
    }

    #[test]
    fn zones_are_apart_by_their_most_in_climbs_and_by_their_last_in_soaks() {
        let apart = |part, apart_c| Sample { apart_c, ..sample(part, 500.0, 500.0) };
        let mut samples = vec![apart(Part::Climb, 9.0); 3600];
        samples.extend([apart(Part::Climb, 2.0), apart(Part::Climb, 1.0), apart(Part::Soak, 4.0)]);
        samples.extend([apart(Part::Soak, 0.5), apart(Part::Cooling, 3.0)]);
        let figures = Track { samples, ..Track::default() }.figures();
        let apart_c = [figures.climbs_apart_c, figures.coolings_apart_c, figures.soaks_end_apart_c];
        assert_eq!(apart_c, [2.0, 3.0, 0.5]);
    }

    #[test]
    fn a_soak_counts_its_overshoot_from_the_start_and_its_span_from_ten_minutes_in() {
        let mut samples = vec![sample(Part::Soak, 500.0, 503.0); 600];
        samples.extend([sample(Part::Soak, 500.0, 499.0), sample(Part::Soak, 500.0, 501.5)]);
        let figures = Track { samples, ..Track::default() }.figures();
        assert_eq!((figures.overshoot_c, figures.soak_span_c), (Some(3.0), Some(2.5)));
    }
}
