//! Her visits: begun, done step by step, closed; and each piece's life.

mod doing;
mod list;
mod piece;
pub mod view;
mod visit;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of visits and pieces.
pub fn routes() -> Pages {
    Pages::new()
        .route("/clients/{id}/visits", get(list::show).post(list::begin))
        .route("/visits/{id}", get(visit::show))
        .route("/visits/{id}/step", post(doing::step))
        .route("/visits/{id}/tape", post(doing::tape_all))
        .route("/visits/{id}/close", post(doing::close))
        .route("/pieces/{id}", get(piece::show))
}
