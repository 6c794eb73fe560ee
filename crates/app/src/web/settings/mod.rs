//! The salon's own settings: its name, pieces and prices, its stock, and what
//! showed at the chair.

mod page;
mod seen_bonds;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of settings.
pub fn routes() -> Pages {
    Pages::new()
        .route("/settings", get(page::show))
        .route("/settings/house", post(page::keep_house))
        .route("/settings/stock/import", post(page::import_stock))
        .route("/settings/stock.json", get(page::export_stock))
        .route("/settings/cover", post(seen_bonds::follow))
        .route("/plans/{id}/seen", post(seen_bonds::note))
}
