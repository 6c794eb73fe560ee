//! What if: the plan made again with one thing changed, beside the plan as it
//! is. Nothing is kept until it is asked for.

use super::model::{Refused, model_of};
use super::turning::{SiteDrawn, sites_drawn};
use super::{making, plans};
use crate::web::AppState;
use crate::web::client::names::read_facts;
use crate::web::frame::page::Trouble;
use crate::web::plan::{held, model};
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use desk::{Planned, limits};
use measure::Money;
use measure::text::{capital, minutes, number, percent};
use paper::words::spoken;
use salon::Fault;
use salon::client::ClientFile;
use salon::plan::{Plan, SiteId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What is changed; what is left out stays as it is.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    density_per_cm2: Option<f64>,
    fullness: Option<String>,
    care: Option<String>,
    styles: Option<Vec<String>>,
    tab_width_mm: Option<f64>,
    mass_g: Option<f64>,
}

impl Change {
    /// The facts with the change in them.
    fn apply(&self, file: &ClientFile) -> ClientFile {
        let mut file = file.clone();
        if let Some(density) = self.density_per_cm2 {
            let hair = file.hair.get_or_insert_default();
            hair.density_per_cm2 = Some(density);
            hair.tied_circumference_mm = None;
        }
        if let Some(fullness) = &self.fullness {
            let consultation = file.consultation.get_or_insert_default();
            consultation.fullness = Some(fullness.clone());
            // The wish is said in one way only.
            (consultation.added_g, consultation.ends_circumference_mm) = (None, None);
        }
        if let Some(care) = &self.care {
            file.consultation.get_or_insert_default().care = Some(care.clone());
        }
        if let Some(styles) = &self.styles {
            file.consultation.get_or_insert_default().styles = Some(styles.clone());
        }
        let pieces = file.pieces.get_or_insert_default();
        pieces.tab_width_mm = self.tab_width_mm.or(pieces.tab_width_mm);
        pieces.mass_g = self.mass_g.or(pieces.mass_g);
        file
    }
}

/// The plan with the change beside the plan as it is.
#[derive(Serialize)]
struct Compared {
    /// Why there would be no plan; nothing when there would.
    refusal: Option<String>,
    lines: Vec<Line>,
    faults: Vec<Fault>,
    sites: Vec<SiteDrawn>,
}

/// One number, as planned and with the change.
#[derive(Serialize)]
struct Line {
    label: &'static str,
    planned: String,
    now: String,
    differs: bool,
}

/// The plan of changed facts, beside the plan as it is.
pub async fn compare(Of(app): Of<AppState>, Path(id): Path<String>, Json(change): Json<Change>) -> Result<Response, Refused> {
    let (model, plan, kept) = model_of(&app, &id).await?;
    let as_planned = kept.plan.clone();
    let (_, mut input) = kept.reopened(None, plan.seed);
    input.client = change.apply(&input.client);
    let compared = app.making.in_lane(move || {
        desk::plan(&input).map(|planned| Compared {
            refusal: planned.refusal(),
            lines: lines(&as_planned, &planned),
            faults: planned.plan.faults.clone(),
            sites: sites_drawn(&model, &planned.plan),
        })
    });
    let in_time = tokio::time::timeout(making::LONGEST_PLAN, compared).await;
    let compared = in_time.map_err(|_| Refused::Faults(vec![making::too_long_to_compare()]))?.map_err(Trouble::Ours)?;
    compared.map(|compared| Json(compared).into_response()).map_err(Refused::Faults)
}

fn lines(planned: &Plan, now: &Planned) -> Vec<Line> {
    let line = |label, of: &dyn Fn(&Plan) -> String| {
        let (planned, now) = (of(planned), of(&now.plan));
        Line { label, differs: planned != now, planned, now }
    };
    let money = |minor: i64, plan: &Plan| plan.quote.as_ref().map_or_else(String::new, |q| Money::minor(minor, q.currency).to_string());
    vec![
        line("Verdict", &|p| capital(p.verdict.verdict.words())),
        line("Hair added", &|p| format!("{} g", number(p.quantity.added.to_g(), 0))),
        line("Hair wished for", &|p| format!("{} g", number(p.quantity.wished.to_g(), 0))),
        line("Sandwiches", &|p| p.sites.len().to_string()),
        line("Pieces", &|p| p.quantity.pieces.to_string()),
        line("Rows", &|p| p.rows.len().to_string()),
        line("Least hidden", &|p| least_hidden(p)),
        line("Most pull, 100 at the limit", &|p| number(p.sites.iter().map(|s| s.traction_index).fold(0.0, f64::max), 0)),
        line("Marked", &|p| marked(p)),
        line("Time", &|p| p.quote.as_ref().map_or_else(String::new, |q| minutes(q.minutes))),
        line("Price", &|p| p.quote.as_ref().map_or_else(String::new, |q| money(q.total_minor, p))),
        line("A week of wear", &|p| p.quote.as_ref().map_or_else(String::new, |q| money(q.per_week_minor, p))),
        line("Re-tape", &|p| p.retape.as_ref().map_or_else(String::new, |r| format!("day {}", r.due))),
    ]
}

/// How many sandwiches the models mark.
fn marked(plan: &Plan) -> String {
    let sites: BTreeSet<SiteId> = plan.cautions.iter().filter_map(|caution| caution.site).collect();
    sites.len().to_string()
}

/// The bond that is hidden least, over all styles.
fn least_hidden(plan: &Plan) -> String {
    let all = plan.sites.iter().flat_map(|site| site.coverage.iter().map(move |(style, share)| (share, style, &site.site)));
    all.min_by(|a, b| a.0.total_cmp(b.0))
        .map_or_else(String::new, |(share, style, site)| format!("{} ({site}, {})", percent(*share, 1), spoken(style.word())))
}

/// Where to go once a change is kept.
#[derive(Serialize)]
struct Kept {
    plan: String,
}

/// Writes the change into her facts and makes the plan of them.
///
/// *Meaning*: her facts as they are now are changed, not those the plan was
/// made from; somebody else's change in the meantime is not overwritten.
pub async fn keep(Of(app): Of<AppState>, Path(id): Path<String>, Json(change): Json<Change>) -> Result<Response, Refused> {
    let (plan, _) = model::opened(&app, &id).await?;
    let client = app.salon.client(plan.client).await?;
    let facts = change.apply(&read_facts(&client.facts)?);
    let house = crate::web::frame::house::house(&app.salon).await?.value;
    let beyond = limits::facts(&facts);
    if !beyond.is_empty() {
        return Err(Refused::Faults(beyond));
    }
    house.complete(&facts).check().map_err(Refused::Faults)?;
    app.salon.change_client(client.id, client.version, &client.label, &facts, Vec::new()).await?;
    let mut job = making::start(&app, client.id).await?;
    let to = match job.wait(plans::BLINK).await {
        held::Progress::Kept(plan) => format!("/plans/{plan}"),
        _ => format!("/making/{}", job.id),
    };
    Ok((StatusCode::OK, Json(Kept { plan: to })).into_response())
}
