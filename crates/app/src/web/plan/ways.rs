//! The ways on from a plan that stops short: looked for once the page is there,
//! kept at hand, and taken with one tap.

use super::making;
use super::model::beside;
use super::plans::{self};
use crate::web::AppState;
use crate::web::client::form;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::plan::model::opened;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use measure::Money;
use measure::text::number;
use salon::plan::{Lever, Plan, SiteId, WayPlan};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The ways on of a plan, as the page shows them.
#[derive(Template)]
#[template(path = "plan/ways.html")]
pub struct WaysView {
    /// The plan.
    pub id: String,
    /// The ways, those that come nearest to the wish first.
    pub ways: Vec<WayView>,
    /// The plan itself.
    pub own: WayView,
    /// Whether anything has a price.
    pub priced: bool,
}

/// One way on.
pub struct WayView {
    /// What is changed.
    pub says: String,
    /// What else to know.
    pub note: String,
    /// Grams.
    pub grams: String,
    /// How much of the wish that is, of a hundred.
    pub share: String,
    /// Whole pieces.
    pub pieces: u32,
    /// What it costs.
    pub price: String,
    /// What is marked.
    pub marks: String,
    /// What is changed, as it is posted back.
    pub levers: String,
}

#[derive(Template)]
#[template(path = "plan/ways_page.html")]
struct WaysPage {
    shell: Shell,
    id: String,
    ways: WaysView,
}

impl WaysView {
    fn of(id: String, plan: &Plan, ways: &[WayPlan]) -> Self {
        let price = |minor: Option<i64>| match (minor, &plan.quote) {
            (Some(minor), Some(quote)) => Money::minor(minor, quote.currency).to_string(),
            _ => String::new(),
        };
        let share = |added: f64, wished: f64| number(100.0 * (added / wished.max(1.0)).clamp(0.0, 1.0), 1);
        let marked: BTreeSet<Option<SiteId>> = plan.cautions.iter().map(|caution| caution.site).collect();
        let quantity = &plan.quantity;
        Self {
            priced: plan.quote.is_some(),
            ways: ways
                .iter()
                .map(|way| WayView {
                    says: way.says.clone(),
                    note: if (way.wished.to_g() - quantity.wished.to_g()).abs() >= 1.0 {
                        format!("the wish becomes {} g", number(way.wished.to_g(), 0))
                    } else {
                        String::new()
                    },
                    grams: number(way.added.to_g(), 0),
                    share: share(way.added.to_g(), way.wished.to_g()),
                    pieces: way.pieces,
                    price: price(way.total_minor),
                    marks: marks(way.cautions as usize),
                    levers: way.levers.iter().map(Lever::to_string).collect::<Vec<_>>().join(" "),
                })
                .collect(),
            own: WayView {
                says: "This plan".to_owned(),
                note: String::new(),
                grams: number(quantity.added.to_g(), 0),
                share: share(quantity.added.to_g(), quantity.wished.to_g()),
                pieces: quantity.pieces,
                price: price(plan.quote.as_ref().map(|quote| quote.total_minor)),
                marks: marks(marked.len()),
                levers: String::new(),
            },
            id,
        }
    }
}

fn marks(count: usize) -> String {
    match count {
        0 => "none".to_owned(),
        count => format!("{count} marked"),
    }
}

/// The ways on: a piece of the plan's page, or a page of its own without a script.
pub async fn show(State(app): State<AppState>, asked: HeaderMap, Path(id): Path<String>) -> Result<Response, Trouble> {
    let (plan, kept) = opened(&app, &id).await?;
    let as_planned = kept.plan.clone();
    let ways = match app.ways.of(&plan.id) {
        Some(ways) => ways,
        None if !as_planned.ways.is_empty() => Arc::new(as_planned.ways.clone()),
        None => {
            let (planned, input) = kept.reopened(None, plan.seed);
            let found = beside(move || desk::ways(&input, &planned.plan)).await?;
            // Facts that made this plan make the others: a fault here is ours.
            app.ways.keep(plan.id, found.map_err(|faults| Trouble::Ours(format!("ways on: {faults:?}")))?)
        }
    };
    let view = WaysView::of(plan.id.to_string(), &as_planned, &ways);
    if asked.contains_key("hx-request") {
        return Ok(page(StatusCode::OK, &view));
    }
    let house = house::house(&app.salon).await?.value;
    Ok(page(StatusCode::OK, &WaysPage { shell: Shell::clients("Ways on", &house.name), id: plan.id.to_string(), ways: view }))
}

/// Takes a way on: a new plan with its changes; her facts and this plan stay.
pub async fn take(
    State(app): State<AppState>,
    Path(id): Path<String>,
    axum::Form(pairs): axum::Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let (plan, kept) = opened(&app, &id).await?;
    let posted = form::Typed::posted(pairs);
    let levers: Result<Vec<Lever>, _> = posted.one("levers").split_whitespace().map(str::parse).collect();
    let Some((changed, levers)) = levers.ok().and_then(|levers| Some((salon::make::take(&kept.client, &levers)?, levers))) else {
        // A form of another plan, or typed by hand: the plan as it is.
        return Ok(Redirect::to(&format!("/plans/{}", plan.id)).into_response());
    };
    let says = posted.one("says").chars().take(200).collect::<String>();
    match making::taken(&app, &plan, kept, (changed, &levers), says).await? {
        Ok(made) => Ok(Redirect::to(&format!("/plans/{made}")).into_response()),
        Err(faults) => Ok(plans::unplanned(&app, plan.client, &faults, StatusCode::UNPROCESSABLE_ENTITY).await?),
    }
}
