//! Clients: the list, the form of one client's facts, and the fields it asks.

pub mod answers;
pub mod check;
pub mod clients;
pub mod fields;
pub mod form;
mod list;
pub mod names;
pub mod sent;
pub mod view;

use super::frame::routes::Pages;
use axum::routing::get;

/// The pages of clients.
pub fn routes() -> Pages {
    Pages::new()
        .route("/clients", get(list::list).post(clients::add))
        .route("/clients/new", get(clients::new))
        .route("/clients/search", get(list::to_the_list).post(list::search))
        .route("/clients/{id}", get(clients::show).post(clients::change))
        .route("/clients/{id}/client.toml", get(clients::as_file))
}
