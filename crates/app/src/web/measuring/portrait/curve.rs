//! Lines on the paper: smooth curves through places, and stretches of a line that
//! are seen or hidden.

use head::view::InPicture;
use std::fmt::Write;

/// A stretch of a line, all of it seen or all of it hidden.
pub struct Run {
    /// Whether it is seen.
    pub seen: bool,
    /// Its places.
    pub points: Vec<InPicture>,
}

/// The runs that are seen, or those that are not, in one class.
pub fn strokes(runs: &[Run], seen: bool, class: &str) -> String {
    runs.iter().filter(|run| run.seen == seen).map(|run| format!("<path class=\"{class}\" d=\"{}\"/>", open(&run.points))).collect()
}

/// Whether a place is inside a closed line.
pub fn holds(line: &[InPicture], [x, y]: InPicture) -> bool {
    let mut inside = false;
    for (i, [ax, ay]) in line.iter().enumerate() {
        let [bx, by] = line[(i + 1) % line.len()];
        if (*ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax) {
            inside = !inside;
        }
    }
    inside
}

/// Places as a path lists them, straight from one to the next.
pub fn listed(points: &[InPicture]) -> String {
    let list: Vec<String> = points.iter().map(|[x, y]| format!("{x:.1} {y:.1}")).collect();
    list.join("L")
}

/// A smooth line through some places.
pub fn open(points: &[InPicture]) -> String {
    smooth(points, false)
}

/// A smooth closed line through some places.
pub fn closed(points: &[InPicture]) -> String {
    smooth(points, true)
}

/// Cubic pieces with each place's slope taken from its neighbours.
///
/// *Source*: key `catmull1974`.
fn smooth(points: &[InPicture], round: bool) -> String {
    let n = points.len();
    let Some([x, y]) = points.first() else { return String::new() };
    let mut d = format!("M{x:.1} {y:.1}");
    let at = |i: isize| {
        let last = n as isize - 1;
        points[if round { i.rem_euclid(n as isize) } else { i.clamp(0, last) } as usize]
    };
    let pieces = if round { n } else { n - 1 };
    for i in 0..pieces as isize {
        let (a, b, c, e) = (at(i - 1), at(i), at(i + 1), at(i + 2));
        let _ = write!(
            d,
            "C{:.1} {:.1} {:.1} {:.1} {:.1} {:.1}",
            b[0] + (c[0] - a[0]) / 6.0,
            b[1] + (c[1] - a[1]) / 6.0,
            c[0] - (e[0] - b[0]) / 6.0,
            c[1] - (e[1] - b[1]) / 6.0,
            c[0],
            c[1]
        );
    }
    if round {
        d.push('Z');
    }
    d
}
