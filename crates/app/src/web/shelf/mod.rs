//! The shelf: what lies there, packs that came in, their labels, and counting.

mod packs;
mod page;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of the shelf.
pub fn routes() -> Pages {
    Pages::new()
        .route("/shelf", get(page::show))
        .route("/shelf/receive", post(page::receive))
        .route("/shelf/count", post(page::count))
        .route("/shelf/packs", get(packs::show_all))
        .route("/shelf/packs/{number}", get(packs::show))
        .route("/shelf/labels", post(packs::pack_labels))
        .route("/shelf/read", post(packs::read))
        .route("/clients/{id}/label.pdf", get(packs::bag_label))
}
