//! SR-06: a reading that jitters more than a sound thermocouple does.
//!
//! Judged by its second differences, which are blind to slope, curvature and the slow ripple of the
//! switching cycles, and see what changes from one second to the next.
//!
//! Where a step's reading is the median of several samples, it hides noise: four tenths of it for four,
//! and of a few samples far off everything. So the samples' spread is judged too, and the greater of both
//! counts. A spread knows nothing of slope: the fastest healthy climb (1.25 °C/s) passes for 0.5 °C.

use libm::sqrt;
use pyrometry::amplifier::{Measured, Sensor, Spread};
use pyrometry::units::{Millis, greater, lesser};

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
/// The most that one step's spread counts, so that one sample torn on its way is told and no more: one step
/// of a minute makes 1.5 °C, four withhold, 27 trip. Half as much again as trips, so that noise as strong
/// still reaches the bound (engineering judgement).
const SPREAD_MOST_C: f64 = 12.0;

pub(crate) const ROW: Row = Row {
    requirement: "SR-06",
    interlock: Interlock::JaggedReading,
    condition: "a standard deviation over 60 s of the readings, slope and slow ripple left out, or of the samples behind them, of 1 °C (told), 3 °C (withholds), 8 °C (trips)",
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
    bends: Minute,
    spreads: Minute,
}

/// Squares of the latest minute, °C², and their sum.
#[derive(Clone, Debug)]
struct Minute {
    squares_c2: Ring<f64, WINDOW>,
    sum_c2: f64,
}

impl Jagged {
    pub(crate) fn new() -> Self {
        let track = || Track { last_c: None, before_c: None, bends: Minute::new(), spreads: Minute::new() };
        Self { tracks: core::array::from_fn(|_| track()) }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let mut worst = Verdict::Clear;
        let probes = view.seen.probes().zip(&view.seen.kiln.probes);
        for ((probe, fitted), track) in probes.zip(&mut self.tracks) {
            let sample = view.usable(probe);
            if let Some(measured) = sample {
                track.spreads.take(spread_c2(view.seen.spread(probe), &fitted.sensor, measured));
            }
            track.take(sample.map(|measured| measured.junction.c()));
            worst = worst.worse(track.verdict(probe));
        }
        worst
    }

    /// The standard deviation of a probe's readings in the latest minute, °C: for rows that must not take
    /// their jitter for movement. The samples behind them do not count there: a median has their noise no
    /// more, and their spread has the movement in it.
    pub(crate) fn deviation_c(&self, probe: u8) -> f64 {
        self.tracks.get(usize::from(probe)).map_or(0.0, |track| track.bends.deviation_c())
    }
}

/// The variance that a step's spread stands for; a single sample hides none.
fn spread_c2(spread: Option<Spread>, sensor: &Sensor, measured: Measured) -> f64 {
    let Some(spread) = spread else { return 0.0 };
    let step = sensor.junction_step_at(measured.junction);
    let deviation_c = lesser(spread.deviation_c(step), SPREAD_MOST_C);
    deviation_c * deviation_c
}

impl Minute {
    const fn new() -> Self {
        Self { squares_c2: Ring::new(), sum_c2: 0.0 }
    }

    fn take(&mut self, new_c2: f64) {
        let oldest_c2 = self.squares_c2.push(new_c2).unwrap_or(0.0);
        // What rounding leaves behind is 10⁻¹³ of what passed through.
        self.sum_c2 = greater(0.0, self.sum_c2 + new_c2 - oldest_c2);
    }

    fn deviation_c(&self) -> f64 {
        sqrt(self.sum_c2 / WINDOW_F64)
    }
}

impl Track {
    /// A sample; one that is missing or discarded breaks the row of three that a bend needs.
    fn take(&mut self, sample_c: Option<f64>) {
        if let (Some(new_c), Some(last_c), Some(before_c)) = (sample_c, self.last_c, self.before_c) {
            let bend_c = new_c - 2.0 * last_c + before_c;
            self.bends.take(bend_c * bend_c / SECOND_DIFFERENCE);
        }
        self.before_c = self.last_c;
        self.last_c = sample_c;
    }

    fn verdict(&self, probe: u8) -> Verdict {
        let deviation_c = greater(self.bends.deviation_c(), self.spreads.deviation_c());
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

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said of a minute of such a standard deviation, once in the readings, once in the samples.
    fn said_of(deviation_c: f64) -> [Option<Severity>; 2] {
        let quiet = Minute::new;
        let noisy = || Minute { sum_c2: WINDOW_F64 * deviation_c * deviation_c, ..Minute::new() };
        [(noisy(), quiet()), (quiet(), noisy())].map(|(bends, spreads)| {
            Track { last_c: None, before_c: None, bends, spreads }.verdict(0).severity()
        })
    }

    #[test]
    fn sr_06_each_bound_counts_from_itself_on_and_the_least_below_it_does_not() {
        let just_below = |bound_c: f64| said_of(bound_c - 1e-9);
        assert_eq!((just_below(1.0), said_of(1.0)), ([None; 2], [Some(Severity::Notice); 2]));
        assert_eq!(
            (just_below(3.0), said_of(3.0)),
            ([Some(Severity::Notice); 2], [Some(Severity::Withhold); 2])
        );
        assert_eq!(
            (just_below(8.0), said_of(8.0)),
            ([Some(Severity::Withhold); 2], [Some(Severity::Trip); 2])
        );
    }

    /// A reading that goes up and down by straight lines: a bend of twice its slope in six seconds.
    fn zigzag(c_per_s: f64) -> Track {
        let mut track = Jagged::new().tracks[0].clone();
        for _ in 0..8 {
            for corner in (0..6).chain((1..=6).rev()) {
                track.take(Some(500.0 + c_per_s * f64::from(corner)));
            }
        }
        track
    }

    #[test]
    fn sr_06_a_minute_without_a_bend_makes_a_reading_sound_again() {
        let mut track = zigzag(24.0);
        for second in 0..63 {
            assert!(track.verdict(0) != Verdict::Clear || second > 50, "{second}");
            track.take(Some(500.0 + f64::from(second)));
        }
        assert_eq!(track.verdict(0), Verdict::Clear);
    }
}
