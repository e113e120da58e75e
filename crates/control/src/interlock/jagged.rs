//! SR-06: a reading that jitters more than a sound thermocouple does.
//!
//! Judged by its second differences, which are blind to slope, curvature and the slow ripple of the
//! switching windows, and see what changes from one second to the next.

use libm::sqrt;
use pyrometry::units::{Millis, greater};

use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::PROBES_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-06: standard deviation over the latest minute that is told, withholds, trips.
const NOTICE_C: f64 = 1.0;
const WITHHOLD_C: f64 = 3.0;
const TRIP_C: f64 = 8.0;
/// Second differences looked at: a minute of samples.
const WINDOW: usize = 60;
const WINDOW_F64: f64 = 60.0;
/// The variance of a second difference of white noise is 1 + 4 + 1 times the noise's own.
const SECOND_DIFFERENCE: f64 = 6.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-06",
    interlock: Interlock::JaggedReading,
    condition: "a standard deviation over 60 s, slope and slow ripple left out, of 1 °C (told), 3 °C (withholds), 8 °C (trips)",
    worst: Severity::Trip,
    clears: "a minute of samples below the bound",
    look_at: &[
        "loose terminals at amplifier and head",
        "interference: is it there only while relays switch?",
        "the lead's route: away from mains, its shield on earth at one end",
        "an ageing bead: does it grow from firing to firing?",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the reading jitters by {:.1} °C (standard deviation); less than {:.1} °C is usual.",
            evidence.seen, evidence.bound
        )
    },
};

/// What is known of each probe.
#[derive(Clone, Debug)]
pub(crate) struct Jagged {
    tracks: [Track; PROBES_MOST],
}

#[derive(Clone, Debug)]
struct Track {
    last_c: Option<f64>,
    before_c: Option<f64>,
    bends_c2: Ring<f64, WINDOW>,
    sum_c2: f64,
}

impl Jagged {
    pub(crate) fn new() -> Self {
        let track = || Track { last_c: None, before_c: None, bends_c2: Ring::new(), sum_c2: 0.0 };
        Self { tracks: core::array::from_fn(|_| track()) }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        for (probe, track) in view.seen.probes().zip(&mut self.tracks) {
            track.take(view.usable(probe).map(|measured| measured.junction.c()));
            worst = worst.worse(track.verdict(probe));
        }
        worst
    }
}

impl Jagged {
    /// The standard deviation of a probe's latest minute, °C: for rows that must not take jitter for
    /// movement.
    pub(crate) fn deviation_c(&self, probe: u8) -> f64 {
        self.tracks.get(usize::from(probe)).map_or(0.0, Track::deviation_c)
    }
}

impl Track {
    /// A sample; one that is missing or discarded breaks the row of three that a bend needs.
    fn take(&mut self, sample_c: Option<f64>) {
        if let (Some(new_c), Some(last_c), Some(before_c)) = (sample_c, self.last_c, self.before_c) {
            let bend_c = new_c - 2.0 * last_c + before_c;
            let new_c2 = bend_c * bend_c / SECOND_DIFFERENCE;
            let oldest_c2 = self.bends_c2.push(new_c2).unwrap_or(0.0);
            // What rounding leaves behind is 10⁻¹³ of what passed through.
            self.sum_c2 = greater(0.0, self.sum_c2 + new_c2 - oldest_c2);
        }
        self.before_c = self.last_c;
        self.last_c = sample_c;
    }

    fn deviation_c(&self) -> f64 {
        sqrt(self.sum_c2 / WINDOW_F64)
    }

    fn verdict(&self, probe: u8) -> Verdict {
        let deviation_c = self.deviation_c();
        let (severity, bound) = if !(deviation_c < TRIP_C) {
            (Severity::Trip, TRIP_C)
        } else if !(deviation_c < WITHHOLD_C) {
            (Severity::Withhold, WITHHOLD_C)
        } else if !(deviation_c < NOTICE_C) {
            (Severity::Notice, NOTICE_C)
        } else {
            return Verdict::Clear;
        };
        let evidence = Evidence { seen: deviation_c, bound, lasted: Millis::from_minutes(1) };
        Verdict::about(probe, severity, evidence)
    }
}
