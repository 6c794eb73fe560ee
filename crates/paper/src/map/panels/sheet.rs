//! Where the three panels stand on the sheet, and what is drawn on them.

use super::super::pen::{Anchor, QUIET, SMALL, Spot, Text, Weight};
use crate::shade::Shade;
use crate::words::width_em;
use ::head::Panel;
use salon::plan::{MapPair, PanelPlan, PanelsPlan, Plan, RowPlan, SitePlan};

/// Room between a line's end and its reading.
pub(super) const LEAD: f64 = 2.5;

/// The least room left at the edge of the sheet.
pub(super) const RIM: f64 = 1.0;

/// What the map shows.
pub(crate) struct Subject<'a> {
    pub panels: &'a PanelsPlan,
    pub plan: &'a Plan,
    pub shades: &'a [Shade],
}

impl<'a> Subject<'a> {
    /// A row of a panel with its line, where it has one.
    pub(super) fn rows(&self, panel: Panel) -> Vec<(&'a RowPlan, f64)> {
        self.panels
            .get(panel)
            .rows
            .iter()
            .filter_map(|line| {
                let row = self.plan.rows.iter().find(|row| row.row == line.row)?;
                Some((row, height_of(row, line.line.first().copied()?, panel)))
            })
            .filter(|(_, height)| height.is_finite())
            .collect()
    }

    /// The sites of a panel.
    pub(super) fn sites(&self, panel: Panel) -> impl Iterator<Item = &'a SitePlan> {
        self.plan.sites.iter().filter(move |site| site.panel == Some(panel))
    }
}

/// How high a row lies on its panel: at a side its own reading, since its line
/// bends on where only the shape is shown.
fn height_of(row: &RowPlan, first: MapPair, panel: Panel) -> f64 {
    match (row.start, panel) {
        (Some(start), Panel::Left | Panel::Right) => start.up.to_mm(),
        _ => first[1],
    }
}

/// How the millimetres of one panel fall on the page.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub(super) scale: f64,
    pub(super) origin: Spot,
}

impl Frame {
    pub(super) fn spot(&self, pair: MapPair) -> Spot {
        [self.origin[0] + self.scale * pair[0], self.origin[1] - self.scale * pair[1]]
    }

    pub(super) fn spots(&self, pairs: &[MapPair]) -> Vec<Spot> {
        pairs.iter().map(|pair| self.spot(*pair)).filter(|s| s[0].is_finite() && s[1].is_finite()).collect()
    }
}

/// Least and greatest of what is finite.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extent {
    pub(super) low: MapPair,
    pub(super) high: MapPair,
}

impl Extent {
    pub(super) fn of(pairs: impl Iterator<Item = MapPair>) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for pair in pairs.filter(|p| p[0].is_finite() && p[1].is_finite()) {
            for axis in 0..2 {
                low[axis] = low[axis].min(pair[axis]);
                high[axis] = high[axis].max(pair[axis]);
            }
        }
        if low[0] > high[0] { Self { low: [-1.0; 2], high: [1.0; 2] } } else { Self { low, high } }
    }

    pub(super) fn of_panel(panel: &PanelPlan) -> Self {
        let lines = panel.rows.iter().flat_map(|row| row.line.iter());
        Self::of(panel.edge.iter().chain(panel.ears.iter().flatten()).chain(lines).copied())
    }

    /// How far it reaches to either side of nothing.
    pub(super) fn reach(&self) -> f64 {
        self.high[0].max(-self.low[0]).max(1.0)
    }

    pub(super) fn height(&self) -> f64 {
        (self.high[1] - self.low[1]).max(1.0)
    }
}

/// Where the three panels stand on the page.
pub(super) struct Sheet {
    pub(super) back: Frame,
    pub(super) left: Frame,
    pub(super) right: Frame,
    /// The top of the sides' names.
    pub(super) sides_top: f64,
}

impl Sheet {
    pub(super) const fn frame(&self, panel: Panel) -> &Frame {
        match panel {
            Panel::Back => &self.back,
            Panel::Left => &self.left,
            Panel::Right => &self.right,
        }
    }
}

/// How wide a text prints on the map, with room for the reader's own face.
pub(super) fn wide(words: &str, size: f64, weight: Weight) -> f64 {
    width_em(words) * size * if weight == Weight::Bold { 1.14 } else { 1.06 }
}

pub(super) fn quiet(at: Spot, anchor: Anchor) -> Text {
    Text { at, size: SMALL, anchor, weight: Weight::Plain, colour: QUIET }
}

/// The panels in the order of work.
pub(super) const PANELS: [Panel; 3] = [Panel::Back, Panel::Left, Panel::Right];
