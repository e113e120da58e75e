//! SR-13: thermocouples of one kiln that read further apart than zones fired together can be.

use pyrometry::units::{Millis, greater, lesser};

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-13: zones that follow the slowest are a few degrees apart, and 8 °C where one is too weak
/// (`together.rs`).
const NOTICE_C: f64 = 25.0;
const WITHHOLD_C: f64 = 50.0;
/// SR-13: for so long, before it is told.
const NOTICE_AFTER: Millis = Millis::from_minutes(5);
/// Longer than an opened lid's gust or a load that draws from one zone; engineering judgement.
const WITHHOLD_AFTER: Millis = Millis::from_minutes(1);
/// A kiln found with zones apart is brought together first: so long at most. Engineering judgement.
const COME_TOGETHER_WITHIN: Millis = Millis::from_hours(1);

pub(crate) const ROW: Row = Row {
    requirement: "SR-13",
    interlock: Interlock::ZonesApart,
    condition: "heated zones read 25 °C apart for 5 min (told), 50 °C for 1 min (withholds)",
    worst: Severity::Withhold,
    clears: "the readings are nearer to each other",
    look_at: &[
        "which of them is wrong: witness cones tell, or another thermocouple",
        "the thermocouple that reads low: its tip, its leads, is it in its place?",
        "elements and relays of the colder zone",
        "a relay of the hotter zone that does not open",
    ],
    without_heat: WithoutHeat::RefusesLightUp,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "the zones' thermocouples read {:.0} °C apart; {:.0} °C is the most that can be right.",
            evidence.seen, evidence.bound
        )
    },
};

/// For how long they have been so far apart.
#[derive(Clone, Debug, Default)]
pub(crate) struct ZonesApart {
    heated: Millis,
    have_met: bool,
    apart: Millis,
    far_apart: Millis,
}

impl ZonesApart {
    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        if !view.seen.phase.may_heat() || view.seen.setpoint.is_none() {
            *self = Self::default();
            return Verdict::Clear;
        }
        let span = view.seen.since_last;
        self.heated += span;
        let Some(apart_c) = apart_c(view) else { return Verdict::Clear };
        self.have_met |= apart_c < NOTICE_C || self.heated >= COME_TOGETHER_WITHIN;
        self.apart = held(self.apart, self.have_met && apart_c >= NOTICE_C, span);
        self.far_apart = held(self.far_apart, self.have_met && apart_c >= WITHHOLD_C, span);
        let (severity, bound, lasted) = if self.far_apart >= WITHHOLD_AFTER {
            (Severity::Withhold, WITHHOLD_C, self.far_apart)
        } else if self.apart >= NOTICE_AFTER {
            (Severity::Notice, NOTICE_C, self.apart)
        } else {
            return Verdict::Clear;
        };
        Verdict::overall(severity, Evidence { seen: apart_c, bound, lasted })
    }
}

/// Hottest less coldest of what can be used; `None` of fewer than two.
fn apart_c(view: &View<'_>) -> Option<f64> {
    let mut readings_c =
        view.seen.probes().filter_map(|probe| view.usable(probe)).map(|measured| measured.junction.c());
    let first_c = readings_c.next()?;
    let second_c = readings_c.next()?;
    let both_c = (lesser(first_c, second_c), greater(first_c, second_c));
    let (coldest_c, hottest_c) =
        readings_c.fold(both_c, |(coldest_c, hottest_c), c| (lesser(coldest_c, c), greater(hottest_c, c)));
    Some(hottest_c - coldest_c)
}

fn held(before: Millis, still: bool, span: Millis) -> Millis {
    if still { before + span } else { Millis::ZERO }
}
