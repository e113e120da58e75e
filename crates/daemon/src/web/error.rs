//! Errors as people read them: `{"why": "…"}` with a fitting status.

use axum::Json;
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use super::Why;
use crate::store::StoreError;

/// A request that was not done.
#[derive(Debug)]
pub(super) struct Refusal {
    status: StatusCode,
    why: String,
}

impl Refusal {
    pub(super) fn new(status: StatusCode, why: impl Into<String>) -> Self {
        Self { status, why: why.into() }
    }

    pub(super) fn not_found(why: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, why)
    }

    /// Something of ours failed: the log has the detail, the page the outcome.
    pub(super) fn ours(why: &'static str, cause: &dyn std::fmt::Display) -> Self {
        tracing::error!(%cause, "{why}");
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, why)
    }

    #[cfg(test)]
    pub(super) fn status(&self) -> StatusCode {
        self.status
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(Why { why: self.why })).into_response()
    }
}

impl From<StoreError> for Refusal {
    fn from(cause: StoreError) -> Self {
        Self::ours("The logbook or a trace cannot be read.", &cause)
    }
}

impl From<tokio::task::JoinError> for Refusal {
    fn from(cause: tokio::task::JoinError) -> Self {
        Self::ours("The answer could not be made.", &cause)
    }
}

impl From<JsonRejection> for Refusal {
    fn from(cause: JsonRejection) -> Self {
        Self::new(cause.status(), format!("That request cannot be understood. {}.", cause.body_text()))
    }
}

impl From<QueryRejection> for Refusal {
    fn from(cause: QueryRejection) -> Self {
        Self::new(cause.status(), format!("That address cannot be understood. {}.", cause.body_text()))
    }
}

/// What the router refuses by itself, in words and JSON like everything else.
pub(super) fn in_words(response: Response) -> Response {
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE);
    let ours = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"application/json"));
    if ours || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let why = match status {
        StatusCode::BAD_REQUEST => "That address cannot be understood.",
        StatusCode::METHOD_NOT_ALLOWED => "That address is there, but not for this kind of request.",
        _ => "That could not be done.",
    };
    let mut answer = Refusal::new(status, why).into_response();
    if let Some(allowed) = response.headers().get(header::ALLOW) {
        answer.headers_mut().insert(header::ALLOW, allowed.clone());
    }
    answer
}

/// A JSON body that is refused in our own words.
pub(super) fn answer(status: StatusCode, body: impl Serialize) -> Response {
    (status, Json(body)).into_response()
}

pub(super) async fn no_such_page() -> Refusal {
    Refusal::not_found("There is no such page.")
}
