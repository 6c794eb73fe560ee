//! The head of a plan laid out for questions, kept at hand, and how a question
//! about it may end.

use crate::web::AppState;
use crate::web::frame::page::Trouble;
use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use desk::{DeskFault, KeptPlan};
use salon::Fault;
use salon::make::head_model::{HeadModel, StandingSandwich};
use salon::make::moved::{At, off_the_head};
use serde::Serialize;
use std::sync::Arc;

/// What a request for the turning head can end in besides its answer.
pub enum Refused {
    /// As for a page.
    Trouble(Trouble),
    /// It cannot be done; what is wrong, with cures.
    Faults(Vec<Fault>),
}

impl<T: Into<Trouble>> From<T> for Refused {
    fn from(trouble: T) -> Self {
        Self::Trouble(trouble.into())
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        #[derive(Serialize)]
        struct Body {
            faults: Vec<Fault>,
        }
        match self {
            Self::Trouble(trouble) => trouble.into_response(),
            Self::Faults(faults) => (StatusCode::UNPROCESSABLE_ENTITY, Json(Body { faults })).into_response(),
        }
    }
}

/// The head of a plan laid out, from memory where it was asked for before.
pub async fn model_of(app: &AppState, id: &str) -> Result<(Arc<HeadModel>, desk::Plan, KeptPlan), Refused> {
    let (plan, kept) = opened(app, id).await?;
    if let Some(model) = app.laid_out.of(&plan.id) {
        return Ok((model, plan, kept));
    }
    let (client, book) = (kept.client.clone(), kept.book());
    let laid = beside(move || client.check().and_then(|facts| salon::make::head_model(&facts, &book))).await?;
    let model = app.laid_out.keep(plan.id, laid.map_err(Refused::Faults)?);
    Ok((model, plan, kept))
}

/// The head of a plan alone: a dragged sandwich is judged without reading the
/// plan again.
pub async fn head_of(app: &AppState, id: &str) -> Result<Arc<HeadModel>, Refused> {
    if let Some(model) = app.laid_out.of(&id.parse().map_err(Trouble::from)?) {
        return Ok(model);
    }
    Ok(model_of(app, id).await?.0)
}

/// Runs what takes a while beside the event loop.
pub async fn beside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Trouble> {
    tokio::task::spawn_blocking(work).await.map_err(|error| Trouble::Ours(error.to_string()))
}

/// Sandwiches as places of a head.
pub fn all_standing(all: &[At]) -> Result<Vec<StandingSandwich>, Refused> {
    At::all_standing(all).map_err(Refused::Faults)
}

/// What is answered to a place that is none of hers.
pub fn out_of_reach() -> Refused {
    Refused::Faults(off_the_head())
}

/// A kept plan with everything it was made from.
pub async fn opened(app: &AppState, id: &str) -> Result<(desk::Plan, KeptPlan), Trouble> {
    Ok(app.salon.plan(id.parse().map_err(DeskFault::from)?).await?)
}
