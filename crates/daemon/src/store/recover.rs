//! After a crash, a kill or a power cut: the firing that was under way is closed, its trace kept.

use std::path::Path;

use control::{PROBES_MOST, Phase};
use pyrometry::units::{Celsius, Millis};
use trace::{Ending, TraceReader};

use super::folder::DataFolder;
use super::logbook::{Closing, FiringRow, Logbook, Outcome};
use super::{Event, EventKind, StoreError};
use crate::carrying::CarriedOn;
use crate::chronicle::Chronicle;
use crate::files::kiln::Outage;

/// A firing that the program or the power ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Interrupted {
    /// Its number.
    pub id: i64,
    /// Its title.
    pub title: String,
    /// When its trace ends, RFC 3339.
    pub ended: String,
    /// The hottest it had been.
    pub hottest_c: Option<f64>,
    /// The last step in its trace.
    pub last: Option<LastStep>,
    /// What became of it since.
    pub became: Became,
}

/// The last step that a trace holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastStep {
    /// When it was, from light-up.
    pub at: Millis,
    /// Its phase.
    pub phase: Phase,
    /// Its time of day, where the computer's clock could be relied on.
    pub dated_ms: Option<u64>,
    /// What each probe read.
    pub junctions: [Option<Celsius>; PROBES_MOST],
}

/// The last step that what is left of the trace of a firing holds.
#[must_use]
pub fn last_step(folder: &Path, row: &FiringRow) -> Option<LastStep> {
    read_trace(folder, row).last
}

/// What became of a firing that the program or the power ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Became {
    /// It stays ended, as the kiln file has it.
    StaysEnded,
    /// Whether it can be carried on is being looked at.
    LookedAt,
    /// It is not carried on, for a reason in words.
    NotCarriedOn(String),
    /// It was carried on.
    CarriedOn(CarriedOn),
}

impl Became {
    /// What is known of it as the program starts.
    #[must_use]
    pub const fn at_start(outage: &Outage) -> Self {
        match outage {
            Outage::RemainOff => Self::StaysEnded,
            Outage::CarryOn { .. } => Self::LookedAt,
        }
    }
}

/// The latest firing that was never closed although it ran.
///
/// It stays open until somebody has decided what becomes of it: a power cut may come back at once.
pub fn find_interrupted(
    folder: &Path,
    logbook: &Logbook,
    outage: &Outage,
) -> Result<Option<Interrupted>, StoreError> {
    let mut latest = None;
    for row in logbook.unclosed()? {
        let Read { closing, came_out, last, .. } = read_trace(folder, &row);
        if came_out == Outcome::Running
            && latest.as_ref().is_none_or(|latest: &Interrupted| latest.id < row.id)
        {
            latest = Some(Interrupted {
                id: row.id,
                title: row.firing.title,
                ended: closing.ended,
                hottest_c: closing.hottest_c,
                last,
                became: Became::at_start(outage),
            });
        }
    }
    Ok(latest)
}

/// Closes firings that were never closed, as far as they are to be.
///
/// The kiln has come back off; whether the latest is carried on is for `carrying` to ask (SR-40).
pub fn close_interrupted(
    folder: &Path,
    logbook: &Logbook,
    is_to_be: impl Fn(&FiringRow) -> bool,
) -> Result<(), StoreError> {
    for row in logbook.unclosed()?.iter().filter(|row| is_to_be(row)) {
        let Read { closing, words, came_out, .. } = read_trace(folder, row);
        if came_out != Outcome::Running {
            logbook.decide(row.id, came_out)?;
        }
        logbook.note(&Event {
            firing: Some(row.id),
            time: jiff::Timestamp::now().to_string(),
            at_s: Some(closing.duration_s),
            kind: EventKind::Record,
            name: "interrupted".to_owned(),
            words: words.clone(),
        })?;
        logbook.close(row.id, &closing)?;
        let plain = DataFolder::trace(folder, row.id);
        if plain.exists()
            && let Err(why) = trace::compress(&plain)
        {
            tracing::warn!(%why, "the trace of firing {} stays uncompressed", row.id);
        }
        tracing::warn!("firing {}: {words}", row.id);
    }
    Ok(())
}

/// What trace and logbook still tell of how the firing went.
struct Read {
    closing: Closing,
    words: String,
    came_out: Outcome,
    last: Option<LastStep>,
}

fn read_trace(folder: &Path, row: &FiringRow) -> Read {
    let mut chronicle = Chronicle::default();
    let mut last = None;
    let ending = follow(folder, row.id, &mut chronicle, &mut last);
    // A power cut may take up to ten seconds of the trace, but nothing that the logbook was told: what is
    // decided there has happened, such as a person's shut-off just before they pulled the breaker.
    let came_out = if row.outcome == Outcome::Running { chronicle.outcome() } else { row.outcome };
    let what = match came_out {
        Outcome::Running => "The program or the power ended it",
        Outcome::Finished
        | Outcome::ShutOff
        | Outcome::Tripped
        | Outcome::Interrupted
        | Outcome::NotLit
        | Outcome::Cancelled => "The program or the power ended its record as the kiln cooled",
    };
    let words = match ending {
        Ok(Some(Ending::Torn { line })) => {
            format!("{what}; line {line} of its trace, the last, is torn.")
        }
        Ok(Some(Ending::Whole) | None) => format!("{what}; its trace is whole."),
        Err(why) => format!("{what}; its trace stops early: {why}."),
    };
    let mut closing = chronicle.closing(String::new());
    closing.ended = ended(&row.firing.started, closing.duration_s);
    Read { closing, words, came_out, last }
}

fn follow(
    folder: &Path,
    id: i64,
    chronicle: &mut Chronicle,
    last: &mut Option<LastStep>,
) -> Result<Option<Ending>, StoreError> {
    let mut reader = TraceReader::open(&DataFolder::trace_found(folder, id))?;
    *chronicle = Chronicle::of(&reader.head().setup.start);
    while let Some(step) = reader.next_step()? {
        if let Some(decision) = &step.decided {
            chronicle.take(&step.seen, decision);
            *last = Some(LastStep {
                at: decision.at,
                phase: decision.phase,
                dated_ms: step.clock_ms,
                junctions: decision.junctions,
            });
        }
    }
    Ok(reader.ending())
}

/// The start moved on by the time the trace covers.
fn ended(started: &str, duration_s: f64) -> String {
    let span = jiff::SignedDuration::try_from_secs_f64(duration_s).unwrap_or_default();
    match started.parse::<jiff::Timestamp>().and_then(|start| start.checked_add(span)) {
        Ok(ended) => ended.to_string(),
        Err(_) => started.to_owned(),
    }
}
