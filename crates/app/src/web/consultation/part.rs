//! One part of the consultation as it is drawn: its questions, what was typed, what is wrong.

use super::consents::{ConsentView, consent_view};
use super::talk::{SoFar, Step, Talk, fields_of};
use super::words::{field_of, not_asked_here, of_part, why_asked};
use crate::web::AppState;
use crate::web::client::form::{Typed, Wrong};
use crate::web::client::view::{FieldView, FormState, field_view};
use crate::web::frame::acting::act;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::Ring;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::RuleBook;
use salon::book::Purpose;
use salon::client::Fact;
use salon::consultation::{Part, applies};
use serde::Deserialize;
use serde_json::json;

#[derive(Template)]
#[template(path = "consultation/part.html")]
struct PartPage {
    shell: Shell,
    id: String,
    name: String,
    word: &'static str,
    title: &'static str,
    about: &'static str,
    counted: String,
    steps: Vec<Step>,
    so_far: SoFar,
    notice: Option<PartNotice>,
    /// What she has to agree to before it is asked.
    consent: Option<ConsentView>,
    may_ask: bool,
    questions: Vec<Question>,
    /// What was kept of this part when it was drawn.
    was: String,
    status: String,
    kept: String,
    refused: bool,
    back: Option<&'static str>,
    next: String,
    /// How she signs for the work.
    sign: Option<SignView>,
}

/// A question, and whether it is asked of her.
struct Question {
    fact: &'static str,
    asked: bool,
    open: bool,
    why: &'static str,
    field: FieldView,
}

/// The pad, and what was drawn or typed on it.
struct SignView {
    drawn: String,
    name: String,
    stands: bool,
    error: Option<String>,
}

/// What stands above a part.
pub struct PartNotice {
    pub tone: &'static str,
    pub title: String,
    pub says: String,
    pub lines: Vec<(String, String, String)>,
}

impl PartNotice {
    /// A notice of one sentence.
    pub fn of(tone: &'static str, title: impl Into<String>, says: impl Into<String>) -> Self {
        Self { tone, title: title.into(), says: says.into(), lines: Vec::new() }
    }
}

/// What a part is drawn from.
pub struct Sheet {
    pub talk: Talk,
    pub part: Part,
    /// Her answers, with what was typed on this part.
    pub typed: Typed,
    pub wrong: Wrong,
    pub notice: Option<PartNotice>,
    pub refused: bool,
}

/// The name under which what is wrong with a signature is kept.
pub const SIGNATURE: &str = "signature";

impl Sheet {
    /// A part as it stands, with its draft.
    pub fn standing(talk: Talk, part: Part) -> Self {
        let typed = talk.typed(part);
        Self { talk, part, typed, wrong: Wrong::new(), notice: None, refused: false }
    }

