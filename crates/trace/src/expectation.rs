//! Expectation files: what a trace must show, and what it must never show.
//!
//! `NAME.expect.toml` lies beside `NAME.jsonl` or `NAME.jsonl.gz`:
//! ```toml
//! about = "The thermocouple breaks in the first ramp"
//!
//! [[expect]]
//! trip = "broken-thermocouple"   # or withhold, notice, phase, cone
//! after = "10 min"               # not before (optional)
//! by    = "12 min"               # at the latest (optional)
//!
//! [[never]]
//! notice = "any"                 # optionally only between after and by
//! ```
//! Times count from the first step. Something expected must *begin* between `after` and `by`.

use std::fmt;

use control::{Interlock, Phase};
use pyrometry::cone::Cone;
use pyrometry::units::Millis;
use serde::Deserialize;

use crate::span;
use crate::wire::{Name, Named};

/// Everything one file expects.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expectations {
    /// What the trace is about, in words.
    pub about: String,
    /// What must happen.
    pub expect: Vec<Event>,
    /// What must not.
    pub never: Vec<Event>,
}

/// Something that can happen, and when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// What.
    pub what: What,
    /// Not before; the start when `None`.
    pub after: Option<Millis>,
    /// At the latest; the end when `None`.
    pub by: Option<Millis>,
}

/// What can happen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// A latched trip.
    Trip(Which),
    /// Heat is withheld.
    Withhold(Which),
    /// A notice.
    Notice(Which),
    /// A phase is entered.
    Phase(Phase),
    /// A cone is reached.
    Cone(Cone),
}

/// Which interlock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Whichever.
    Any,
    /// This one.
    This(Interlock),
}

/// An expectation file that can't be understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ExpectationFault(String);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    about: String,
    #[serde(default)]
    expect: Vec<Written>,
    #[serde(default)]
    never: Vec<Written>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    trip: Option<String>,
    withhold: Option<String>,
    notice: Option<String>,
    phase: Option<Named<Phase>>,
    cone: Option<Named<Cone>>,
    after: Option<String>,
    by: Option<String>,
}

impl Expectations {
    /// Reads the text of an expectation file.
    pub fn parse(text: &str) -> Result<Self, ExpectationFault> {
        let file: File = toml::from_str(text).map_err(|cause| ExpectationFault(cause.to_string()))?;
        let events = |list: Vec<Written>, called: &str| -> Result<Vec<Event>, ExpectationFault> {
            let numbered = (1..).zip(list);
            numbered
                .map(|(number, written)| written.event(&format!("[[{called}]] number {number}")))
                .collect()
        };
        let (expect, never) = (events(file.expect, "expect")?, events(file.never, "never")?);
        if expect.is_empty() && never.is_empty() {
            return Err(ExpectationFault(
                "it expects nothing: give at least one [[expect]] or [[never]]".into(),
            ));
        }
        Ok(Self { about: file.about, expect, never })
    }
}

impl Written {
    fn event(self, place: &str) -> Result<Event, ExpectationFault> {
        let fault = |reason: String| ExpectationFault(format!("{place}: {reason}"));
        let which = |name: String| match name.as_str() {
            "any" => Ok(Which::Any),
            name => Interlock::named(name)
                .map(Which::This)
                .ok_or_else(|| fault(format!("no interlock is called {name:?}; \"any\" means whichever"))),
        };
        let time = |text: Option<String>| {
            text.map(|text| {
                span::parse(&text).ok_or_else(|| fault(format!("{text:?} is no time; write \"1 h 20 min\"")))
            })
            .transpose()
        };
        let candidates = [
            self.trip.map(|name| which(name).map(What::Trip)),
            self.withhold.map(|name| which(name).map(What::Withhold)),
            self.notice.map(|name| which(name).map(What::Notice)),
            self.phase.map(|phase| Ok(What::Phase(phase.0))),
            self.cone.map(|cone| Ok(What::Cone(cone.0))),
        ];
        let mut given = candidates.into_iter().flatten();
        let (Some(what), None) = (given.next(), given.next()) else {
            return Err(fault("give exactly one of trip, withhold, notice, phase, cone".into()));
        };
        let event = Event { what: what?, after: time(self.after)?, by: time(self.by)? };
        match (event.after, event.by) {
            (Some(after), Some(by)) if after > by => Err(fault("after is later than by".into())),
            _ => Ok(event),
        }
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (kind, which) = match self {
            Self::Trip(which) => ("trip", which),
            Self::Withhold(which) => ("withheld heat", which),
            Self::Notice(which) => ("notice", which),
            Self::Phase(phase) => return write!(f, "phase {}", phase.name()),
            Self::Cone(cone) => return write!(f, "cone {cone}"),
        };
        match which {
            Which::Any => write!(f, "any {kind}"),
            Which::This(interlock) => write!(f, "{kind} {}", Name::name(*interlock)),
        }
    }
}

impl fmt::Display for Event {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.what.fmt(f)?;
        if let Some(after) = self.after {
            write!(f, " not before {}", span::in_words(after))?;
        }
        if let Some(by) = self.by {
            write!(f, " by {}", span::in_words(by))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_expectation_file_is_understood() {
        let text = "about = \"x\"\n[[expect]]\ntrip = \"not-heating\"\nafter = \"5 min\"\nby = \"1 h\"\n\
                    [[never]]\nnotice = \"any\"\n[[expect]]\nphase = \"cooling\"\n[[expect]]\ncone = \"6\"\n";
        let read = Expectations::parse(text).expect("well written");
        let not_heating = What::Trip(Which::This(Interlock::NotHeating));
        let (after, by) = (Some(Millis::from_minutes(5)), Some(Millis::from_hours(1)));
        assert_eq!(read.expect[0], Event { what: not_heating, after, by });
        assert_eq!(read.never, [Event { what: What::Notice(Which::Any), after: None, by: None }]);
        assert_eq!(read.expect[0].to_string(), "trip not-heating not before 5 min by 1 h");
        assert_eq!(read.expect[2].to_string(), "cone 6");
    }

    #[test]
    fn every_mistake_is_refused_with_its_place() {
        let mistakes = [
            ("", "expects nothing"),
            ("[[expect]]\ntrip = \"bad-luck\"", "[[expect]] number 1: no interlock is called \"bad-luck\""),
            ("[[expect]]\nby = \"1 h\"", "exactly one of"),
            ("[[never]]\ntrip = \"any\"\nphase = \"tripped\"", "[[never]] number 1: give exactly one"),
            ("[[expect]]\ntrip = \"any\"\nby = \"soon\"", "\"soon\" is no time"),
            ("[[expect]]\ntrip = \"any\"\nafter = \"2 h\"\nby = \"1 h\"", "after is later than by"),
            ("[[expect]]\nphase = \"melting\"", "no phase is called \"melting\""),
            ("[[expects]]\ntrip = \"any\"", "expects"),
        ];
        for (text, reason) in mistakes {
            let fault = Expectations::parse(text).expect_err(text).to_string();
            assert!(fault.contains(reason), "{text}\n{fault}");
        }
    }
}
