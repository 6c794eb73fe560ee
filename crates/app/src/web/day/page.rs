//! A day of the diary: its appointments, moving and cancelling them, and who is due.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::client::sent::OfClient;
use crate::web::frame::acting::{act, key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use crate::web::visits::view::{day_words, kind_words};
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use measure::text::{counted, minutes};
use salon::book::{AppointmentId, Day, VisitKind};
use serde::Deserialize;
use serde_json::{Value, json};

/// How many of those who are due are shown at once.
const MOST_DUE: usize = 12;

#[derive(Template)]
#[template(path = "day/day.html")]
struct DayPage {
    shell: Shell,
    day: String,
    heading: String,
    before: String,
    after: String,
    today: bool,
    saved: bool,
    faults: Vec<String>,
    appointments: Vec<Line>,
    due: Vec<DueLine>,
    more_due: usize,
    low: Vec<String>,
    backup: String,
    key: String,
}

struct Line {
    id: String,
    client: String,
    name: String,
    kind: String,
    at: String,
    ends: String,
    takes: String,
}

struct DueLine {
    client: String,
    name: String,
    due: String,
    overdue: Option<String>,
}

/// Which day, and how it was reached.
#[derive(Deserialize)]
pub struct DayQuery {
    on: Option<String>,
    saved: Option<String>,
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap_or_default().to_owned()
}

fn line(told: &Value) -> Line {
    Line {
        id: text(told, "appointment"),
        client: text(told, "client"),
        name: display_name(&text(told, "label")),
        kind: VisitKind::from_word(&text(told, "kind")).map_or_else(String::new, kind_words),
        at: text(told, "at"),
        ends: text(told, "ends"),
        takes: minutes(told["minutes"].as_u64().and_then(|minutes| u32::try_from(minutes).ok()).unwrap_or(0)),
    }
}

fn due_line(told: &Value) -> DueLine {
    let overdue = told["overdue_days"].as_i64().unwrap_or(0);
    DueLine {
        client: text(told, "client"),
        name: display_name(&text(told, "label")),
        due: text(told, "due").parse().map_or_else(|_| String::new(), day_words),
        overdue: (overdue > 0).then(|| counted(overdue, "day", "days")),
    }
}

async fn draw(app: &AppState, on: Day, status: StatusCode, faults: Vec<String>, saved: bool) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let diary = app.salon.show_diary(on).await?;
    let due = app.salon.show_due(on).await?;
    let shelf = app.salon.show_shelf().await?;
    let records = app.salon.records().await?;
    let all_due = due["due"].as_array().map_or(&[][..], Vec::as_slice);
    let few = measure::RuleBook::standard().value(&craft::chair::LOT_LOW) as u64;
    let low = shelf["shelf"].as_array().into_iter().flatten().filter(|lot| (1..=few).contains(&lot["free"].as_u64().unwrap_or(0)));
    let low = low.map(|lot| {
        let left = counted(lot["free"].as_u64().unwrap_or(0), "piece", "pieces");
        let length = measure::text::number(lot["length_mm"].as_f64().unwrap_or(0.0), 0);
        format!("{}, {length} mm, lot {}: {left}", text(lot, "shade"), text(lot, "lot"))
    });
    let near = |days: i64| {
        let date = on.to_string().parse::<jiff::civil::Date>().ok();
        let near = date.and_then(|date| date.checked_add(jiff::Span::new().days(days)).ok());
        near.map_or_else(|| on.to_string(), |date| date.to_string())
    };
    let template = DayPage {
        shell: Shell { title: "The day".to_owned(), house: house.name, here: "day" },
        day: on.to_string(),
        heading: day_words(on),
        before: near(-1),
        after: near(1),
        today: on == desk::today(),
        saved,
        faults,
        appointments: diary["diary"].as_array().into_iter().flatten().map(line).collect(),
        due: all_due.iter().take(MOST_DUE).map(due_line).collect(),
        more_due: all_due.len().saturating_sub(MOST_DUE),
        low: low.collect(),
        backup: records.backup.map_or_else(
            || "No backup was made yet.".to_owned(),
            |backup| format!("The last backup was made on {} and read back.", moment(backup.at_ms)),
        ),
        key: key(),
    };
    Ok(page(status, &template))
}

/// A day; today where none is named.
pub async fn show(State(app): State<AppState>, Query(query): Query<DayQuery>) -> Result<Response, Trouble> {
    let on = match query.on.as_deref().filter(|on| !on.is_empty()) {
        None => Ok(desk::today()),
        Some(on) => on.parse::<Day>(),
    };
    match on {
        Ok(on) => draw(&app, on, StatusCode::OK, Vec::new(), query.saved.is_some()).await,
        Err(fault) => {
            draw(&app, desk::today(), StatusCode::UNPROCESSABLE_ENTITY, vec![measure::text::sentence(&fault.to_string())], false).await
        }
    }
}

/// The line of an appointment's act, of what was typed.
fn line_of(name: &str, typed: &Typed, keys: &[&str]) -> Value {
    let mut line = json!({"act": name});
    for key in keys.iter().filter(|key| !typed.one(key).is_empty()) {
        line[*key] = match typed.one(key).parse::<u32>() {
            Ok(number) if *key == "minutes" => json!(number),
            _ => json!(typed.one(key)),
        };
    }
    line
}

async fn done(app: &AppState, day: &str, line: Value) -> Result<Response, Trouble> {
    let on = day.parse::<Day>().unwrap_or_else(|_| desk::today());
    match act(app, line).await? {
        Ok(_) => Ok(Redirect::to(&format!("/day?on={on}&saved=yes")).into_response()),
        Err(faults) => draw(app, on, StatusCode::UNPROCESSABLE_ENTITY, told(&faults), false).await,
    }
}

/// Books a client.
pub async fn book(State(app): State<AppState>, OfClient(id, typed): OfClient) -> Result<Response, Trouble> {
    let mut line = line_of("appointment book", &typed, &["kind", "day", "at", "minutes", "key"]);
    line["client"] = json!(id);
    done(&app, typed.one("day"), line).await
}

/// What is done to an appointment: the act, the answers that it takes, and the one that says which day is shown afterwards.
type Change = (&'static str, &'static [&'static str], &'static str);

async fn change(app: &AppState, id: &str, pairs: Vec<(String, String)>, (name, keys, day): Change) -> Result<Response, Trouble> {
    let id: AppointmentId = id.parse()?;
    let typed = Typed::posted(pairs);
    let mut line = line_of(name, &typed, keys);
    line["appointment"] = json!(id);
    done(app, typed.one(day), line).await
}

/// Moves an appointment.
pub async fn shift(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    change(&app, &id, pairs, ("appointment move", &["day", "at", "key"], "day")).await
}

/// Cancels an appointment.
pub async fn cancel(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    change(&app, &id, pairs, ("appointment cancel", &["reason", "key"], "of")).await
}
