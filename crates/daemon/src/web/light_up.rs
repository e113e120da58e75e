//! Light-up, and what it asks.

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
use super::{LightUpAsked, LightUpAsks, Lit, OrderAnswer, Problems, ProvingFiring, State};
use crate::lighting::{self, By, NotLit, PROVING_ADVICE, Wanted};

/// The longest a firing may be set ahead: over a weekend (engineering judgement: nobody knows
/// longer ahead that somebody will be within call).
const DELAY_MINUTES_MOST: u16 = 72 * 60;

pub(super) async fn get(_caller: Caller, From(house): State) -> Result<Json<LightUpAsks>, Refusal> {
    let asks = tokio::task::spawn_blocking(move || {
        lighting::changes(&house).map(|changes| LightUpAsks {
            checklist: lighting::checklist(&house.kiln, &changes),
            proving: (!changes.proving.is_empty())
                .then(|| ProvingFiring { why: changes.proving.clone(), advice: PROVING_ADVICE }),
            switches: changes.switches,
        })
    });
    Ok(Json(asks.await??))
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
    let lighting_house = Arc::clone(&house);
    let lit = tokio::task::spawn_blocking(move || {
        let wanted = Wanted {
            file: &asked.schedule,
            edition: asked.edition.as_deref(),
            delay: Millis::from_minutes(u64::from(asked.delay_minutes)),
            by: By::Confirming(&asked.confirmed),
        };
        lighting::light(&lighting_house, &wanted)
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
        NotLit::Changed | NotLit::NotNow(_) | NotLit::Implausible(_) => {
            answer(StatusCode::CONFLICT, super::NotLit { why, missing: Vec::new() })
        }
        NotLit::NoRecord(_) => {
            tracing::error!("{why}");
            answer(StatusCode::CONFLICT, super::NotLit { why, missing: Vec::new() })
        }
    }
}

/// Presses the button of a simulated kiln, to which nobody can walk. A real one is pressed by hand.
pub(super) async fn press(_caller: Caller, From(house): State) -> Result<Json<OrderAnswer>, Refusal> {
    match &house.button {
        Some(button) => {
            button.press();
            Ok(Json(OrderAnswer { outcome: "taken", why: None }))
        }
        None => Err(Refusal::not_found("This kiln has no simulated button.".to_owned())),
    }
}
