//! How each style hides a bond on the head of a plan, for the head that turns and
//! as a drawing.

use super::model::{Refused, beside, head_of, model_of};
use crate::web::AppState;
use crate::web::frame::page::Trouble;
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use craft::coverage::Style;
use serde::Serialize;

/// How one style hides a bond, and how hair lies in it.
#[derive(Serialize)]
struct StyleDrawn {
    /// At each corner of the mesh the share of a bond that is hidden, 0 to 255.
    heat: Vec<u8>,
    /// Hair as it lies, from root to end.
    courses: Vec<Vec<[f32; 3]>>,
}

/// One style on the head of a plan.
pub async fn style(Of(app): Of<AppState>, Path((id, style)): Path<(String, String)>) -> Result<Response, Refused> {
    let style = Style::from_word(&style).ok_or(Trouble::NoPage)?;
    let model = head_of(&app, &id).await?;
    let drawn = beside(move || {
        let heat = model.coverage_by_vertex(style)?.iter().map(|share| (255.0 * share).round() as u8).collect();
        let courses = model.flow(style)?.courses();
        Some(StyleDrawn {
            heat,
            courses: courses.iter().map(|c| c.iter().step_by(2).chain(c.last()).map(|p| p.0.map(|v| v as f32)).collect()).collect(),
        })
    })
    .await?;
    let drawn = drawn.ok_or(Trouble::NoPage)?;
    Ok(Json(drawn).into_response())
}

/// One style on the head of a plan as a drawing, for paper and for browsers
/// that cannot turn a head.
pub async fn drawing(Of(app): Of<AppState>, Path((id, style)): Path<(String, String)>) -> Result<Response, Refused> {
    let style = style.strip_suffix(".svg").and_then(Style::from_word).ok_or(Trouble::NoPage)?;
    let (model, _, kept) = model_of(&app, &id).await?;
    let drawn = beside(move || Some(paper::hiding_svg(model.head(), model.flow(style)?, model.hidden_from(), &kept.plan))).await?;
    let drawn = drawn.ok_or(Trouble::NoPage)?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], drawn).into_response())
}
