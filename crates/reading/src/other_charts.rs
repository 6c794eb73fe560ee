//! Two charts in one picture: the one that was tapped.

use crate::find::{FoundChart, find_chart_surely};
use crate::geometry::{Point, grown, inside};
use crate::picture::{Loss, Picture};

/// Charts that are looked for beside one another in one picture.
const MOST_CHARTS: usize = 4;

/// How far beyond its grid a chart's own frame may reach, as a factor.
const WITH_ITS_FRAME: f64 = 1.12;

/// The chart that a point lies on, its frame counted in; nothing where none is found there.
///
/// *Meaning*: the finder offers one chart. Each that does not hold the point is painted over
/// in the picture's own middling grey, and the finder is asked again.
#[must_use]
pub fn chart_at(photo: &Picture, point: Point) -> Option<FoundChart> {
    let mut painted: Option<Picture> = None;
    for _ in 0..MOST_CHARTS {
        let found = find_chart_surely(painted.as_ref().unwrap_or(photo))?;
        let whole = grown(&found.corners, WITH_ITS_FRAME);
        if inside(&whole, point) {
            return Some(found);
        }
        painted = Some(painted_over(painted.as_ref().unwrap_or(photo), &whole)?);
    }
    None
}

/// The picture without what lies in an outline.
fn painted_over(photo: &Picture, outline: &[Point]) -> Option<Picture> {
    let (width, height) = photo.size();
    let mut pixels = photo.rgb_bytes().to_vec();
    let end = |k: usize, pick: fn(f64, f64) -> f64, most: usize| (outline.iter().map(|p| p[k]).reduce(pick).unwrap_or(0.0).max(0.0) as usize).min(most);
    let (left, right) = (end(0, f64::min, width), end(0, f64::max, width - 1));
    let (top, bottom) = (end(1, f64::min, height), end(1, f64::max, height - 1));
    let mut greens: Vec<[u8; 3]> = (0..32).flat_map(|j| (0..32).map(move |i| photo.codes(i * width / 32, j * height / 32))).collect();
    greens.sort_by_key(|codes| codes[1]);
    let middling = greens[greens.len() / 2];
    for (x, y) in (top..=bottom).flat_map(|y| (left..=right).map(move |x| (x, y))) {
        if inside(outline, [x as f64, y as f64]) {
            let at = 3 * (y * width + x);
            pixels[at..at + 3].copy_from_slice(&middling);
        }
    }
    Picture::new((width as u32, height as u32), pixels, *photo.decoding(), Loss::None)
}
