//! A judge of whole-head plans that shares nothing with the planner's search.
//!
//! It tries every place of the combing grid by itself (each judged alone on the
//! skin), writes the rules for two places together as a packing problem, and
//! gives that to integer programming (the crate microlp). It judges each side
//! as it comes, with one kind of piece and hair wished for by region.

use craft::placement::{
    BRICK_OFFSET, BRICK_WITHIN, FIRST_PARTING, HeadPart, PLAIN_ROWS, Placed, Placement, ROW_SPACING, ROWS_MOST, Request, SKIN_SLACK, TAB_GAP,
    WORTH_ROW, WORTH_SHORT, judge,
};
use head::Zone;
use measure::Length;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use std::time::Duration;

/// The grid that partings and places are combed on, mm.
const LEVEL: f64 = 5.0;
const ALONG: f64 = 5.0;
/// Regions that hair is wished for in.
pub const REGIONS: usize = 4;

/// A place of the grid that may be taken.
struct Open {
    level: usize,
    along: f64,
    region: usize,
    points: f64,
}

fn region_of(part: HeadPart, zone: Zone) -> usize {
    match part {
        HeadPart::Left => 2,
        HeadPart::Right => 3,
        HeadPart::Back if zone == Zone::Nape => 0,
        HeadPart::Back => 1,
    }
}

/// Every place of the grid, judged by itself.
fn open_places(request: &Request, heights: &[f64], half: f64) -> Vec<Open> {
    let start = half + request.rules.value(&TAB_GAP) / 2.0;
    let mut open = Vec::new();
    for (level, &height) in heights.iter().enumerate() {
        let middles = (0..60).map(|k| start + ALONG * f64::from(k)).flat_map(|m| [-m, m]).chain([0.0]);
        for along in middles {
            let at = Placed { above_nape: Length::mm(height), along: Length::mm(along), piece: request.pieces[0] };
            let judged = judge(request, &at);
            if let Some(site) = judged.site.as_ref().filter(|_| judged.is_allowed()) {
                open.push(Open { level, along, region: region_of(site.part, site.zone), points: site.points.values().sum() });
            }
        }
    }
    open
}

/// What the judge found.
pub struct Judged {
    /// Points of its best layout.
    pub points: f64,
    /// Whether no layout has fewer.
    pub proved: bool,
    /// How far its bound lies below, as a share, where it is not proved.
    pub gap: Option<f64>,
    /// How many places it chose among.
    pub places: usize,
}

/// The best layout of a request for hair by region; nothing when none is found
/// in time.
pub fn best(request: &Request, wanted: [f64; REGIONS], seconds: u64) -> Option<Judged> {
    let lowest = request.limits.floors.nape.to_mm() + request.rules.value(&SKIN_SLACK);
    let highest = (request.scalp.crown_above_nape() + request.limits.floors.above_crown).to_mm();
    let heights: Vec<f64> = (0..100).map(|k| lowest + LEVEL * f64::from(k)).filter(|h| *h <= highest).collect();
    let open = open_places(request, &heights, request.pieces[0].tab.width.to_mm() / 2.0);
    let mass = request.pieces[0].hanging_mass(request.setting).to_g();
    let (points, proved, gap) = solve(request, &heights, &open, wanted, mass, seconds)?;
    Some(Judged { points, proved, gap, places: open.len() })
}

/// The packing problem; nothing when no answer is found in time.
fn solve(request: &Request, heights: &[f64], open: &[Open], wanted: [f64; REGIONS], mass: f64, seconds: u64) -> Option<(f64, bool, Option<f64>)> {
    let rules = request.rules;
    let tab = request.pieces[0].tab.width.to_mm();
    let reach = tab + rules.value(&TAB_GAP);
    let lowest = heights[open.iter().map(|o| o.level).min()?];
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    problem.set_time_limit(Duration::from_secs(seconds));
    let rows: Vec<Variable> = heights.iter().map(|h| problem.add_binary_var(if *h == lowest { 0.0 } else { rules.value(&WORTH_ROW) })).collect();
    let chosen: Vec<Variable> = open.iter().map(|o| problem.add_binary_var(o.points)).collect();
    let on = |level: usize| open.iter().enumerate().filter(move |(_, o)| o.level == level);
    for level in 0..heights.len() {
        // Of the places whose tabs and gaps meet over one point only one is taken.
        for (_, first) in on(level) {
            let clique: Vec<_> = on(level).filter(|(_, o)| o.along >= first.along && o.along < first.along + reach - 1e-6).map(|(i, _)| (chosen[i], 1.0)).collect();
            problem.add_constraint(clique.into_iter().chain([(rows[level], -1.0)]), ComparisonOp::Le, 0.0);
        }
        // Of the partings within a spacing only one carries a row.
        let near: Vec<_> = (level..heights.len()).filter(|&l| heights[l] - heights[level] < rules.value(&ROW_SPACING) - 1e-6).map(|l| (rows[l], 1.0)).collect();
        problem.add_constraint(near, ComparisonOp::Le, 1.0);
        let above = heights[level] - lowest;
        if above > rules.value(&FIRST_PARTING) + 1e-6 && above < rules.value(&ROW_SPACING) - 1e-6 {
            problem.add_constraint([(rows[level], 1.0)], ComparisonOp::Le, 0.0);
        }
    }
    problem.add_constraint(rows.iter().map(|r| (*r, 1.0)), ComparisonOp::Le, rules.value(&ROWS_MOST));
    let brick_from = lowest + rules.value(&ROW_SPACING) * rules.value(&PLAIN_ROWS) - 1.0;
    for upper in 0..heights.len() {
        for lower in 0..upper {
            let apart = heights[upper] - heights[lower];
            if heights[upper] <= brick_from || apart < rules.value(&ROW_SPACING) - 1e-6 || apart >= rules.value(&BRICK_WITHIN) {
                continue;
            }
            for first in on(lower).chain(on(upper)).map(|(_, o)| o.along).collect::<Vec<_>>() {
                let clique: Vec<_> = on(lower).chain(on(upper)).filter(|(_, o)| o.along >= first && o.along < first + rules.value(&BRICK_OFFSET) - 1e-6).map(|(i, _)| (chosen[i], 1.0)).collect();
                problem.add_constraint(clique, ComparisonOp::Le, 1.0);
            }
        }
    }
    for (region, wanted) in wanted.into_iter().enumerate() {
        let short = problem.add_var(rules.value(&WORTH_SHORT), (0.0, f64::INFINITY));
        let brought = open.iter().enumerate().filter(|(_, o)| o.region == region).map(|(i, _)| (chosen[i], mass));
        problem.add_constraint(brought.chain([(short, 1.0)]), ComparisonOp::Ge, wanted);
    }
    match problem.solve() {
        Ok(SolveOutcome::Solution(solution)) => {
            let outcome = SolveOutcome::Solution(solution);
            let proved = outcome.is_optimal();
            outcome.solution().map(|s| (s.objective(), proved, s.gap()))
        }
        _ => None,
    }
}

/// Hair by region of a plan whose sandwiches all weigh the same.
pub fn grams_by_region(placement: &Placement, mass: f64) -> [f64; REGIONS] {
    let mut grams = [0.0; REGIONS];
    for site in &placement.sites {
        grams[region_of(site.part, site.zone)] += mass;
    }
    grams
}

