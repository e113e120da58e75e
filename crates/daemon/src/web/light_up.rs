//! Light-up and its checklist.

use std::sync::Arc;

use axum::Json;
use axum::extract::State as From;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use axum::response::Response;
use pyrometry::units::Millis;

use super::caller::Caller;
use super::error::{Refusal, answer};
use super::schedules::problems_of;
use super::{Check, LightUpAsked, Lit, Problems, State};
use crate::lighting::{self, CHECKLIST, NotLit};

/// The longest a firing may be set ahead: over a weekend (engineering judgement: nobody knows
/// longer ahead that somebody will be within call).
const DELAY_MINUTES_MOST: u16 = 72 * 60;

pub(super) async fn checklist(_caller: Caller) -> Json<[Check; 5]> {
    Json(CHECKLIST)
}

pub(super) async fn post(
    _caller: Caller,
    From(house): State,
    asked: Result<Json<LightUpAsked>, JsonRejection>,
) -> Result<Response, Refusal> {
    let Json(asked) = asked?;
    if asked.delay_minutes > DELAY_MINUTES_MOST {
        return Err(Refusal::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "A firing can be set at most 72 hours ahead.",
        ));
    }
    let missing = lighting::missing(&asked.confirmed);
    if !missing.is_empty() {
        return Ok(not_lit(NotLit::Unconfirmed(missing)));
    }
    let delay = Millis::from_minutes(u64::from(asked.delay_minutes));
    let lighting_house = Arc::clone(&house);
    let lit = tokio::task::spawn_blocking(move || match &asked.edition {
        Some(seen) => lighting::light_as_seen(&lighting_house, &asked.schedule, seen, delay),
        None => lighting::light(&lighting_house, &asked.schedule, delay),
    });
    Ok(match lit.await? {
        Ok(firing) => answer(StatusCode::OK, Lit { firing }),
        Err(why) => not_lit(why),
    })
}

fn not_lit(cause: NotLit) -> Response {
    let why = cause.to_string();
    match cause {
        NotLit::Problems(refused) => answer(
            StatusCode::UNPROCESSABLE_ENTITY,
            Problems { problems: problems_of(refused.source(), refused.problems()) },
        ),
        NotLit::NoSchedule(_) => answer(StatusCode::NOT_FOUND, super::Why { why }),
        NotLit::Unconfirmed(missing) => answer(StatusCode::CONFLICT, super::NotLit { why, missing }),
        NotLit::Changed | NotLit::NotNow(_) => {
            answer(StatusCode::CONFLICT, super::NotLit { why, missing: Vec::new() })
        }
        NotLit::NoRecord(_) => {
            tracing::error!("{why}");
            answer(StatusCode::CONFLICT, super::NotLit { why, missing: Vec::new() })
        }
    }
}
