//! The day: who comes, who is due, what runs low, whether the records are safe.

mod page;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of the day.
pub fn routes() -> Pages {
    Pages::new()
        .route("/day", get(page::show))
        .route("/clients/{id}/book", post(page::book))
        .route("/appointments/{id}/move", post(page::shift))
        .route("/appointments/{id}/cancel", post(page::cancel))
}
