//! Judging a stream of decisions against expectations.

use std::fmt;

use control::{Decision, Finding};
use pyrometry::units::Millis;

use crate::error::TraceError;
use crate::expectation::{Event, Expectations, What, Which};
use crate::reader::TraceReader;
use crate::span;

/// Sees decisions one after another, then judges.
#[derive(Clone, Debug)]
pub struct Judge {
    events: Vec<Watched>,
}

#[derive(Clone, Debug)]
struct Watched {
    event: Event,
    asked: Asked,
    /// When it began, first of all (expected) or first in its time (never).
    began: Option<Millis>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Asked {
    ToHappen,
    NeverToHappen,
}

/// What became of one expectation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Whether it was met.
    pub met: bool,
    /// The expectation and what was seen, in words.
    pub words: String,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", if self.met { "met" } else { "NOT MET" }, self.words)
    }
}

impl Judge {
    /// A judge who has seen nothing yet.
    #[must_use]
    pub fn new(expectations: &Expectations) -> Self {
        let watch = |event: &Event, asked| Watched { event: *event, asked, began: None };
        let expected = expectations.expect.iter().map(|event| watch(event, Asked::ToHappen));
        let never = expectations.never.iter().map(|event| watch(event, Asked::NeverToHappen));
        Self { events: expected.chain(never).collect() }
    }

    /// Sees one decision.
    pub fn see(&mut self, decision: &Decision) {
        for watched in self.events.iter_mut().filter(|watched| watched.began.is_none()) {
            let counts = match watched.asked {
                Asked::ToHappen => true,
                Asked::NeverToHappen => watched.event.in_time(decision.at),
            };
            if counts && watched.event.what.holds(decision) {
                watched.began = Some(decision.at);
            }
        }
    }

    /// One verdict for each expectation, in the file's order.
    #[must_use]
    pub fn verdicts(&self) -> Vec<Verdict> {
        self.events.iter().map(Watched::verdict).collect()
    }
}

/// Judges the recorded decisions of a trace, as they stand.
pub fn judge_recorded(
    reader: TraceReader<'_>,
    expectations: &Expectations,
) -> Result<Vec<Verdict>, TraceError> {
    let mut judge = Judge::new(expectations);
    for step in reader {
        if let Some(decision) = step?.decided {
            judge.see(&decision);
        }
    }
    Ok(judge.verdicts())
}

impl Watched {
    fn verdict(&self) -> Verdict {
        let Self { event, asked, began } = self;
        let (met, asked) = match asked {
            Asked::ToHappen => (began.is_some_and(|began| event.in_time(began)), "expected"),
            Asked::NeverToHappen => (began.is_none(), "never"),
        };
        let seen = match began {
            Some(began) => format!("it began at {}", span::in_words(*began)),
            None => "it did not happen".to_owned(),
        };
        Verdict { met, words: format!("{asked} {event}; {seen}") }
    }
}

impl Event {
    fn in_time(&self, at: Millis) -> bool {
        self.after.is_none_or(|after| at >= after) && self.by.is_none_or(|by| at <= by)
    }
}

impl What {
    fn holds(self, decision: &Decision) -> bool {
        match self {
            Self::Trip(which) => which.among(decision.trip.as_slice()),
            Self::Withhold(which) => which.among(decision.withheld.as_slice()),
            Self::Notice(which) => which.among(&decision.notices),
            Self::Phase(phase) => decision.phase == phase,
            Self::Cone(cone) => decision.cone.is_some_and(|reached| reached >= cone.ordinal()),
        }
    }
}

impl Which {
    fn among(self, findings: &[Finding]) -> bool {
        match self {
            Self::Any => !findings.is_empty(),
            Self::This(interlock) => findings.iter().any(|finding| finding.interlock == interlock),
        }
    }
}
