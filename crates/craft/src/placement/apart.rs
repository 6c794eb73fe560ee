//! How sandwiches stand to one another: gaps in a row, gaps across a section
//! line, rows apart, and brick.
//!
//! Brick compares places by their feet: the foot of a place is the point of the
//! row below that lies nearest to it. On a head, equal distances along two rows
//! do not stand above one another; near the crown they would be wrong by more
//! than a brick's offset.

use super::care::Floor;
use super::part::HeadPart;
use super::rules::{BRICK_OFFSET, BRICK_WITHIN, PLAIN_ROWS, SECTION_LEVELS, TAB_GAP};
use super::scalp::Line;
use super::site::{Placed, Request, RowSetting};
use measure::Length;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Two partings nearer than this are one, mm.
pub const ONE_PARTING_MM: f64 = 0.5;
/// What lengths may be off by the arithmetic alone, mm.
const HAIR: f64 = 1e-6;
/// How much farther aside the planner itself stands in brick, mm: places are told
/// to a tenth of a millimetre, and brick holds as they are told.
const SPARE: f64 = 0.1;
/// What a distance between two places may be off when both are told to a tenth
/// of a millimetre, as plans and pages tell them, mm.
const TOLD: f64 = 0.11;

/// One tab on the head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tab {
    /// Up the middle to its parting, mm.
    pub up: f64,
    /// Its middle, mm along.
    pub along: f64,
    /// Half its width, mm.
    pub half: f64,
    /// The section.
    pub part: HeadPart,
}

/// The tabs of one row of one section.
#[derive(Debug, Clone)]
pub struct RowOf {
    /// Up the middle to its parting, mm.
    pub up: f64,
    /// Its tabs.
    pub tabs: Vec<Tab>,
}

/// The rules by which two sandwiches can stand together, on one head.
pub struct Apart<'a> {
    request: &'a Request<'a>,
    /// Free parting between neighbours, mm.
    pub gap: f64,
    /// The least distance between rows, mm.
    pub spacing: f64,
    brick_within: f64,
    brick_offset: f64,
    plain_rows: usize,
    section_levels: f64,
    /// How much less than a distance still counts as it, mm.
    hair: f64,
    lines: RefCell<BTreeMap<i64, Option<Rc<Line>>>>,
}

impl<'a> Apart<'a> {
    /// The rules as the planner keeps them: brick with a little to spare.
    pub fn to_plan(request: &'a Request<'a>) -> Self {
        let apart = Self::of(request);
        Self { brick_offset: apart.brick_offset + SPARE, ..apart }
    }

    /// The rules in force for a request.
    pub fn of(request: &'a Request<'a>) -> Self {
        let rules = request.rules;
        Self {
            request,
            gap: rules.value(&TAB_GAP),
            spacing: request.limits.row_spacing.to_mm(),
            brick_within: rules.value(&BRICK_WITHIN),
            brick_offset: rules.value(&BRICK_OFFSET),
            plain_rows: rules.value(&PLAIN_ROWS).round() as usize,
            section_levels: rules.value(&SECTION_LEVELS),
            hair: HAIR,
            lines: RefCell::new(BTreeMap::new()),
        }
    }

    /// The same rules for places that were told to a tenth of a millimetre.
    pub fn as_told(request: &'a Request<'a>) -> Self {
        Self { hair: TOLD, ..Self::of(request) }
    }

    /// The parting that starts so far up the middle, made once.
    pub fn line(&self, up: f64) -> Option<Rc<Line>> {
        let key = (up * 1000.0).round() as i64;
        if let Some(line) = self.lines.borrow().get(&key) {
            return line.clone();
        }
        let line = self.request.scalp.line(Length::mm(up)).map(Rc::new);
        self.lines.borrow_mut().insert(key, line.clone());
        line
    }

    /// A sandwich as a tab; nothing where there is no parting.
    pub fn tab(&self, placed: &Placed) -> Option<Tab> {
        let up = placed.above_nape.to_mm();
        let part = self.line(up)?.part_at(placed.along);
        Some(Tab { up, along: placed.along.to_mm(), half: placed.piece.tab.width.to_mm() / 2.0, part })
    }

    /// How far up its own line a row of a section lies: up the middle at the
    /// back, up the sectioning line at the sides.
    pub fn reading(&self, part: HeadPart, up: f64) -> f64 {
        match part {
            HeadPart::Back => up,
            HeadPart::Left | HeadPart::Right => self.request.scalp.up_ear_line(Length::mm(up)).map_or(up, Length::to_mm),
        }
    }

