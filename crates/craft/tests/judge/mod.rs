//! A judge of whole-head plans that shares nothing with the planner's search.
//!
//! It tries every place of a grid on the rows of the usual comb by itself (each
//! judged alone on the skin), and the places of the plan it is asked about;
//! writes the rules for two places together as a packing problem, and gives that
//! to integer programming (the crate microlp). What it finds is the least that
//! any layout on those places costs, the plan among them.
//! It judges each side as it comes, with one kind of piece and rows no closer
//! than usual, and neither tidiness nor how hair is spread: set those terms to
//! nothing before asking it.

use craft::coverage::{EAR_FLOOR, NAPE_FLOOR};
use craft::placement::{
    BRICK_OFFSET, BRICK_WITHIN, HeadPart, PLAIN_ROWS, Placed, Placement, ROW_SPACING, Request, SKIN_SLACK, TAB_GAP, WORTH_ROW, WORTH_SHORT,
    judge,
};
use head::{Border, Head};
use measure::Length;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use std::time::Duration;

/// The grid that places are tried on along a row, mm; before the ears, where the
/// free stretches are short, a finer one.
const ALONG: f64 = 2.5;
const ALONG_SIDE: f64 = 0.5;
/// Partings nearer than this are one, mm.
const ONE_PARTING: f64 = 0.05;
/// Combs that begin nearer than this are one, mm.
const ONE_COMB: f64 = 1.0;

/// A row in one half of a section.
struct Row {
    part: HeadPart,
    sign: f64,
    /// Its number in its section, from the lowest.
    index: usize,
    above_nape: f64,
    /// How high it lies as rows of its section are read, mm.
    reading: f64,
}

impl Row {
    fn is_same_half(&self, other: &Self) -> bool {
        self.part == other.part && self.sign == other.sign
    }
}

/// A place that may be taken.
struct Open {
    row: usize,
    /// From the middle, mm.
    along: f64,
    points: f64,
}

/// The rows of the usual comb (every 20 mm from the lowest that keeps clear)
/// and those of the plan. Where the plan begins within a millimetre of it, the
/// comb is the plan's: which half millimetre clears a hairline is no question of
/// layout.
fn rows(request: &Request, head: &Head, plan: &Placement) -> Vec<Row> {
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
    // The plan may leave the lowest rows of its comb empty.
    let as_planned = |part: HeadPart, own: f64, read: &dyn Fn(Length) -> Option<Length>| {
        let planned = plan.rows.iter().filter(|r| r.part == part).filter_map(|r| read(r.above_nape)).map(Length::to_mm);
        planned.map(|e| e - spacing * ((e - own) / spacing).round()).find(|e| (e - own).abs() <= ONE_COMB).unwrap_or(own)
    };
    let first = as_planned(HeadPart::Back, first, &Some);
    let mut rows = Vec::new();
    for sign in [-1.0, 1.0] {
        let ups = (0..).map(|k| first + spacing * f64::from(k)).take_while(|up| *up <= crown);
        rows.extend(
            with_rows_of(plan, HeadPart::Back, ups.map(|up| (up, up)), Some)
                .into_iter()
                .enumerate()
                .map(|(index, (above_nape, reading))| Row { part: HeadPart::Back, sign, index, above_nape, reading }),
        );
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
        let lowest = lowest.map(|own| as_planned(part, own, &|up| head.up_ear_line(up)));
        let es = lowest.into_iter().flat_map(|e| (0..6).map(move |k| e + spacing * f64::from(k)));
        let read = |up: f64| head.up_ear_line(Length::mm(up)).map(Length::to_mm);
        let ups = es.filter_map(|e| Some((head.of_ear_line(Length::mm(e))?.to_mm(), e)));
        rows.extend(with_rows_of(plan, part, ups, read).into_iter().enumerate().map(|(index, (above_nape, reading))| Row {
            part,
            sign,
            index,
            above_nape,
            reading,
        }));
    }
    rows
}

