//! The logbook's firings.

use axum::Json;
use axum::extract::{Path, State as From};
use axum::http::StatusCode;
use pyrometry::units::{Celsius, Millis};

use super::caller::Caller;
use super::error::Refusal;
use super::{FiringEntry, FiringSheet, House, Noted, State};
use crate::files::{Source, schedule, time};
use crate::store::{EventKind, FiringRow, Outcome, Owner};

pub(super) async fn list(_caller: Caller, From(house): State) -> Result<Json<Vec<FiringEntry>>, Refusal> {
    let rows = tokio::task::spawn_blocking(move || house.logbook.firings()).await??;
    Ok(Json(rows.into_iter().map(entry).collect()))
}

pub(super) async fn one(
    _caller: Caller,
    From(house): State,
    Path(id): Path<String>,
) -> Result<Json<FiringSheet>, Refusal> {
    let id = id.parse().map_err(|_| {
        Refusal::new(StatusCode::BAD_REQUEST, format!("A firing is named by its number, not {id:?}."))
    })?;
    Ok(Json(tokio::task::spawn_blocking(move || sheet(&house, id)).await??))
}

fn sheet(house: &House, id: i64) -> Result<FiringSheet, Refusal> {
    let row = house.logbook.firing(id)?;
    let row = row.ok_or_else(|| Refusal::not_found(format!("There is no firing {id} in the logbook.")))?;
    let events: Vec<Noted> = house
        .logbook
        .events(id)?
        .into_iter()
        .map(|event| Noted {
            time: event.time,
            at_s: event.at_s,
            kind: event.kind,
            name: event.name,
            words: event.words,
        })
        .collect();
    let is_attention =
        |noted: &&Noted| matches!(noted.kind, EventKind::Trip | EventKind::Withheld | EventKind::Notice);
    Ok(FiringSheet {
        summary: summary(&row, Owner::Daemon),
        schedule_text: row.firing.schedule_text.clone(),
        attention: events.iter().filter(is_attention).cloned().collect(),
        entry: entry(row),
        events,
    })
}

fn entry(row: FiringRow) -> FiringEntry {
    let closing = row.closing.unwrap_or_default();
    let as_fired = schedule::check(Source::new(&row.firing.schedule, &row.firing.schedule_text), None);
    FiringEntry {
        id: row.id,
        title: row.firing.title,
        schedule: row.firing.schedule,
        simulated: row.firing.simulated,
        scale: as_fired.ok().map(|schedule| schedule.value.scale.name()),
        started: row.firing.started,
        ended: Some(closing.ended).filter(|ended| !ended.is_empty()),
        outcome: row.outcome,
        hottest_c: closing.hottest_c,
        cone: closing.cone,
        duration_s: (closing.duration_s > 0.0).then_some(closing.duration_s),
        carries_on: row.firing.carries_on,
        proving: row.firing.proving,
    }
}

/// Whether a firing's record is open, and nobody there to go on with it.
#[must_use]
pub fn is_left_open(row: &FiringRow, owner: Owner) -> bool {
    row.closing.is_none() && owner == Owner::Nobody
}

/// How a firing went, in words, by the logbook of a folder that somebody owns, or nobody.
#[must_use]
pub fn summary(row: &FiringRow, owner: Owner) -> String {
    let how = match row.outcome {
        Outcome::Running if is_left_open(row, owner) => {
            "The program or the power cut it off. The next start of saggar closes its record, or carries the \
             firing on where the kiln file asks for that."
        }
        Outcome::Running => "It is under way.",
        Outcome::Finished => "The schedule ran to its end.",
        Outcome::ShutOff => "A person shut it off.",
        Outcome::Tripped => "An interlock ended it.",
        Outcome::Interrupted => "The program or the power ended it.",
        Outcome::Cancelled => "A person called it off before its time came.",
        Outcome::NotLit => "When its time came it could not be lit: what was sensed forbade it.",
    };
    let simulated = if row.firing.simulated { " (simulated)" } else { "" };
    let mut said = format!("{}{simulated}. {how}", row.firing.title);
    if let Some(earlier) = row.firing.carries_on {
        said = format!("{said} It carries on firing {earlier}.");
    }
    if row.outcome != Outcome::Running && is_left_open(row, owner) {
        said = format!("{said} Its record was cut off; the next start of saggar closes it.");
    }
    if let Some(why) = &row.firing.proving {
        said = format!("{said} It was a proving firing: {why}");
    }
    if let Some(closing) = &row.closing {
        if let Some(hottest) = closing.hottest_c.and_then(Celsius::new) {
            let scale = schedule::scale_of(&row.firing.schedule_text);
            said = format!("{said} Hottest {}", scale.say(hottest));
            said = match &closing.cone {
                Some(cone) => format!("{said}, cone {cone} down."),
                None => format!("{said}."),
            };
        }
        let minutes = Millis::from_seconds_f64(closing.duration_s).map_or(0, |span| span.ms() / 60_000);
        said = format!(
            "{said} From light-up to cool enough to open, or to its end: {}.",
            time::say(Millis::from_minutes(minutes))
        );
    }
    said
}
