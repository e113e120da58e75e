//! A row: what is known of an interlock before anything happens, and its verdict in one step.

use core::fmt;

use pyrometry::constant;
use pyrometry::units::{CelsiusDelta, Millis};

use crate::finding::{Evidence, Finding, Interlock, Part, Severity};

/// Writes what was seen as a sentence, from the numbers.
pub(crate) type Say = fn(&Evidence, &mut fmt::Formatter<'_>) -> fmt::Result;

/// What an interlock does about a trip or withhold in a phase that permits no heat anyway.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WithoutHeat {
    /// It trips all the same.
    Trips,
    /// It is told as a notice, and light-up is refused while it lasts.
    RefusesLightUp,
}

/// How long a row may withhold heat before it trips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patience {
    /// The longest unbroken withhold.
    pub unbroken: Millis,
    /// The longest withhold within one hour, pauses left out.
    pub in_an_hour: Millis,
    /// How far the kiln may fall during an unbroken withhold.
    pub drop: Option<CelsiusDelta>,
}

impl Patience {
    /// What holds unless a row says otherwise (principle 1 of `docs/safety.md`): engineering judgement.
    pub const ORDINARY: Self =
        Self { unbroken: Millis::from_minutes(10), in_an_hour: Millis::from_minutes(20), drop: None };

    /// For what a person may mend or want for a while: a warm box, an open lid. What ware bears,
    /// engineering judgement.
    pub const FORBEARING: Self = Self {
        unbroken: Millis::from_minutes(30),
        in_an_hour: Millis::from_minutes(60),
        drop: Some(constant!(CelsiusDelta, 100.0)),
    };
}

/// One interlock as people read it.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The requirement in `docs/safety.md`.
    pub requirement: &'static str,
    /// Which interlock.
    pub interlock: Interlock,
    /// When it speaks, in words.
    pub condition: &'static str,
    /// The worst it can come to.
    pub worst: Severity,
    /// When it is over, in words.
    pub clears: &'static str,
    /// What to look at, the likeliest first.
    pub look_at: &'static [&'static str],
    /// What it does where no heat is permitted.
    pub without_heat: WithoutHeat,
    /// How long it may withhold before it trips.
    pub patience: Patience,
    /// What a person must do at once, said in place of what was done.
    pub(crate) urgent: Option<&'static str>,
    /// Says what was seen.
    pub(crate) say: Say,
}

/// What a row has to say in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Verdict {
    /// Looked, and found nothing.
    Clear,
    /// Found something.
    Raised {
        /// How badly.
        severity: Severity,
        /// About which part.
        part: Option<Part>,
        /// The numbers.
        evidence: Evidence,
    },
}

impl Verdict {
    /// A verdict about one probe.
    pub(crate) const fn about(probe: u8, severity: Severity, evidence: Evidence) -> Self {
        Self::Raised { severity, part: Some(Part::Probe(probe)), evidence }
    }

    /// A verdict about one bank.
    pub(crate) const fn about_bank(bank: u8, severity: Severity, evidence: Evidence) -> Self {
        Self::Raised { severity, part: Some(Part::Bank(bank)), evidence }
    }

    /// A verdict about the whole kiln.
    pub(crate) const fn overall(severity: Severity, evidence: Evidence) -> Self {
        Self::Raised { severity, part: None, evidence }
    }

    /// How bad it is; `None` is clear.
    pub(crate) const fn severity(&self) -> Option<Severity> {
        match self {
            Self::Clear => None,
            Self::Raised { severity, .. } => Some(*severity),
        }
    }

    /// The worse of two; the first of equals, so that the lower part is named.
    pub(crate) fn worse(self, other: Self) -> Self {
        if other.severity() > self.severity() { other } else { self }
    }

    /// As a finding of its row.
    pub(crate) const fn finding(self, interlock: Interlock) -> Option<Finding> {
        match self {
            Self::Clear => None,
            Self::Raised { severity, part, evidence } => {
                Some(Finding { interlock, severity, part, evidence })
            }
        }
    }
}
