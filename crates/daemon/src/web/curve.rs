//! The curve of a firing, brought to what a screen can show.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Json;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query, State as From};
use axum::http::StatusCode;
use control::{Kiln, Phase};
use pyrometry::units::Millis;
use serde::Deserialize;
use trace::wire::Name;
use trace::{Column, Curve, PhaseSpan, TraceReader, decimate};

use super::caller::Caller;
use super::error::Refusal;
use super::schedules::planned;
use super::{CurveDrawn, House, Planned, State};
use crate::store::{DataFolder, StoreError};

/// No screen is wider in points that matter.
const COLUMNS_MOST: usize = 4000;
/// The schedule's clock waits beyond this distance from the plan (DESIGN: ±8 °C).
const BAND_C: f64 = 8.0;

/// Curves of past firings kept in memory: to look around in one, its trace is read once. Each of
/// fourteen hours takes 1.2 MB.
const CURVES_KEPT: usize = 3;

/// The curves of past firings that were last looked at.
#[derive(Debug, Default)]
pub struct PastCurves(Mutex<VecDeque<Arc<Past>>>);

#[derive(Debug)]
struct Past {
    id: i64,
    curve: Curve,
    plan: Option<Planned>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    columns: Option<usize>,
    from_s: Option<f32>,
    to_s: Option<f32>,
}

pub(super) async fn get(
    _caller: Caller,
    From(house): State,
    Path(id): Path<String>,
    wanted: Result<Query<Wanted>, QueryRejection>,
) -> Result<Json<CurveDrawn>, Refusal> {
    let Query(wanted) = wanted?;
    Ok(Json(tokio::task::spawn_blocking(move || draw(&house, &id, &wanted)).await??))
}

fn draw(house: &House, id: &str, wanted: &Wanted) -> Result<CurveDrawn, Refusal> {
    let live = house.curve.read().unwrap_or_else(PoisonError::into_inner);
    let live_id = live.as_ref().map(|(id, _)| *id);
    let id = match (id, live_id) {
        ("current", Some(id)) => id,
        ("current", None) => return Err(Refusal::not_found("No firing was lit since the program began.")),
        (number, _) => number.parse().map_err(|_| {
            Refusal::new(StatusCode::BAD_REQUEST, "A firing is named by its number, or current.")
        })?,
    };
    if let Some((_, curve)) = live.as_ref().filter(|_| live_id == Some(id)) {
        let plan = plan_of(house, id);
        return Ok(drawn(curve, wanted, plan));
    }
    drop(live);
    let past = past(house, id)?;
    Ok(drawn(&past.curve, wanted, past.plan.clone()))
}

/// The curve of a past firing, as far as possible from memory.
fn past(house: &House, id: i64) -> Result<Arc<Past>, Refusal> {
    let kept = || house.past_curves.0.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(past) = kept().iter().find(|past| past.id == id) {
        return Ok(Arc::clone(past));
    }
    if house.logbook.firing(id)?.is_none() {
        return Err(Refusal::not_found(format!("There is no firing {id} in the logbook.")));
    }
    let reader = TraceReader::open(&DataFolder::trace_found(&house.folder, id)).map_err(StoreError::from)?;
    let plan = plan_from_head(&reader);
    let curve = Curve::read(reader).map_err(StoreError::from)?;
    let past = Arc::new(Past { id, curve, plan });
    let mut kept = kept();
    kept.push_front(Arc::clone(&past));
    kept.truncate(CURVES_KEPT);
    Ok(past)
}

/// The plan of the firing under way, as it was forecast at light-up.
fn plan_of(house: &House, id: i64) -> Option<Planned> {
    let snapshot = house.snapshots.borrow().clone()?;
    let firing = snapshot.firing.as_ref().filter(|firing| firing.id == id)?;
    Some(plan_after(firing.delay, &firing.forecast))
}

/// The plan of a past firing, forecast again from what its trace says it was lit with.
fn plan_from_head(reader: &TraceReader<'_>) -> Option<Planned> {
    let setup = &reader.head().setup;
    let firing = setup.firing.as_ref()?;
    let room = pyrometry::constant!(pyrometry::units::Celsius, 20.0); // its first reading is not read yet; a usual room
    let kiln = Kiln { model: firing.learned.unwrap_or(setup.kiln.model), ..setup.kiln.clone() };
    let forecast = insight::forecast(&kiln, &firing.programme, room);
    Some(plan_after(firing.delay, &forecast))
}

/// The plan of a firing that begins after a delay.
fn plan_after(delay: Millis, forecast: &insight::Forecast) -> Planned {
    let mut plan = Planned { band_c: Some(BAND_C), ..planned(forecast) };
    for t_s in &mut plan.t_s {
        *t_s += delay.seconds();
    }
    plan
}

fn drawn(curve: &Curve, wanted: &Wanted, planned: Option<Planned>) -> CurveDrawn {
    let columns = wanted.columns.unwrap_or(600).clamp(1, COLUMNS_MOST);
    let (from_s, to_s) = (wanted.from_s.unwrap_or(0.0), wanted.to_s.unwrap_or(f32::INFINITY));
    let samples = curve.samples();
    let first = samples.partition_point(|sample| sample.at_s < from_s);
    let last = samples.partition_point(|sample| sample.at_s <= to_s);
    let shown = decimate(samples.get(first..last).unwrap_or_default(), columns);
    let mut drawn = CurveDrawn { planned: planned.unwrap_or_default(), ..CurveDrawn::default() };
    for column in &shown {
        push(&mut drawn, column, curve.phases());
    }
    drawn
}

fn push(drawn: &mut CurveDrawn, column: &Column, phases: &[PhaseSpan]) {
    let middle = |extremes: trace::Extremes| f32::midpoint(extremes.least, extremes.greatest);
    drawn.t_s.push(f32::midpoint(column.from_s, column.to_s));
    drawn.chamber_min_c.push(column.chamber_c.map(|chamber| chamber.least));
    drawn.chamber_max_c.push(column.chamber_c.map(|chamber| chamber.greatest));
    drawn.setpoint_c.push(column.setpoint_c.map(middle));
    drawn.duty.push(middle(column.duty));
    let at = phases.partition_point(|phase| phase.to_s < column.to_s);
    let phase = phases.get(at).map_or(Phase::Resting, |phase| phase.phase.0);
    drawn.phase.push(Name::name(phase));
}
