//! The records, for the owner: whether they are backed up, and erasing a client.

mod page;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of the records.
pub fn routes() -> Pages {
    Pages::new()
        .route("/settings/records", get(page::show))
        .route("/settings/records/backup", post(page::back_up))
        .route("/clients/{id}/erase", get(page::ask_to_erase).post(page::erase))
}
