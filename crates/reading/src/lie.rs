//! Which way the strands run in an outline, told by the picture.
//!
//! Who outlines the ends may begin at any side. Gloss lies across the strands and is
//! sought along them, so the sides must not be taken for each other. Strands are thin:
//! across them the light changes from pixel to pixel, along them it hardly does.

use crate::geometry::{Homography, Point};
use crate::picture::Picture;

/// Places looked at, across and along.
const PLACES: usize = 64;

/// The light changes along the first edge's neighbours more than so many times as much
/// as along itself: then the strands run the other way. Nearly as much says nothing, as on
/// curls or flat paint.
const SURELY: f64 = 1.5;

/// The outline, its four corners told off from the side that lies across the strands.
/// Other outlines are left as they are.
pub(crate) fn across_first(photo: &Picture, outline: &[Point]) -> Vec<Point> {
    let [a, b, c, d] = outline else { return outline.to_vec() };
    let map = Homography::to_corners(&[*a, *b, *c, *d]);
    let at = |p: Point| photo.codes(p[0].max(0.0) as usize, p[1].max(0.0) as usize).iter().map(|code| f64::from(*code)).sum::<f64>();
    let step = |p: Point, q: Point| {
        let size = ((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1])).sqrt().max(1e-6);
        [(q[0] - p[0]) / size, (q[1] - p[1]) / size]
    };
    let (mut across, mut along) = (0.0, 0.0);
    for i in 0..PLACES * PLACES {
        let [u, v] = [i % PLACES, i / PLACES].map(|k| 0.05 + 0.9 * (k as f64 + 0.5) / PLACES as f64);
        let here = map.map(u, v);
        let light = at(here);
        for (sum, other) in [(&mut across, map.map(u + 0.01, v)), (&mut along, map.map(u, v + 0.01))] {
            let way = step(here, other);
            // Two pixels on: a pixel's neighbour shares its colour in many files.
            let off = at([here[0] + 2.0 * way[0], here[1] + 2.0 * way[1]]) - light;
            *sum += off * off;
        }
    }
    if along > SURELY * across { vec![*b, *c, *d, *a] } else { outline.to_vec() }
}
