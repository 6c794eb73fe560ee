//! The turning head of a plan: its shape, how each style hides a bond, and the
//! answer for a sandwich that somebody moves.

use super::fields::style_name;
use super::making;
use super::page::Trouble;
use super::plan_view::words::without_fact;
use super::plans::opened;
use super::{AppState, swatch};
use axum::Json;
use axum::extract::{Path, State as Of};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use craft::coverage::Style;
use craft::placement::HeadPart;
use desk::KeptPlan;
use desk::PlanId;
use head::{ScalpShape, SkinPoint, SmoothSkin};
use measure::Length;
use salon::Fault;
use salon::make::head_model::{HeadModel, Judged, OnSkin, StandingSandwich};
use salon::make::moved::{At, Moves, off_the_head, same_again};
use salon::plan::{CautionPlan, LandmarksPlan, OtherLayout, OtherSite, Plan, SitePlan};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// Heads that are kept laid out.
const MOST_LAID_OUT: usize = 4;
/// A line is drawn so much further than it runs, by which rounding may step off it.
const ROUNDED_DRAWN: Length = Length::mm(0.1);
/// Hair grows dense over so much skin inside the hairline, on the picture.
const SOFT_EDGE_DRAWN: Length = Length::mm(8.0);

/// The heads that were looked at last, laid out for questions.
#[derive(Default)]
pub struct LaidOut(Mutex<VecDeque<(PlanId, Arc<HeadModel>)>>);

impl LaidOut {
    fn at_hand(&self, plan: PlanId) -> Option<Arc<HeadModel>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(known, _)| *known == plan).map(|(_, model)| model.clone())
    }

    fn keep(&self, plan: PlanId, model: Arc<HeadModel>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.retain(|(known, _)| *known != plan);
        kept.push_back((plan, model));
        if kept.len() > MOST_LAID_OUT {
            kept.pop_front();
        }
    }
}

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
    if let Some(model) = app.laid_out.at_hand(plan.id) {
        return Ok((model, plan, kept));
    }
    let (client, book) = (kept.client.clone(), kept.book());
    let laid = beside(move || client.check().and_then(|facts| salon::make::head_model(&facts, &book))).await?;
    let model = Arc::new(laid.map_err(Refused::Faults)?);
    app.laid_out.keep(plan.id, model.clone());
    Ok((model, plan, kept))
}

/// The head of a plan alone: a dragged sandwich is judged without reading the
/// plan again.
pub async fn head_of(app: &AppState, id: &str) -> Result<Arc<HeadModel>, Refused> {
    if let Some(model) = app.laid_out.at_hand(id.parse().map_err(Trouble::from)?) {
        return Ok(model);
    }
    Ok(model_of(app, id).await?.0)
}

/// Runs what takes a while beside the event loop.
pub async fn beside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Trouble> {
    tokio::task::spawn_blocking(work).await.map_err(|error| Trouble::Ours(error.to_string()))
}

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
                line: row_lines(model, row.parting_above_nape, row.section),
            })
            .collect(),
        sites: sites_drawn(model, plan),
        others: plan.others.iter().map(|other| other_drawn(model, other)).collect(),
    }
}

/// The line of a row as it is combed: within its section.
fn row_lines(model: &HeadModel, above_nape: Length, section: Option<HeadPart>) -> Vec<OnSkin> {
    let Some(parting) = model.head().parting(above_nape) else { return Vec::new() };
    let (from, to) = parting.extent();
    let ear = parting.section();
    let (from, to) = match section {
        Some(HeadPart::Back) => (from.max(-ear), to.min(ear)),
        Some(HeadPart::Left) => (from, (-ear).max(from)),
        Some(HeadPart::Right) => (ear.min(to), to),
        None => (from, to),
    };
    let within = |p: &OnSkin| {
        let along = parting.along_of(SkinPoint(p.at_mm));
        along >= from - ROUNDED_DRAWN && along <= to + ROUNDED_DRAWN
    };
    model.parting(above_nape).into_iter().filter(within).collect()
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

/// A row nearer than this to where a sandwich is dropped takes it, mm: about a finger.
const CATCHES: f64 = 9.0;

/// Judges a sandwich where somebody would move it.
pub async fn judge(Of(app): Of<AppState>, Path(id): Path<String>, Json(asked): Json<DroppedSandwich>) -> Result<Response, Refused> {
    let model = head_of(&app, &id).await?;
    let others = all_standing(&asked.others)?;
    let mut at = asked.at.standing().ok_or_else(out_of_reach)?;
    if let Some(point) = asked.point {
        let sound = point.iter().all(|v| v.is_finite() && v.abs() < 400.0);
        let combed = sound.then(|| model.combed(point)).flatten().ok_or_else(out_of_reach)?;
        (at.above_nape, at.along) = caught(combed, &others, &model, point);
    }
    let judged = beside(move || model.judge(at, &others)).await?;
    let tenth = |length: Length| (10.0 * length.to_mm()).round() / 10.0;
    Ok(Json(Answer { above_nape_mm: tenth(at.above_nape), along_mm: tenth(at.along), judged }).into_response())
}

/// The parting of another row of the same section where one runs near, so that
/// rows stay rows; else a line of its own.
fn caught(combed: (Length, Length), others: &[StandingSandwich], model: &HeadModel, point: [f64; 3]) -> (Length, Length) {
    let part = part_of(model, combed.0, combed.1);
    let apart = |height: Length| (height - combed.0).abs().to_mm();
    let row = others
        .iter()
        .filter(|other| apart(other.above_nape) < CATCHES && part_of(model, other.above_nape, other.along) == part)
        .map(|other| other.above_nape)
        .min_by(|a, b| apart(*a).total_cmp(&apart(*b)));
    match row {
        Some(height) => (height, model.along_parting(height, point).unwrap_or(combed.1)),
        None => combed,
    }
}

/// The section that a place lies in.
pub fn part_of(model: &HeadModel, above_nape: Length, along: Length) -> HeadPart {
    let section = model.head().parting(above_nape).map(|parting| parting.section());
    match section {
        Some(section) if along > section => HeadPart::Right,
        Some(section) if along < -section => HeadPart::Left,
        _ => HeadPart::Back,
    }
}

pub fn all_standing(all: &[At]) -> Result<Vec<StandingSandwich>, Refused> {
    At::all_standing(all).map_err(Refused::Faults)
}

pub fn out_of_reach() -> Refused {
    Refused::Faults(off_the_head())
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
