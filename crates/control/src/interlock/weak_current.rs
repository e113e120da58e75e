//! SR-23: a bank that is told to be on draws less current than it used to.
//!
//! A dead element or relay is told within half a minute, where heat alone tells it after many, or not at
//! all. When all banks are weak alike it is the mains; when none draws anything, nothing heats.

use pyrometry::units::{Amps, Millis, greater, lesser};

use super::row::{Patience, Row, Verdict, WithoutHeat};
use super::seen::View;
use crate::BANKS_MOST;
use crate::finding::{Evidence, Interlock, Severity};

/// SR-23: share of the usual current. One of two elements in parallel leaves half; aged elements 85 %
/// and mains 10 % low 90 % (SR-23, engineering judgement).
const SHARE_LEAST: f64 = 0.7;
/// Less than this is none: the bound of `current-while-off`.
const SHARE_NONE: f64 = 0.1;
/// SR-23: for this long.
const LASTED: Millis = Millis::from_seconds(30);
/// A relay that was told to close has closed, and a sensor that takes a mean shows it.
const SETTLED: Millis = Millis::from_seconds(3);
/// What is usual is learned over this much time on.
const LEARNED_IN: Millis = Millis::from_seconds(60);
/// Banks whose shares differ less are weak alike. Engineering judgement: clamps are a few percent out.
const ALIKE: f64 = 0.1;

pub(crate) const ROW: Row = Row {
    requirement: "SR-23",
    interlock: Interlock::WeakCurrent,
    condition: "a bank told to be on draws less than 0.7 of its usual current for 30 s, where it is sensed (notice); less than 0.1 in every bank that is on (trip)",
    worst: Severity::Trip,
    clears: "the usual current flows again, or none is asked for",
    look_at: &[
        "of one bank: an element broken, with the isolator off and locked; then its relay",
        "of all banks alike: the mains, a fuse or a phase",
        "where nothing flows: breaker, isolator, contactor, the mechanical shut-off if there is one",
        "the current sensor",
    ],
    without_heat: WithoutHeat::Trips,
    patience: Patience::ORDINARY,
    urgent: None,
    say: |evidence, f| {
        write!(
            f,
            "{:.0} % of the usual current flows; {:.0} % is the least expected.",
            evidence.seen * 100.0,
            evidence.bound * 100.0
        )
    },
};

/// What is known of one bank's current.
#[derive(Clone, Copy, Debug, Default)]
struct Track {
    on_for: Millis,
    usual_a: f64,
    learned: Millis,
    /// The present share of what is usual.
    share: f64,
    weak_for: Millis,
    none_for: Millis,
}

/// What is known of each bank's current.
#[derive(Clone, Debug)]
pub(crate) struct WeakCurrent {
    tracks: [Track; BANKS_MOST],
}

impl WeakCurrent {
    pub(crate) fn new() -> Self {
        Self { tracks: [Track::default(); BANKS_MOST] }
    }

    pub(crate) fn judge(&mut self, view: &View<'_>) -> Verdict {
        let seen = view.seen;
        let told = seen.kiln.banks.iter().zip(seen.banks).zip(seen.amps);
        for (((bank, on), amps), track) in told.zip(&mut self.tracks) {
            match amps {
                Some(amps) if on => track.take(amps, bank.current, seen.since_last),
                _ => track.on_for = Millis::ZERO,
            }
        }
        self.nothing_flows().or_else(|| self.weakest()).unwrap_or(Verdict::Clear)
    }

    /// The banks that are on and whose current is known.
    fn judged(&self) -> impl Iterator<Item = (u8, &Track)> {
        (0_u8..).zip(&self.tracks).filter(|(_, track)| track.on_for >= SETTLED)
    }

    fn nothing_flows(&self) -> Option<Verdict> {
        let least = self.judged().map(|(_, track)| track.none_for).reduce(Millis::min)?;
        let most = self.judged().map(|(_, track)| track.share).fold(0.0, greater);
        let evidence = Evidence { seen: most, bound: SHARE_NONE, lasted: least };
        (least >= LASTED).then(|| Verdict::overall(Severity::Trip, evidence))
    }

    fn weakest(&self) -> Option<Verdict> {
        let weak = |track: &Track| track.weak_for >= LASTED;
        let (number, worst) = self
            .judged()
            .filter(|(_, track)| weak(track))
            .reduce(|a, b| if b.1.share < a.1.share { b } else { a })?;
        let best = self.judged().map(|(_, track)| track.share).fold(worst.share, greater);
        let alike = self.judged().count() > 1 && best - worst.share <= ALIKE;
        let evidence = Evidence { seen: worst.share, bound: SHARE_LEAST, lasted: worst.weak_for };
        Some(if alike {
            Verdict::overall(Severity::Notice, evidence)
        } else {
            Verdict::about_bank(number, Severity::Notice, evidence)
        })
    }
}

impl Track {
    fn take(&mut self, amps: Amps, rated: Option<Amps>, span: Millis) {
        self.on_for += span;
        if self.on_for < SETTLED {
            return;
        }
        let usual_a = rated.map_or_else(|| self.learn(amps.a(), span), Amps::a);
        self.share = if usual_a > 0.0 { amps.a() / usual_a } else { 0.0 };
        let counted =
            |so_far: Millis, bound: f64| if self.share >= bound { Millis::ZERO } else { so_far + span };
        (self.weak_for, self.none_for) =
            (counted(self.weak_for, SHARE_LEAST), counted(self.none_for, SHARE_NONE));
    }

    /// The mean of the first minute on, where the kiln file does not tell.
    fn learn(&mut self, amps_a: f64, span: Millis) -> f64 {
        if self.learned < LEARNED_IN {
            self.learned += span;
            let share = lesser(1.0, span.seconds() / greater(0.001, self.learned.seconds()));
            self.usual_a += (amps_a - self.usual_a) * share;
        }
        self.usual_a
    }
}
