//! SR-22: heat that nobody asked for: a welded relay or a shorted solid-state switch.
//!
//! With every bank off a kiln cools as its wall and leaks draw heat from the load. The observer's
//! wall follows the *reading*, so a kiln kept hot by a stuck relay is expected to lose ever more,
//! and one that really cools is expected to lose what it does lose.

use pyrometry::units::{Millis, between, greater, lesser};

use super::observer::{CADENCE, Sample};
use super::ring::Ring;
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};
use crate::model::Certainty;
use crate::observation::Contact;

/// SR-22: how long after all-off nothing is judged: hot elements and a lagging probe may still let
/// the reading rise. Slower where radiation is weak. To be fitted again on simulated kilns.
const BLANKING_COLD_S: f64 = 600.0;
const BLANKING_HOT_S: f64 = 180.0;
const COLD_C: f64 = 300.0;
const HOT_C: f64 = 600.0;
/// SR-22: cooling that the model must expect before its absence means anything.
const EXPECTED_LEAST_C: f64 = 3.0;
/// SR-22: cooling less than this share of the model's.
const SHARE_FITTED: f64 = 0.3;
/// Of a guessed model (40 % out) with an unknown load (half to double) a healthy kiln may cool 0.36
/// times as fast: 0.6 × 0.6 or 0.5 ÷ 1.4. The bound stays well below.
const SHARE_GUESSED: f64 = 0.15;
/// SR-22: where the model expects too little, a rise since all-off.
const RISE_C: f64 = 15.0;
/// A reading that wavers by this much has not failed to cool. Engineering judgement: above the noise
/// of a mean over 10 s, below any heat that matters.
const WAVER_C: f64 = 0.5;
/// A reading that rises back to what it was this long ago, after a lid was opened for a while, shows
/// the heat of the brick and not of an element.
const COMES_BACK_MINUTES: usize = 30;
/// Observer samples in ten minutes, and such marks kept.
const TEN_MINUTES: usize = 60;
const MARKS: usize = COMES_BACK_MINUTES / 10 + 1;
/// As fast as weather may warm a shed for hours, which is no heating. Engineering judgement.
const WEATHER_C_PER_H: f64 = 5.0;
/// Shortest and longest judged span, in observer samples: a minute outlasts the probe's lag.
const SPAN_LEAST: usize = 6;
const SPAN_MOST: usize = 60;

pub(crate) const ROW: Row = Row {
    requirement: "SR-22",
    interlock: Interlock::HeatingWhileOff,
    condition: "all banks off for 10 min (below 300 °C) to 3 min (above 600 °C), and it cools less than the model allows at all, or has risen 15 °C",
    worst: Severity::Trip,
    clears: "it cools as a kiln without heat does",
    look_at: &[
        "the breaker: pull it first",
        "the relays: welded contacts, or a shorted solid-state switch",
        "the safety contactor: does it open?",
        "whether something burns in the kiln",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: Some("Relays and contactor are told to be off, yet there is heat: pull the breaker now."),
    say: |evidence, f| {
        write!(
            f,
            "with all elements off for {:.0} min the kiln changed by {:+.1} °C; without heat it would be at most {:+.1} °C.",
            evidence.lasted.seconds() / 60.0,
            evidence.seen,
            evidence.bound
        )
    },
};

/// Since when everything has been off, and what happened since.
#[derive(Clone, Debug)]
pub(crate) struct HeatingWhileOff {
    off_for: Millis,
    /// The lowest reading since the blanking ended, let up as fast as weather.
    lowest_c: Option<f64>,
    /// Observer samples since all-off, and those of them that the blanking took.
    samples: usize,
    blanked: usize,
    /// The reading every ten minutes since all-off.
    marks_c: Ring<f64, MARKS>,
    verdict: Verdict,
}

impl HeatingWhileOff {
    pub(crate) const fn new() -> Self {
        Self {
            off_for: Millis::ZERO,
            lowest_c: None,
            samples: 0,
            blanked: 0,
            marks_c: Ring::new(),
            verdict: Verdict::Clear,
        }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        // An open lid lets the reading fall and come back as no shut kiln does.
        if view.seen.banks.contains(&true) || view.seen.lid == Contact::Open {
            *self = Self::new();
            return Verdict::Clear;
        }
        self.off_for += view.seen.since_last;
        if let Some(now) = view.observer.fresh() {
            self.verdict = self.look(view, &now);
        }
        self.verdict
    }

    /// Judges with a new sample.
    fn look(&mut self, view: &View<'_>, now: &Sample) -> Verdict {
        if self.samples.is_multiple_of(TEN_MINUTES) {
            self.marks_c.push(now.chamber_c);
        }
        self.samples = self.samples.saturating_add(1);
        if self.off_for.seconds() < blanking_s(now.chamber_c) {
            self.blanked = self.samples;
            return Verdict::Clear;
        }
        let risen_c = self.risen_c(now.chamber_c);
        let was_c = self.marks_c.iter().fold(f64::NEG_INFINITY, greater);
        if !(risen_c < RISE_C) && !(now.chamber_c <= was_c) {
            return self.raise(risen_c, RISE_C);
        }
        self.against_model(view, now).unwrap_or(Verdict::Clear)
    }

    fn risen_c(&mut self, chamber_c: f64) -> f64 {
        let weather_c = WEATHER_C_PER_H * CADENCE.hours();
        let lowest_c = self.lowest_c.map_or(chamber_c, |lowest_c| lesser(lowest_c + weather_c, chamber_c));
        self.lowest_c = Some(lowest_c);
        chamber_c - lowest_c
    }

    /// The shortest span, from now backwards, in which the model expects enough cooling; no longer
    /// than the blanking, and not reaching into it.
    fn against_model(&self, view: &View<'_>, now: &Sample) -> Option<Verdict> {
        if !view.observer.knows_the_wall() {
            return None;
        }
        let share = match view.seen.kiln.model.parameters().certainty {
            Certainty::Guessed => SHARE_GUESSED,
            Certainty::Fitted => SHARE_FITTED,
        };
        let longest_s = blanking_s(now.chamber_c);
        let mut back = SPAN_LEAST;
        while back < self.samples.saturating_sub(self.blanked) && back <= SPAN_MOST {
            let then = view.observer.ago(back)?;
            if now.at.since(then.at).seconds() > longest_s {
                return None;
            }
            let expected_c = (now.lost_j - then.lost_j) / view.observer.store_j_per_k();
            if expected_c >= EXPECTED_LEAST_C {
                let changed_c = now.chamber_c - then.chamber_c;
                let allowed_c = WAVER_C - share * expected_c;
                return (!(changed_c <= allowed_c)).then(|| self.raise(changed_c, allowed_c));
            }
            back += SPAN_LEAST;
        }
        None
    }

    const fn raise(&self, seen: f64, bound: f64) -> Verdict {
        Verdict::overall(Severity::Trip, Evidence { seen, bound, lasted: self.off_for })
    }
}

/// The blanking at a temperature, in seconds.
fn blanking_s(chamber_c: f64) -> f64 {
    let share = between((chamber_c - COLD_C) / (HOT_C - COLD_C), 0.0, 1.0);
    BLANKING_COLD_S + share * (BLANKING_HOT_S - BLANKING_COLD_S)
}
