//! The list of clients, and those who are searched for.

use super::form::Typed;
use super::names::display_name;
use crate::web::AppState;
use crate::web::frame::acting::key;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{Redirect, Response};
use measure::text::counted_or_no;

/// The most names on one page of the list.
const MOST_LINES: u32 = 200;

#[derive(Template)]
#[template(path = "client/clients.html")]
struct ListPage {
    shell: Shell,
    search: String,
    lines: Vec<Line>,
    more: u64,
    total: u64,
    count_words: String,
    nobody_yet: bool,
    has_ring: bool,
    /// By which a consultation that is begun twice is one.
    key: String,
}

#[derive(Template)]
#[template(path = "client/clients_found.html")]
struct Found {
    search: String,
    lines: Vec<Line>,
    more: u64,
    count_words: String,
}

struct Line {
    id: String,
    name: String,
    says: String,
    plan: Option<String>,
}

/// The list.
pub async fn list(State(app): State<AppState>, asked: HeaderMap) -> Result<Response, Trouble> {
    draw_list(&app, &asked, String::new()).await
}

/// The list of those who were searched for, or only what was found when the
/// search field asks. What is searched for is sent, not put into the address:
/// addresses stay in the browser's history.
pub async fn search(State(app): State<AppState>, asked: HeaderMap, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    draw_list(&app, &asked, Typed::posted(pairs).one("search").to_owned()).await
}

/// The address of a search, opened again later: what was searched for is gone.
pub async fn to_the_list() -> Redirect {
    Redirect::to("/clients")
}

async fn draw_list(app: &AppState, asked: &HeaderMap, search: String) -> Result<Response, Trouble> {
    let (found, total) = app.salon.clients(&search, MOST_LINES).await?;
    let lines: Vec<Line> = found
        .into_iter()
        .map(|line| Line {
            id: line.id.to_string(),
            name: display_name(&line.label),
            says: format!("Changed {} · {}", moment(line.changed_ms), counted_or_no(line.plans.unsigned_abs(), "plan", "plans")),
            plan: line.newest_plan.map(|id| id.to_string()),
        })
        .collect();
    let more = total.saturating_sub(lines.len() as u64);
    let count_words = if search.is_empty() {
        counted_or_no(total, "client", "clients")
    } else {
        format!("{} found", counted_or_no(total, "client", "clients"))
    };
    if asked.contains_key("hx-request") {
        return Ok(page(StatusCode::OK, &Found { search, lines, more, count_words }));
    }
    let house = house::house(&app.salon).await?.value;
    let has_ring = !house::ring(&app.salon).await?.value.shades.is_empty();
    let nobody_yet = total == 0 && search.is_empty();
    Ok(page(
        StatusCode::OK,
        &ListPage {
            shell: Shell::clients("Clients", &house.name),
            search,
            lines,
            more,
            total,
            count_words,
            nobody_yet,
            has_ring,
            key: key(),
        },
    ))
}
