//! Making a plan, waiting for it, looking at it, and its papers.

use super::check;
use super::clients::display_name;
use super::house;
use super::making::{self, Progress};
use desk::KeptPlan;
use super::page::{Shell, Trouble, page};
use super::plan_view::PlanView;
use super::{Chair, form};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use desk::{ClientId, PlanId, DeskFault};
use uuid::Uuid;

/// Waiting shorter than this needs no page of its own.
pub const BLINK: Duration = Duration::from_millis(350);

/// Starts a plan for a client and goes to it, or to the page that waits for it.
pub async fn begin(chair: &Chair, client: ClientId) -> Result<Response, Trouble> {
    let mut job = making::start(chair, client).await?;
    let to = match job.wait(BLINK).await {
        Progress::Kept(plan) => format!("/plans/{plan}"),
        _ => format!("/making/{}", job.id),
    };
    Ok(Redirect::to(&to).into_response())
}

/// The button that makes a plan from the facts as they are.
pub async fn make(State(chair): State<Chair>, Path(client): Path<String>) -> Result<Response, Trouble> {
    begin(&chair, client.parse()?).await
}

#[derive(Template)]
#[template(path = "making.html")]
struct MakingPage {
    shell: Shell,
    job: Uuid,
}

#[derive(Template)]
#[template(path = "unplanned.html")]
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
pub async fn waiting(State(chair): State<Chair>, asked: HeaderMap, Path(job): Path<String>) -> Result<Response, Trouble> {
    let job = Uuid::try_parse(&job).ok().and_then(|id| chair.making.job(id)).ok_or(Trouble::NoPage)?;
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
            let house = house::house(&chair.salon).await?.value;
            return Ok(page(StatusCode::OK, &MakingPage { shell: Shell::clients("Making the plan", &house.name), job: job.id }));
        }
        Progress::Faulty(_) | Progress::Failed if by_script => return Ok(go(format!("/making/{}", job.id))),
        Progress::Failed => return Err(Trouble::Ours("a plan failed".to_owned())),
        Progress::Faulty(faults) => faults,
    };
    unplanned(&chair, job.client, &faults, StatusCode::UNPROCESSABLE_ENTITY).await
}

/// The page that says why there is no plan, each fault at its field.
pub async fn unplanned(chair: &Chair, client: ClientId, faults: &[salon::Fault], status: StatusCode) -> Result<Response, Trouble> {
    let client = chair.salon.client(client).await?;
    let house = house::house(&chair.salon).await?.value;
    let faults = faults
        .iter()
        .map(|fault| {
            let placed = check::place(fault);
            UnplannedFault {
                anchor: placed.anchor,
                label: placed.label,
                what: format!("{}.", form::capital(check::by_label(&placed.what).trim_end_matches('.'))),
                cure: check::by_label(&placed.cure),
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
#[template(path = "plan.html")]
struct PlanPage {
    shell: Shell,
    plan: PlanView,
}

/// A kept plan with everything it was made from.
pub async fn opened(chair: &Chair, id: &str) -> Result<(desk::Plan, KeptPlan), Trouble> {
    Ok(chair.salon.plan(id.parse().map_err(DeskFault::from)?).await?)
}

/// A plan as it was made.
pub async fn show(State(chair): State<Chair>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let (plan, kept) = opened(&chair, &id).await?;
    let client = chair.salon.client(plan.client).await?;
    let house = house::house(&chair.salon).await?.value;
    let view = tokio::task::spawn_blocking(move || PlanView::of(&plan, kept, &client))
        .await
        .map_err(|error| Trouble::Ours(error.to_string()))?;
    let shell = Shell::clients(format!("Plan for {}", view.name), &house.name);
    Ok(page(StatusCode::OK, &PlanPage { shell, plan: view }))
}

/// One of a plan's papers.
pub async fn paper(State(chair): State<Chair>, Path((id, name)): Path<(String, String)>) -> Result<Response, Trouble> {
    // Data needs no typesetting, and other programs ask for it often.
    let bytes = if name == "plan.json" {
        desk::plan_json(&opened(&chair, &id).await?.1.plan).map_err(|fault| Trouble::Ours(fault.to_string()))?
    } else {
        let files = papers(&chair, &id).await?;
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
async fn papers(chair: &Chair, id: &str) -> Result<Arc<PaperFiles>, Trouble> {
    let (plan, kept) = opened(chair, id).await?;
    let set = (plan.id, plan.placed_on.clone());
    if let Some(files) = chair.papers.at_hand(&set) {
        return Ok(files);
    }
    let day = plan.placed_on.as_deref().and_then(|day| day.parse().ok());
    let (planned, input) = kept.reopened(plan.scalp, plan.seed);
    let files = tokio::task::spawn_blocking(move || desk::files(&planned, &input, day, &super::fonts()))
        .await
        .map_err(|error| Trouble::Ours(error.to_string()))?
        .map_err(|fault| Trouble::Ours(fault.to_string()))?;
    Ok(chair.papers.keep(set, files))
}

/// A plan's papers by name.
type PaperFiles = Vec<(String, Vec<u8>)>;
/// Which papers: the plan, and the day that is written on them.
type PaperSet = (PlanId, Option<String>);

/// Plans whose papers are kept at hand.
const MOST_AT_HAND: usize = 4;

/// The papers that were set last.
#[derive(Default)]
pub struct Papers(Mutex<VecDeque<(PaperSet, Arc<PaperFiles>)>>);

impl Papers {
    fn at_hand(&self, set: &PaperSet) -> Option<Arc<PaperFiles>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(known, _)| known == set).map(|(_, files)| files.clone())
    }

    fn keep(&self, set: PaperSet, files: PaperFiles) -> Arc<PaperFiles> {
        let files = Arc::new(files);
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.retain(|(known, _)| *known != set);
        kept.push_back((set, files.clone()));
        if kept.len() > MOST_AT_HAND {
            kept.pop_front();
        }
        files
    }
}

/// Notes the day the set went in.
pub async fn placed(
    State(chair): State<Chair>,
    Path(id): Path<String>,
    axum::Form(pairs): axum::Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let plan = id.parse()?;
    let typed = form::Typed::posted(pairs);
    let day = typed.one("day");
    let sound = day.parse::<jiff::civil::Date>().is_ok();
    if day.is_empty() || sound {
        chair.salon.place_plan(plan, sound.then_some(day)).await?;
    }
    Ok(Redirect::to(&format!("/plans/{plan}#papers")).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plan as version 0.2 of the program kept it, before rows had sections:
    /// one of the case book's, with its drawn lines thinned out.
    const BEFORE: &str = include_str!("../../tests/data/plan_of_before.json");

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
        };
        PlanPage { shell: Shell::clients("Plan", "Salon"), plan: PlanView::of(&plan, kept, &client) }.render().unwrap()
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
