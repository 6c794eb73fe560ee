//! Looking for the chart in the photo.
//!
//! Even fields of the shrunken picture that lie in rows and columns are a lattice,
//! whatever lies round about or between them. Where six by four places of it have the
//! chart's colours, in its own order and in no other, there is a chart. Every place must
//! have its colour, so that a covered chart, or one of other colours, is not offered.

use crate::chart_fit::{Known, colours, patches, sent_by_matrix};
use crate::fields::{Small, fields};
use crate::geometry::{Homography, Point, area, inside};
use crate::lattice::{Lattice, lattices};
use crate::marks::check_chart;
use crate::patch::Patch;
use crate::picture::Picture;
use crate::settle::{on_patches, resettled};
use colour::chart::{COLUMNS, ROWS};
use colour::{D50, Lab, Light, ciede2000};
use measure::real::ln;

/// The four corners of a 24-patch chart, in the order of [`crate::Marks`], or nothing.
///
/// *Accuracy*: an offer to be drawn over the photo and corrected by hand.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let corners = reading::find_chart(&photo).unwrap();
/// assert!((corners[0][0] - marks.chart_corners[0][0]).abs() < 8.0);
/// ```
#[must_use]
pub fn find_chart(photo: &Picture) -> Option<[[f64; 2]; 4]> {
    find_chart_surely(photo).map(|found| found.corners)
}

/// A chart that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundChart {
    /// Its corners, in the order of [`crate::Marks`].
    pub corners: [[f64; 2]; 4],
    /// How true its patches came out by one matrix: 1 wholly, 0 where it would no longer
    /// be offered.
    pub sure: f64,
}

impl FoundChart {
    /// Whether a point of the photo lies on it, or on its frame.
    #[must_use]
    pub fn lies_under(&self, point: [f64; 2]) -> bool {
        inside(&crate::geometry::grown(&self.corners, FRAME), point)
    }
}

/// How much larger than its patches a chart is with its frame: our choice.
const FRAME: f64 = 1.25;

/// As [`find_chart`], with how sure it is: of several charts the one that is largest.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let found = reading::find_chart_surely(&photo).unwrap();
/// assert!(found.lies_under([196.0, 164.0]));
/// ```
#[must_use]
pub fn find_chart_surely(photo: &Picture) -> Option<FoundChart> {
    find_charts(photo).into_iter().next()
}

/// The chart under a point of the photo, as somebody taps on one of several; or the one
/// nearest to it.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, _, _) = drawn::chart_beside_hair(0.85);
/// assert!(reading::find_chart_at(&photo, [196.0, 164.0]).is_some());
/// ```
#[must_use]
pub fn find_chart_at(photo: &Picture, point: [f64; 2]) -> Option<FoundChart> {
    let off = |found: &FoundChart| {
        let middle = [0, 1].map(|k| found.corners.iter().map(|p| p[k]).sum::<f64>() / 4.0 - point[k]);
        if found.lies_under(point) { 0.0 } else { middle[0] * middle[0] + middle[1] * middle[1] }
    };
    find_charts(photo).into_iter().min_by(|p, q| off(p).total_cmp(&off(q)))
}

/// The chart that a point lies on, its frame counted in; nothing where none is found there.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, _, _) = drawn::chart_beside_hair(0.85);
/// assert!(reading::chart_at(&photo, [480.0, 200.0]).is_none(), "there is hair");
/// ```
#[must_use]
pub fn chart_at(photo: &Picture, point: [f64; 2]) -> Option<FoundChart> {
    find_charts(photo).into_iter().find(|found| found.lies_under(point))
}

/// Sizes that the picture is shrunken to, along its longer side, and how far the codes of
/// neighbours may differ in a field: coarse ones first, for noise and for large charts.
const LOOKS: [(usize, f32); 9] =
    [(400, 14.0), (800, 14.0), (800, 28.0), (400, 28.0), (400, 7.0), (220, 10.0), (220, 20.0), (1400, 20.0), (150, 32.0)];

/// The most lattices of one look that are compared with the chart, the fullest first: a
/// tiled wall under clutter falls into many.
const MOST_GRIDS: usize = 12;

