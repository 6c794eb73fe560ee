//! The consultation: one part a screen, what follows from it, what she signs and takes along.

mod agreeing;
mod consents;
mod outcome;
mod part;
mod saving;
mod talk;
mod words;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of a consultation.
pub fn routes() -> Pages {
    Pages::new()
        .route("/clients/consultation", post(part::begin))
        .route("/clients/{id}/consultation", get(part::go_on))
        .route("/clients/{id}/consultation/agree", post(agreeing::of_health))
        .route("/clients/{id}/consultation/outcome", get(outcome::show))
        .route("/clients/{id}/consultation/letter", post(outcome::letter))
        .route("/clients/{id}/consultation/copy", get(outcome::copy))
        .route("/clients/{id}/consultation/{part}", get(part::show).post(saving::save))
        .route("/clients/{id}/consultation/{part}/draft", post(saving::draft))
}
