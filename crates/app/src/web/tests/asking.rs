//! Pages asked as a browser would ask them, without a network: for tests.

use crate::web::{AppState, router};
use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::http::{HeaderMap, Method, Request, StatusCode};
use desk::{Place, Salon};
use std::net::SocketAddr;
use tempfile::TempDir;
use tower::ServiceExt;

/// A salon of its own and its pages.
pub struct Asking {
    app: AppState,
    pages: Router,
    place: TempDir,
}

/// An answer, whole.
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub bytes: Bytes,
}

const ADDRESS: &str = "127.0.0.1:8686";

impl Asking {
    /// A new salon with nothing in it.
    pub async fn new() -> Self {
        let place = tempfile::tempdir().unwrap();
        let salon = Salon::begin(&Place::Folder(place.path().to_owned()), None).await.unwrap().salon;
        Self::over(salon, place)
    }

    /// A salon that is there already.
    pub fn over(salon: Salon, place: TempDir) -> Self {
        let app = AppState::of(salon);
        let pages = router(app.clone(), ADDRESS.parse::<SocketAddr>().unwrap());
        Self { app, pages, place }
    }

    pub fn app(&self) -> &AppState {
        &self.app
    }

    pub fn folder(&self) -> &std::path::Path {
        self.place.path()
    }

    pub async fn ask(&self, method: Method, path: &str, kind: &str, body: impl Into<Body>) -> Answer {
        let mut asked = Request::builder().method(method).uri(path).header("host", ADDRESS).header("origin", format!("http://{ADDRESS}"));
        if !kind.is_empty() {
            asked = asked.header("content-type", kind);
        }
        let answer = self.pages.clone().oneshot(asked.body(body.into()).unwrap()).await.unwrap();
        let (parts, body) = answer.into_parts();
        Answer { status: parts.status, headers: parts.headers, bytes: to_bytes(body, usize::MAX).await.unwrap() }
    }

    pub async fn get(&self, path: &str) -> (u16, String) {
        self.ask(Method::GET, path, "", Body::empty()).await.told()
    }

    pub async fn post(&self, path: &str, pairs: &[(&str, &str)]) -> (u16, String) {
        self.send(path, pairs).await.told()
    }

    /// As a form is sent.
    pub async fn send(&self, path: &str, pairs: &[(&str, &str)]) -> Answer {
        self.ask(Method::POST, path, "application/x-www-form-urlencoded", form(pairs)).await
    }

    /// As a form with a file is sent.
    pub async fn send_file(&self, path: &str, pairs: &[(&str, &str)], file: &str) -> (u16, String) {
        let mut body = String::new();
        for (name, value) in pairs {
            body += &format!("--edge\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        }
        body += &format!("--edge\r\ncontent-disposition: form-data; name=\"file\"; filename=\"f\"\r\n\r\n{file}\r\n--edge--\r\n");
        self.ask(Method::POST, path, "multipart/form-data; boundary=edge", body).await.told()
    }
}

impl Answer {
    pub fn told(self) -> (u16, String) {
        (self.status.as_u16(), String::from_utf8_lossy(&self.bytes).into_owned())
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or("")
    }
}

/// Pairs as a form's body; every byte that is no letter or digit is escaped.
pub fn form(pairs: &[(&str, &str)]) -> String {
    let escaped = |text: &str| {
        text.bytes().map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") }).collect::<String>()
    };
    pairs.iter().map(|(name, value)| format!("{}={}", escaped(name), escaped(value))).collect::<Vec<_>>().join("&")
}

/// A client who was added, and her page.
pub async fn added(asking: &Asking, pairs: &[(&str, &str)]) -> String {
    let all = [pairs, &[("consent.health", "true"), ("all_here", "yes")]].concat();
    let answer = asking.send("/clients", &all).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    answer.header("location").split('?').next().unwrap().to_owned()
}
