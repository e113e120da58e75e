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
use crate::observation::Contact;

/// SR-23: the window, in observer samples of 10 s.
const WINDOW: usize = 60;
const TEN_MINUTES: Millis = Millis::from_minutes(10);
/// SR-23: mean duty below which too little heat is given to tell.
const DUTY_LEAST: f64 = 0.3;
/// SR-23: hardly any rise for this energy.
const ETA_TRIP: f64 = 0.2;
/// SR-23: a bank or an element may be dead; told only of a fitted model.
const ETA_NOTICE: f64 = 0.75;
/// Near full power a healthy kiln does not fall this much in five minutes, let alone in one, while its setpoint does not,
/// whatever its load, wall and mains: the loss it would take is beyond its own power. Engineering
/// judgement; without heat at 1000 °C it falls 30 °C and more in ten.
const FALL_C: f64 = 10.0;
/// In one minute, where it falls fast, and in five; in observer samples of 10 s.
const FALL_WINDOWS: [(usize, Millis); 2] = [(6, Millis::from_minutes(1)), (30, Millis::from_minutes(5))];
const FALL_DUTY_LEAST: f64 = 0.9;

/// A fall of this much, where the most doubtful model makes at least that rise. Engineering judgement:
/// beyond noise and beyond what the start of a hot kiln's firing goes on falling.
const SINKS_C: f64 = 5.0;
const SURE_RISE_C: f64 = 30.0;

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
    condition: "at a mean duty of at least 0.3 less than 0.2 of the heat given in 10 min is found again, or at 0.9 the reading falls 10 °C in 1 or 5 min, or 5 °C where 30 °C of rise are sure (trip); with a fitted model, less than 0.75 is told",
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
        if evidence.bound >= SINKS_C {
            let (fallen_c, minutes) = (evidence.seen, evidence.lasted.seconds() / 60.0);
            return write!(
                f,
                "while it was heated strongly the kiln fell {fallen_c:.0} °C in {minutes:.0} min."
            );
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
    /// The sample at which heat began on cold elements.
    cold: Option<Sample>,
    off_for: Millis,
    verdict: Verdict,
}

impl NotHeating {
    pub(crate) const fn new() -> Self {
        Self { cold: None, off_for: Millis::ZERO, verdict: Verdict::Clear }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        self.off_for =
            if view.seen.banks.contains(&true) { Millis::ZERO } else { self.off_for + view.seen.since_last };
        // Heat that goes out of an open lid is not missing.
        let lid_open = view.seen.lid == Contact::Open;
        if self.off_for >= COOLED_AFTER || !view.seen.phase.may_heat() || lid_open {
            self.cold = None;
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
        let cold = *self.cold.get_or_insert(*now);
        // A whole window must lie after the elements are warm.
        let warm_at_j = cold.given_j + warming_j(view);
        let fell = falls(observer, now, warm_at_j).or_else(|| sinks(observer, &cold, now));
        if fell.is_some() {
            return fell;
        }
        let then = observer.ago(WINDOW)?;
        if then.given_j < warm_at_j {
            return None;
        }
        let duty = observer.duty_over(WINDOW)?;
        if !(duty >= DUTY_LEAST) || planned_fall(&then, now) {
            return None;
        }
        let eta = residual(&then, now);
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

/// The trip of a kiln that falls near full power while its plan does not.
fn falls(observer: &Observer, now: &Sample, warm_at_j: f64) -> Option<Verdict> {
    FALL_WINDOWS.into_iter().find_map(|(window, lasted)| falls_over(observer, now, warm_at_j, window, lasted))
}

fn falls_over(
    observer: &Observer,
    now: &Sample,
    warm_at_j: f64,
    window: usize,
    lasted: Millis,
) -> Option<Verdict> {
    let then = observer.ago(window)?;
    let duty = observer.duty_over(window)?;
    let fallen_c = then.chamber_c - now.chamber_c;
    if then.given_j < warm_at_j || !(duty >= FALL_DUTY_LEAST) || planned_fall(&then, now) || fallen_c < FALL_C
    {
        return None;
    }
    let evidence = Evidence { seen: fallen_c, bound: FALL_C, lasted };
    Some(Verdict::overall(Severity::Trip, evidence))
}

/// The trip of a kiln that falls where even the most doubtful model has it rise: found while the
/// elements are still warming, as in a kiln lit hot whose reading is that of a shorted lead.
fn sinks(observer: &Observer, cold: &Sample, now: &Sample) -> Option<Verdict> {
    let then = observer.ago(WINDOW).filter(|then| then.at > cold.at).unwrap_or(*cold);
    let fallen_c = then.chamber_c - now.chamber_c;
    let sure_c = observer.surely_risen_c(then.totals(), now.totals());
    if fallen_c < SINKS_C || !(sure_c >= SURE_RISE_C) || planned_fall(&then, now) {
        return None;
    }
    let evidence = Evidence { seen: fallen_c, bound: SINKS_C, lasted: now.at.since(then.at) };
    Some(Verdict::overall(Severity::Trip, evidence))
}

/// Share of the heat given between two samples that is found again.
fn residual(then: &Sample, now: &Sample) -> f64 {
    let (stored_j, lost_j) = (now.stored_j - then.stored_j, now.lost_j - then.lost_j);
    (stored_j + lost_j) / (now.given_j - then.given_j)
}

/// Whether the plan went down, or there was none: then little heat is meant to be found.
fn planned_fall(then: &Sample, now: &Sample) -> bool {
    then.setpoint_c.zip(now.setpoint_c).is_none_or(|(then_c, now_c)| now_c < then_c)
}

fn warming_j(view: &View<'_>) -> f64 {
    let model = view.seen.kiln.model.parameters();
    model.quick_j_per_k * ELEMENTS_ABOVE_C + model.ware_j_per_k * WARE_ABOVE_C
}
