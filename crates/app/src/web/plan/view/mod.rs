//! A plan as the page shows it: the verdict first, then numbers, map, places,
//! colour, money and steps. Nothing is decided here.
//!
//! This file is the whole page; each part of it stands in a file of its own.

mod colour;
mod first;
mod map;
mod money;
mod places;
mod quantity;
mod steps;
mod verdict;
mod what_if;
pub mod words;

use crate::web::client::fields::style_name;
use crate::web::client::names::display_name;
use crate::web::frame::page::moment;
use colour::ColourView;
use desk::KeptPlan;
use first::FirstView;
use map::MapView;
use measure::text::sentence;
use money::{BuyView, QuoteView};
use places::RowView;
use quantity::QuantityView;
use salon::plan::{Plan, SetByHand};
use salon::words::without_keys;
use steps::PhaseView;
use verdict::VerdictView;
use what_if::WhatIfView;
use words::without_fact;

/// The whole page.
pub struct PlanView {
    /// Her name.
    pub name: String,
    /// Her page.
    pub client: String,
    /// The plan's own address.
    pub id: String,
    /// When it was made.
    pub made: String,
    /// Whether her facts changed since.
    pub outdated: bool,
    /// The verdict.
    pub verdict: VerdictView,
    /// Faults with their cures.
    pub faults: Vec<FaultView>,
    /// What was missing or looks unlikely.
    pub warnings: Vec<String>,
    /// What the technician set herself, in a sentence.
    pub by_hand: Option<String>,
    /// The plan it was made from, where there is one.
    pub before: Option<String>,
    /// The way on that was taken, in words.
    pub taken: Option<String>,
    /// What stands first.
    pub first: FirstView,
    /// Whether anything was placed.
    pub placed: bool,
    /// The map in three panels; nothing for plans of before, and when nothing was placed.
    pub map: Option<MapView>,
    /// The one-sheet drawing of a plan of before.
    pub old_map: Option<String>,
    /// What the map bends.
    pub distortion: String,
    /// The styles she wears: word and name.
    pub worn: Vec<(String, String)>,
    /// What may be tried otherwise.
    pub what_if: WhatIfView,
    /// The rows with their sites.
    pub rows: Vec<RowView>,
    /// The shades.
    pub colour: ColourView,
    /// How much hair.
    pub quantity: QuantityView,
    /// What to buy.
    pub buy: Option<BuyView>,
    /// What it costs.
    pub quote: Option<QuoteView>,
    /// The steps by phase.
    pub phases: Vec<PhaseView>,
    /// What sets the re-tape day.
    pub retape_because: Vec<String>,
    /// The papers.
    pub papers: Vec<PaperView>,
}

/// A fault with its cure.
pub struct FaultView {
    /// What.
    pub what: String,
    /// The cure.
    pub cure: String,
}

/// A paper to download.
pub struct PaperView {
    /// Its file.
    pub file: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub says: &'static str,
}

/// The map, which hangs beside the first of the papers.
const MAP: PaperView = PaperView { file: "head-map.svg", name: "Head map", says: "Every site, as a drawing" };

/// What is no paper and may be downloaded too.
const FILES: &[PaperView] = &[
    PaperView { file: "retape.ics", name: "Re-tape date", says: "For a calendar" },
    PaperView { file: "plan.json", name: "Plan as data", says: "Every number, for other programs" },
    PaperView { file: "scalp.obj", name: "Scalp", says: "The fitted skin as a mesh in mm" },
];

impl PlanView {
    /// The page of a kept plan.
    pub fn of(plan: &desk::Plan, kept: KeptPlan, client: &desk::Client) -> Self {
        let placed = kept.plan.verdict.verdict.allows_a_plan() && !kept.plan.sites.is_empty();
        let made = &kept.plan;
        Self {
            name: display_name(&client.label),
            client: client.id.to_string(),
            id: plan.id.to_string(),
            made: moment(plan.made_ms),
            outdated: plan.facts_version != client.version,
            verdict: verdict::verdict(made),
            faults: made
                .faults
                .iter()
                // A refusal stands in the verdict already.
                .filter(|_| made.verdict.verdict.allows_a_plan())
                .map(|fault| FaultView {
                    what: sentence(&without_fact(&without_keys(&fault.what))),
                    cure: without_fact(&without_keys(&fault.cure)),
                })
                .collect(),
            warnings: made.warnings.iter().map(|warning| sentence(&without_keys(warning))).collect(),
            by_hand: made.set_by_hand.as_ref().map(by_hand),
            before: kept.from.as_ref().map(|from| from.plan.clone()),
            taken: kept.from.as_ref().and_then(|from| from.taken.as_deref().map(sentence)),
            first: first::first(made),
            placed,
            map: if placed { map::map(made) } else { None },
            old_map: (placed && made.panels.is_none()).then(|| paper::head_map_svg(made)),
            distortion: distortion(made),
            worn: worn(made),
            what_if: what_if::what_if(&kept),
            rows: if placed { places::rows(made) } else { Vec::new() },
            colour: colour::colour(&kept),
            quantity: quantity::quantity(&made.quantity),
            buy: money::buy(&kept),
            quote: money::quote(made),
            phases: if placed { steps::phases(made) } else { Vec::new() },
            retape_because: made.retape.as_ref().map(|retape| retape.because.clone()).unwrap_or_default(),
            papers: papers(placed, plan.scalp.is_some()),
        }
    }
}

/// What may be downloaded of a plan.
fn papers(placed: bool, has_scalp: bool) -> Vec<PaperView> {
    let mut all: Vec<PaperView> =
        paper::PAPERS.iter().map(|paper| PaperView { file: paper.file, name: paper.name, says: paper.says }).collect();
    all.insert(1, MAP);
    all.extend(FILES.iter().map(|file| PaperView { ..*file }));
    all.retain(|paper| (placed || paper.file == "plan.json") && (has_scalp || paper.file != "scalp.obj"));
    all
}

/// What the map bends, in words.
fn distortion(plan: &Plan) -> String {
    match (&plan.map, &plan.panels) {
        (_, Some(_)) => {
            "Lengths along a row are true on the map; at the back it is measured up to the crown, above that only the shape is shown."
                .to_owned()
        }
        (Some(map), None) => map.distortion.clone(),
        (None, None) => String::new(),
    }
}

fn by_hand(set: &SetByHand) -> String {
    let which = match set.sites.as_slice() {
        [one] => format!("{one} stands where you set it."),
        many => format!("{} sandwiches stand where you set them.", many.len()),
    };
    match &set.reason {
        Some(reason) => format!("{which} Limits are passed because: {}", sentence(reason)),
        None => which,
    }
}

/// The styles that the sites were judged in.
fn worn(plan: &Plan) -> Vec<(String, String)> {
    let first = plan.sites.first().into_iter().flat_map(|site| site.coverage.keys());
    first.map(|style| (style.word().to_owned(), style_name(style.word()))).collect()
}