/// All charts in the photo, the largest first.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// let (photo, _, _) = drawn::chart_beside_hair(0.85);
/// assert_eq!(reading::find_charts(&photo).len(), 1);
/// ```
#[must_use]
pub fn find_charts(photo: &Picture) -> Vec<FoundChart> {
    let mut small: Option<(usize, Small)> = None;
    let wanted = colours(Light::D50).map(|colour| colour.to_lab(D50));
    for (longest, most) in LOOKS {
        if small.as_ref().is_none_or(|(size, _)| *size != longest) {
            small = Some((longest, Small::of(photo, longest)));
        }
        let Some((_, small)) = &small else { continue };
        let mut found: Vec<FoundChart> = Vec::new();
        let mut grids = lattices(&fields(small, most));
        grids.sort_by_key(|lattice| std::cmp::Reverse(lattice.places.len()));
        for lattice in grids.into_iter().take(MOST_GRIDS) {
            let Some(corners) = six_by_four(photo, small, &lattice, &wanted) else { continue };
            found.extend(offered(photo, corners, &wanted));
        }
        found.sort_by(|p, q| area(&q.corners).total_cmp(&area(&p.corners)));
        let mut apart: Vec<FoundChart> = Vec::new();
        for chart in found {
            let middle = [0, 1].map(|k| chart.corners.iter().map(|p| p[k]).sum::<f64>() / 4.0);
            if !apart.iter().any(|other| other.lies_under(middle)) {
                apart.push(chart);
            }
        }
        if !apart.is_empty() {
            return apart;
        }
    }
    Vec::new()
}

/// How many of the 24 places must have been seen as fields of their own: dark patches run
/// into a dark frame, and clipped ones into each other.
const LEAST_SEEN: usize = 11;

/// How far from a place's middle its colour is taken, in distances between places.
const REACH: f64 = 0.2;

/// The six by four places of a lattice that are most like the chart, in the photo's pixels.
fn six_by_four(photo: &Picture, small: &Small, lattice: &Lattice, wanted: &[Lab; 24]) -> Option<[Point; 4]> {
    let map = lattice.map()?;
    let (xs, ys): (Vec<i32>, Vec<i32>) = lattice.places.keys().copied().unzip();
    let ends = |list: &[i32]| Some((*list.iter().min()?, *list.iter().max()?));
    let ((left, right), (top, bottom)) = (ends(&xs)?, ends(&ys)?);
    let pitch = {
        let (p, q) = (map.map(f64::from(left), f64::from(top)), map.map(f64::from(left) + 1.0, f64::from(top) + 1.0));
        ((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1])).sqrt() / 1.5
    };
    let light = |at: Point| {
        let codes = small.mean(at, REACH * pitch)?;
        Some(Seen {
            light: [0, 1, 2].map(|c| photo.decoding()[c][codes[c].round() as usize]),
            clipped: codes.iter().any(|code| *code >= 252.0),
            cut: codes.iter().any(|code| *code <= 2.0),
        })
    };
    let mut best: Option<(f64, [Point; 4])> = None;
    for (wide, high, turns) in [(COLUMNS as i32, ROWS as i32, [0, 2]), (ROWS as i32, COLUMNS as i32, [1, 3])] {
        for (x, y) in (left - 3..=right).flat_map(|x| (top - 3..=bottom).map(move |y| (x, y))) {
            let within = |at: &&(i32, i32)| (x..x + wide).contains(&at.0) && (y..y + high).contains(&at.1);
            if lattice.places.keys().filter(within).count() < LEAST_SEEN {
                continue;
            }
            let corner = |dx: i32, dy: i32| map.map(f64::from(x + dx) - 0.5, f64::from(y + dy) - 0.5);
            let outline = clockwise([corner(0, 0), corner(wide, 0), corner(wide, high), corner(0, high)]);
            for turn in turns {
                let corners: [Point; 4] = std::array::from_fn(|i| outline[(i + turn) % 4]);
                let Some(seen) = seen_at(&corners, &light) else { continue };
                let Some(off) = Compared::of(&seen, wanted).map(|compared| compared.off) else { continue };
                if best.as_ref().is_none_or(|(least, _)| off < *least) {
                    best = Some((off, corners));
                }
            }
        }
    }
    let (_, corners) = best?;
    let step = small.step as f64;
    Some(corners.map(|p| p.map(|v| (v + 0.5) * step - 0.5)))
}

/// A place's light, and whether a channel is at the top of the scale or at its bottom.
#[derive(Debug, Clone, Copy)]
struct Seen {
    light: [f64; 3],
    clipped: bool,
    cut: bool,
}

fn seen_at(corners: &[Point; 4], light: &impl Fn(Point) -> Option<Seen>) -> Option<[Seen; 24]> {
    let map = Homography::to_corners(corners);
    let mut seen = [Seen { light: [0.0; 3], clipped: false, cut: false }; 24];
    for (i, seen) in seen.iter_mut().enumerate() {
        *seen = light(map.map(((i % COLUMNS) as f64 + 0.5) / COLUMNS as f64, ((i / COLUMNS) as f64 + 0.5) / ROWS as f64))?;
    }
    Some(seen)
}

/// The corners so that they run clockwise.
fn clockwise([a, b, c, d]: [Point; 4]) -> [Point; 4] {
    if area(&[a, b, c, d]) > 0.0 { [a, b, c, d] } else { [d, c, b, a] }
}

/// How 24 places compare with the chart.
struct Compared {
    /// What they stay off by through one matrix, in the mean, in dE00.
    off: f64,
    /// How many stay off by more than `STRANGE`.
    strange: usize,
}

/// Places brighter or darker in another order than the chart's are not tried.
const IN_ORDER: f64 = 0.6;

