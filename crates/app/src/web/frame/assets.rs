//! What the pages carry: one script, one style sheet, the type. Embedded in the
//! shipped program; read from the checkout while it is being worked on.

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use paper::Fonts;
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "web/dist/"]
#[allow_missing = true]
struct Dist;

/// Whether the script and styles were built.
#[must_use]
pub fn are_there() -> bool {
    Dist::get("app.js").is_some() && Dist::get("style.css").is_some()
}

/// The bytes of one of the carried files.
#[must_use]
pub fn bytes(name: &str) -> Option<Vec<u8>> {
    Dist::get(name).map(|file| file.data.into_owned())
}

/// One of the carried files, by name.
pub async fn serve(Path(name): Path<String>, asked: HeaderMap) -> Response {
    let Some(file) = Dist::get(&name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let mark: String = file.metadata.sha256_hash().iter().take(12).map(|byte| format!("{byte:02x}")).collect();
    let mark = format!("\"{mark}\"");
    let known = asked.get(header::IF_NONE_MATCH).is_some_and(|theirs| theirs.as_bytes() == mark.as_bytes());
    let kind = file.metadata.mimetype().to_owned();
    let headers = [(header::CONTENT_TYPE, kind), (header::ETAG, mark), (header::CACHE_CONTROL, "no-cache".to_owned())];
    if known { (StatusCode::NOT_MODIFIED, headers).into_response() } else { (headers, file.data).into_response() }
}

/// The mark, as a picture of its own.
pub async fn mark() -> impl IntoResponse {
    let drawing =
        include_str!("mark.html").replacen("<svg ", "<svg xmlns=\"http://www.w3.org/2000/svg\" ", 1).replace("currentColor", "#2c5a50");
    ([(header::CONTENT_TYPE, "image/svg+xml")], drawing)
}

/// One of the pages' own files, as the papers use the same type.
#[must_use]
pub fn asset(name: &str) -> Option<Vec<u8>> {
    bytes(name)
}

/// The faces of the papers, from the pages' own assets where they were made.
#[must_use]
pub fn fonts() -> Fonts {
    match (asset("fonts/SourceSans3_400Regular.ttf"), asset("fonts/SourceSans3_600SemiBold.ttf")) {
        (Some(regular), Some(bold)) => Fonts { regular, bold },
        _ => Fonts::default(),
    }
}