    /// The rows of a section, lowest first.
    pub fn rows(tabs: impl Iterator<Item = Tab>, part: HeadPart) -> Vec<RowOf> {
        let mut rows: Vec<RowOf> = Vec::new();
        for tab in tabs.filter(|tab| tab.part == part) {
            match rows.iter_mut().find(|row| (row.up - tab.up).abs() < ONE_PARTING_MM) {
                Some(row) => row.tabs.push(tab),
                None => rows.push(RowOf { up: tab.up, tabs: vec![tab] }),
            }
        }
        rows.sort_by(|a, b| a.up.total_cmp(&b.up));
        rows
    }

    /// Whether a row stands in brick with the row directly below: neither is
    /// among the first rows of its section, and they are near.
    pub fn is_brick(&self, index: usize, below: f64, here: f64, part: HeadPart) -> bool {
        index >= self.plain_rows && self.reading(part, here) - self.reading(part, below) < self.brick_within - self.hair
    }

    /// How a row is set, by its place among the rows of its section.
    pub fn setting(&self, rows: &[RowOf], index: usize, part: HeadPart) -> RowSetting {
        let brick = index > 0 && self.is_brick(index, rows[index - 1].up, rows[index].up, part);
        if brick { RowSetting::Brick } else { RowSetting::SideBySide }
    }

    /// Whether an upper place stands over a lower one, by its foot.
    pub fn stands_over(&self, upper: &Tab, lower: &Tab) -> bool {
        let (Some(above), Some(below)) = (self.line(upper.up), self.line(lower.up)) else { return false };
        let Some(p) = above.at(Length::mm(upper.along)) else { return false };
        (below.foot(p).to_mm() - lower.along).abs() < self.brick_offset - self.hair
    }

    /// The least distance of middles in brick, mm.
    pub fn offset(&self) -> f64 {
        self.brick_offset
    }

    /// Whether two tabs come within the gap: in a row, or across the section line.
    fn too_near(&self, a: &Tab, b: &Tab) -> bool {
        if a.part == b.part {
            let aside = (a.along - b.along).abs() < a.half + b.half + self.gap - self.hair;
            return aside && (a.up - b.up).abs() < ONE_PARTING_MM;
        }
        // Only tabs on the same side of the head meet across a section line.
        a.along * b.along > 0.0 && self.meet(a, b)
    }

    /// Whether tabs of two sections, of about one height, come within the gap
    /// across the line: each measured on its own parting.
    fn meet(&self, a: &Tab, b: &Tab) -> bool {
        let (Some(one), Some(other)) = (self.line(a.up), self.line(b.up)) else { return false };
        let to_line = |tab: &Tab, line: &Line| (tab.along.abs() - line.section().to_mm()).abs() - tab.half;
        (one.level() - other.level()).abs().to_mm() < self.section_levels && to_line(a, &one) + to_line(b, &other) < self.gap - self.hair
    }

    /// Pairs of a section that break brick: how many.
    fn over_one_another(&self, rows: &[RowOf], part: HeadPart) -> usize {
        (1..rows.len())
            .filter(|&k| self.is_brick(k, rows[k - 1].up, rows[k].up, part))
            .map(|k| rows[k].tabs.iter().map(|u| rows[k - 1].tabs.iter().filter(|l| self.stands_over(u, l)).count()).sum::<usize>())
            .sum()
    }

    /// What a tab breaks beside others that stand; the others are taken as they are.
    pub fn breaks(&self, at: &Tab, others: &[Tab]) -> Vec<Floor> {
        let mut floors = Vec::new();
        if others.iter().any(|other| self.too_near(at, other)) {
            floors.push(Floor::TabGap);
        }
        let here = self.reading(at.part, at.up);
        let same = |other: &&Tab| other.part == at.part && (other.up - at.up).abs() >= ONE_PARTING_MM;
        if others.iter().filter(same).any(|other| (self.reading(at.part, other.up) - here).abs() < self.spacing - self.hair) {
            floors.push(Floor::RowSpacing);
        }
        let before = self.over_one_another(&Self::rows(others.iter().copied(), at.part), at.part);
        let after = self.over_one_another(&Self::rows(others.iter().chain([at]).copied(), at.part), at.part);
        if after > before {
            floors.push(Floor::Brick);
        }
        floors
    }
}
