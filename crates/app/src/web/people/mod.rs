//! Who somebody is: how she is reached, which records are hers, and people from a file.

pub mod contact;
pub mod import;
pub mod merge;
pub mod set_aside;

use super::frame::routes::Pages;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// The largest file of contacts that is taken in, pictures in it included.
const MOST_FILE_BYTES: usize = 16 * 1024 * 1024;

/// The pages of people.
pub fn routes() -> Pages {
    let files = || DefaultBodyLimit::max(MOST_FILE_BYTES);
    Pages::new()
        .route("/clients/import", get(import::start).post(import::preview).layer(files()))
        .route("/clients/import/keep", post(import::keep).layer(files()))
        .route("/clients/{id}/contact", get(contact::show).post(contact::keep))
        .route("/clients/{id}/contact.vcf", get(contact::as_card))
        .route("/clients/{id}/merge", get(merge::show).post(merge::say))
        .route("/clients/{id}/part", post(set_aside::part))
}
