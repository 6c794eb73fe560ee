//! What is wrong in a picture, each fault with the place where it shows.
//!
//! The sentences are the reader's own warnings and refusals; here they only get their
//! places, so that they can be drawn on the picture.

use crate::fault::{ReadFault, UnsureFault, Worst};
use crate::geometry::{Homography, Point, inside};
use crate::marks::Marks;
use crate::picture::Picture;
use crate::read::Reading;
use crate::uncertainty::{Residuals, warnings};
use crate::ways::Ways;
use crate::words::Message;
use colour::Lab;
use colour::chart::{COLUMNS, ROWS};
use measure::real::ln;
use measure::text::{number, sentence};
use serde::{Deserialize, Serialize};

/// Where a fault shows, in pixels of the upright picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Inside these outlines.
    Areas(Vec<Vec<[f64; 2]>>),
    /// Along a line, as the light falls: from the dark end to the bright one.
    Arrow([[f64; 2]; 2]),
}

/// One fault of a picture: what is wrong and what to do, and where it shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Flaw {
    /// A plain sentence; of a reading, one of its warnings word by word.
    pub says: String,
    /// Where.
    pub place: Place,
}

/// Patches closer together than this, in pixels, are said to be small.
///
/// *Source*: `bench_small_charts` of `photo`: shrunk pictures are found and read down to 12
/// and refused at 10. Shrinking averages noise away, which a camera further off does not:
/// our choice leaves a third more.
pub const SMALL_PITCH: f64 = 16.0;

/// How far two neighbouring patches of a chart at these corners lie apart, in pixels:
/// along the shorter side, since that is what is left of a tilted chart.
///
/// ```
/// let corners = [[40.0, 60.0], [352.0, 60.0], [352.0, 268.0], [40.0, 268.0]];
/// assert!((reading::patch_pitch(&corners) - 52.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn patch_pitch(chart: &[[f64; 2]; 4]) -> f64 {
    let side = |i: usize, patches: f64| {
        let (p, q) = (chart[i], chart[(i + 1) % 4]);
        ((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1])).sqrt() / patches
    };
    (0..4).map(|i| side(i, if i % 2 == 0 { COLUMNS as f64 } else { ROWS as f64 })).fold(f64::INFINITY, f64::min)
}

/// What a reading warns of, each with its place; what shows at no place is left out.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use reading::{flaws, read};
/// // Of a good picture nothing is wrong that would stop a reading.
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let reading = read(&photo, &marks).unwrap();
/// assert!(flaws(&photo, &marks, &reading).len() < 3);
/// ```
#[must_use]
pub fn flaws(photo: &Picture, marks: &Marks, reading: &Reading) -> Vec<Flaw> {
    let Ok(ways) = Ways::find(photo, &marks.chart_corners, &[&marks.hair], &marks.leave_out) else { return Vec::new() };
    let shares = ways.trust(reading.lab_d50).shares;
    let found = &reading.residuals;
    let mut list = Vec::new();
    let mut add = |of: Residuals, too_bright: &[usize], covered: &[usize], place: &dyn Fn() -> Option<Place>| {
        if let Some(says) = warnings(&of, Lab::new(MIDDLING_L, 0.0, 0.0), too_bright, covered).into_iter().next()
            && let Some(place) = place()
        {
            list.push(Flaw { says, place });
        }
    };
    let corners = *ways.ways.first().map_or(&marks.chart_corners, |way| way.correction.chart());
    let hair = || Some(Place::Areas(vec![marks.hair.clone()]));
    let of = Residuals::default;
    add(Residuals { light_range: found.light_range, ..of() }, &[], &[], &|| {
        arrow(&ways, &shares, &corners, &marks.hair).map(|(arrow, _)| arrow)
    });
    add(of(), &ways.too_bright, &[], &|| Some(cells(&corners, &ways.too_bright)));
    add(of(), &[], &ways.covered, &|| Some(cells(&corners, &ways.covered)));
    add(Residuals { light_colour: found.light_colour, ..of() }, &[], &[], &|| {
        Some(Place::Areas(vec![corners.to_vec(), marks.hair.clone()]))
    });
    add(Residuals { at_black: found.at_black, ..of() }, &[], &[], &hair);
    add(Residuals { gloss: found.gloss, ..of() }, &[], &[], &hair);
    add(Residuals { clipped: found.clipped, ..of() }, &[], &[], &|| Some(white_with_shine(photo, &marks.hair)));
    list.extend(too_small(&marks.chart_corners));
    list
}

