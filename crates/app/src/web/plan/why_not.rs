//! Why not here: the answer to a tap on an empty place of the head or the map.

use super::model::{Refused, all_standing, beside, head_of, out_of_reach};
use crate::web::AppState;
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::response::{IntoResponse, Response};
use craft::piece::Cut;
use head::Panel;
use salon::Fault;
use salon::make::head_model::{OnSkin, is_about_a_head};
use salon::make::moved::At;
use salon::plan::{CautionPlan, SitePlan, combed};
use serde::{Deserialize, Serialize};

/// A place somebody tapped, and what stands already.
#[derive(Deserialize)]
pub struct TappedPlace {
    /// A point of the skin.
    point: Option<[f64; 3]>,
    /// A place of a panel of the map, mm: across, upward.
    on_panel: Option<OnPanel>,
    others: Vec<At>,
}

#[derive(Deserialize)]
struct OnPanel {
    panel: Panel,
    at: [f64; 2],
}

/// What keeps it free, or what may stand there.
#[derive(Serialize)]
struct Answer {
    says: String,
    /// Everything that keeps it free, each with its cure.
    faults: Vec<Fault>,
    cautions: Vec<CautionPlan>,
    offer: Option<Offer>,
}

/// A sandwich that may be set there.
#[derive(Serialize)]
struct Offer {
    above_nape_mm: f64,
    along_mm: f64,
    half: bool,
    site: Option<SitePlan>,
    tab: Vec<OnSkin>,
}

/// Answers for a place of the head or of the map.
pub async fn answer(Of(app): Of<AppState>, Path(id): Path<String>, Json(asked): Json<TappedPlace>) -> Result<Response, Refused> {
    let model = head_of(&app, &id).await?;
    let others = all_standing(&asked.others)?;
    let point = match (asked.point, asked.on_panel) {
        (Some(point), _) if is_about_a_head(&point) => point,
        (None, Some(place)) if is_about_a_head(&place.at) => model.on_skin_of(place.panel, place.at).ok_or_else(out_of_reach)?.0,
        _ => return Err(out_of_reach()),
    };
    let answer = beside(move || {
        let found = model.why_not(point, &others);
        let judged = found.judged;
        Answer {
            says: found.says,
            faults: judged.as_ref().map(|judged| judged.faults.clone()).unwrap_or_default(),
            cautions: judged.as_ref().map(|judged| judged.cautions.clone()).unwrap_or_default(),
            offer: found.offer.map(|at| Offer {
                above_nape_mm: combed(at.above_nape).to_mm(),
                along_mm: combed(at.along).to_mm(),
                half: at.cut == Cut::Half,
                site: judged.as_ref().and_then(|judged| judged.site.clone()),
                tab: judged.map(|judged| judged.tab).unwrap_or_default(),
            }),
        }
    })
    .await?;
    Ok(Json(answer).into_response())
}
