//! What stands before every page: who may ask, and what the browser is told.
//!
//! The server listens on this machine only, yet any page open in its browser can
//! send requests to it. So a request must name this server as its host (a
//! foreign name that was made to point here is refused), and a change must come
//! from a page of ours.

use super::page::Trouble;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Instant;
use uuid::Uuid;

/// The names under which this server may be asked.
#[derive(Debug, Clone)]
pub struct Hosts(Arc<Vec<String>>);

impl Hosts {
    /// The names of a server that listens on `address`.
    #[must_use]
    pub fn of(address: SocketAddr) -> Self {
        let port = address.port();
        Self(Arc::new(vec![format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("[::1]:{port}"), address.to_string()]))
    }

    fn holds(&self, host: &str) -> bool {
        self.0.iter().any(|known| known.eq_ignore_ascii_case(host))
    }
}

/// Only what we serve ourselves runs or is drawn; nothing may frame us.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; \
     connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const HEADERS: &[(&str, &str)] = &[
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-frame-options", "DENY"),
    ("permissions-policy", "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()"),
];

/// Lets a request in, or refuses it; dresses every answer, and notes what was
/// done or went wrong.
pub async fn stand(State(hosts): State<Hosts>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let (method, reads) = (verb(request.method()), matches!(*request.method(), Method::GET | Method::HEAD));
    let path = noted_path(request.extensions().get::<MatchedPath>().map(MatchedPath::as_str), request.uri().path());
    let carried = carries_no_client(request.uri().path());
    let mut response = match refusal(&hosts, request.method(), request.headers()) {
        Some(why) => (StatusCode::FORBIDDEN, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], why).into_response(),
        None => next.run(request).await,
    };
    if response.status() == StatusCode::SERVICE_UNAVAILABLE {
        response = Trouble::Late.into_response();
    }
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        if !headers.contains_key(*name) {
            headers.insert(*name, HeaderValue::from_static(value));
        }
    }
    if !carried || !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    let (status, ms) = (response.status(), u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX));
    if status.is_server_error() {
        tracing::error!(verb = method, path, status = status.as_u16(), ms, "not answered");
    } else if !reads || status.is_client_error() {
        tracing::info!(verb = method, path, status = status.as_u16(), ms, "asked");
    }
    response
}

/// Whether an address gives out only what every salon's program carries; all
/// else is not to be kept by the browser, whatever a page says of itself.
fn carries_no_client(path: &str) -> bool {
    path.starts_with("/assets/") || path == "/mark.svg"
}

/// A request's verb; one that nobody knows might be anything and is not repeated.
fn verb(method: &Method) -> &'static str {
    const KNOWN: [&str; 7] = ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"];
    KNOWN.into_iter().find(|known| *known == method.as_str()).unwrap_or("another")
}

/// An address as it may be noted: the page's, with ids where it has them, and
/// nothing else of what was asked.
fn noted_path(page: Option<&str>, path: &str) -> String {
    let Some(page) = page else { return "unknown".to_owned() };
    let noted = |(ours, theirs): (&str, &str)| {
        if ours.starts_with('{') && Uuid::try_parse(theirs).is_ok() { theirs.to_owned() } else { ours.to_owned() }
    };
    page.split('/').zip(path.split('/')).map(noted).collect::<Vec<_>>().join("/")
}

/// Why a request is refused, or nothing.
fn refusal(hosts: &Hosts, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    let Some(host) = text("host").filter(|host| hosts.holds(host)) else {
        return Some("This address does not belong to this salon. Open the address that the program printed when it started.");
    };
    if matches!(*method, Method::GET | Method::HEAD) {
        return None;
    }
    let foreign = "This change did not come from a page of this salon, so nothing was done. Open the page itself and try again.";
    let from_our_page = match (text("sec-fetch-site"), text("origin")) {
        (Some(site), _) if site != "same-origin" => false,
        (_, Some(origin)) => origin.split_once("://").is_some_and(|(_, theirs)| theirs.eq_ignore_ascii_case(host)),
        (Some(_), None) => true,
        (None, None) => false,
    };
    (!from_our_page).then_some(foreign)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hosts() -> Hosts {
        Hosts::of("127.0.0.1:8686".parse().unwrap())
    }

    fn let_in(method: Method, headers: &[(&'static str, &'static str)]) -> bool {
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.insert(*name, HeaderValue::from_static(value));
        }
        refusal(&hosts(), &method, &map).is_none()
    }

    #[test]
    fn a_foreign_host_name_is_refused_even_for_reading() {
        assert!(let_in(Method::GET, &[("host", "127.0.0.1:8686")]));
        assert!(let_in(Method::GET, &[("host", "LOCALHOST:8686")]));
        assert!(!let_in(Method::GET, &[("host", "salon.example:8686")]));
        assert!(!let_in(Method::GET, &[("host", "127.0.0.1:80")]));
        assert!(!let_in(Method::GET, &[]));
    }

    #[test]
    fn an_address_is_noted_without_what_was_asked() {
        let id = "0190b7a0-0000-7000-8000-000000000001";
        assert_eq!(noted_path(Some("/clients/{id}"), &format!("/clients/{id}")), format!("/clients/{id}"));
        assert_eq!(noted_path(Some("/clients/{id}"), "/clients/Ilse"), "/clients/{id}");
        assert_eq!(noted_path(None, "/clients/Ilse/photo"), "unknown");
        assert_eq!(verb(&Method::from_bytes(b"ILSE").unwrap()), "another");
    }

    /// *Source*: key `owaspcsrf`: Sec-Fetch-Site first, Origin as the fallback,
    /// neither: refuse.
    #[test]
    fn a_change_must_come_from_our_own_page() {
        let host = ("host", "localhost:8686");
        for method in [Method::POST, Method::PUT, Method::DELETE, Method::PATCH] {
            assert!(let_in(method.clone(), &[host, ("sec-fetch-site", "same-origin"), ("origin", "http://localhost:8686")]));
            assert!(let_in(method.clone(), &[host, ("origin", "http://localhost:8686")]));
            assert!(!let_in(method.clone(), &[host]));
            assert!(!let_in(method.clone(), &[host, ("sec-fetch-site", "cross-site")]));
            assert!(!let_in(method.clone(), &[host, ("sec-fetch-site", "same-site"), ("origin", "http://localhost:8686")]));
            assert!(!let_in(method.clone(), &[host, ("sec-fetch-site", "none")]));
            assert!(!let_in(method.clone(), &[host, ("origin", "http://localhost:9999")]));
            assert!(!let_in(method.clone(), &[host, ("origin", "null")]));
            assert!(!let_in(method, &[("host", "evil.example"), ("origin", "http://evil.example")]));
        }
    }
}
