//! The turning head of a plan: its shape, and everything that is drawn on it.

use super::model::{Refused, beside, model_of};
use super::view::words::without_fact;
use crate::web::AppState;
use crate::web::client::fields::style_name;
use crate::web::frame::swatch;
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::response::{IntoResponse, Response};
use head::{ScalpShape, SkinPoint, SmoothSkin};
use measure::Length;
use salon::make::head_model::{HeadModel, OnSkin, StandingSandwich};
use salon::plan::{CautionPlan, LandmarksPlan, OtherLayout, OtherSite, Plan, SitePlan};
use serde::Serialize;

/// Hair grows dense over so much skin inside the hairline, on the picture.
const SOFT_EDGE_DRAWN: Length = Length::mm(8.0);

/// The head and all that stands on it.
#[derive(Serialize)]
struct Scene {
    mesh: Mesh,
    /// How far each corner of the mesh bears hair, 0 to 255.
    hair: Vec<u8>,
    /// Up, when she looks straight ahead.
    up: [f64; 3],
    landmarks: LandmarksPlan,
    midline: Vec<[f64; 3]>,
    styles: Vec<StyleName>,
    /// The share of a bond that must be hidden for it not to show.
    hidden_from: f64,
    /// Grams that she wished for.
    wished_g: f64,
    cautions: Vec<CautionPlan>,
    tab_height_mm: f64,
    rows: Vec<RowLine>,
    sites: Vec<SiteDrawn>,
    others: Vec<OtherDrawn>,
}

/// Another layout, to look at.
#[derive(Serialize)]
struct OtherDrawn {
    points_more: f64,
    sites: Vec<OtherSiteDrawn>,
}

#[derive(Serialize)]
struct OtherSiteDrawn {
    at: OtherSite,
    tab: Vec<OnSkin>,
}

/// The skin as triangles: x, y, z of corners in mm and of their outward
/// directions, three corners to a face.
#[derive(Serialize)]
struct Mesh {
    positions_mm: Vec<f32>,
    normals: Vec<f32>,
    indices: Vec<u32>,
}

impl Mesh {
    fn of(head: &head::Head) -> Self {
        let skin = head.mesh();
        let row = |points: &mut dyn Iterator<Item = [f64; 3]>, parts: f64| {
            points.flatten().map(|v| ((v * parts).round() / parts) as f32).collect()
        };
        Self {
            positions_mm: row(&mut skin.vertices().iter().copied(), 100.0),
            normals: row(&mut skin.vertices().iter().map(|p| head.shape().normal(*p)), 1000.0),
            indices: skin.faces().iter().flatten().copied().collect(),
        }
    }
}

#[derive(Serialize)]
struct StyleName {
    style: &'static str,
    name: String,
}

#[derive(Serialize)]
struct RowLine {
    row: u32,
    /// What it is called.
    title: String,
    above_nape_mm: f64,
    /// Its line within its section; in plans of before, all round.
    line: Vec<OnSkin>,
}

/// A site as it is drawn and moved.
#[derive(Serialize)]
pub struct SiteDrawn {
    site: SitePlan,
    tab: Vec<OnSkin>,
    fill: String,
    under_fill: String,
}

/// The head of a plan with its sites.
pub async fn scene(Of(app): Of<AppState>, Path(id): Path<String>) -> Result<Response, Refused> {
    let (model, _, kept) = model_of(&app, &id).await?;
    let drawn = beside(move || draw(&model, &kept.plan)).await?;
    Ok(Json(drawn).into_response())
}

fn draw(model: &HeadModel, plan: &Plan) -> Scene {
    let head = model.head();
    let share = |p: &[f64; 3]| (255.0 * head.hair_share(SkinPoint(*p), SOFT_EDGE_DRAWN)).round() as u8;
    let bare = |points: &[SkinPoint]| points.iter().map(|p| p.0).collect();
    Scene {
        mesh: Mesh::of(head),
        hair: head.mesh().vertices().iter().map(share).collect(),
        up: ScalpShape::up(),
        landmarks: plan.landmarks_mm.clone(),
        midline: bare(&head.landmarks().midline),
        styles: model.facts().wish.styles.iter().map(|style| StyleName { style: style.word(), name: style_name(style.word()) }).collect(),
        hidden_from: model.hidden_from(),
        wished_g: plan.quantity.wished.to_g(),
        cautions: plan.cautions.clone(),
        tab_height_mm: model.tab_height().to_mm(),
        rows: plan
            .rows
            .iter()
            .map(|row| RowLine {
                row: row.row,
                title: row.called(),
                above_nape_mm: row.parting_above_nape.to_mm(),
                line: model.row_line(row.parting_above_nape, row.section),
            })
            .collect(),
        sites: sites_drawn(model, plan),
        others: plan.others.iter().map(|other| other_drawn(model, other)).collect(),
    }
}

fn other_drawn(model: &HeadModel, other: &OtherLayout) -> OtherDrawn {
    let drawn = |site: &OtherSite| {
        let at = StandingSandwich { above_nape: site.above_nape, along: site.along, cut: site.cut };
        OtherSiteDrawn { at: site.clone(), tab: model.tab(at, site.width) }
    };
    OtherDrawn { points_more: other.points_more, sites: other.sites.iter().map(drawn).collect() }
}

/// The sites of a plan as they are drawn on a head.
pub fn sites_drawn(model: &HeadModel, plan: &Plan) -> Vec<SiteDrawn> {
    plan.sites
        .iter()
        .map(|site| SiteDrawn {
            tab: model.tab(StandingSandwich::of(site), site.width),
            fill: swatch::of_plan(plan, &site.piece.shade),
            under_fill: swatch::of_plan(plan, site.piece.under_shade.as_ref().unwrap_or(&site.piece.shade)),
            site: SitePlan { because: site.because.iter().map(|says| without_fact(says)).collect(), ..site.clone() },
        })
        .collect()
}
