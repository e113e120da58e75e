//! SR-05: a change that no kiln can make.
//!
//! Where a step's reading is the median of several samples, changes and noise are the medians': a single
//! sample far off is out of the reading before it comes here, and `jagged-reading` tells of it. The samples'
//! own noise is wider; by it a median would be allowed jumps that its noise does not explain.

use pyrometry::amplifier::Measured;
use pyrometry::units::{Celsius, Millis, between};

use super::recent::{Recent, Sample};
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::Seen;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-05: the least and the most that counts as a jump within one second.
const JUMP_LEAST_C: f64 = 5.0;
const JUMP_MOST_C: f64 = 10.0;
/// SR-05: in between, so many standard deviations of the probe's own noise.
const SIGMAS: f64 = 6.0;
/// The fastest healthy change measured on simulated furnaces; after a gap it may have gone on so long.
const HEALTHY_C_PER_S: f64 = 1.25;
/// Samples over which the noise is learned (a mean that forgets).
const LEARNED_OVER: f64 = 64.0;
/// The variance of a second difference of white noise is 1 + 4 + 1 times the noise's own.
const SECOND_DIFFERENCE: f64 = 6.0;
/// Discarded samples in a row that agree with one another: the step stays. Engineering judgement: a
/// relay's interference lasts a sample or two.
const STAYS: u32 = 5;
/// SR-05: jumps among the latest 10 and 60 samples.
const TOLD_AMONG_TEN: u32 = 3;
const TRIPS_AMONG_SIXTY: u32 = 10;

pub(crate) const ROW: Row = Row {
    requirement: "SR-05",
    interlock: Interlock::JumpingReading,
    condition: "a change of more than 5 °C or 6 standard deviations of the noise (at most 10 °C) in 1 s is discarded and withholds; 3 in 10 s keep withholding; 10 in 60 s, or a step that stays 5 s, trips",
    worst: Severity::Trip,
    clears: "fewer than 3 jumps in the last 10 s, and after a trip fewer than 10 in the last minute",
    look_at: &[
        "loose terminals at amplifier and head",
        "interference: does it jump when relays switch?",
        "a cracked bead that opens and closes",
        "whether the thermocouple was moved or the lid opened",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading jumped by {:.1} °C within {:.0} s; {:.1} °C is the most a kiln can do.",
            evidence.seen,
            evidence.lasted.seconds(),
            evidence.bound
        )
    },
};

/// What is known of one probe.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    /// The last sample believed, and the one before it.
    believed_c: Option<f64>,
    before_c: Option<f64>,
    /// Time since a sample came at all, good or discarded.
    since_any: Millis,
    /// A discarded level and how often it came in a row.
    level_c: f64,
    level_count: u32,
    noise_c2: f64,
    jumps: Recent,
    /// A step stayed: the trip stands until its jumps are a minute old.
    stayed: bool,
    last: Option<Evidence>,
}

/// What is known of each probe.
#[derive(Clone, Debug)]
pub(crate) struct Jumping {
    tracks: [Track; PROBES_MOST],
}

impl Jumping {
    pub(crate) fn new() -> Self {
        Self { tracks: [Track::default(); PROBES_MOST] }
    }

    /// The verdict, and which probes' samples of this step are discarded.
    pub(crate) fn judge(&mut self, seen: &Seen<'_>) -> (Verdict, [bool; PROBES_MOST]) {
        let mut worst = Verdict::Clear;
        let mut discarded = [false; PROBES_MOST];
        for (probe, (track, discarded)) in seen.probes().zip(self.tracks.iter_mut().zip(&mut discarded)) {
            track.since_any += seen.since_last;
            let sample = match seen.measured(probe) {
                Ok(Measured { junction, .. }) => track.take(junction),
                Err(_) => Sample::Good, // no sample, so no jump; its own row speaks
            };
            track.jumps.note(sample);
            *discarded = sample == Sample::Bad;
            worst = worst.worse(track.verdict(probe, sample));
        }
        (worst, discarded)
    }
}

impl Track {
    fn take(&mut self, junction: Celsius) -> Sample {
        let new_c = junction.c();
        let gap = core::mem::take(&mut self.since_any);
        let Some(believed_c) = self.believed_c else {
            self.believed_c = Some(new_c);
            return Sample::Good;
        };
        let change_c = (new_c - believed_c).abs();
        // Most samples end here: nothing to work out below the least that can be a jump.
        if change_c <= JUMP_LEAST_C {
            self.believe(new_c);
            return Sample::Good;
        }
        let allowed_c = self.allowed_c(gap);
        if change_c <= allowed_c {
            self.believe(new_c);
            return Sample::Good;
        }
        self.last = Some(Evidence { seen: change_c, bound: allowed_c, lasted: gap });
        let agrees = (new_c - self.level_c).abs() <= allowed_c;
        self.level_count = if agrees { self.level_count.saturating_add(1) } else { 1 };
        self.level_c = new_c;
        if self.level_count >= STAYS {
            self.stayed = true;
            self.believed_c = Some(new_c);
            (self.before_c, self.level_count) = (None, 0);
        }
        Sample::Bad
    }

    fn allowed_c(&self, gap: Millis) -> f64 {
        let noise_c = between(SIGMAS * libm::sqrt(self.noise_c2), JUMP_LEAST_C, JUMP_MOST_C);
        let beyond_one_s = gap.since(Millis::from_seconds(1)).seconds();
        noise_c + HEALTHY_C_PER_S * beyond_one_s
    }

    fn believe(&mut self, new_c: f64) {
        if let (Some(last_c), Some(before_c)) = (self.believed_c, self.before_c) {
            let bend_c = new_c - 2.0 * last_c + before_c;
            self.noise_c2 += (bend_c * bend_c / SECOND_DIFFERENCE - self.noise_c2) / LEARNED_OVER;
        }
        self.before_c = self.believed_c;
        self.believed_c = Some(new_c);
        self.level_count = 0;
    }

    fn verdict(&mut self, probe: u8, sample: Sample) -> Verdict {
        let in_sixty = self.jumps.among(60);
        self.stayed &= in_sixty > 0;
        let Some(evidence) = self.last else { return Verdict::Clear };
        if self.stayed || in_sixty >= TRIPS_AMONG_SIXTY {
            Verdict::about(probe, Severity::Trip, evidence)
        } else if sample == Sample::Bad || self.jumps.among(10) >= TOLD_AMONG_TEN {
            Verdict::about(probe, Severity::Withhold, evidence)
        } else {
            Verdict::Clear
        }
    }
}