/// No warning rests on this lightness.
const MIDDLING_L: f64 = 50.0;

/// Why a picture was refused, and what else is wrong in it, each with its place.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use reading::{flaws_of_refusal, read};
/// // So dark that nothing can be read.
/// let (photo, marks, _) = drawn::chart_beside_hair(0.002);
/// let fault = read(&photo, &marks).unwrap_err();
/// assert!(!fault.to_string().is_empty());
/// flaws_of_refusal(&photo, &marks, &fault);
/// ```
#[must_use]
pub fn flaws_of_refusal(photo: &Picture, marks: &Marks, fault: &ReadFault) -> Vec<Flaw> {
    let (chart, hair) = (marks.chart_corners.to_vec(), marks.hair.clone());
    let seen = |corners: &[Point; 4]| {
        let ways = Ways::find(photo, corners, &[&marks.hair], &marks.leave_out).ok()?;
        let even = vec![1.0 / ways.ways.len().max(1) as f64; ways.ways.len()];
        Some((arrow(&ways, &even, corners, &marks.hair), ways))
    };
    let place = match fault {
        ReadFault::Black => {
            let (w, h) = photo.size();
            Place::Areas(vec![vec![[0.0, 0.0], [w as f64, 0.0], [w as f64, h as f64], [0.0, h as f64]]])
        }
        ReadFault::Corners(_) | ReadFault::NoChart(_) => Place::Areas(vec![chart]),
        ReadFault::LeftOut(_) => return Vec::new(),
        ReadFault::Hair(_) => {
            let under = under_hair(&marks.chart_corners, &marks.hair);
            if under.is_empty() { Place::Areas(vec![hair]) } else { cells(&marks.chart_corners, &under) }
        }
        ReadFault::Covered(patches) => cells(&marks.chart_corners, patches),
        ReadFault::Unsure(UnsureFault::Light | UnsureFault::Together { worst: Worst::Light, .. }) => {
            seen(&marks.chart_corners).and_then(|(arrow, _)| arrow).map_or(Place::Areas(vec![chart, hair]), |(arrow, _)| arrow)
        }
        ReadFault::Unsure(UnsureFault::Together { worst: Worst::Chart | Worst::Greys, .. }) => Place::Areas(vec![chart]),
        ReadFault::Unsure(_) | ReadFault::Swatch { .. } => Place::Areas(vec![hair]),
    };
    let mut list = vec![Flaw { says: sentence(&fault.to_string()), place }];
    if let (ReadFault::Unsure(_) | ReadFault::Covered(_), Some((light, ways))) = (fault, seen(&marks.chart_corners)) {
        let range = light.as_ref().map_or(1.0, |(_, range)| *range);
        let of = |found: Residuals, bright: &[usize]| warnings(&found, Lab::new(MIDDLING_L, 0.0, 0.0), bright, &[]).into_iter().next();
        if let (Some(says), Some((place, _)), Place::Areas(_)) =
            (of(Residuals { light_range: range, ..Residuals::default() }, &[]), light, &list[0].place)
        {
            list.push(Flaw { says, place });
        }
        if let Some(says) = of(Residuals::default(), &ways.too_bright) {
            list.push(Flaw { says, place: cells(&marks.chart_corners, &ways.too_bright) });
        }
    }
    list.extend(too_small(&marks.chart_corners).filter(|_| !matches!(fault, ReadFault::Corners(_) | ReadFault::NoChart(_))));
    list
}

