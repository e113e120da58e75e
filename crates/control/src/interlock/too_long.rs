//! SR-25: a firing far longer than forecast, or than the kiln file allows.

use pyrometry::units::Millis;

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-25: beyond the spread of healthy firings with half to double the load. Engineering judgement.
const NOTICE_RATIO: f64 = 1.25;
/// SR-25: heat-work, wire and wiring have all had more than was planned. Engineering judgement.
const TRIP_RATIO: f64 = 1.5;

pub(crate) const ROW: Row = Row {
    requirement: "SR-25",
    interlock: Interlock::FiringTooLong,
    condition: "heating longer than 1.25 times the forecast (notice), 1.5 times it or the kiln file's longest firing (trip); stays left out",
    worst: Severity::Trip,
    clears: "the firing has ended",
    look_at: &[
        "the lag: could the kiln keep up with the schedule?",
        "elements and mains: a weak or dead bank",
        "the schedule: soaks, slow segments and added minutes",
        "the longest firing in the kiln file",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(f, "the kiln has heated for {:.1} h; {:.1} h is allowed.", evidence.seen, evidence.bound)
    },
};

/// It has no state: the time comes with the step.
pub(crate) fn judge(view: &View<'_>) -> Verdict {
    if !view.seen.phase.may_heat() {
        return Verdict::Clear;
    }
    let longest_h = view.seen.kiln.firing_longest.hours();
    let elapsed_h = view.seen.elapsed.hours();
    let (notice_h, trip_h) = match view.seen.forecast.map(Millis::hours) {
        Some(forecast_h) if forecast_h * TRIP_RATIO < longest_h => {
            (forecast_h * NOTICE_RATIO, forecast_h * TRIP_RATIO)
        }
        Some(forecast_h) => (forecast_h * NOTICE_RATIO, longest_h),
        None => (longest_h, longest_h),
    };
    let (severity, bound) = if !(elapsed_h <= trip_h) {
        (Severity::Trip, trip_h)
    } else if !(elapsed_h <= notice_h) {
        (Severity::Notice, notice_h)
    } else {
        return Verdict::Clear;
    };
    Verdict::overall(severity, Evidence { seen: elapsed_h, bound, lasted: view.seen.elapsed })
}
