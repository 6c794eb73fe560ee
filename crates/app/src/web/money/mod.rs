//! Money: invoices of visits, what is paid, and the day book.

mod page;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of the money.
pub fn routes() -> Pages {
    Pages::new()
        .route("/money", get(page::show))
        .route("/money/payment", post(page::payment))
        .route("/visits/{id}/invoice", post(page::invoice))
}
