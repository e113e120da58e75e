//! Who is asking, and whether they may: the one place where that is decided.
//!
//! For now the page is served to this computer alone, and whoever sits at it may do everything.
//! Even so a web page from elsewhere, open in a browser here, could send requests: it is kept out
//! by Host (against names rebound to this address), Origin (against cross-site requests) and the
//! kind of body (a form cannot send JSON) (SR-42).

use axum::extract::{FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::error::{self, Refusal};

/// Somebody who may watch and give orders. A route that changes anything takes one as its witness.
#[derive(Clone, Copy, Debug)]
pub(super) struct Caller(());

impl<S: Sync> FromRequestParts<S> for Caller {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, Refusal> {
        let admitted = parts.extensions.get::<Self>().copied();
        admitted.ok_or(Refusal::new(StatusCode::FORBIDDEN, "Nobody has said who is asking."))
    }
}

/// Lets a request in, or tells why not. Everything that goes out carries the page's policy.
pub(super) async fn admit(mut request: Request, next: Next) -> Response {
    let mut response = match judge(request.method(), request.headers()) {
        Ok(caller) => {
            request.extensions_mut().insert(caller);
            error::in_words(next.run(request).await)
        }
        Err(refusal) => refusal.into_response(),
    };
    for (name, value) in POLICY {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

const POLICY: [(HeaderName, &str); 4] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::X_FRAME_OPTIONS, "DENY"),
];

fn judge(method: &Method, headers: &HeaderMap) -> Result<Caller, Refusal> {
    let host = only(headers, &header::HOST).unwrap_or_default();
    if !is_this_computer(host) {
        return Err(Refusal::new(
            StatusCode::FORBIDDEN,
            "This page is served to this computer alone, under its own name.",
        ));
    }
    if headers.contains_key(header::ORIGIN) && !is_own_origin(only(headers, &header::ORIGIN), host) {
        return Err(Refusal::new(StatusCode::FORBIDDEN, "A page from elsewhere may not use this kiln."));
    }
    match *method {
        Method::GET | Method::HEAD => {}
        Method::POST if is_json(headers) => {}
        Method::POST => {
            return Err(Refusal::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "Send it as application/json."));
        }
        _ => return Err(Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "Only GET and POST are understood.")),
    }
    Ok(Caller(()))
}

/// A header that is there exactly once.
fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    match (values.next(), values.next()) {
        (Some(value), None) => value.to_str().ok(),
        (_, _) => None,
    }
}

/// A name that always means this computer, with or without a port.
fn is_this_computer(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_digit()) => name,
        Some(_) | None => host,
    };
    name.eq_ignore_ascii_case("localhost")
        || name == "[::1]"
        || name.parse::<std::net::Ipv4Addr>().is_ok_and(|address| address.is_loopback())
}

fn is_own_origin(origin: Option<&str>, host: &str) -> bool {
    origin
        .and_then(|origin| origin.strip_prefix("http://"))
        .is_some_and(|from| from.eq_ignore_ascii_case(host))
}

fn is_json(headers: &HeaderMap) -> bool {
    only(headers, &header::CONTENT_TYPE)
        .and_then(|kind| kind.split(';').next())
        .is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/json"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        let pair = |(name, value): &(&'static str, &'static str)| {
            (HeaderName::from_static(name), HeaderValue::from_static(value))
        };
        pairs.iter().map(pair).collect()
    }

    fn status(method: &Method, pairs: &[(&'static str, &'static str)]) -> StatusCode {
        judge(method, &headers(pairs)).map_or_else(|refusal| refusal.status(), |_| StatusCode::OK)
    }

    #[test]
    fn sr_42_names_of_this_computer_are_let_in() {
        for host in ["localhost", "localhost:8471", "127.0.0.1:8471", "[::1]:8471", "127.8.9.1", "LocalHost"]
        {
            assert_eq!(status(&Method::GET, &[("host", host)]), StatusCode::OK, "{host}");
        }
    }

    #[test]
    fn sr_42_a_rebound_or_missing_host_changes_nothing() {
        for host in
            ["evil.example", "evil.example:8471", "localhost.evil.example", "10.0.0.7:8471", "", "[::2]"]
        {
            assert_eq!(status(&Method::GET, &[("host", host)]), StatusCode::FORBIDDEN, "{host}");
        }
        assert_eq!(status(&Method::GET, &[]), StatusCode::FORBIDDEN);
        let twice = [("host", "localhost"), ("host", "localhost")];
        let mut doubled = HeaderMap::new();
        for (name, value) in twice {
            doubled.append(HeaderName::from_static(name), HeaderValue::from_static(value));
        }
        assert!(judge(&Method::GET, &doubled).is_err());
    }

    #[test]
    fn sr_42_a_foreign_origin_changes_nothing() {
        let json = ("content-type", "application/json");
        for origin in ["http://evil.example", "https://localhost:8471", "http://localhost:1", "null"] {
            let pairs = [("host", "localhost:8471"), ("origin", origin), json];
            assert_eq!(status(&Method::POST, &pairs), StatusCode::FORBIDDEN, "{origin}");
        }
        let own = [("host", "localhost:8471"), ("origin", "http://localhost:8471"), json];
        assert_eq!(status(&Method::POST, &own), StatusCode::OK);
    }

    #[test]
    fn sr_42_a_form_cannot_give_orders() {
        for kind in ["application/x-www-form-urlencoded", "text/plain", "text/plain; application/json"] {
            let pairs = [("host", "localhost"), ("content-type", kind)];
            assert_eq!(status(&Method::POST, &pairs), StatusCode::UNSUPPORTED_MEDIA_TYPE, "{kind}");
        }
        let good = [("host", "localhost"), ("content-type", "application/json; charset=utf-8")];
        assert_eq!(status(&Method::POST, &good), StatusCode::OK);
        assert_eq!(status(&Method::DELETE, &good), StatusCode::METHOD_NOT_ALLOWED);
    }
}
