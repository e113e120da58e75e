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
use super::{House, OrderAnswer, OrderAsked, State};
use crate::run::{self, Ask};
use crate::words;

pub(super) async fn post(
    _caller: Caller,
    From(house): State,
    asked: Result<Json<OrderAsked>, JsonRejection>,
) -> Result<Response, Refusal> {
    let Json(OrderAsked { order }) = asked?;
    let order = Order::from(order);
    let outcome = if order == Order::ShutOff {
        let leaves_it_off = house.looks_at_a_firing();
        let obeyed = run::obeyed(house.snapshots.clone(), house.shut_off.press()).await;
        // No firing is under way, but one that was ended now stays so.
        if leaves_it_off { obeyed.map(|_| Outcome::Taken) } else { obeyed }
    } else {
        give(&house, order)?.await.ok()
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

fn give(house: &House, order: Order) -> Result<oneshot::Receiver<Outcome>, Refusal> {
    let (reply, replied) = oneshot::channel();
    match house.asks.try_send(Ask::Order(order, reply)) {
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
