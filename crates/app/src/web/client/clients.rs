//! The form of one client's facts: drawn, kept, and told why it is not.

use super::check::{self, Assessed, FaultView};
use super::fields::HEALTH_CONSENT;
use super::form::{NOT_WHOLE, NOT_WHOLE_SAYS, Typed, Wrong};
use super::names::{display_name, read_facts};
use super::view::{self, FormState, GroupView};
use crate::web::AppState;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use crate::web::people::set_aside;
use crate::web::plan::plans;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::Ring;
use desk::{Client, ClientId, DeskFault, House};
use measure::text::{sentence, sentences};
use salon::Fault;
use salon::book::HealthAnswers;
use salon::client::ClientFile;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "client/client.html")]
struct ClientPage {
    shell: Shell,
    heading: String,
    says: String,
    id: Option<String>,
    action: String,
    seen: i64,
    refused: bool,
    status: String,
    notice: Option<Notice>,
    groups: Vec<GroupView>,
    plans: Vec<PlanLink>,
}

struct PlanLink {
    id: String,
    made: String,
    says: String,
}

/// What stands above the form.
struct Notice {
    tone: &'static str,
    title: String,
    says: String,
    lines: Vec<NoticeLine>,
}

struct NoticeLine {
    anchor: String,
    label: String,
    says: String,
}

/// Everything the form is drawn from.
struct Sheet {
    house: House,
    ring: Ring,
    client: Option<Client>,
    typed: Typed,
    wrong: Wrong,
    wanting: Vec<FaultView>,
    seen: i64,
    notice: Option<Notice>,
    refused: bool,
    saved: bool,
}

impl Sheet {
    async fn draw(self, app: &AppState, status: StatusCode) -> Result<Response, Trouble> {
        let wanting: Vec<String> = self.wanting.iter().filter_map(|placed| placed.field.map(str::to_owned)).collect();
        let asked = FormState { typed: &self.typed, wrong: &self.wrong, wanting: &wanting, house: &self.house, ring: &self.ring };
        let groups = view::groups(&asked);
        let id = self.client.as_ref().map(|client| client.id.to_string());
        let name = self.client.as_ref().map_or_else(|| "New client".to_owned(), |client| display_name(&client.label));
        let mut plan_links = Vec::new();
        if let Some(client) = &self.client {
            for line in app.salon.plans_of(client.id).await? {
                let says = if line.facts_version == client.version { "from her facts as they are" } else { "from earlier facts" };
                plan_links.push(PlanLink { id: line.id.to_string(), made: moment(line.made_ms), says: says.to_owned() });
            }
        }
        let status_line = if self.refused {
            "Not saved yet".to_owned()
        } else if self.saved {
            "Saved".to_owned()
        } else {
            String::new()
        };
        let template = ClientPage {
            // The browser's history keeps titles: no name stands in one.
            shell: Shell::clients(if self.client.is_some() { "Client" } else { "New client" }, &self.house.name),
            says: self
                .client
                .as_ref()
                .map(|client| format!("Changed {}", moment(client.changed_ms)))
                .unwrap_or_else(|| "Ask in the order of the visit. Save as often as you like; what is missing can follow.".to_owned()),
            heading: name,
            action: id.as_ref().map_or_else(|| "/clients".to_owned(), |id| format!("/clients/{id}")),
            id,
            seen: self.seen,
            refused: self.refused,
            status: status_line,
            notice: self.notice,
            groups,
            plans: plan_links,
        };
        Ok(page(status, &template))
    }
}

/// An empty form.
pub async fn new(State(app): State<AppState>) -> Result<Response, Trouble> {
    let sheet = Sheet {
        house: house::house(&app.salon).await?.value,
        ring: house::ring(&app.salon).await?.value,
        client: None,
        typed: Typed::default(),
        wrong: Wrong::new(),
        wanting: Vec::new(),
        seen: 0,
        notice: None,
        refused: false,
        saved: false,
    };
    sheet.draw(&app, StatusCode::OK).await
}

/// How a client's page was reached.
#[derive(Deserialize)]
pub struct ShowQuery {
    saved: Option<String>,
}

