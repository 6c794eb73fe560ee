//! Points, outlines and the plane transform between photo and chart.

use measure::linear;

/// A place in the photo, in pixels.
pub(crate) type Point = [f64; 2];

fn cross(o: Point, p: Point, q: Point) -> f64 {
    (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])
}

/// Signed area, positive when the outline runs clockwise on the screen.
pub(crate) fn area(outline: &[Point]) -> f64 {
    let n = outline.len();
    (0..n).map(|i| (outline[i], outline[(i + 1) % n])).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum::<f64>() / 2.0
}

/// Whether two segments cross in their insides.
pub(crate) fn crossing((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    cross(a, b, c) * cross(a, b, d) < 0.0 && cross(c, d, a) * cross(c, d, b) < 0.0
}

/// Whether an outline crosses itself.
pub(crate) fn self_crossing(outline: &[Point]) -> bool {
    let n = outline.len();
    let edge = |i: usize| (outline[i], outline[(i + 1) % n]);
    (0..n).any(|i| (i + 2..n).any(|j| crossing(edge(i), edge(j))))
}

/// Whether an outline turns one way only.
pub(crate) fn convex(outline: &[Point]) -> bool {
    let n = outline.len();
    let turn = |i: usize| cross(outline[i], outline[(i + 1) % n], outline[(i + 2) % n]);
    (0..n).all(|i| turn(i) > 0.0) || (0..n).all(|i| turn(i) < 0.0)
}

/// Whether a point lies inside an outline.
pub(crate) fn inside(outline: &[Point], p: Point) -> bool {
    let n = outline.len();
    let mut odd = false;
    for i in 0..n {
        let (a, b) = (outline[i], outline[(i + 1) % n]);
        if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0] {
            odd = !odd;
        }
    }
    odd
}

/// The outline pushed away from its middle by a factor.
pub(crate) fn grown(outline: &[Point], factor: f64) -> Vec<Point> {
    let n = outline.len() as f64;
    let middle = [0, 1].map(|k| outline.iter().map(|p| p[k]).sum::<f64>() / n);
    outline.iter().map(|p| [0, 1].map(|k| middle[k] + factor * (p[k] - middle[k]))).collect()
}

/// The plane transform that carries the unit square onto four corners.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Homography([f64; 8]);

impl Homography {
    /// From (0,0), (1,0), (1,1), (0,1) to the corners in turn (closed form).
    pub(crate) fn to_corners(c: &[Point; 4]) -> Self {
        let d1 = [c[1][0] - c[2][0], c[1][1] - c[2][1]];
        let d2 = [c[3][0] - c[2][0], c[3][1] - c[2][1]];
        let s = [0, 1].map(|k| c[0][k] - c[1][k] + c[2][k] - c[3][k]);
        let det = d1[0] * d2[1] - d2[0] * d1[1];
        let (g, h) = ((s[0] * d2[1] - d2[0] * s[1]) / det, (d1[0] * s[1] - s[0] * d1[1]) / det);
        Self([
            c[1][0] - c[0][0] + g * c[1][0],
            c[3][0] - c[0][0] + h * c[3][0],
            c[0][0],
            c[1][1] - c[0][1] + g * c[1][1],
            c[3][1] - c[0][1] + h * c[3][1],
            c[0][1],
            g,
            h,
        ])
    }

    /// With these eight numbers, row by row, the ninth 1.
    pub(crate) fn of(numbers: [f64; 8]) -> Self {
        Self(numbers)
    }

    /// Where a point of the square lies in the photo.
    pub(crate) fn map(&self, u: f64, v: f64) -> Point {
        let m = &self.0;
        let w = m[6] * u + m[7] * v + 1.0;
        [(m[0] * u + m[1] * v + m[2]) / w, (m[3] * u + m[4] * v + m[5]) / w]
    }

    /// The transform from the photo back to the square, or nothing when the
    /// corners lie on a line.
    pub(crate) fn back(&self) -> Option<Self> {
        let [a, b, c, d, e, f, g, h] = self.0;
        let all = linear::inverse(&[[a, b, c], [d, e, f], [g, h, 1.0]])?;
        let scale = all[2][2];
        let back = [all[0][0], all[0][1], all[0][2], all[1][0], all[1][1], all[1][2], all[2][0], all[2][1]].map(|v| v / scale);
        back.iter().all(|v| v.is_finite()).then_some(Self(back))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_leads_to_where_one_came_from() {
        let map = Homography::to_corners(&[[12.0, 30.0], [190.0, 22.0], [210.0, 400.0], [3.0, 420.0]]);
        let back = map.back().unwrap();
        for (u, v) in [(0.0, 0.0), (0.3, 0.8), (1.0, 1.0), (0.5, 0.1)] {
            let [x, y] = map.map(u, v);
            let [p, q] = back.map(x, y);
            assert!((p - u).abs() < 1e-9 && (q - v).abs() < 1e-9);
        }
        assert!(Homography::to_corners(&[[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [3.0, 0.0]]).back().is_none());
    }
}
