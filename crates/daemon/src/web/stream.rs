//! Snapshots as they come: Server-Sent Events.

use std::convert::Infallible;
use std::time::Duration;

use axum::Extension;
use axum::extract::State as From;
use axum::http::StatusCode;
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive};
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};

use super::State;
use super::caller::Caller;
use super::error::Refusal;
use super::lobby::Guest;
use super::now::now;

/// At most two a second.
const APART: Duration = Duration::from_millis(500);
const KEEP_ALIVE: Duration = Duration::from_secs(15);
const RETRY: Duration = Duration::from_secs(2);

pub(super) async fn get(
    _caller: Caller,
    Extension(guest): Extension<Guest>,
    From(house): State,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Refusal> {
    let watching = guest.watch().ok_or(Refusal::new(
        StatusCode::SERVICE_UNAVAILABLE,
        "Too many pages follow this kiln already: close one.",
    ))?;
    // A watch holds the latest snapshot alone, so a slow browser skips, and delays nobody.
    let events = WatchStream::new(house.snapshots.clone()).throttle(APART).filter_map(move |snapshot| {
        watching.goes_on();
        let shown = now(&house, &*snapshot?);
        let event = Event::default().event("now").retry(RETRY).json_data(&shown);
        event.inspect_err(|why| tracing::error!(%why, "a snapshot cannot be written")).ok().map(Ok)
    });
    Ok(Sse::new(events).keep_alive(KeepAlive::new().interval(KEEP_ALIVE)))
}
