//! SR-25: a firing far longer than forecast, or than the kiln file allows.

use pyrometry::units::{Millis, greater};

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-25: beyond the spread of healthy firings with half to double the load. Engineering judgement.
const NOTICE_RATIO: f64 = 1.25;
/// SR-25: heat-work, wire and wiring have all had more than was planned. Engineering judgement.
const TRIP_RATIO: f64 = 1.5;
/// SR-25: the least over the forecast before a trip. Other interlocks may withhold heat for 20 min in an
/// hour without tripping, and a probe's lag and the landing on a soak take minutes whatever the schedule's
/// length. It is what a schedule of an hour has by its ratio; ceiling and plan bound the temperature all
/// the while. Engineering judgement.
const TRIP_SLACK_LEAST_H: f64 = 0.5;
/// SR-25: the same before it is told, again that of an hour's schedule.
const NOTICE_SLACK_LEAST_H: f64 = 0.25;

pub(crate) const ROW: Row = Row {
    requirement: "SR-25",
    interlock: Interlock::FiringTooLong,
    condition: "heating longer than 1.25 times the forecast (notice) or 1.5 times it (trip), and by 15 and 30 min at least, stays left out; or, stays counted, longer than the kiln file's longest firing (trip)",
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

/// It has no state: the times come with the step.
pub(crate) fn judge(view: &View<'_>) -> Verdict {
    if !view.seen.phase.may_heat() {
        return Verdict::Clear;
    }
    let longest = view.seen.kiln.firing_longest.hours();
    let by_the_file = against(view.seen.alight, longest, longest);
    match view.seen.forecast.map(|expected| expected.lasts.hours()) {
        Some(forecast_h) => {
            let notice_h = greater(forecast_h * NOTICE_RATIO, forecast_h + NOTICE_SLACK_LEAST_H);
            let trip_h = greater(forecast_h * TRIP_RATIO, forecast_h + TRIP_SLACK_LEAST_H);
            by_the_file.worse(against(view.seen.elapsed, notice_h, trip_h))
        }
        None => by_the_file,
    }
}

fn against(lasted: Millis, notice_h: f64, trip_h: f64) -> Verdict {
    let lasted_h = lasted.hours();
    let (severity, bound) = if !(lasted_h <= trip_h) {
        (Severity::Trip, trip_h)
    } else if !(lasted_h <= notice_h) {
        (Severity::Notice, notice_h)
    } else {
        return Verdict::Clear;
    };
    Verdict::overall(severity, Evidence { seen: lasted_h, bound, lasted })
}
