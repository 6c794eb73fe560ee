//! Steps of a visit as they are sent: each is one act.

use super::visit::{Refused, draw};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::sent::OfVisit;
use crate::web::frame::acting::act;
use crate::web::frame::page::Trouble;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use salon::book::VisitId;
use salon::book::visit::Adhesive;
use serde_json::{Value, json};

/// The acts that a step may be, with what each takes as text and as a number.
const STEPS: &[(&str, &[&str], &[&str])] = &[
    ("piece place", &["site", "upper", "lower", "because"], &["moved_mm"]),
    ("piece add", &["beside", "upper", "lower", "because"], &["by_mm"]),
    ("piece skip", &["site", "reason"], &[]),
    ("piece halve", &["piece"], &[]),
    ("piece take out", &["site", "state"], &["shed_hairs"]),
    ("piece clean", &["piece"], &[]),
    ("piece re-tape", &["piece"], &[]),
    ("piece retire", &["piece", "reason"], &[]),
    ("step undo", &[], &[]),
    ("regrowth measure", &["site"], &["mm"]),
    ("scalp see", &["region", "found"], &[]),
];

/// What may be left out; all else is sent as it is, so that the act itself says what is missing.
const MAY_BE_EMPTY: [&str; 4] = ["upper", "lower", "because", "key"];

/// A number as it was typed; a comma stands for a point. Whole where it is whole.
fn number(text: &str) -> Option<Value> {
    let value: f64 = text.replace(',', ".").parse().ok().filter(|value: &f64| value.is_finite())?;
    Some(if value.fract() == 0.0 && value.abs() < 1e9 { json!(value as i64) } else { json!(value) })
}

/// Adds to a line what was typed; what is wrong with it.
fn taken(line: &mut Value, typed: &Typed, texts: &[&str], numbers: &[&str]) -> Result<(), String> {
    for key in texts.iter().filter(|key| !typed.one(key).is_empty() || !MAY_BE_EMPTY.contains(key)) {
        line[*key] = json!(typed.one(key));
    }
    for key in numbers.iter().filter(|key| !typed.one(key).is_empty()) {
        let Some(value) = number(typed.one(key)) else {
            return Err(format!("“{}” is no number: write it in digits.", typed.one(key)));
        };
        line[*key] = value;
    }
    Ok(())
}

/// Which way a sandwich was moved, or stands from its neighbour, as a sign: the form says the way in words.
fn signed(mut typed: Typed) -> Typed {
    for (said, key) in [("moved", "moved_mm"), ("by", "by_mm")] {
        let span = typed.one(said).to_owned();
        if !span.is_empty() {
            let sign = if typed.one("way") == "left" { "-" } else { "" };
            typed = typed.with(key, &format!("{sign}{span}"));
        }
    }
    typed
}

fn back(id: VisitId) -> Response {
    Redirect::to(&format!("/visits/{id}?saved=yes#now")).into_response()
}

/// Does one step.
pub async fn step(State(app): State<AppState>, OfVisit(id, typed): OfVisit) -> Result<Response, Trouble> {
    let typed = signed(typed);
    let known = STEPS.iter().find(|(name, ..)| *name == typed.one("act"));
    let Some((name, texts, numbers)) = known else {
        return draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, typed, "That is no step of a visit.".into(), false).await;
    };
    let mut line = json!({"act": name});
    if *name != "piece halve" {
        line["visit"] = json!(id);
    }
    if !typed.one("key").is_empty() {
        line["key"] = json!(typed.one("key"));
    }
    let outcome = match taken(&mut line, &typed, texts, numbers) {
        Ok(()) => act(&app, line).await?.map_err(Refused::from),
        Err(says) => Err(says.as_str().into()),
    };
    match outcome {
        Ok(_) => Ok(back(id)),
        Err(refused) => draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, typed, refused, false).await,
    }
}

/// Records every piece that waits for it as rubbed clean and taped anew.
pub async fn tape_all(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id: VisitId = id.parse()?;
    let (_, book) = app.salon.book_of_visit(id).await?;
    let pieces = &book.year.pieces;
    for piece in pieces.in_bag() {
        let adhesive = pieces.get(piece).map_or(Adhesive::New, |piece| piece.adhesive);
        let acts: &[&str] = match adhesive {
            Adhesive::New => &[],
            Adhesive::Worn => &["piece clean", "piece re-tape"],
            Adhesive::Off => &["piece re-tape"],
        };
        for name in acts {
            if let Err(faults) = act(&app, json!({"act": name, "visit": id, "piece": piece})).await? {
                return draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, Typed::default(), faults.into(), false).await;
            }
        }
    }
    Ok(back(id))
}

/// Ends a visit.
pub async fn close(State(app): State<AppState>, OfVisit(id, typed): OfVisit) -> Result<Response, Trouble> {
    let mut line = json!({"act": "visit close", "visit": id});
    for key in ["moves_freely", "nothing_shows", "comfortable"].into_iter().filter(|key| !typed.one(key).is_empty()) {
        line[key] = json!(typed.one(key) == "yes");
    }
    let outcome = match taken(&mut line, &typed, &["because", "key"], &["mm_off_scalp"]) {
        Ok(()) => act(&app, line).await?.map_err(Refused::from),
        Err(says) => Err(says.as_str().into()),
    };
    match outcome {
        Ok(_) => Ok(back(id)),
        Err(refused) => draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, typed, refused, false).await,
    }
}