fn too_small(chart: &[Point; 4]) -> Option<Flaw> {
    let pitch = patch_pitch(chart);
    (pitch < SMALL_PITCH)
        .then(|| Flaw { says: Message::ChartSmall { pixels: number(pitch, 0) }.into(), place: Place::Areas(vec![chart.to_vec()]) })
}

/// The outlines of patches.
fn cells(chart: &[Point; 4], patches: &[usize]) -> Place {
    let map = Homography::to_corners(chart);
    let cell = |i: &usize| {
        let (row, column) = ((i / COLUMNS) as f64, (i % COLUMNS) as f64);
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .map(|(x, y)| map.map((column + x) / COLUMNS as f64, (row + y) / ROWS as f64))
            .to_vec()
    };
    Place::Areas(patches.iter().map(cell).collect())
}

/// Patches of the chart over which the hair's outline lies.
fn under_hair(chart: &[Point; 4], hair: &[Point]) -> Vec<usize> {
    let map = Homography::to_corners(chart);
    let middle = |i: usize| map.map(((i % COLUMNS) as f64 + 0.5) / COLUMNS as f64, ((i / COLUMNS) as f64 + 0.5) / ROWS as f64);
    (0..COLUMNS * ROWS).filter(|i| inside(hair, middle(*i))).collect()
}

/// The way from the darkest to the brightest corner of chart and hair, and how many times
/// brighter it is there; nothing in even light.
pub(crate) fn arrow(ways: &Ways, shares: &[f64], chart: &[Point; 4], hair: &[Point]) -> Option<(Place, f64)> {
    let log_light = |place: Point| {
        let at = |(way, share): (&crate::ways::Way, &f64)| share * -ln(way.correction.fall.evened([1.0; 3], place)[1].max(1e-6));
        ways.ways.iter().zip(shares).map(at).sum::<f64>()
    };
    let lights: Vec<(f64, Point)> = chart.iter().chain(hair).map(|place| (log_light(*place), *place)).collect();
    let darkest = lights.iter().min_by(|p, q| p.0.total_cmp(&q.0))?;
    let brightest = lights.iter().max_by(|p, q| p.0.total_cmp(&q.0))?;
    let range = measure::real::exp(brightest.0 - darkest.0);
    (range > 1.0).then_some((Place::Arrow([darkest.1, brightest.1]), range))
}

/// Parts along the longer side of the hair's box that are looked at for shine.
const PARTS: usize = 24;

/// A part with more than this share of its pixels at the top of the scale is white.
const WHITE: f64 = 0.2;

