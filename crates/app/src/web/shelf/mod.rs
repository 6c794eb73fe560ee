//! The shelf: what lies there, packs that came in, and counting.

mod page;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of the shelf.
pub fn routes() -> Pages {
    Pages::new().route("/shelf", get(page::show)).route("/shelf/receive", post(page::receive)).route("/shelf/count", post(page::count))
}
