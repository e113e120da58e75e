//! The door: takes connections, gives each the same short time to say what it wants.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};

use super::error::Refusal;
use super::lobby::{Guest, Lobby, Seat};
use super::{House, router};

/// How long a request's head may take, and how long its body: at this computer both come at once.
/// A connection kept open for a next request is given as long.
const PATIENCE: Duration = Duration::from_secs(10);
/// The largest request anybody needs to send.
const BODY_LARGEST: usize = 64 * 1024;
/// Between attempts where the system cannot give another connection.
const BREATH: Duration = Duration::from_millis(100);

/// Serves until dropped.
pub async fn serve(listener: TcpListener, house: Arc<House>) -> Infallible {
    let (lobby, router) = (Lobby::default(), router(house));
    loop {
        let stream = accept(&listener, &lobby).await;
        let seat = lobby.admit().await;
        tokio::spawn(talk(stream, seat, router.clone()));
    }
}

async fn accept(listener: &TcpListener, lobby: &Lobby) -> TcpStream {
    let mut told = false;
    loop {
        match listener.accept().await {
            Ok((stream, _)) => return stream,
            // Mostly too many open files: idle connections make room for one that asks.
            Err(why) => {
                if !told {
                    tracing::warn!(%why, "a connection could not be taken");
                }
                told = true;
                lobby.make_room();
                tokio::time::sleep(BREATH).await;
            }
        }
    }
}

async fn talk(stream: TcpStream, seat: Seat, router: Router) {
    let (guest, routes) = (seat.guest(), TowerToHyperService::new(router));
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(guest.clone());
        routes.call(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(PATIENCE)
        .serve_connection(TokioIo::new(stream), service);
    tokio::select! {
        ended = connection => if let Err(why) = ended {
            tracing::debug!(%why, "a connection broke");
        },
        () = seat.told_to_leave() => {}
    }
}

/// Takes the whole body before anything is done with a request.
pub(super) async fn take_whole(request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let guest = parts.extensions.get::<Guest>().cloned();
    let body = match tokio::time::timeout(PATIENCE, to_bytes(body, BODY_LARGEST)).await {
        Ok(Ok(body)) => body,
        Ok(Err(_)) => {
            return Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, "That is more than anybody needs to send.")
                .into_response();
        }
        Err(_) => {
            return Refusal::new(StatusCode::REQUEST_TIMEOUT, "The request did not come to its end.")
                .into_response();
        }
    };
    let _asking = guest.as_ref().map(Guest::ask);
    next.run(Request::from_parts(parts, Body::from(body))).await
}
