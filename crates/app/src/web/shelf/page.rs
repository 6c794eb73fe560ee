//! The shelf's page, and what is done there: each form is one act.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::acting::{act, key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use measure::text::number;
use serde::Deserialize;
use serde_json::{Value, json};

#[derive(Template)]
#[template(path = "shelf/shelf.html")]
struct ShelfPage {
    shell: Shell,
    lots: Vec<LotLine>,
    halves: usize,
    shades: Vec<String>,
    saved: bool,
    /// What was refused: which form, and why.
    refused: Option<(&'static str, Vec<String>)>,
    typed: Typed,
    key: String,
}

struct LotLine {
    shade: String,
    length: String,
    lot: String,
    pieces: u64,
    reserved: u64,
    free: u64,
}

/// How the shelf's page was reached.
#[derive(Deserialize)]
pub struct ShowQuery {
    saved: Option<String>,
}

/// The shelf's page.
pub(super) async fn draw(
    app: &AppState,
    status: StatusCode,
    typed: Typed,
    refused: Option<(&'static str, Vec<String>)>,
    saved: bool,
) -> Result<Response, Trouble> {
    let shelf = app.salon.show_shelf().await?;
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let count = |lot: &Value, key: &str| lot[key].as_u64().unwrap_or(0);
    let line = |lot: &Value| {
        let mm = number(lot["length_mm"].as_f64().unwrap_or(0.0), 1);
        LotLine {
            shade: lot["shade"].as_str().unwrap_or_default().to_owned(),
            length: format!("{mm} mm"),
            lot: lot["lot"].as_str().unwrap_or_default().to_owned(),
            pieces: count(lot, "pieces"),
            reserved: count(lot, "reserved"),
            free: count(lot, "free"),
        }
    };
    let template = ShelfPage {
        shell: Shell::shelf("The shelf", &house.name),
        lots: shelf["shelf"].as_array().into_iter().flatten().filter(|lot| count(lot, "pieces") > 0).map(line).collect(),
        halves: shelf["halves"].as_array().map_or(0, Vec::len),
        shades: ring.shades.iter().map(|shade| shade.code.clone()).collect(),
        saved,
        refused,
        typed,
        key: key(),
    };
    Ok(page(status, &template))
}

/// What lies on the shelf.
pub async fn show(State(app): State<AppState>, Query(query): Query<ShowQuery>) -> Result<Response, Trouble> {
    draw(&app, StatusCode::OK, Typed::default(), None, query.saved.is_some()).await
}

fn not_said(what: &str) -> String {
    format!("{what}: nothing is said.")
}

/// What is wrong with a number that was typed, or the number.
fn whole(typed: &Typed, key: &str, what: &str) -> Result<Value, String> {
    let text = typed.one(key);
    if text.is_empty() {
        return Err(not_said(what));
    }
    text.parse::<u32>().map(|value| json!(value)).map_err(|_| format!("{what}: “{text}” is no whole number: write it in digits."))
}

fn measure(typed: &Typed, key: &str, what: &str) -> Result<Value, String> {
    let text = typed.one(key).replace(',', ".");
    if text.is_empty() {
        return Err(not_said(what));
    }
    let value = text.parse::<f64>().ok().filter(|value| value.is_finite() && *value > 0.0);
    value.map(|value| json!(value)).ok_or_else(|| format!("{what}: “{}” is no number above zero: write it in digits.", typed.one(key)))
}

fn said(typed: &Typed, key: &str, what: &str) -> Result<Value, String> {
    if typed.one(key).is_empty() { Err(not_said(what)) } else { Ok(json!(typed.one(key))) }
}

/// Puts together a line of what was typed; everything that is wrong with it.
fn line(name: &str, keys: Vec<(&str, Result<Value, String>)>, typed: &Typed) -> Result<Value, Vec<String>> {
    let mut line = json!({"act": name});
    let mut wrong = Vec::new();
    for (key, value) in keys {
        match value {
            Ok(value) => line[key] = value,
            Err(says) => wrong.push(says),
        }
    }
    if !typed.one("key").is_empty() {
        line["key"] = json!(typed.one("key"));
    }
    if wrong.is_empty() { Ok(line) } else { Err(wrong) }
}

async fn done(app: &AppState, form: &'static str, typed: Typed, line: Result<Value, Vec<String>>) -> Result<Response, Trouble> {
    let outcome = match line {
        Ok(line) => act(app, line).await?.map_err(|faults| told(&faults)),
        Err(wrong) => Err(wrong),
    };
    match outcome {
        Ok(_) => Ok(Redirect::to("/shelf?saved=yes").into_response()),
        Err(faults) => draw(app, StatusCode::UNPROCESSABLE_ENTITY, typed, Some((form, faults)), false).await,
    }
}

/// Packs came in.
pub async fn receive(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let mut keys = vec![
        ("lot", said(&typed, "lot", "The lot")),
        ("supplier", said(&typed, "supplier", "The supplier")),
        ("shade", said(&typed, "shade", "The shade")),
        ("length_mm", measure(&typed, "length_mm", "The length")),
        ("pieces", whole(&typed, "pieces", "Pieces in a pack")),
        ("packs", whole(&typed, "packs", "Packs")),
    ];
    if !typed.one("mass_g").is_empty() {
        keys.push(("mass_g", measure(&typed, "mass_g", "What one piece weighs")));
    }
    let line = line("pack receive", keys, &typed);
    done(&app, "receive", typed, line).await
}

/// A lot was counted.
pub async fn count(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let keys = vec![
        ("lot", said(&typed, "lot", "The lot")),
        ("shade", said(&typed, "shade", "The shade")),
        ("length_mm", measure(&typed, "length_mm", "The length")),
        ("pieces", whole(&typed, "pieces", "Pieces counted")),
        ("reason", said(&typed, "reason", "Why it differs")),
    ];
    let line = line("shelf count", keys, &typed);
    done(&app, "count", typed, line).await
}
