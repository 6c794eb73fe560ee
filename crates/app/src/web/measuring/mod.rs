//! The measuring page: each tape with a picture of its course, checked while it
//! is typed, and the head that takes shape from them.

mod look;
mod pictures;
mod portrait;
mod shape;

use crate::web::AppState;
use crate::web::client::clients::{display_name, read_facts};
use crate::web::client::fields;
use crate::web::client::form::{NOT_WHOLE, NOT_WHOLE_SAYS, Typed};
use crate::web::client::view::anchor;
use crate::web::frame::house;
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
use std::sync::OnceLock;

/// The pages of measuring.
pub fn routes() -> Pages {
    Pages::new().route("/clients/{id}/measuring", get(show).post(keep)).route("/measuring/check", post(check))
}

/// How a step of the page is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// A reading, with its picture.
    Reading(Shown),
    /// What lay under the tape.
    Hair,
    /// A sentence.
    Reason,
}

/// The steps in the order of the hands: a tape that is left on comes before
/// those that are read from it.
const STEPS: &[(&str, Kind)] = &[
    ("head.circumference_mm", Kind::Reading(Shown::Tape(Tape::Circumference))),
    ("head.hair_under_tape", Kind::Hair),
    ("head.ear_to_ear_over_crown_mm", Kind::Reading(Shown::Tape(Tape::EarToEarOverCrown))),
    ("head.front_hairline_to_tape_mm", Kind::Reading(Shown::Tape(Tape::FrontHairlineToTape))),
    ("head.tape_to_nape_hairline_mm", Kind::Reading(Shown::Tape(Tape::TapeToNapeHairline))),
    ("head.temple_hairline_mm", Kind::Reading(Shown::Temple)),
    ("head.nape_half_width_mm", Kind::Reading(Shown::NapeCorner)),
    ("head.ear_to_ear_behind_mm", Kind::Reading(Shown::Tape(Tape::EarToEarBehind))),
    ("head.length_mm", Kind::Reading(Shown::Tape(Tape::Length))),
    ("head.breadth_mm", Kind::Reading(Shown::Tape(Tape::Breadth))),
    ("head.nape_hairline_below_occiput_mm", Kind::Reading(Shown::NapeBelowOccipital)),
    ("head.nape_corner_rise_mm", Kind::Reading(Shown::CornerRise)),
    ("head.behind_ear_bare_mm", Kind::Reading(Shown::BehindEar)),
    ("head.ear_line_back_mm", Kind::Reading(Shown::EarLineBack)),
    ("head.crown_behind_tape_mm", Kind::Reading(Shown::Crown)),
    ("head.crown_to_right_mm", Kind::Reading(Shown::CrownAside)),
    ("head.unusual_reason", Kind::Reason),
];

/// The names of the answers on this page.
fn names() -> impl Iterator<Item = &'static str> {
    STEPS.iter().map(|(name, _)| *name)
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

struct Notice {
    tone: &'static str,
    title: String,
    says: String,
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

/// The head as far as it is known.
struct ShapeView {
    views: Vec<pictures::Shape>,
    known: bool,
    sizes: Vec<shape::Size>,
    least_sure: String,
    next: Vec<String>,
    places: Vec<(&'static str, String)>,
    notes: Vec<String>,
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
