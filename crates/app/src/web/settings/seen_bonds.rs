//! What showed at the chair and what did not, and what is enough to hide a bond
//! in this salon.

use crate::web::AppState;
use crate::web::client::form;
use crate::web::frame::page::Trouble;
use crate::web::plan::model::{Refused, beside, model_of};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Form, Json};
use craft::coverage::{LOOKS_ENOUGH, Style, THRESHOLD};
use desk::{DeskFault, Salon, SeenBond};
use measure::Estimate;
use measure::text::{counted, number, percent};
use salon::Fault;
use salon::make::head_model::share_hidden;
use salon::make::moved::At;
use serde::{Deserialize, Serialize};

/// What was seen of one bond.
#[derive(Deserialize)]
pub struct Looked {
    site: String,
    at: At,
    style: String,
    showed: bool,
}

/// What there is now.
#[derive(Serialize)]
struct Noted {
    says: String,
}

/// Notes whether a bond showed in a style; a second look at it replaces the first.
pub async fn note(State(app): State<AppState>, Path(id): Path<String>, Json(looked): Json<Looked>) -> Result<Response, Refused> {
    let style = Style::from_word(&looked.style).ok_or(Trouble::NoPage)?;
    let (model, plan, kept) = model_of(&app, &id).await?;
    if !kept.plan.sites.iter().any(|site| site.site.to_string() == looked.site) {
        return Err(Refused::Trouble(Trouble::NoPage));
    }
    let at = looked.at.standing().ok_or(Trouble::NoPage)?;
    let depth = beside(move || model.depth(at, style)).await?.filter(|depth| *depth > 0.0).ok_or_else(|| {
        let cure = "Note bonds that lie under hair: only they tell how much hair is enough.";
        Refused::Faults(vec![Fault::new("no hair lies over this place in that style", looked.site.clone(), THRESHOLD.id, cure)])
    })?;
    let bond = SeenBond { plan: plan.id.to_string(), site: looked.site, style: looked.style, depth, showed: looked.showed };
    let count = app.salon.note_bond(bond).await?;
    let says = format!("Noted. {} in all; Settings tell what they come to.", counted(count, "look", "looks"));
    Ok((StatusCode::OK, Json(Noted { says })).into_response())
}

/// What is enough, as Settings show it.
pub struct CoverView {
    /// The trade's own, as reckoned.
    pub usual: String,
    /// How many bonds were looked at, and how many showed.
    pub seen: String,
    /// What they come to; nothing before any was looked at.
    pub fitted: Option<String>,
    /// Whether that is little to go by.
    pub few: bool,
    /// Whether plans follow it.
    pub follow: bool,
}

/// What is enough to hide a bond in this salon.
pub async fn view(salon: &Salon) -> Result<CoverView, DeskFault> {
    let cover = salon.seen_bonds().await?.value;
    let showed = cover.seen.iter().filter(|bond| bond.showed).count();
    let usual = THRESHOLD.value;
    Ok(CoverView {
        usual: in_words(&Estimate::new(usual, usual, usual)),
        seen: match cover.seen.len() {
            0 => "No bond was looked at yet. On a plan’s page choose a sandwich and note whether it showed.".to_owned(),
            count => format!("{count} bonds were looked at; {showed} of them showed."),
        },
        fitted: cover.fitted().map(|fitted| in_words(&fitted.depth)),
        few: (cover.seen.len() as f64) < LOOKS_ENOUGH.value,
        follow: cover.follow,
    })
}

/// A depth with its range, and the share of a bond that it hides.
fn in_words(depth: &Estimate<f64>) -> String {
    let share = |depth: f64| percent(share_hidden(depth), 0);
    let range = if depth.low < depth.high { format!(" ({} to {})", number(depth.low, 1), number(depth.high, 1)) } else { String::new() };
    format!("{} widths of strand over each place of a bond{range}: {} of it hidden", number(depth.value, 1), share(depth.value))
}

/// Follows what was seen, or the trade's own again.
pub async fn follow(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = form::Typed::posted(pairs);
    app.salon.follow_cover(typed.one("follow") == "yes").await?;
    Ok(Redirect::to(COVER).into_response())
}

/// Where Settings tell what is enough to hide a bond.
pub const COVER: &str = "/settings#cover";
