//! The page itself: embedded in the program, no resource from elsewhere.

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::caller::Caller;
use super::error::Refusal;

struct Asset {
    name: &'static str,
    kind: &'static str,
    body: &'static [u8],
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

macro_rules! assets {
    ($($name:literal as $kind:expr),* $(,)?) => {
        &[$(Asset { name: $name, kind: $kind, body: include_bytes!(concat!("../../assets/", $name)) }),*]
    };
}

const ASSETS: &[Asset] = assets!(
    "page.html" as "text/html; charset=utf-8",
    "page.css" as "text/css; charset=utf-8",
    "icon.svg" as "image/svg+xml",
    "bar.js" as SCRIPT,
    "chart.js" as SCRIPT,
    "cones.js" as SCRIPT,
    "dom.js" as SCRIPT,
    "light-up.js" as SCRIPT,
    "light-up-asks.js" as SCRIPT,
    "live-curve.js" as SCRIPT,
    "net.js" as SCRIPT,
    "now.js" as SCRIPT,
    "orders.js" as SCRIPT,
    "page.js" as SCRIPT,
    "past.js" as SCRIPT,
    "scale.js" as SCRIPT,
    "strips.js" as SCRIPT,
    "words.js" as SCRIPT,
);

pub(super) async fn document(_caller: Caller, headers: HeaderMap) -> Response {
    serve("page.html", &headers)
}

pub(super) async fn asset(_caller: Caller, Path(name): Path<String>, headers: HeaderMap) -> Response {
    serve(&name, &headers)
}

fn serve(name: &str, headers: &HeaderMap) -> Response {
    let Some(asset) = ASSETS.iter().find(|asset| asset.name == name) else {
        return Refusal::not_found("There is no such page.").into_response();
    };
    let tag = format!("\"{:08x}\"", checksum(asset.body));
    let known = headers.get(header::IF_NONE_MATCH).is_some_and(|seen| seen.as_bytes() == tag.as_bytes());
    let cached = [(header::ETAG, tag), (header::CACHE_CONTROL, "no-cache".to_owned())];
    if known {
        return (StatusCode::NOT_MODIFIED, cached).into_response();
    }
    (cached, [(header::CONTENT_TYPE, asset.kind)], asset.body).into_response()
}

/// A new version of a file gets a new tag.
fn checksum(body: &[u8]) -> u32 {
    let mut crc = flate2::Crc::new();
    crc.update(body);
    crc.sum()
}
