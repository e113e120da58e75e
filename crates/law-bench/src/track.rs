//! What a firing did, second by second, and the figures it is judged by.

use crate::schedule::Part;

/// One second of a firing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub(crate) setpoint_c: f64,
    /// The junction as it really is.
    pub(crate) true_c: f64,
    pub(crate) part: Part,
}

/// A whole firing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Track {
    pub(crate) samples: Vec<Sample>,
    /// Closings of the busiest relay.
    pub(crate) operations: u64,
    /// Why it ended early, if it did.
    pub(crate) ended: Option<String>,
}

/// The figures of one firing, all of true junction against schedule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Figures {
    /// Root mean square deviation in climbs after the first hour, °C.
    pub(crate) climb_rms_c: f64,
    /// The same in slow coolings.
    pub(crate) cooling_rms_c: f64,
    /// The most above the setpoint in a soak or the ten minutes after one, °C.
    pub(crate) overshoot_c: f64,
    /// Highest less lowest in the soaks, from ten minutes in, °C.
    pub(crate) soak_span_c: f64,
    /// Closings of the busiest relay.
    pub(crate) operations: u64,
}

const SETTLED_S: usize = 600;
const FIRST_HOUR_S: usize = 3600;

impl Track {
    pub(crate) fn figures(&self) -> Figures {
        let rms = |part: Part| {
            let (mut sum, mut count) = (0.0, 0.0);
            for sample in self.samples.iter().skip(FIRST_HOUR_S).filter(|sample| sample.part == part) {
                sum += (sample.true_c - sample.setpoint_c) * (sample.true_c - sample.setpoint_c);
                count += 1.0;
            }
            if count > 0.0 { libm::sqrt(sum / count) } else { 0.0 }
        };
        let (mut overshoot_c, mut soak_span_c) = (f64::MIN, 0.0);
        for soak in self.soaks() {
            let over = |sample: &Sample| sample.true_c - sample.setpoint_c;
            overshoot_c = soak.iter().map(over).fold(overshoot_c, f64::max);
            let settled = soak.get(SETTLED_S..).unwrap_or(&[]);
            let highest_c = settled.iter().map(|sample| sample.true_c).fold(f64::MIN, f64::max);
            let lowest_c = settled.iter().map(|sample| sample.true_c).fold(f64::MAX, f64::min);
            soak_span_c = f64::max(soak_span_c, highest_c - lowest_c);
        }
        Figures {
            climb_rms_c: rms(Part::Climb),
            cooling_rms_c: rms(Part::Cooling),
            overshoot_c,
            soak_span_c,
            operations: self.operations,
        }
    }

    fn soaks(&self) -> impl Iterator<Item = &[Sample]> {
        self.samples.chunk_by(|one, next| one.part == next.part).filter(|run| run[0].part == Part::Soak)
    }
}