/// One client's facts.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>, Query(query): Query<ShowQuery>) -> Result<Response, Trouble> {
    if let Some(page) = set_aside::page_of(&app, id.parse()?).await? {
        return Ok(page);
    }
    let client = app.salon.client(id.parse()?).await?;
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let file = read_facts(&client.facts)?;
    let typed = Typed::of(&file, house.currency()).with(HEALTH_CONSENT, if client.keeps_health { "true" } else { "" });
    let Assessed { wanting, .. } = check::assess(&typed, &house.complete(&file));
    let for_a_plan = query.saved.as_deref() == Some("plan");
    let notice = (query.saved.is_some() && !wanting.is_empty()).then(|| wanting_notice(&wanting, for_a_plan));
    let sheet = Sheet {
        seen: client.version,
        client: Some(client),
        house,
        ring,
        typed,
        wrong: Wrong::new(),
        wanting: if query.saved.is_some() { wanting } else { Vec::new() },
        notice,
        refused: false,
        saved: query.saved.is_some(),
    };
    sheet.draw(&app, StatusCode::OK).await
}

fn wanting_notice(wanting: &[FaultView], for_a_plan: bool) -> Notice {
    Notice {
        tone: "care",
        title: if for_a_plan { "Saved, but not yet enough for a plan".to_owned() } else { "Saved. A plan still needs this".to_owned() },
        says: String::new(),
        lines: wanting
            .iter()
            .map(|placed| NoticeLine { anchor: placed.anchor.clone(), label: placed.label.clone(), says: check::sentence(placed) })
            .collect(),
    }
}

/// A new client's facts.
pub async fn add(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    save(&app, None, Typed::posted(pairs)).await
}

/// Changed facts.
pub async fn change(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    save(&app, Some(client), Typed::posted(pairs)).await
}

