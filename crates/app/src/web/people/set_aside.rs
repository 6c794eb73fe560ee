//! A record that was set aside: what it says, where it leads, and the way back.

use crate::web::AppState;
use crate::web::client::names::display_name;
use crate::web::client::sent::OfClient;
use crate::web::frame::acting::{act, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::ClientId;
use measure::text::counted_or_no;
use serde_json::json;

#[derive(Template)]
#[template(path = "people/set_aside.html")]
struct SetAsidePage {
    shell: Shell,
    client: String,
    name: String,
    /// The kept record; nothing where it was erased.
    kept: Option<(String, String)>,
    visits: String,
    plans: Vec<(String, String)>,
    reason: String,
    faults: Vec<String>,
}

async fn draw(app: &AppState, id: ClientId, reason: String, faults: Vec<String>) -> Result<Response, Trouble> {
    let book = app.salon.book_of(id).await?;
    let house = house::house(&app.salon).await?.value;
    let kept = app.salon.other_records(id).await?.into_iter().find(|other| other.kept);
    let plan = |plan: &salon::book::PlanState| {
        (
            plan.id.to_string(),
            format!(
                "{}, {}",
                crate::web::frame::page::moment(plan.made_ms),
                counted_or_no(plan.sites.len() as u64, "sandwich", "sandwiches")
            ),
        )
    };
    let template = SetAsidePage {
        shell: Shell::clients("A record set aside", &house.name),
        client: id.to_string(),
        name: display_name(&book.label),
        kept: kept.map(|kept| (kept.id.to_string(), display_name(&kept.label))),
        visits: counted_or_no(book.year.visits.len() as u64, "visit", "visits"),
        plans: book.plans.iter().rev().map(plan).collect(),
        reason,
        faults: faults.clone(),
    };
    Ok(page(if faults.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY }, &template))
}

/// The page of a record that is set aside; nothing for one that is not.
pub async fn page_of(app: &AppState, id: ClientId) -> Result<Option<Response>, Trouble> {
    if app.salon.book_of(id).await?.same.kept.is_none() {
        return Ok(None);
    }
    Ok(Some(draw(app, id, String::new(), Vec::new()).await?))
}

/// Says that they are two people after all.
pub async fn part(State(app): State<AppState>, OfClient(id, typed): OfClient) -> Result<Response, Trouble> {
    match act(&app, json!({"act": "client part", "client": id, "reason": typed.one("reason")})).await? {
        Ok(_) => Ok(Redirect::to(&format!("/clients/{id}")).into_response()),
        Err(faults) => draw(&app, id, typed.one("reason").to_owned(), told(&faults)).await,
    }
}