/// Rows of a section, up the middle and as they are read, with those of a plan
/// among them, lowest first.
fn with_rows_of(
    plan: &Placement,
    part: HeadPart,
    ups: impl Iterator<Item = (f64, f64)>,
    read: impl Fn(f64) -> Option<f64>,
) -> Vec<(f64, f64)> {
    let mut rows: Vec<(f64, f64)> = ups.collect();
    for up in plan.rows.iter().filter(|r| r.part == part).map(|r| r.above_nape.to_mm()) {
        if let Some(reading) = read(up).filter(|_| rows.iter().all(|(there, _)| (there - up).abs() > ONE_PARTING)) {
            rows.push((up, reading));
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows
}

/// Every place of the grid and of the plan, judged by itself.
fn open_places(request: &Request, head: &Head, rows: &[Row], plan: &Placement) -> Vec<Open> {
    let half = request.pieces[0].tab.width.to_mm() / 2.0;
    let gap = request.rules.value(&TAB_GAP);
    let mut open = Vec::new();
    for (r, row) in rows.iter().enumerate() {
        let Some(parting) = head.parting(Length::mm(row.above_nape)) else { continue };
        let section = parting.section().to_mm();
        // At the back the gap to the ear-to-ear line is kept, as the planner does.
        let (from, to, step) = match row.part {
            HeadPart::Back => (half + gap / 2.0, section - half - gap, ALONG),
            _ => (section + half, section + 120.0, ALONG_SIDE),
        };
        let grid = (0..).map(|k| from + step * f64::from(k)).take_while(|at| *at <= to);
        let planned = plan.sites.iter().filter(|s| {
            s.part == row.part && (s.above_nape.to_mm() - row.above_nape).abs() < ONE_PARTING && s.along.to_mm() * row.sign > 0.0
        });
        for at in grid.chain(planned.map(|s| s.along.to_mm().abs())) {
            let along = Length::mm(row.sign * at);
            let placed = Placed { above_nape: Length::mm(row.above_nape), along, piece: request.pieces[0] };
            let judged = judge(request, &placed);
            if let Some(site) = judged.site.as_ref().filter(|site| judged.is_allowed() && site.part == row.part) {
                open.push(Open { row: r, along: at, points: site.points.values().sum() });
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

/// The best layout of a request on the usual comb and the plan's own places;
/// nothing when none is found in time.
pub fn best(request: &Request, head: &Head, plan: &Placement, seconds: u64) -> Option<Judged> {
    let rows = rows(request, head, plan);
    let open = open_places(request, head, &rows, plan);
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
            let clique =
                on(r).filter(|(_, o)| o.along >= first.along && o.along < first.along + reach - 1e-6).map(|(i, _)| (chosen[i], 1.0));
            problem.add_constraint(clique.chain([(used[r], -1.0)]).collect::<Vec<_>>(), ComparisonOp::Le, 0.0);
        }
    }
    apart(&mut problem, request, head, (&rows, &used), (&open, &chosen));
    // Nothing is left behind: a layout that falls further short than the plan
    // would leave places open.
    let short = problem.add_var(rules.value(&WORTH_SHORT), (0.0, plan.short.to_g() + 1e-6));
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

/// What two rows of a half may not be to one another: nearer than any row, or
/// in want of brick.
///
/// A row stands in brick over the used row directly below it, unless no other is
/// used below that one: the first two rows of a section stand side by side.
fn apart(
    problem: &mut Problem,
    request: &Request,
    head: &Head,
    (rows, used): (&[Row], &[Variable]),
    (open, chosen): (&[Open], &[Variable]),
) {
    let rules = request.rules;
    assert!((rules.value(&PLAIN_ROWS) - 2.0).abs() < 1e-9, "the judge knows two plain rows");
    let nearest = request.limits.row_spacing.to_mm().min(rules.value(&ROW_SPACING));
    let (within, offset) = (rules.value(&BRICK_WITHIN), rules.value(&BRICK_OFFSET));
    let on = |row: usize| open.iter().enumerate().filter(move |(_, o)| o.row == row);
    for lower in 0..rows.len() {
        let above: Vec<usize> =
            (0..rows.len()).filter(|&r| rows[r].is_same_half(&rows[lower]) && rows[r].index > rows[lower].index).collect();
        // Whether anything is used below, on either half of the section.
        let under: Vec<usize> =
            (0..rows.len()).filter(|&k| rows[k].part == rows[lower].part && rows[k].index < rows[lower].index).collect();
        let any_under = problem.add_binary_var(0.0);
        for k in &under {
            problem.add_constraint([(used[*k], 1.0), (any_under, -1.0)], ComparisonOp::Le, 0.0);
        }
        for upper in above {
            let distance = rows[upper].reading - rows[lower].reading;
            if distance < nearest - 1e-6 {
                problem.add_constraint([(used[lower], 1.0), (used[upper], 1.0)], ComparisonOp::Le, 1.0);
                continue;
            }
            if distance >= within - 1e-6 || under.is_empty() {
                continue;
            }
            let between: Vec<usize> = (0..rows.len())
                .filter(|&k| rows[k].part == rows[lower].part && rows[k].index > rows[lower].index && rows[k].index < rows[upper].index)
                .collect();
            let (Some(line), Some(parting)) =
                (head.parting(Length::mm(rows[lower].above_nape)), head.parting(Length::mm(rows[upper].above_nape)))
            else {
                continue;
            };
            for (i, over) in on(upper) {
                let Some(p) = parting.at(Length::mm(rows[upper].sign * over.along)) else { continue };
                let foot = line.along_of(p).to_mm().abs();
                for (j, _) in on(lower).filter(|(_, o)| (o.along - foot).abs() < offset - 1e-6) {
                    // x + y <= 1, unless a row between is used or nothing is under the lower.
                    let terms = [(chosen[i], 1.0), (chosen[j], 1.0), (any_under, 1.0)];
                    let lifted = between.iter().map(|k| (used[*k], -1.0));
                    problem.add_constraint(terms.into_iter().chain(lifted).collect::<Vec<_>>(), ComparisonOp::Le, 2.0);
                }
            }
        }
    }
}
