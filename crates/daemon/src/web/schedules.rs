//! The schedules on the shelf.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State as From};
use control::{Kiln, Target};
use pyrometry::units::{Celsius, Millis};

use super::caller::Caller;
use super::error::Refusal;
use super::{FileProblem, Forecast, House, Planned, ScheduleEntry, ScheduleSheet, State};
use crate::files::kiln::KilnFile;
use crate::files::schedule::{Schedule, falls_short, price};
use crate::files::{Checked, LoadError, Problem, Source, Weight};
use crate::learning::Known;
use crate::lighting::edition;
use crate::plant;
use crate::schedules::ShelfError;

pub(super) async fn list(_caller: Caller, From(house): State) -> Result<Json<Vec<ScheduleEntry>>, Refusal> {
    let entries = tokio::task::spawn_blocking(move || entries(&house)).await?;
    Ok(Json(entries?))
}

fn entries(house: &House) -> Result<Vec<ScheduleEntry>, Refusal> {
    let names =
        house.shelf.names().map_err(|why| Refusal::ours("The shelf of schedules cannot be read.", &why))?;
    let kiln = house.lessons.known_of(&house.kiln.kiln).as_told(&house.kiln.kiln);
    let entry = |name: &String| match house.shelf.load(name, &house.kiln) {
        Ok(mut checked) => {
            let forecast = forecast(house, &kiln, &checked.value);
            price(&mut checked, &forecast, &house.kiln.name);
            entry(name, &checked, &forecast)
        }
        Err(cause) => unusable(name, &cause),
    };
    Ok(names.iter().map(entry).collect())
}

pub(super) async fn one(
    _caller: Caller,
    From(house): State,
    Path(file): Path<String>,
) -> Result<Json<ScheduleSheet>, Refusal> {
    Ok(Json(tokio::task::spawn_blocking(move || sheet(&house, &file)).await??))
}

fn sheet(house: &Arc<House>, file: &str) -> Result<ScheduleSheet, Refusal> {
    match house.shelf.load(file, &house.kiln) {
        Ok(mut checked) => {
            let known = house.lessons.known_of(&house.kiln.kiln);
            let forecast = forecast(house, &known.as_told(&house.kiln.kiln), &checked.value);
            price(&mut checked, &forecast, &house.kiln.name);
            Ok(ScheduleSheet {
                entry: entry(file, &checked, &forecast),
                edition: edition(checked.source.text()),
                text: checked.source.text().to_owned(),
                planned: Some(planned(&forecast)),
                forecast: Some(told(&forecast, &known, &checked.value, &house.kiln)),
            })
        }
        Err(ShelfError::Load(LoadError::Refused(refused))) => Ok(ScheduleSheet {
            edition: edition(refused.source().text()),
            text: refused.source().text().to_owned(),
            entry: unusable(file, &ShelfError::Load(LoadError::Refused(refused))),
            planned: None,
            forecast: None,
        }),
        Err(cause @ (ShelfError::BadName(_) | ShelfError::Missing(_))) => {
            Err(Refusal::not_found(cause.to_string()))
        }
        Err(cause @ ShelfError::Load(_)) => Err(Refusal::ours("The schedule cannot be read.", &cause)),
    }
}

/// What a schedule will do, begun now.
fn forecast(house: &House, kiln: &Kiln, schedule: &Schedule) -> insight::Forecast {
    let found_at = house.snapshots.borrow().as_ref().and_then(|snapshot| snapshot.decision.chamber);
    let start = found_at.unwrap_or_else(|| plant::ambient(&house.kiln));
    insight::forecast(kiln, &schedule.programme, start)
}

/// When the schedule is over; `None` when the kiln stalls on the way.
fn ends(forecast: &insight::Forecast) -> Option<Millis> {
    forecast.stall(0).is_none().then_some(forecast.duration)
}

fn entry(file: &str, checked: &Checked<Schedule>, forecast: &insight::Forecast) -> ScheduleEntry {
    let schedule = &checked.value;
    ScheduleEntry {
        file: file.to_owned(),
        title: Some(schedule.title.clone()),
        cone: schedule.aim.map(|cone| cone.to_string()),
        scale: Some(schedule.scale.name()),
        segments: schedule.segments.len(),
        hottest_c: schedule.programme.hottest().map(Celsius::c),
        duration_s: ends(forecast).map(Millis::seconds),
        problems: Vec::new(),
        notes: problems_of(&checked.source, &checked.notes),
    }
}

fn unusable(file: &str, cause: &ShelfError) -> ScheduleEntry {
    let problems = match cause {
        ShelfError::Load(LoadError::Refused(refused)) => problems_of(refused.source(), refused.problems()),
        ShelfError::Load(_) | ShelfError::BadName(_) | ShelfError::Missing(_) => vec![FileProblem {
            file: file.to_owned(),
            line: 1,
            column: 1,
            text: String::new(),
            message: cause.to_string(),
            fix: "see that the file can be read".to_owned(),
            weight: Weight::Error.name(),
        }],
    };
    ScheduleEntry {
        file: file.to_owned(),
        title: None,
        cone: None,
        scale: None,
        segments: 0,
        hottest_c: None,
        duration_s: None,
        problems,
        notes: Vec::new(),
    }
}

/// Errors or remarks with their places.
pub(super) fn problems_of(source: &Source, problems: &[Problem]) -> Vec<FileProblem> {
    problems
        .iter()
        .map(|problem| {
            let place = source.place(problem.span().start);
            FileProblem {
                // The file's name, not where on this computer it lies.
                file: source.name().rsplit('/').next().unwrap_or_default().to_owned(),
                line: place.line,
                column: place.column,
                text: source.text().get(problem.span()).unwrap_or_default().to_owned(),
                message: problem.wrong().to_owned(),
                fix: problem.right().to_owned(),
                weight: problem.weight().name(),
            }
        })
        .collect()
}

/// The forecast's plan as a curve; where nothing is planned, the kiln's own fall. Where the kiln
/// stalls, the plan ends.
pub(super) fn planned(forecast: &insight::Forecast) -> Planned {
    let stalled = forecast.stall(0).and_then(|(number, _)| forecast.segments.get(number));
    let ends = stalled.map_or(forecast.duration, |segment| segment.arrives);
    let points = forecast.points.iter().filter(|point| point.at <= ends);
    let (t_s, setpoint_c) =
        points.map(|point| (point.at.seconds(), tenth(point.planned.unwrap_or(point.expected).c()))).unzip();
    Planned { t_s, setpoint_c, band_c: None }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn told(forecast: &insight::Forecast, known: &Known, schedule: &Schedule, kiln: &KilnFile) -> Forecast {
    let energy_kwh = forecast.energy.j() / 3.6e6;
    let mut notes = Vec::new();
    for ((number, segment), planned) in (1..).zip(&forecast.segments).zip(&schedule.segments) {
        notes.extend(falls_short(number, segment.arrival, schedule.scale));
        if let control::Segment::Climb { target: Target::Cone { cone, .. }, .. } = planned.segment {
            notes.push(format!("Segment {number} ends when the heat-work says cone {cone}."));
        }
    }
    notes.extend(known.trouble());
    Forecast {
        heating_ends_s: ends(forecast).map(|_| forecast.end_of_heating.seconds()),
        cool_enough_s: ends(forecast).and(forecast.opens).map(Millis::seconds),
        energy_kwh: tenth(energy_kwh),
        cost: kiln
            .tariff
            .as_ref()
            .map(|tariff| format!("{:.2} {}", energy_kwh * tariff.per_kwh, tariff.currency)),
        by: known.name(),
        notes,
    }
}