/// Where hair is white with shine: boxes round parts that touch, the largest first.
fn white_with_shine(photo: &Picture, hair: &[Point]) -> Place {
    let end = |k: usize, pick: fn(f64, f64) -> f64| hair.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0).max(0.0);
    let (low, high) = ([end(0, f64::min), end(1, f64::min)], [end(0, f64::max), end(1, f64::max)]);
    let side = ((high[0] - low[0]).max(high[1] - low[1]) / PARTS as f64).max(1.0);
    let (columns, rows) = (((high[0] - low[0]) / side).ceil() as usize, ((high[1] - low[1]) / side).ceil() as usize);
    let is_white = |column: usize, row: usize| {
        let (mut white, mut all) = (0.0, 0.0);
        for (dy, dx) in (0..5).flat_map(|dy| (0..5).map(move |dx| (dy, dx))) {
            let at =
                [low[0] + (column as f64 + (f64::from(dx) + 0.5) / 5.0) * side, low[1] + (row as f64 + (f64::from(dy) + 0.5) / 5.0) * side];
            if inside(hair, at) {
                all += 1.0;
                white += f64::from(u8::from(photo.codes(at[0] as usize, at[1] as usize).iter().any(|code| *code >= 254)));
            }
        }
        all > 0.0 && white / all > WHITE
    };
    let mut open: Vec<bool> = (0..columns * rows).map(|i| is_white(i % columns, i / columns)).collect();
    let mut boxes: Vec<[usize; 5]> = Vec::new();
    while let Some(start) = open.iter().position(|white| *white) {
        let mut found = [start % columns, start / columns, start % columns, start / columns, 0];
        let mut next = vec![start];
        open[start] = false;
        while let Some(i) = next.pop() {
            let (x, y) = (i % columns, i / columns);
            found = [found[0].min(x), found[1].min(y), found[2].max(x), found[3].max(y), found[4] + 1];
            let beside = [
                (x > 0).then(|| i - 1),
                (x + 1 < columns).then_some(i + 1),
                (y > 0).then(|| i - columns),
                (y + 1 < rows).then_some(i + columns),
            ];
            for j in beside.into_iter().flatten() {
                if std::mem::replace(&mut open[j], false) {
                    next.push(j);
                }
            }
        }
        boxes.push(found);
    }
    boxes.sort_by_key(|found| std::cmp::Reverse(found[4]));
    boxes.truncate(MOST_BOXES);
    if boxes.is_empty() {
        return Place::Areas(vec![hair.to_vec()]);
    }
    let corner = |column: usize, row: usize| [low[0] + column as f64 * side, low[1] + row as f64 * side];
    let outline = |[x0, y0, x1, y1, _]: [usize; 5]| vec![corner(x0, y0), corner(x1 + 1, y0), corner(x1 + 1, y1 + 1), corner(x0, y1 + 1)];
    Place::Areas(boxes.into_iter().map(outline).collect())
}

/// The most boxes drawn for one fault.
const MOST_BOXES: usize = 4;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::{Decoding, srgb_to_linear};
    use crate::picture::Loss;

    fn decoding() -> Decoding {
        [std::array::from_fn(|code| srgb_to_linear(code as f64 / 255.0)); 3]
    }

    #[test]
    fn shine_is_boxed_where_it_is() {
        let (w, h) = (200_u32, 300_u32);
        let mut pixels = vec![90_u8; (w * h * 3) as usize];
        for (x, y) in (60..100_u32).flat_map(|x| (120..150_u32).map(move |y| (x, y))) {
            pixels[(3 * (y * w + x)) as usize] = 255;
        }
        let photo = Picture::new((w, h), pixels, decoding(), Loss::None).unwrap();
        let hair = [[20.0, 20.0], [180.0, 20.0], [180.0, 280.0], [20.0, 280.0]];
        let Place::Areas(boxes) = white_with_shine(&photo, &hair) else { panic!("shine has areas") };
        assert_eq!(boxes.len(), 1);
        let [a, _, c, _] = boxes[0][..] else { panic!("a box") };
        assert!(
            (a[0] - 60.0).abs() < 12.0 && (a[1] - 120.0).abs() < 12.0 && (c[0] - 100.0).abs() < 12.0 && (c[1] - 150.0).abs() < 12.0,
            "{boxes:?}"
        );
    }

    #[test]
    fn hair_drawn_over_the_chart_is_shown_on_the_patches_under_it() {
        let chart = [[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0]];
        assert_eq!(under_hair(&chart, &[[48.0, -5.0], [90.0, -5.0], [90.0, 21.0], [48.0, 21.0]]), [5, 11]);
        assert!(under_hair(&chart, &[[70.0, 0.0], [90.0, 0.0], [90.0, 40.0], [70.0, 40.0]]).is_empty());
    }

    #[test]
    fn a_chart_is_small_by_its_narrowest_side() {
        assert_eq!(patch_pitch(&[[0.0, 0.0], [120.0, 0.0], [120.0, 40.0], [0.0, 40.0]]), 10.0);
        assert!(too_small(&[[0.0, 0.0], [120.0, 0.0], [120.0, 40.0], [0.0, 40.0]]).unwrap().says.contains("10 pixels"));
        assert_eq!(too_small(&[[0.0, 0.0], [120.0, 0.0], [120.0, 80.0], [0.0, 80.0]]), None);
    }
}
