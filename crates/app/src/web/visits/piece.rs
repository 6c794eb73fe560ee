//! A piece from its label: where it is, and its whole life.

use super::view::day_words;
use crate::web::AppState;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use measure::text::{counted, number};
use salon::book::PieceId;
use serde_json::Value;

#[derive(Template)]
#[template(path = "visits/piece.html")]
struct PiecePage {
    shell: Shell,
    id: String,
    heading: String,
    /// One sentence of where it is.
    wher: String,
    facts: Vec<(&'static str, String)>,
    client: Option<String>,
    parent: Option<String>,
    life: Vec<(String, String)>,
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap_or_default().to_owned()
}

fn day(value: &Value, key: &str) -> String {
    value[key].as_str().and_then(|day| day.parse().ok()).map_or_else(String::new, day_words)
}

fn wher(told: &Value) -> String {
    match told["where"].as_str().unwrap_or_default() {
        "hair" => {
            let layer = if told["layer"] == "upper" { "over" } else { "under" };
            format!("In her hair at {}, {layer} the slice, since {}.", text(told, "site"), day(told, "since"))
        }
        "bag" => match told["adhesive"].as_str() {
            Some("new") => "In the bag of her pieces, with new adhesive.".to_owned(),
            _ => "In the bag of her pieces; it needs new adhesive before it is set again.".to_owned(),
        },
        "shelf" => "On the shelf.".to_owned(),
        "retired" => format!("Retired on {}: {}.", day(told, "retired_on"), text(told, "reason")),
        "lost" => format!("Lost; found so on {}.", day(told, "lost_on")),
        "halved" => "Cut in half: its halves live on.".to_owned(),
        _ => "Missing when the shelf was counted.".to_owned(),
    }
}

fn event_words(event: &Value) -> String {
    match event["kind"].as_str().unwrap_or_default() {
        "pack_received" => format!("came in from {}, lot {}", text(event, "supplier"), text(event, "lot")),
        "piece_halved" | "halved" => "cut in half".to_owned(),
        "pieces_left" => "left the shelf for her".to_owned(),
        "pieces_back" => "back on the shelf: the step was taken back".to_owned(),
        "placed" => format!("set at {}", text(event, "site")),
        "taken_out" => {
            let days = counted(event["days"].as_u64().unwrap_or(0), "day", "days");
            format!("taken out of {}, {}, after {days}", text(event, "site"), text(event, "found"))
        }
        "cleaned" => "old adhesive rubbed off".to_owned(),
        "retaped" => "new adhesive".to_owned(),
        "retired" => format!("retired: {}", text(event, "reason")),
        "undone" => "that step was taken back".to_owned(),
        "corrected" => "corrected".to_owned(),
        other => other.replace('_', " "),
    }
}

/// A piece's page.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id: PieceId = id.parse()?;
    let told = app.salon.show_piece(id, desk::today()).await?;
    let house = house::house(&app.salon).await?.value;
    let half = if told["cut"] == "half" { "Half of a piece" } else { "Piece" };
    let count = |key: &str| told[key].as_u64().unwrap_or(0);
    let mut facts = Vec::new();
    if told["shade"].is_string() {
        facts.push(("Shade", text(&told, "shade")));
        facts.push(("Length", format!("{} mm", number(told["length_mm"].as_f64().unwrap_or(0.0), 0))));
        facts.push(("Lot", text(&told, "lot")));
        facts.push(("Worn", format!("{}, {}", counted(count("cycles"), "time", "times"), counted(count("days_worn"), "day", "days"))));
    }
    let events = told["events"].as_array().map_or(&[][..], Vec::as_slice);
    let template = PiecePage {
        shell: Shell::clients("A piece", &house.name),
        id: id.to_string(),
        heading: format!("{half} of {}", text(&told, "shade")).trim_end_matches(" of ").to_owned(),
        wher: wher(&told),
        facts,
        client: told["client"].as_str().map(str::to_owned),
        parent: told["parent"].as_str().map(str::to_owned),
        life: events.iter().rev().map(|event| (day(event, "on"), event_words(event))).collect(),
    };
    Ok(page(StatusCode::OK, &template))
}