/// A place off by more than this, in dE00, is not the patch that should be there; and how
/// many such there may be: a strong light on a shiny one, a stain.
const STRANGE: f64 = 20.0;
const MOST_STRANGE: usize = 1;

/// Places no more off than this in the mean, in dE00, are the chart's patches; arranged
/// otherwise they must be off by so many times as much.
const MOST_OFF: f64 = 10.0;
const OTHERWISE: f64 = 1.4;

/// Each place counts no worse than this, and one that is at an end of the scale, of which
/// less is known, no worse than that.
const WORST: f64 = 30.0;
const WORST_AT_END: f64 = 15.0;

/// With fewer places than this within the scale those at its bottom must help; with fewer
/// than this below its top no chart is told.
const ENOUGH_WHOLE: usize = 13;
const LEAST_WHOLE: usize = 9;

impl Compared {
    fn of(seen: &[Seen; 24], wanted: &[Lab; 24]) -> Option<Self> {
        let lightness = |seen: &Seen| ln(seen.light.iter().sum::<f64>() / 3.0 + 0.01);
        if agreement(&seen.each_ref().map(lightness), &wanted.each_ref().map(|lab| lab.l)) < IN_ORDER {
            return None;
        }
        Some(Self::arranged(seen, wanted, |i| i))
    }

    fn arranged(seen: &[Seen; 24], wanted: &[Lab; 24], place: impl Fn(usize) -> usize) -> Self {
        let whole = |i: &usize| !seen[*i].clipped && !seen[*i].cut;
        let enough = (0..24).filter(whole).count() >= ENOUGH_WHOLE;
        let used = |i: &usize| if enough { whole(i) } else { !seen[*i].clipped };
        let points: Vec<Known> =
            (0..24).filter(used).map(|i| Known { light: seen[i].light, colour: wanted[place(i)].to_xyz(D50) }).collect();
        if points.len() < LEAST_WHOLE {
            return Self { off: WORST, strange: 24 };
        }
        let sent = sent_by_matrix(&points);
        let offs: Vec<f64> = (0..24)
            .map(|i| {
                let (found, wanted) = (sent(seen[i].light), wanted[place(i)]);
                // What is at the top of the scale may be lighter.
                let lighter = if seen[i].clipped && found.l < wanted.l { Lab::new(wanted.l, found.a, found.b) } else { found };
                ciede2000(lighter, wanted).min(if whole(&i) { WORST } else { WORST_AT_END })
            })
            .collect();
        Self { off: offs.iter().sum::<f64>() / 24.0, strange: offs.iter().filter(|off| **off > STRANGE).count() }
    }
}

/// Correlation of two lists (closed form).
fn agreement(p: &[f64; 24], q: &[f64; 24]) -> f64 {
    let mean = |list: &[f64; 24]| list.iter().sum::<f64>() / 24.0;
    let (m, n) = (mean(p), mean(q));
    let sum = |f: &dyn Fn(f64, f64) -> f64| p.iter().zip(q).map(|(a, b)| f(a - m, b - n)).sum::<f64>();
    let (both, one, other) = (sum(&|a, b| a * b), sum(&|a, _| a * a), sum(&|_, b| b * b));
    if one > 0.0 && other > 0.0 { both / (one * other).sqrt() } else { 0.0 }
}

/// The ways round that a chart's places could be taken for it by mistake: rows or columns
/// the other way, and shifted by one.
const OTHERS: [fn(usize) -> usize; 7] = [
    |i| 23 - i,
    |i| i / 6 * 6 + 5 - i % 6,
    |i| (3 - i / 6) * 6 + i % 6,
    |i| i / 6 * 6 + (i + 1) % 6,
    |i| i / 6 * 6 + (i + 5) % 6,
    |i| (i + 6) % 24,
    |i| (i + 18) % 24,
];

/// The grid as an offer, seen at the photo's own size, if it is a chart.
fn offered(photo: &Picture, corners: [Point; 4], wanted: &[Lab; 24]) -> Option<FoundChart> {
    let (width, height) = photo.size();
    let corners = resettled(photo, corners);
    check_chart(&corners, width, height).ok()?;
    if !on_patches(photo, &corners) {
        return None;
    }
    let seen = patches(photo, &photo.decoding, &corners).map(|patch: Patch| Seen {
        light: patch.light,
        clipped: patch.clipped > 0.1,
        cut: patch.beyond(),
    });
    let compared = Compared::of(&seen, wanted)?;
    if compared.off > MOST_OFF || compared.strange > MOST_STRANGE {
        return None;
    }
    let otherwise = OTHERS.iter().map(|place| Compared::arranged(&seen, wanted, place).off).fold(f64::INFINITY, f64::min);
    let sure = (1.0 - compared.off / MOST_OFF).clamp(0.0, 1.0);
    (otherwise > OTHERWISE * compared.off).then_some(FoundChart { corners, sure })
}
