//! SR-25: more energy than forecast.
//!
//! A firing that keeps to its schedule and yet draws far more than was forecast heats something else: a
//! leak, a gap under the lid, wet bricks, a load far heavier than told. Only told; the times bound it.

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-25: of the forecast.
const NOTICE_RATIO: f64 = 1.3;
const J_PER_KWH: f64 = 3.6e6;

pub(crate) const ROW: Row = Row {
    requirement: "SR-25",
    interlock: Interlock::MoreEnergyThanForecast,
    condition: "the elements were given more than 1.3 times the energy forecast (with a guessed model, that of a kiln with double the load, low mains and a thin wall), stays left out",
    worst: Severity::Notice,
    clears: "with the firing",
    look_at: &[
        "lid, door, spyholes and vent: does heat escape?",
        "whether the load is far heavier than the kiln file tells, or wet",
        "the kiln file: its volume, wall and power",
        "the thermocouple: reading low, it makes the kiln hotter than shown",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the elements were given {:.1} kWh; at most {:.1} kWh was expected.",
            evidence.seen, evidence.bound
        )
    },
};

pub(crate) fn judge(view: &View<'_>) -> Verdict {
    let expected = view.seen.forecast.and_then(|expected| expected.energy);
    let Some(energy) = expected.filter(|_| view.seen.phase.may_heat()) else { return Verdict::Clear };
    let (given_kwh, most_kwh) = (view.seen.given.j() / J_PER_KWH, NOTICE_RATIO * energy.j() / J_PER_KWH);
    if given_kwh <= most_kwh {
        return Verdict::Clear;
    }
    let evidence = Evidence { seen: given_kwh, bound: most_kwh, lasted: view.seen.elapsed };
    Verdict::overall(Severity::Notice, evidence)
}
