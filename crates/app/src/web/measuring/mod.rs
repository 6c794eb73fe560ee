//! The measuring page: each tape with a picture of its course, checked while it
//! is typed, and the head that takes shape from them.

mod look;
mod pictures;
mod portrait;
mod shape;
mod steps;

use crate::web::AppState;
use crate::web::client::fields;
use crate::web::client::form::{NOT_WHOLE, NOT_WHOLE_SAYS, Typed};
use crate::web::client::names::{display_name, read_facts};
use crate::web::client::view::anchor;
use crate::web::frame::house;
use crate::web::frame::notice::Notice;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use crate::web::frame::routes::Pages;
use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::{Client, DeskFault};
use head::Tape;
use look::{Look, Says};
use measure::text::sentence;
use pictures::{Picture, Shown, picture};
use shape::ShapeView;
use std::sync::OnceLock;
use steps::{Kind, STEPS, names};

/// The pages of measuring.
pub fn routes() -> Pages {
    Pages::new().route("/clients/{id}/measuring", get(show).post(keep)).route("/measuring/check", post(check))
}

#[derive(Template)]
#[template(path = "measuring/measuring.html")]
struct MeasuringPage {
    shell: Shell,
    id: String,
    name: String,
    seen: i64,
    refused: bool,
    notice: Option<Notice>,
    steps: Vec<StepView>,
    shape: ShapeView,
}

/// One step as the page shows it.
struct StepView {
    id: String,
    name: &'static str,
    label: &'static str,
    how: &'static str,
    heading: Option<&'static str>,
    kind: &'static str,
    value: String,
    says: Says,
    picture: Option<&'static Picture>,
}

/// The head so far, and what is said at each field.
#[derive(Template)]
#[template(path = "measuring/shape.html")]
struct ShapePage {
    shape: ShapeView,
    said: Vec<(String, Says)>,
}

/// The readings of the head that cannot be right together, each with its sentence.
pub fn wrong(typed: &Typed) -> Vec<(&'static str, String)> {
    Look::at(typed).wrong().map(|(name, says)| (name, says.to_owned())).collect()
}

/// The page for one client.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let house = house::house(&app.salon).await?.value;
    let typed = Typed::of(&read_facts(&client.facts)?, house.currency());
    let seen = client.version;
    Ok(draw(StatusCode::OK, &house.name, &client, &typed, seen, None))
}

/// What the readings typed so far come to: a piece of the page.
pub async fn check(Form(pairs): Form<Vec<(String, String)>>) -> Response {
    let look = Look::at(&Typed::posted(pairs));
    let said = names().map(|name| (anchor(name), look.says(name))).collect();
    page(StatusCode::OK, &ShapePage { shape: look.shape(), said })
}

/// Keeps the readings with the client's other facts.
pub async fn keep(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let house = house::house(&app.salon).await?.value;
    let posted = Typed::posted(pairs);
    let seen: i64 = posted.one("seen").parse().unwrap_or(0);
    let kept = Typed::of(&read_facts(&client.facts)?, house.currency());
    if !posted.is_whole() {
        let notice = Notice { tone: "stop", title: NOT_WHOLE.to_owned(), says: NOT_WHOLE_SAYS.to_owned() };
        return Ok(draw(StatusCode::UNPROCESSABLE_ENTITY, &house.name, &client, &posted.over(kept), seen, Some(notice)));
    }
    let typed = kept.with_answers_of(&posted, names());
    let look = Look::at(&typed);
    let wrong = names().filter(|name| look.says(name).tone == "wrong").count();
    let refuse = |status, client: &Client, seen, notice| Ok(draw(status, &house.name, client, &typed, seen, Some(notice)));
    let file = match typed.file(house.currency()) {
        Ok(file) if wrong == 0 => file,
        _ => {
            let title = if wrong == 1 { "One reading cannot be right".to_owned() } else { format!("{wrong} readings cannot be right") };
            let says = "Nothing was saved yet, and nothing you typed is lost.".to_owned();
            return refuse(StatusCode::UNPROCESSABLE_ENTITY, &client, seen, Notice { tone: "stop", title, says });
        }
    };
    let facts = serde_json::to_string(&file).map_err(|error| Trouble::Ours(error.to_string()))?;
    if facts != client.facts || client.version != seen {
        match app.salon.change_client(client.id, seen, &client.label, &file, Vec::new()).await {
            Ok(_) => {}
            Err(DeskFault::Changed { .. }) => {
                let newer = app.salon.client(client.id).await?;
                let says = format!(
                    "Somebody saved other facts of hers on {} while you were measuring. Your readings are still below and not saved. Saving now keeps theirs and replaces only the head’s.",
                    moment(newer.changed_ms)
                );
                let notice = Notice { tone: "care", title: "Changed on another tablet".to_owned(), says };
                return refuse(StatusCode::CONFLICT, &newer, newer.version, notice);
            }
            Err(fault @ DeskFault::Unknown(_)) => return Err(fault.into()),
            Err(fault) => {
                tracing::error!(%fault, "the readings of a head could not be saved");
                let says = format!("{} Your readings are still below.", sentence(&fault.to_string()));
                return refuse(
                    StatusCode::INTERNAL_SERVER_ERROR,
                    &client,
                    seen,
                    Notice { tone: "stop", title: "Not saved".to_owned(), says },
                );
            }
        }
    }
    Ok(Redirect::to(&format!("/clients/{}?saved=yes#head", client.id)).into_response())
}

fn draw(status: StatusCode, house: &str, client: &Client, typed: &Typed, seen: i64, notice: Option<Notice>) -> Response {
    let look = Look::at(typed);
    let steps = STEPS
        .iter()
        .filter_map(|(name, kind)| {
            let field = fields::named(name)?;
            Some(StepView {
                id: anchor(name),
                name,
                label: field.label(),
                how: field.hint,
                heading: (*kind == Kind::Reading(Shown::Tape(Tape::Length))).then_some("If you have more"),
                kind: match kind {
                    Kind::Reading(_) => "reading",
                    Kind::Hair => "hair",
                    Kind::Reason => "reason",
                },
                value: typed.one(name).to_owned(),
                says: look.says(name),
                picture: drawn(*kind),
            })
        })
        .collect();
    let name = display_name(&client.label);
    let template = MeasuringPage {
        shell: Shell::clients("Measure her head", house),
        id: client.id.to_string(),
        name,
        seen,
        refused: notice.is_some(),
        notice,
        steps,
        shape: look.shape(),
    };
    page(status, &template)
}

/// The picture of a step, drawn once for all clients.
fn drawn(kind: Kind) -> Option<&'static Picture> {
    static PICTURES: OnceLock<Vec<(Kind, Option<Picture>)>> = OnceLock::new();
    let draw = |kind: Kind| match kind {
        Kind::Reading(shown) => picture(shown),
        Kind::Hair | Kind::Reason => None,
    };
    let all = PICTURES.get_or_init(|| STEPS.iter().map(|(_, kind)| (*kind, draw(*kind))).collect());
    all.iter().find(|(known, _)| *known == kind).and_then(|(_, picture)| picture.as_ref())
}
