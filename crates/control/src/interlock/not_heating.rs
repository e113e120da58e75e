//! SR-23: heat is asked for and does not come.
//!
//! Judged by the energy residual η, the share of the heat given that is found again as warmth of the
//! load or as loss: η = (C·ΔT + loss) / given, over ten minutes. It holds in ramps as in soaks.

use pyrometry::units::Millis;

use super::observer::{Observer, Sample};
use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};
use crate::model::Certainty;

/// SR-23: the window, in observer samples of 10 s.
const WINDOW: usize = 60;
const TEN_MINUTES: Millis = Millis::from_minutes(10);
/// SR-23: mean duty below which too little heat is given to tell.
const DUTY_LEAST: f64 = 0.3;
/// SR-23: hardly any rise for this energy.
const ETA_TRIP: f64 = 0.2;
/// SR-23: a bank or an element may be dead; told only of a fitted model.
const ETA_NOTICE: f64 = 0.75;
/// Near full power a healthy kiln does not fall this much in ten minutes while its setpoint does not,
/// whatever its load, wall and mains: the loss it would take is beyond its own power. Engineering
/// judgement; without heat at 1000 °C it falls 30 °C and more.
const FALL_C: f64 = 10.0;
const FALL_DUTY_LEAST: f64 = 0.9;

/// Heat that goes into elements and the skin of the ware before a probe sees any, counted from
/// all-off. Elements of 2.5 W/cm² (usual load) radiating with an emissivity of 0.7 into a cold
/// chamber settle near 560 °C (Stefan–Boltzmann): about 540 °C above it; the ware's skin is allowed
/// 15 °C. Element load and emissivity from memory.
const ELEMENTS_ABOVE_C: f64 = 540.0;
const WARE_ABOVE_C: f64 = 15.0;
/// Elements that were off for this long have given their heat away: it is counted anew.
const COOLED_AFTER: Millis = Millis::from_minutes(10);

pub(crate) const ROW: Row = Row {
    requirement: "SR-23",
    interlock: Interlock::NotHeating,
    condition: "at a mean duty of at least 0.3 less than 0.2 of the heat given in 10 min is found again, or at 0.9 the reading falls 10 °C (trip); with a fitted model, less than 0.75 is told",
    worst: Severity::Trip,
    clears: "the heat asked for is found again, or none is asked for",
    look_at: &[
        "the breaker, the isolator and the mechanical shut-off, if there is one",
        "the safety contactor: did it close?",
        "an element: look for a break, with the isolator off and locked",
        "the relays",
        "the thermocouple: shorted in its lead it shows the short's temperature",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        if evidence.bound >= FALL_C {
            return write!(f, "near full power the kiln fell {:.0} °C in 10 min.", evidence.seen);
        }
        write!(
            f,
            "of the heat asked for in the last 10 min {:.0} % was found in the kiln; at least {:.0} % was expected.",
            evidence.seen * 100.0,
            evidence.bound * 100.0
        )
    },
};

/// Heat given since the elements were cold, and the verdict of the latest sample.
#[derive(Clone, Debug)]
pub(crate) struct NotHeating {
    cold_at_j: Option<f64>,
    off_for: Millis,
    verdict: Verdict,
}

impl NotHeating {
    pub(crate) const fn new() -> Self {
        Self { cold_at_j: None, off_for: Millis::ZERO, verdict: Verdict::Clear }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        self.off_for =
            if view.seen.banks.contains(&true) { Millis::ZERO } else { self.off_for + view.seen.since_last };
        if self.off_for >= COOLED_AFTER || !view.seen.phase.may_heat() {
            self.cold_at_j = None;
            self.verdict = Verdict::Clear;
            return Verdict::Clear;
        }
        if let Some(now) = view.observer.fresh() {
            self.verdict = self.look(view, &now).unwrap_or(Verdict::Clear);
        }
        self.verdict
    }

    fn look(&mut self, view: &View<'_>, now: &Sample) -> Option<Verdict> {
        let observer = view.observer;
        let cold_at_j = *self.cold_at_j.get_or_insert(now.given_j);
        let then = observer.ago(WINDOW)?;
        // The whole window must lie after the elements are warm.
        if then.given_j - cold_at_j < warming_j(view) {
            return None;
        }
        let duty = observer.duty_over(WINDOW)?;
        if !(duty >= DUTY_LEAST) || fell(then.setpoint_c, now.setpoint_c) {
            return None;
        }
        let eta = residual(observer, &then, now);
        let falls = duty >= FALL_DUTY_LEAST && !(then.chamber_c - now.chamber_c < FALL_C);
        if falls {
            let fallen_c = then.chamber_c - now.chamber_c;
            let evidence = Evidence { seen: fallen_c, bound: FALL_C, lasted: TEN_MINUTES };
            return Some(Verdict::overall(Severity::Trip, evidence));
        }
        let (severity, bound) = if !(eta >= ETA_TRIP) {
            (Severity::Trip, ETA_TRIP)
        } else if view.seen.kiln.model.parameters().certainty == Certainty::Fitted && !(eta >= ETA_NOTICE) {
            (Severity::Notice, ETA_NOTICE)
        } else {
            return None;
        };
        Some(Verdict::overall(severity, Evidence { seen: eta, bound, lasted: TEN_MINUTES }))
    }
}

/// Share of the heat given between two samples that is found again.
fn residual(observer: &Observer, then: &Sample, now: &Sample) -> f64 {
    let stored_j = observer.store_j_per_k() * (now.chamber_c - then.chamber_c);
    let lost_j = now.lost_j - then.lost_j;
    (stored_j + lost_j) / (now.given_j - then.given_j)
}

/// Whether the plan went down: then little heat is meant to be found.
fn fell(then_c: Option<f64>, now_c: Option<f64>) -> bool {
    then_c.zip(now_c).is_none_or(|(then_c, now_c)| now_c < then_c)
}

fn warming_j(view: &View<'_>) -> f64 {
    let model = view.seen.kiln.model.parameters();
    model.quick_j_per_k * ELEMENTS_ABOVE_C + model.ware_j_per_k * WARE_ABOVE_C
}
