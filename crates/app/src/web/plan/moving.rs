//! A sandwich that somebody moves: the answer for its new place, and the plan made
//! around a layout set by hand.

use super::making;
use super::model::{Refused, all_standing, beside, head_of, model_of, out_of_reach};
use crate::web::AppState;
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::response::{IntoResponse, Response};
use salon::make::head_model::{Judged, is_about_a_head};
use salon::make::moved::{At, Moves, same_again};
use salon::plan::{Plan, combed};
use serde::{Deserialize, Serialize};

/// A sandwich to judge beside the others.
#[derive(Deserialize)]
pub struct DroppedSandwich {
    /// Where it was dropped on the skin, when it was dragged.
    point: Option<[f64; 3]>,
    /// Where it stands otherwise.
    at: At,
    others: Vec<At>,
}

/// The answer: where it now stands, and what is to be said of it.
#[derive(Serialize)]
struct Answer {
    above_nape_mm: f64,
    along_mm: f64,
    #[serde(flatten)]
    judged: Judged,
}

/// Judges a sandwich where somebody would move it.
pub async fn judge(Of(app): Of<AppState>, Path(id): Path<String>, Json(asked): Json<DroppedSandwich>) -> Result<Response, Refused> {
    let model = head_of(&app, &id).await?;
    let others = all_standing(&asked.others)?;
    let mut at = asked.at.standing().ok_or_else(out_of_reach)?;
    if let Some(point) = asked.point {
        let caught = is_about_a_head(&point).then(|| model.caught(point, &others)).flatten();
        (at.above_nape, at.along) = caught.ok_or_else(out_of_reach)?;
    }
    let judged = beside(move || model.judge(at, &others)).await?;
    Ok(Json(Answer { above_nape_mm: combed(at.above_nape).to_mm(), along_mm: combed(at.along).to_mm(), judged }).into_response())
}

/// Where the new plan is.
#[derive(Serialize)]
struct NewPlanAt {
    plan: String,
}

/// Makes a new plan around the sandwiches as somebody set them.
///
/// *Meaning*: a layout that breaks a limit is kept only with a reason.
pub async fn keep(Of(app): Of<AppState>, Path(id): Path<String>, Json(moves): Json<Moves>) -> Result<Response, Refused> {
    let (model, plan, kept) = model_of(&app, &id).await?;
    let before = kept.plan.clone();
    let state = beside(move || moves.decided(&model, &before)).await?.map_err(Refused::Faults)?;
    let (before, asked) = (kept.plan.clone(), state.clone());
    let against = move |made: &Plan| same_again(&before, &asked, made);
    let made = making::around(&app, &plan, kept, state, against).await?;
    made.map(|id| Json(NewPlanAt { plan: format!("/plans/{id}") }).into_response()).map_err(Refused::Faults)
}