async fn save(app: &AppState, client: Option<Client>, typed: Typed) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let seen: i64 = typed.one("seen").parse().unwrap_or(0);
    let own = measure::Currency::new(typed.one("prices.currency")).or(house.currency());
    let (file, assessed) = match typed.file(own) {
        Ok(file) => {
            let assessed = check::assess(&typed, &house.complete(&file));
            (Some(file), assessed)
        }
        Err(wrong) => (None, Assessed { wrong, ..Assessed::default() }),
    };
    let sheet = |client, wrong, notice, seen| Sheet {
        house: house.clone(),
        ring: ring.clone(),
        client,
        typed: typed.clone(),
        wrong,
        wanting: Vec::new(),
        seen,
        notice: Some(notice),
        refused: true,
        saved: false,
    };
    if !typed.is_whole() {
        let kept = client.as_ref().map_or_else(|| Ok(Typed::default()), |known| as_typed(known, &house))?;
        let notice = Notice { tone: "stop", title: NOT_WHOLE.to_owned(), says: NOT_WHOLE_SAYS.to_owned(), lines: Vec::new() };
        let half = Sheet { typed: typed.clone().over(kept), ..sheet(client, Wrong::new(), notice, seen) };
        return half.draw(app, StatusCode::UNPROCESSABLE_ENTITY).await;
    }
    let Some(file) = file.filter(|_| assessed.may_be_kept()) else {
        let notice = wrong_notice(&assessed);
        return sheet(client, assessed.wrong, notice, seen).draw(app, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let label = file.client.as_ref().and_then(|section| section.name.clone()).unwrap_or_default();
    let facts = serde_json::to_string(&file).map_err(|error| Trouble::Ours(error.to_string()))?;
    let agrees = typed.one(HEALTH_CONSENT);
    if let Some(known) = client.as_ref().filter(|known| known.keeps_health && agrees == "false") {
        return without_health(app, known, &label, file).await;
    }
    let consents = if agrees == "true" { vec![(desk::Purpose::Health, desk::HEALTH_WORDING.to_owned())] } else { Vec::new() };
    let saved = match &client {
        None => app.salon.add_client(&label, &file, consents).await,
        Some(known) if known.facts == facts && known.version == seen && known.keeps_health == (agrees == "true") => Ok(known.id),
        Some(known) => match app.salon.change_client(known.id, seen, &label, &file, consents).await {
            Ok(_) => Ok(known.id),
            Err(DeskFault::Changed { .. }) => {
                let newer = app.salon.client(known.id).await?;
                let notice = conflict_notice(&typed.differing(&as_typed(&newer, &house)?), &newer);
                let version = newer.version;
                return sheet(Some(newer), Wrong::new(), notice, version).draw(app, StatusCode::CONFLICT).await;
            }
            Err(fault) => Err(fault),
        },
    };
    let id = match saved {
        Ok(id) => id,
        Err(fault @ DeskFault::Unknown(_)) => return Err(fault.into()),
        Err(DeskFault::Refused(faults)) => {
            let (wrong, notice) = without_consent(&faults);
            return sheet(client, wrong, notice, seen).draw(app, StatusCode::UNPROCESSABLE_ENTITY).await;
        }
        Err(fault) => {
            tracing::error!(%fault, "a client's facts could not be saved");
            return sheet(client, Wrong::new(), unsaved_notice(&fault), seen).draw(app, StatusCode::INTERNAL_SERVER_ERROR).await;
        }
    };
    let page = match typed.one("then") {
        "plan" if assessed.wanting.is_empty() => return plans::begin(app, id).await,
        "plan" => "?saved=plan",
        "colour" => "/colour",
        "measure" => "/measuring",
        _ => "?saved=yes",
    };
    Ok(Redirect::to(&format!("/clients/{id}{page}")).into_response())
}

/// Her kept facts as the form shows them.
fn as_typed(client: &Client, house: &House) -> Result<Typed, Trouble> {
    Ok(Typed::of(&read_facts(&client.facts)?, house.currency()))
}

/// What is said where her answers may not be kept without her consent.
fn without_consent(faults: &[Fault]) -> (Wrong, Notice) {
    let says = faults.iter().map(|fault| sentences(&fault.what, &fault.cure)).collect::<Vec<_>>().join(" ");
    let line = NoticeLine { anchor: HEALTH_CONSENT.to_owned(), label: "Her consent".to_owned(), says: says.clone() };
    let notice = Notice { tone: "stop", title: "Nothing was saved yet".to_owned(), says: String::new(), lines: vec![line] };
    (Wrong::from([(HEALTH_CONSENT.to_owned(), says)]), notice)
}

/// She takes her consent back: her health answers are destroyed, the rest is kept.
async fn without_health(app: &AppState, known: &Client, label: &str, mut file: ClientFile) -> Result<Response, Trouble> {
    drop(HealthAnswers::taken_from(&mut file, desk::today()));
    app.salon.withdraw_health(known.id).await?;
    let now = app.salon.client(known.id).await?;
    app.salon.change_client(known.id, now.version, label, &file, Vec::new()).await?;
    Ok(Redirect::to(&format!("/clients/{}?saved=yes", known.id)).into_response())
}

fn wrong_notice(assessed: &Assessed) -> Notice {
    let mut lines: Vec<NoticeLine> = assessed
        .wrong
        .iter()
        .filter_map(|(name, says)| {
            let field = super::fields::named(name)?;
            Some(NoticeLine { anchor: view::anchor(name), label: field.label().to_owned(), says: says.clone() })
        })
        .collect();
    lines.extend(assessed.elsewhere.iter().map(|says| NoticeLine { anchor: String::new(), label: String::new(), says: says.clone() }));
    let title = match lines.len() {
        1 => "One answer cannot be right".to_owned(),
        many => format!("{many} answers cannot be right"),
    };
    Notice { tone: "stop", title, says: "Nothing was saved yet, and nothing you typed is lost.".to_owned(), lines }
}

fn unsaved_notice(fault: &DeskFault) -> Notice {
    Notice {
        tone: "stop",
        title: "Not saved".to_owned(),
        says: format!("{} What you typed is still below.", sentence(&fault.to_string())),
        lines: Vec::new(),
    }
}

fn conflict_notice(differing: &[(&'static str, String)], newer: &Client) -> Notice {
    let says = format!(
        "Somebody saved other answers on {} while you were writing. Yours are still below and not saved. Saving now replaces theirs with yours.",
        moment(newer.changed_ms)
    );
    let lines = differing
        .iter()
        .map(|(label, theirs)| {
            let theirs = if theirs.is_empty() { "left open" } else { theirs };
            NoticeLine { anchor: String::new(), label: String::new(), says: format!("Yours differs: {label}. Theirs: {theirs}") }
        })
        .collect();
    Notice { tone: "care", title: "Changed on another tablet".to_owned(), says, lines }
}

/// A client's facts as a file for the command line.
pub async fn as_file(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id: ClientId = id.parse()?;
    let client = app.salon.client(id).await?;
    let house = house::house(&app.salon).await?.value;
    let file = house.complete(&read_facts(&client.facts)?);
    let text = toml::to_string(&file).map_err(|error| Trouble::Ours(error.to_string()))?;
    let headers =
        [(header::CONTENT_TYPE, "application/toml; charset=utf-8"), (header::CONTENT_DISPOSITION, "attachment; filename=\"client.toml\"")];
    Ok((headers, text).into_response())
}
