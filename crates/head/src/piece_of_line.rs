//! The piece of a line that comes nearest to a place.

use measure::vector::{Vec3, distance, mirror, sub, unit};

/// The place nearest to `p` on the smooth line, met square to the middle, of
/// which the points are the right half: between which two, and what share of
/// the way. The row has at least two points.
///
/// *Accuracy*: the foot is where the line's own direction stands square to the
/// way to `p`, so that it moves evenly as `p` does; the straight pieces between
/// the points alone would make it jump by a tenth of a millimetre at each.
pub(crate) fn nearest_piece(line: &[Vec3], p: Vec3) -> (usize, f64) {
    let last = line.len() - 1;
    let near = (0..=last).fold((f64::INFINITY, 0), |best, i| {
        let d = distance(p, line[i]);
        if d < best.0 { (d, i) } else { best }
    });
    let ahead = |i: usize| {
        let before = if i == 0 { mirror(line[1]) } else { line[i - 1] };
        let direction = unit(sub(line[(i + 1).min(last)], before));
        measure::vector::dot(sub(p, line[i]), direction)
    };
    let mut i = near.1.min(last - 1);
    // The nearest point's foot lies in the piece before or after it.
    if ahead(i) < 0.0 && i > 0 {
        i -= 1;
    }
    let (from, to) = (ahead(i), ahead(i + 1));
    let share = if from - to > 1e-12 { from / (from - to) } else { crate::path::share_of_piece(line[i], line[i + 1], p) };
    (i, share.clamp(0.0, 1.0))
}
