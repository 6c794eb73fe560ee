//! How the unrolled head falls on its sheet, and what is drawn on it.

use super::super::pen::WIDTH;
use super::line::Spot;
use crate::shade::Shade;
use salon::plan::{MapPair, MapPlan, RowPlan, SitePlan};

/// Room at the top for the title and the two sides' names.
const TOP: f64 = 27.0;

/// Room at either edge for the names of the rows.
const EDGE: f64 = 19.0;

/// What the map shows.
pub(crate) struct Subject<'a> {
    pub map: &'a MapPlan,
    pub rows: &'a [RowPlan],
    pub sites: &'a [SitePlan],
    pub shades: &'a [Shade],
}

/// How the head's millimetres fall on the page.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// Page millimetres to one of the head.
    pub scale: f64,
    pub(super) origin: Spot,
}

impl Frame {
    /// The largest frame that shows all of `map` in the room left above `floor`.
    pub(super) fn fitting(subject: &Subject<'_>, floor: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for pair in every_pair(subject) {
            for axis in 0..2 {
                if pair[axis].is_finite() {
                    low[axis] = low[axis].min(pair[axis]);
                    high[axis] = high[axis].max(pair[axis]);
                }
            }
        }
        if !(low[0] < high[0] && low[1] < high[1]) {
            (low, high) = ([-1.0, -1.0], [1.0, 1.0]);
        }
        let room = [WIDTH - 2.0 * EDGE, floor - TOP];
        let scale = (room[0] / (high[0] - low[0])).min(room[1] / (high[1] - low[1]));
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let centre = [WIDTH / 2.0, TOP + room[1] / 2.0];
        Self { scale, origin: [centre[0] - scale * middle[0], centre[1] + scale * middle[1]] }
    }

    /// Where a place of the map falls on the page.
    pub(crate) fn spot(&self, pair: MapPair) -> Spot {
        [self.origin[0] + self.scale * pair[0], self.origin[1] - self.scale * pair[1]]
    }

    /// The same for all of a line.
    pub(crate) fn spots(&self, pairs: &[MapPair]) -> Vec<Spot> {
        pairs.iter().map(|pair| self.spot(*pair)).filter(|s| s[0].is_finite() && s[1].is_finite()).collect()
    }
}

fn every_pair<'a>(subject: &'a Subject<'_>) -> impl Iterator<Item = MapPair> + 'a {
    let map = subject.map;
    [&map.nape_hairline, &map.front_hairline, &map.left_ear, &map.right_ear, &map.midline, &map.ear_to_ear]
        .into_iter()
        .chain(map.partings.iter())
        .chain(map.kept_free.iter().map(|region| &region.outline))
        .flatten()
        .copied()
        .chain(subject.sites.iter().flat_map(|site| site.map_mm))
}
