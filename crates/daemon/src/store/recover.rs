//! After a crash, a kill or a power cut: the firing that was under way is closed, its trace kept.

use std::path::Path;

use trace::{Ending, TraceReader};

use super::folder::DataFolder;
use super::logbook::{Closing, FiringRow, Logbook, Outcome};
use super::{Event, EventKind, StoreError};
use crate::chronicle::Chronicle;

/// A firing that the program or the power ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Interrupted {
    /// Its title.
    pub title: String,
    /// When its trace ends, RFC 3339.
    pub ended: String,
    /// The hottest it had been.
    pub hottest_c: Option<f64>,
}

/// Closes every firing that was never closed; gives the latest.
///
/// Nothing is resumed: the kiln comes back off (SR-40).
pub fn close_interrupted(folder: &Path, logbook: &Logbook) -> Result<Option<Interrupted>, StoreError> {
    let mut latest = None;
    for row in &logbook.unclosed()? {
        let (closing, words, came_out) = read_trace(folder, row);
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
        if came_out == Outcome::Running {
            latest = Some(Interrupted {
                title: row.firing.title.clone(),
                ended: closing.ended,
                hottest_c: closing.hottest_c,
            });
        }
    }
    Ok(latest)
}

/// What the trace still tells of how the firing went.
fn read_trace(folder: &Path, row: &FiringRow) -> (Closing, String, Outcome) {
    let mut chronicle = Chronicle::default();
    let ending = follow(folder, row.id, &mut chronicle);
    let what = match chronicle.outcome() {
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
    (closing, words, chronicle.outcome())
}

fn follow(folder: &Path, id: i64, chronicle: &mut Chronicle) -> Result<Option<Ending>, StoreError> {
    let mut reader = TraceReader::open(&DataFolder::trace_found(folder, id))?;
    while let Some(step) = reader.next_step()? {
        if let Some(decision) = &step.decided {
            chronicle.take(&step.seen, decision);
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
