//! A judge of whole-head plans that shares nothing with the planner's search.
//!
//! It tries every place of a grid on the rows of the usual comb by itself (each
//! judged alone on the skin), writes the rules for two places together as a
//! packing problem, and gives that to integer programming (the crate microlp).
//! It judges each side as it comes, with one kind of piece, and neither tidiness
//! nor how hair is spread: set those terms to nothing before asking it.

use craft::coverage::{EAR_FLOOR, NAPE_FLOOR};
use craft::placement::{
    BRICK_OFFSET, BRICK_WITHIN, HeadPart, PLAIN_ROWS, Placed, Placement, ROW_SPACING, Request, SKIN_SLACK, TAB_GAP, WORTH_ROW, WORTH_SHORT,
    judge,
};
use head::{Border, Head};
use measure::Length;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use std::time::Duration;

/// The grid that places are tried on along a row, mm.
const ALONG: f64 = 2.5;

/// A row of the usual comb in one half of a section.
struct Row {
    part: HeadPart,
    sign: f64,
    /// Its number in its section, from the lowest.
    index: usize,
    above_nape: f64,
}

/// A place of the grid that may be taken.
struct Open {
    row: usize,
    along: f64,
    points: f64,
    /// Its foot on the row below, from the middle; nothing on the lowest row.
    foot: Option<f64>,
}

/// The rows of the usual comb: every 20 mm from the lowest that keeps clear.
fn rows(request: &Request, head: &Head) -> Vec<Row> {
    let spacing = request.rules.value(&ROW_SPACING);
    let slack = request.rules.value(&SKIN_SLACK);
    let crown = request.scalp.crown_above_nape().to_mm();
    let nape = Length::mm(request.rules.value(&NAPE_FLOOR) + slack);
    let clear = |up: f64| {
        head.parting(Length::mm(up)).is_some_and(|p| {
            let end = p.back_end();
            (0..=60).all(|k| p.at(end * (f64::from(k) / 60.0)).is_none_or(|q| head.clearance(Border::NapeHairline, q) >= nape))
        })
    };
    let first = (0..200).map(|k| nape.to_mm() + 0.5 * f64::from(k)).find(|up| clear(*up)).unwrap_or(f64::INFINITY);
    let mut rows = Vec::new();
    for sign in [-1.0, 1.0] {
        let ups = (0..).map(|k| first + spacing * f64::from(k)).take_while(|up| *up <= crown);
        rows.extend(ups.enumerate().map(|(index, above_nape)| Row { part: HeadPart::Back, sign, index, above_nape }));
        let part = if sign < 0.0 { HeadPart::Left } else { HeadPart::Right };
        let ear = request.rules.value(&EAR_FLOOR) + slack;
        let border = if sign < 0.0 { Border::LeftEar } else { Border::RightEar };
        let clear = |e: f64| {
            let up = head.of_ear_line(Length::mm(e))?;
            let p = head.parting(up)?;
            let q = p.at(p.section() * sign)?;
            (head.clearance(border, q) >= Length::mm(ear)).then_some(e)
        };
        let lowest = (0..120).find_map(|k| clear(ear + 0.5 * f64::from(k)));
        let ups = lowest.into_iter().flat_map(|e| (0..6).map(move |k| e + spacing * f64::from(k)));
        rows.extend(ups.enumerate().filter_map(|(index, e)| Some(Row { part, sign, index, above_nape: head.of_ear_line(Length::mm(e))?.to_mm() })));
    }
    rows
}

