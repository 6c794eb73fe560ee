//! Making a plan, waiting for it, looking at it, and its papers.

use super::held::PaperFiles;
use super::making::{self};
use super::model::opened;
use super::view::PlanView;
use crate::web::AppState;
use crate::web::client::names::display_name;
use crate::web::client::{answers, check, form};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::plan::held::Progress;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use desk::ClientId;
use jiff::civil::Date;
use measure::text::sentence;
use salon::words::without_keys;
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

/// Waiting shorter than this needs no page of its own.
pub const BLINK: Duration = Duration::from_millis(350);

/// Starts a plan for a client and goes to it, or to the page that waits for it.
pub async fn begin(app: &AppState, client: ClientId) -> Result<Response, Trouble> {
    let mut job = making::start(app, client).await?;
    let to = match job.wait(BLINK).await {
        Progress::Kept(plan) => format!("/plans/{plan}"),
        _ => format!("/making/{}", job.id),
    };
    Ok(Redirect::to(&to).into_response())
}

/// The button that makes a plan from the facts as they are.
pub async fn make(State(app): State<AppState>, Path(client): Path<String>) -> Result<Response, Trouble> {
    begin(&app, client.parse()?).await
}

#[derive(Template)]
#[template(path = "plan/making.html")]
struct MakingPage {
    shell: Shell,
    job: Uuid,
}

#[derive(Template)]
#[template(path = "plan/too_long.html")]
struct TooLongPage {
    shell: Shell,
    job: Uuid,
    client: String,
}

#[derive(Template)]
#[template(path = "plan/unplanned.html")]
struct UnplannedPage {
    shell: Shell,
    client: String,
    name: String,
    faults: Vec<UnplannedFault>,
}

struct UnplannedFault {
    anchor: String,
    label: String,
    what: String,
    cure: String,
}

/// The page that waits for a plan; the browser's script asks it again and again.
pub async fn waiting(State(app): State<AppState>, asked: HeaderMap, Path(job): Path<String>) -> Result<Response, Trouble> {
    let job = Uuid::try_parse(&job).ok().and_then(|id| app.making.job(id)).ok_or(Trouble::NoPage)?;
    let by_script = asked.contains_key("hx-request");
    let progress = job.progress();
    let go = |to: String| {
        let Ok(to_header) = HeaderValue::from_str(&to) else { return Redirect::to(&to).into_response() };
        if by_script { (StatusCode::NO_CONTENT, [("hx-redirect", to_header)]).into_response() } else { Redirect::to(&to).into_response() }
    };
    let faults = match progress {
        Progress::Kept(plan) => return Ok(go(format!("/plans/{plan}"))),
        Progress::Working if by_script => return Ok(StatusCode::NO_CONTENT.into_response()),
        Progress::Working => {
            let house = house::house(&app.salon).await?.value;
            return Ok(page(StatusCode::OK, &MakingPage { shell: Shell::clients("Making the plan", &house.name), job: job.id }));
        }
        Progress::Faulty(_) | Progress::Failed | Progress::TooLong if by_script => return Ok(go(format!("/making/{}", job.id))),
        Progress::Failed => return Err(Trouble::Ours("a plan failed".to_owned())),
        Progress::TooLong => {
            let house = house::house(&app.salon).await?.value;
            let shell = Shell::clients("Making the plan", &house.name);
            return Ok(page(StatusCode::OK, &TooLongPage { shell, job: job.id, client: job.client.to_string() }));
        }
        Progress::Faulty(faults) => faults,
    };
    unplanned(&app, job.client, &faults, StatusCode::UNPROCESSABLE_ENTITY).await
}

/// The page that says why there is no plan, each fault at its field.
pub async fn unplanned(app: &AppState, client: ClientId, faults: &[salon::Fault], status: StatusCode) -> Result<Response, Trouble> {
    let client = app.salon.client(client).await?;
    let house = house::house(&app.salon).await?.value;
    let faults = faults
        .iter()
        .map(|fault| {
            let placed = check::place(fault);
            UnplannedFault {
                anchor: placed.anchor,
                label: placed.label,
                what: sentence(&without_keys(&placed.what)),
                cure: without_keys(&placed.cure),
            }
        })
        .collect();
    let template = UnplannedPage {
        shell: Shell::clients("No plan yet", &house.name),
        client: client.id.to_string(),
        name: display_name(&client.label),
        faults,
    };
    Ok(page(status, &template))
}

