//! A plan: making it, looking at it, asking it, setting it by hand, its papers.

pub mod held;
mod hiding;
pub mod making;
pub mod model;
mod moving;
pub mod plans;
mod turning;
mod view;
pub mod ways;
mod what_if;
mod why_not;

use super::frame::routes::Pages;
use axum::routing::{get, post};

/// The pages of a plan.
pub fn routes() -> Pages {
    Pages::new()
        .route("/clients/{id}/plans", post(plans::make))
        .route("/making/{job}", get(plans::waiting))
        .route("/plans/{id}", get(plans::show))
        .route("/plans/{id}/placed", post(plans::placed))
        .route("/plans/{id}/papers/{name}", get(plans::paper))
        .route("/plans/{id}/head", get(turning::scene))
        .route("/plans/{id}/head/{style}", get(hiding::style))
        .route("/plans/{id}/hidden/{style}", get(hiding::drawing))
        .route("/plans/{id}/judge", post(moving::judge))
        .route("/plans/{id}/why-not", post(why_not::answer))
        .route("/plans/{id}/ways", get(ways::show).post(ways::take))
        .route("/plans/{id}/moves", post(moving::keep))
        .route("/plans/{id}/what-if", post(what_if::compare))
        .route("/plans/{id}/what-if/keep", post(what_if::keep))
}