/// Every place of the grid, judged by itself.
fn open_places(request: &Request, head: &Head, rows: &[Row]) -> Vec<Open> {
    let half = request.pieces[0].tab.width.to_mm() / 2.0;
    let gap = request.rules.value(&TAB_GAP);
    let mut open = Vec::new();
    for (r, row) in rows.iter().enumerate() {
        let Some(parting) = head.parting(Length::mm(row.above_nape)) else { continue };
        let section = parting.section().to_mm();
        // At the back the gap to the ear-to-ear line is kept, as the planner does.
        let (from, to) = match row.part {
            HeadPart::Back => (half + gap / 2.0, section - half - gap),
            _ => (section + half, section + 120.0),
        };
        let below = rows.iter().find(|b| b.part == row.part && b.sign == row.sign && b.index + 1 == row.index);
        let below = below.and_then(|b| head.parting(Length::mm(b.above_nape)));
        let mut at = from;
        while at <= to {
            let along = Length::mm(row.sign * at);
            let placed = Placed { above_nape: Length::mm(row.above_nape), along, piece: request.pieces[0] };
            let judged = judge(request, &placed);
            if let Some(site) = judged.site.as_ref().filter(|site| judged.is_allowed() && site.part == row.part) {
                let foot = below.as_ref().zip(parting.at(along)).map(|(line, p)| line.along_of(p).to_mm().abs());
                open.push(Open { row: r, along: at, points: site.points.values().sum(), foot });
            }
            at += ALONG;
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

/// Points of a plan as the judge counts them: half a row's for each half of the
/// head that is set on it.
pub fn points_of(request: &Request, plan: &Placement) -> f64 {
    let halves = plan.rows.iter().filter(|r| !(r.part == HeadPart::Back && r.in_section == 1)).map(|row| {
        let on = |sign: f64| plan.sites.iter().any(|s| s.row == row.row && s.along.to_mm() * sign > 0.0);
        f64::from(u8::from(on(-1.0)) + u8::from(on(1.0)))
    });
    plan.sites.iter().flat_map(|s| s.points.values()).sum::<f64>()
        + halves.sum::<f64>() * 0.5 * request.rules.value(&WORTH_ROW)
        + request.rules.value(&WORTH_SHORT) * plan.short.to_g()
}

/// The best layout of a request; nothing when none is found in time.
pub fn best(request: &Request, head: &Head, seconds: u64) -> Option<Judged> {
    let rows = rows(request, head);
    let open = open_places(request, head, &rows);
    let rules = request.rules;
    let reach = request.pieces[0].tab.width.to_mm() + rules.value(&TAB_GAP);
    let mass = request.pieces[0].hanging_mass(request.setting).to_g();
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    problem.set_time_limit(Duration::from_secs(seconds));
    let chosen: Vec<Variable> = open.iter().map(|o| problem.add_binary_var(o.points)).collect();
    // Both halves of the back share a row; each side pays half of one.
    let used: Vec<Variable> = rows
        .iter()
        .map(|row| {
            let free = row.part == HeadPart::Back && row.index == 0;
            problem.add_binary_var(if free { 0.0 } else { 0.5 * rules.value(&WORTH_ROW) })
        })
        .collect();
    let on = |row: usize| open.iter().enumerate().filter(move |(_, o)| o.row == row);
    for r in 0..rows.len() {
        for (_, first) in on(r) {
            // Of the places whose tabs and gaps meet over one point only one is taken.
            let clique = on(r).filter(|(_, o)| o.along >= first.along && o.along < first.along + reach - 1e-6).map(|(i, _)| (chosen[i], 1.0));
            problem.add_constraint(clique.chain([(used[r], -1.0)]).collect::<Vec<_>>(), ComparisonOp::Le, 0.0);
        }
        let below = (0..rows.len()).find(|&b| rows[b].part == rows[r].part && rows[b].sign == rows[r].sign && rows[b].index + 1 == rows[r].index);
        let Some(below) = below.filter(|_| rows[r].index >= rules.value(&PLAIN_ROWS) as usize) else { continue };
        if rules.value(&ROW_SPACING) >= rules.value(&BRICK_WITHIN) {
            continue;
        }
        for (i, upper) in on(r) {
            let foot = upper.foot.unwrap_or(f64::INFINITY);
            for (j, _) in on(below).filter(|(_, lower)| (lower.along - foot).abs() < rules.value(&BRICK_OFFSET) - 1e-6) {
                problem.add_constraint([(chosen[i], 1.0), (chosen[j], 1.0)], ComparisonOp::Le, 1.0);
            }
        }
    }
    let short = problem.add_var(rules.value(&WORTH_SHORT), (0.0, f64::INFINITY));
    let brought: Vec<_> = chosen.iter().map(|c| (*c, mass)).chain([(short, 1.0)]).collect();
    problem.add_constraint(brought, ComparisonOp::Ge, request.wish.to_g());
    match problem.solve() {
        Ok(SolveOutcome::Solution(solution)) => {
            let outcome = SolveOutcome::Solution(solution);
            let proved = outcome.is_optimal();
            outcome.solution().map(|s| Judged { points: s.objective(), proved, gap: s.gap(), places: open.len() })
        }
        _ => None,
    }
}