    /// Draws it.
    pub fn draw(self, status: StatusCode) -> Response {
        let Self { talk, part, typed, wrong, notice, refused } = self;
        let (rules, file) = (RuleBook::standard(), typed.readable(talk.house.currency()));
        let open = part.open(&file, &rules);
        let asked = FormState { typed: &typed, wrong: &wrong, wanting: &[], house: &talk.house, ring: &Ring::default() };
        let question = |fact: &Fact| {
            let field = field_of(*fact)?;
            Some(Question {
                fact: field.name,
                asked: applies(*fact, &file, &rules),
                open: open.contains(fact),
                why: why_asked(*fact),
                field: FieldView { heading: None, ..field_view(field, &asked) },
            })
        };
        let draft = talk.drafts.get(&part);
        let kept = draft.map(|draft| hour(draft.kept_ms)).unwrap_or_default();
        let said = if refused { "Not saved yet.".to_owned() } else { draft_kept(&kept) };
        let (_, title, about) = of_part(part);
        let at = Part::ALL.iter().position(|known| *known == part).unwrap_or_default() + 1;
        let consent = match part {
            Part::Health => consent_view(&talk.heard.book, Purpose::Health),
            Part::Agreement => consent_view(&talk.heard.book, Purpose::Work),
            _ => None,
        };
        let unsigned = part == Part::Agreement && consent.as_ref().is_some_and(|consent| consent.given.is_none());
        let sign = unsigned.then(|| SignView {
            drawn: typed.one("signature.drawn").to_owned(),
            name: typed.one("signature.name").to_owned(),
            stands: !typed.one("signature.stands").is_empty(),
            error: wrong.get(SIGNATURE).cloned(),
        });
        let template = PartPage {
            // The browser's history keeps titles: no name stands in one.
            shell: Shell::clients("Consultation", &talk.house.name),
            id: talk.id.to_string(),
            name: talk.name(),
            word: part.word(),
            title,
            about,
            counted: format!("part {at} of {}", Part::ALL.len()),
            steps: talk.steps(Some(part)),
            so_far: talk.so_far(),
            notice,
            consent,
            may_ask: talk.may_ask(part),
            questions: part.facts().iter().filter_map(question).collect(),
            was: talk.kept().mark_of(part),
            status: format!("{said} {}", not_asked_here(open.len())).trim().to_owned(),
            kept,
            refused,
            back: part.before().map(|_| "Back"),
            next: part.next().map_or_else(|| "Next: what follows".to_owned(), |next| format!("Next: {}", of_part(next).0.to_lowercase())),
            sign,
        };
        page(status, &template)
    }
}

/// What is said of a draft that was kept at an hour.
pub fn draft_kept(hour: &str) -> String {
    if hour.is_empty() { String::new() } else { format!("Draft kept {hour}.") }
}

/// An hour of the day.
pub fn hour(ms: i64) -> String {
    Timestamp::from_millisecond(ms)
        .map(|moment| moment.to_zoned_datetime(TimeZone::system()).strftime("%H:%M").to_string())
        .unwrap_or_default()
}

/// A new client, begun with her consultation; sent twice, she is begun once.
pub async fn begin(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let mut line = json!({"act": "client add", "facts": {}});
    let key = Typed::posted(pairs).one("key").to_owned();
    if !key.is_empty() {
        line["key"] = json!(key);
    }
    let to = match act(&app, line).await? {
        Ok(answer) => format!("/clients/{}/consultation/{}", answer["client"].as_str().unwrap_or_default(), Part::Before.word()),
        // The same button, pressed again later: who was begun by it stands in the list.
        Err(_) => "/clients".to_owned(),
    };
    Ok(Redirect::to(&to).into_response())
}

/// Where a consultation goes on: at the first part that has something open.
pub async fn go_on(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let talk = Talk::of(&app, &id).await?;
    let steps = talk.steps(None);
    let to = steps.iter().find(|step| step.state != "whole").map_or("outcome", |step| step.word);
    Ok(Redirect::to(&format!("/clients/{}/consultation/{to}", talk.id)).into_response())
}

/// How a part was reached.
#[derive(Deserialize)]
pub struct ShowQuery {
    follows: Option<String>,
}

/// A part.
pub async fn show(
    State(app): State<AppState>,
    Path((id, part)): Path<(String, String)>,
    Query(query): Query<ShowQuery>,
) -> Result<Response, Trouble> {
    let part = Part::from_word(&part).ok_or(Trouble::NoPage)?;
    let mut sheet = Sheet::standing(Talk::of(&app, &id).await?, part);
    if query.follows.is_some() {
        let says = "What she answered is saved. Something more is asked because of it: it is marked below.";
        sheet.notice = Some(PartNotice::of("care", "One more question", says));
    }
    Ok(sheet.draw(StatusCode::OK))
}

/// What of a part was asked on the page that was sent.
pub fn was_asked(typed: &Typed, part: Part) -> Vec<Fact> {
    let asked = typed.all("asked");
    part.facts()
        .iter()
        .copied()
        .filter(|fact| fields_of(part).any(|field| field.fact == Some(*fact) && asked.iter().any(|name| name == field.name)))
        .collect()
}