#[derive(Template)]
#[template(path = "plan/plan.html")]
struct PlanPage {
    shell: Shell,
    plan: PlanView,
    placing: Placing,
}

/// The form of the day the set went in.
struct Placing {
    /// The day as it is kept, so that a stale page is told from a fresh one.
    seen: String,
    /// The day as it is typed.
    day: String,
    /// Why it was not noted.
    notice: Option<(&'static str, String)>,
}

/// A plan as it was made.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    draw(&app, &id, StatusCode::OK, None).await
}

/// The plan's page; with the day that was typed and why it was not noted, where it was not.
async fn draw(
    app: &AppState,
    id: &str,
    status: StatusCode,
    not_noted: Option<(String, &'static str, String)>,
) -> Result<Response, Trouble> {
    let (plan, kept) = opened(app, id).await?;
    let client = app.salon.client(plan.client).await?;
    let house = house::house(&app.salon).await?.value;
    let seen = plan.placed_on.clone().unwrap_or_default();
    let placing = match not_noted {
        Some((day, tone, says)) => Placing { seen, day, notice: Some((tone, says)) },
        None => Placing { day: seen.clone(), seen, notice: None },
    };
    let view =
        tokio::task::spawn_blocking(move || PlanView::of(&plan, kept, &client)).await.map_err(|error| Trouble::Ours(error.to_string()))?;
    let shell = Shell::clients("Plan", &house.name);
    Ok(page(status, &PlanPage { shell, plan: view, placing }))
}

/// One of a plan's papers.
pub async fn paper(State(app): State<AppState>, Path((id, name)): Path<(String, String)>) -> Result<Response, Trouble> {
    // Data needs no typesetting, and other programs ask for it often.
    let bytes = if name == "plan.json" {
        desk::plan_json(&opened(&app, &id).await?.1.plan).map_err(|fault| Trouble::Ours(fault.to_string()))?
    } else if name == desk::CALENDAR_FILE {
        let (plan, kept) = opened(&app, &id).await?;
        let entry = calendar_entry(&plan);
        desk::calendar(&kept.plan, placed_day(&plan), &entry).ok_or(Trouble::NoPage)?
    } else {
        let files = papers(&app, &id).await?;
        files.iter().find(|(known, _)| *known == name).ok_or(Trouble::NoPage)?.1.clone()
    };
    let kind = match name.rsplit('.').next().unwrap_or("") {
        "pdf" => "application/pdf",
        "svg" => "image/svg+xml",
        "json" => "application/json",
        "ics" => "text/calendar; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    };
    let disposition = format!("attachment; filename=\"{name}\"");
    Ok(([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, disposition)], bytes).into_response())
}

/// All papers of a plan, set once and kept at hand for the next download.
async fn papers(app: &AppState, id: &str) -> Result<Arc<PaperFiles>, Trouble> {
    let (plan, kept) = opened(app, id).await?;
    let set = (plan.id, plan.placed_on.clone());
    if let Some(files) = app.papers.of(&set) {
        return Ok(files);
    }
    let day = placed_day(&plan);
    let (planned, input) = kept.reopened(plan.scalp, plan.seed);
    let files = tokio::task::spawn_blocking(move || desk::files(&planned, &input, day, &crate::web::fonts()))
        .await
        .map_err(|error| Trouble::Ours(error.to_string()))?
        .map_err(|fault| Trouble::Ours(fault.to_string()))?;
    Ok(app.papers.keep(set, files))
}

fn placed_day(plan: &desk::Plan) -> Option<Date> {
    plan.placed_on.as_deref().and_then(|day| day.parse().ok())
}

/// The calendar's entry of a plan: the plan's own id, how often its day was
/// noted or taken back, and when that was last.
fn calendar_entry(plan: &desk::Plan) -> paper::Entry {
    let written = jiff::Timestamp::from_millisecond(plan.said_ms).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    paper::Entry::of_plan(&plan.id.to_string(), plan.days_said, written)
}

/// Notes the day the set went in, or takes the note back when it is empty.
///
/// *Meaning*: nothing is noted over a day that somebody else noted after the
/// page was opened; both are shown.
pub async fn placed(
    State(app): State<AppState>,
    Path(id): Path<String>,
    axum::Form(pairs): axum::Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let typed = form::Typed::posted(pairs);
    let text = typed.one("day");
    let again = |status, tone, says| draw(&app, &id, status, Some((text.to_owned(), tone, says)));
    let day = match text.parse::<Date>() {
        _ if text.is_empty() => String::new(),
        Ok(day) if text.len() == DAY_LETTERS => day.to_string(),
        _ => {
            let says = format!(
                "“{}” is no day of the calendar, so nothing was noted: write year, month and day as in 2026-03-02.",
                answers::cut(text)
            );
            return again(StatusCode::UNPROCESSABLE_ENTITY, "stop", says).await;
        }
    };
    // One at a time, so that nobody notes a day between the look and the writing.
    let outcome = {
        let _turn = app.placing.lock().await;
        let (plan, _) = app.salon.plan(id.parse()?).await?;
        let kept = plan.placed_on.unwrap_or_default();
        if kept == day {
            Ok(())
        } else if typed.one("seen") != kept {
            let theirs = if kept.is_empty() { "took the day back".to_owned() } else { format!("noted {kept}") };
            let yours = if day.is_empty() { "an empty day".to_owned() } else { day.clone() };
            let says =
                format!("Somebody {theirs} while this page was open; yours, {yours}, is not noted yet. Noting it now replaces theirs.");
            return again(StatusCode::CONFLICT, "care", says).await;
        } else {
            app.salon.place_plan(plan.id, Some(day.as_str()).filter(|day| !day.is_empty())).await
        }
    };
    match outcome {
        Ok(()) => Ok(Redirect::to(&format!("/plans/{id}#papers")).into_response()),
        Err(fault) => {
            tracing::error!(%fault, "the day of a plan could not be noted");
            again(StatusCode::INTERNAL_SERVER_ERROR, "stop", format!("The day was not noted. {}", sentence(&fault.to_string()))).await
        }
    }
}

/// A day as it is written, `YYYY-MM-DD`.
const DAY_LETTERS: usize = 10;

#[cfg(test)]
mod tests {
    use super::*;
    use desk::KeptPlan;

    /// A plan as version 0.2 of the program kept it, before rows had sections:
    /// one of the case book's, with its drawn lines thinned out.
    const BEFORE: &str = include_str!("../../../tests/data/plan_of_before.json");

    fn page_of(document: &str) -> String {
        let kept: KeptPlan = serde_json::from_str(document).unwrap();
        let client = desk::Client {
            id: "0190b7a0-0000-7000-8000-000000000001".parse().unwrap(),
            label: "Ilse Brandvold".into(),
            facts: "{}".into(),
            version: 1,
            added_ms: 0,
            changed_ms: 0,
            keeps_health: true,
        };
        let plan = desk::Plan {
            id: "0190b7a0-0000-7000-8000-000000000002".parse().unwrap(),
            client: client.id,
            facts_version: 1,
            seed: 1,
            scalp: None,
            made_ms: 0,
            placed_on: None,
            days_said: 0,
            said_ms: 0,
        };
        let placing = Placing { seen: String::new(), day: String::new(), notice: None };
        PlanPage { shell: Shell::clients("Plan", "Salon"), plan: PlanView::of(&plan, kept, &client), placing }.render().unwrap()
    }

    #[test]
    fn a_plan_of_before_opens_as_it_is_with_its_own_map() {
        let page = page_of(BEFORE);
        assert!(page.contains("sheet-map") && page.contains("data-site=\"B1.1\""), "its one-sheet map is drawn");
        assert!(!page.contains("data-panel"), "it has no panels");
        let kept: KeptPlan = serde_json::from_str(BEFORE).unwrap();
        for site in &kept.plan.sites {
            assert!(page.contains(&format!("<details data-site=\"{}\">", site.site)), "{}", site.site);
        }
        assert!(page.contains("mm from the nape hairline all along"), "its rows are told as it knew them");
        // What it said of itself stays, without the rules' own names.
        assert!(page.contains("The slice may be") && !page.contains("load-slice-most"));
    }

    #[test]
    fn no_rule_or_key_stands_in_a_sentence() {
        let page = page_of(BEFORE);
        let ids = ["load-", "place-", "worth-", "coverage-", "(T1", "(T4)", "(T6)", "(T8)", "_mm", "hair.", "head."];
        let text: String = page.split('<').filter_map(|piece| piece.split_once('>')).map(|(_, text)| text).collect::<Vec<_>>().join(" ");
        for id in ids {
            assert!(!text.contains(id), "{id} in: …{}", &text[text.find(id).unwrap_or(0).saturating_sub(80)..][..160]);
        }
    }
}
