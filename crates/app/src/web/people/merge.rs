//! Saying that two records are one person's.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::client::sent::OfClient;
use crate::web::frame::acting::{act, key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::ClientId;
use serde_json::json;

/// The most records that are offered at once.
const MOST_OFFERED: u32 = 20;

#[derive(Template)]
#[template(path = "people/merge.html")]
struct MergePage {
    shell: Shell,
    client: String,
    name: String,
    /// Records to choose from: which, what she is called there, why it is offered, whether it is chosen.
    offered: Vec<Offered>,
    search: String,
    looked: bool,
    keep: String,
    reason: String,
    faults: Vec<String>,
    key: String,
}

struct Offered {
    id: String,
    name: String,
    says: &'static str,
    chosen: bool,
}

/// Records that may be hers: those searched for, or those of the same name, number or address.
async fn offered(app: &AppState, id: ClientId, typed: &Typed) -> Result<Vec<Offered>, Trouble> {
    let search = typed.one("search");
    let known = app.salon.known_people().await?;
    let mut offered: Vec<(ClientId, String, &'static str)> = Vec::new();
    if search.is_empty() {
        let book = app.salon.book_of(id).await?;
        let (label, tells) = (book.label.to_lowercase(), book.contact.tells());
        for (other, called, its) in known.iter().filter(|(other, ..)| *other != id) {
            if !label.is_empty() && called.to_lowercase() == label {
                offered.push((*other, called.clone(), "the same name"));
            } else if its.iter().any(|tells_of| tells.contains(tells_of)) {
                offered.push((*other, called.clone(), "the same number or address"));
            }
        }
    } else {
        let (found, _) = app.salon.clients(search, MOST_OFFERED + 1).await?;
        offered.extend(found.into_iter().filter(|line| line.id != id).map(|line| (line.id, line.label, "")));
    }
    // What was chosen before stays chosen, whatever is looked for.
    let chosen: Option<ClientId> = typed.one("other").parse().ok();
    if let Some(chosen) = chosen.filter(|chosen| offered.iter().all(|(other, ..)| other != chosen))
        && let Some((other, called, _)) = known.into_iter().find(|(other, ..)| *other == chosen)
    {
        offered.push((other, called, ""));
    }
    // Who was found by two of her names is offered once.
    let mut seen = std::collections::BTreeSet::new();
    offered.retain(|(other, ..)| seen.insert(*other));
    offered.truncate(MOST_OFFERED as usize);
    let told = |(other, called, says): (ClientId, String, &'static str)| Offered {
        id: other.to_string(),
        name: display_name(&called),
        says,
        chosen: chosen == Some(other),
    };
    Ok(offered.into_iter().map(told).collect())
}

async fn draw(app: &AppState, id: ClientId, typed: &Typed, faults: Vec<String>) -> Result<Response, Trouble> {
    let book = app.salon.book_of(id).await?;
    let house = house::house(&app.salon).await?.value;
    let status = if faults.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let template = MergePage {
        shell: Shell::clients("Two records of one person", &house.name),
        client: id.to_string(),
        name: display_name(&book.label),
        offered: offered(app, id, typed).await?,
        search: typed.one("search").to_owned(),
        looked: typed.one("then") == "look",
        keep: typed.one("keep").to_owned(),
        reason: typed.one("reason").to_owned(),
        faults,
        key: key(),
    };
    Ok(page(status, &template))
}

/// Which other record may be hers.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    draw(&app, id.parse()?, &Typed::default(), Vec::new()).await
}

/// Looks for another record, or says that it is hers too.
pub async fn say(State(app): State<AppState>, OfClient(id, typed): OfClient) -> Result<Response, Trouble> {
    if typed.one("then") == "look" {
        return draw(&app, id, &typed, Vec::new()).await;
    }
    let Ok(other) = typed.one("other").parse::<ClientId>() else {
        return draw(&app, id, &typed, vec!["Choose the other record: look for her by another name where none is offered.".to_owned()])
            .await;
    };
    let (aside, kept) = match typed.one("keep") {
        "this" => (other, id),
        "other" => (id, other),
        _ => return draw(&app, id, &typed, vec!["Say which of the two records is kept.".to_owned()]).await,
    };
    let mut line = json!({"act": "client merge", "client": aside, "same_as": kept, "reason": typed.one("reason")});
    if !typed.one("key").is_empty() {
        line["key"] = json!(typed.one("key"));
    }
    match act(&app, line).await? {
        Ok(_) => Ok(Redirect::to(&format!("/clients/{kept}/visits")).into_response()),
        Err(faults) => draw(&app, id, &typed, told(&faults)).await,
    }
}
