//! Orders to the firing under way.

use std::sync::mpsc::TrySendError;

use axum::Json;
use axum::extract::State as From;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use axum::response::Response;
use control::{Order, Outcome, Phase};
use tokio::sync::oneshot;

use super::caller::Caller;
use super::error::{Refusal, answer};
use super::{Asked, House, OrderAnswer, OrderAsked, State};
use crate::run::{self, Answer, Ask, Silenced};
use crate::words;

pub(super) async fn post(
    _caller: Caller,
    From(house): State,
    asked: Result<Json<OrderAsked>, JsonRejection>,
) -> Result<Response, Refusal> {
    let Json(OrderAsked { order }) = asked?;
    let order = match order {
        Asked::Firing(order) => Order::from(order),
        Asked::Silence => return silence(&house).await,
    };
    let outcome = if order == Order::ShutOff {
        let leaves_it_off = house.looks_at_a_firing();
        let obeyed = run::obeyed(house.snapshots.clone(), house.shut_off.press()).await;
        // No firing is under way, but one that was ended now stays so.
        if leaves_it_off { obeyed.map(|_| Outcome::Taken) } else { obeyed }
    } else {
        ask(&house, |reply| Ask::Order(order, reply))?.await.ok()
    };
    match outcome {
        Some(Outcome::Taken) => Ok(answer(StatusCode::OK, OrderAnswer { outcome: "taken", why: None })),
        Some(Outcome::Refused(why)) => {
            let phase = house.snapshots.borrow().as_ref().map_or(Phase::Resting, |seen| seen.decision.phase);
            let why = Some(words::refusal(why, phase));
            Ok(answer(StatusCode::CONFLICT, OrderAnswer { outcome: "refused", why }))
        }
        None => Err(gone()),
    }
}

async fn silence(house: &House) -> Result<Response, Refusal> {
    match ask(house, Ask::Silence)?.await {
        Ok(Silenced::Quiet) => {
            tracing::info!("somebody silenced the buzzer");
            Ok(answer(StatusCode::OK, OrderAnswer { outcome: "taken", why: None }))
        }
        Ok(Silenced::DidNotSound) => {
            let why = Some("No buzzer sounds.".to_owned());
            Ok(answer(StatusCode::CONFLICT, OrderAnswer { outcome: "refused", why }))
        }
        Err(_) => Err(gone()),
    }
}

/// Asks the control thread; gives where the answer comes.
fn ask<T>(house: &House, asked: impl FnOnce(Answer<T>) -> Ask) -> Result<oneshot::Receiver<T>, Refusal> {
    let (reply, replied) = oneshot::channel();
    match house.asks.try_send(asked(reply)) {
        Ok(()) => Ok(replied),
        Err(TrySendError::Full(_)) => {
            Err(Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "Too many orders at once; try again."))
        }
        Err(TrySendError::Disconnected(_)) => Err(gone()),
    }
}

fn gone() -> Refusal {
    Refusal::new(
        StatusCode::SERVICE_UNAVAILABLE,
        "The control loop has ended; all heat is off. If in doubt, use the isolator at the kiln.",
    )
}
