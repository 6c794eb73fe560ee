//! How a bent wave reaches over a triangle.

/// A ray through an edge to the vertex beyond it.
pub(super) struct Ray {
    /// Distance at the vertex above that at the edge's first vertex.
    pub(super) rise: f64,
    /// Where it crosses, from the first vertex.
    pub(super) at: f64,
    /// From the crossing to the vertex.
    pub(super) run: f64,
    /// How the front bends at the crossing.
    pub(super) bend: f64,
}

/// How far beyond the front at (0, 0), which travels along (cosine, sine) and
/// bends by `bend`, the place (x, y) lies, and where its ray crosses y = 0.
pub(super) fn alone(x: f64, y: f64, cosine: f64, sine: f64, bend: f64) -> Option<(f64, f64)> {
    let ahead = x * cosine + y * sine;
    let aside = x * sine - y * cosine;
    // To second order in the distance aside: enough beside a meeting line.
    let opened = 1.0 + bend * ahead;
    if !(opened > 0.2 && sine > 0.05 && (bend * aside).abs() < 0.5) {
        return None;
    }
    let tilt = bend * aside / opened;
    let slope = sine - tilt * cosine;
    (slope > 0.05).then(|| (ahead + 0.5 * bend * aside * aside / opened, x - y * (cosine + tilt * sine) / slope))
}

/// The ray from the edge (0,0)-(ab,0) to (x, y) of a front that rises by
/// `rise` along the edge and bends by `bend` at its mean; none when the ray
/// does not cross the edge.
#[inline]
pub(super) fn crossing(x: f64, y: f64, ab: f64, rise: f64, bend: f64) -> Option<Ray> {
    let flat = || {
        let sine = rise / ab;
        let cosine = (1.0 - sine * sine).sqrt();
        let at = x - y * sine / cosine;
        (0.0..=ab).contains(&at).then(|| Ray { rise: x * sine + y * cosine, at, run: y / cosine, bend })
    };
    if (bend * ab).abs() < 1e-7 {
        return flat();
    }
    let rho = 1.0 / bend;
    let rho_a = rho - 0.5 * rise;
    let centre = 0.5 * ab - rho * rise / ab;
    let depth = (rho_a * rho_a - centre * centre).max(0.0).sqrt();
    if bend > 0.0 {
        let at = centre + (x - centre) * depth / (y + depth);
        if !(0.0..=ab).contains(&at) {
            return None;
        }
        let far = ((x - centre) * (x - centre) + (y + depth) * (y + depth)).sqrt();
        let run = ((x - at) * (x - at) + y * y).sqrt();
        return Some(Ray { rise: far - rho_a, at, run, bend: 1.0 / (far - run).max(1e-12 * ab) });
    }
    // The front draws together: its centre lies ahead, beyond c. Where it lies
    // closer, waves meet, and the face is too coarse to follow; a gentler bend
    // serves.
    if depth <= 1.25 * y {
        return flat();
    }
    let at = x - (centre - x) * y / (depth - y);
    if !(0.0..=ab).contains(&at) {
        return None;
    }
    let far = ((x - centre) * (x - centre) + (depth - y) * (depth - y)).sqrt();
    let run = ((x - at) * (x - at) + y * y).sqrt();
    Some(Ray { rise: -rho_a - far, at, run, bend: -1.0 / (far + run) })
}

/// The front's bend after a run over ground of Gaussian curvature `dome`
/// (Riccati's equation to second order).
#[inline(always)]
pub(super) fn bent(bend: f64, dome: f64, run: f64) -> f64 {
    let spread = 1.0 + bend * run - 0.5 * dome * run * run;
    let opening = bend - dome * run * (1.0 + 0.5 * bend * run);
    // A front never closes to less than a fifth within one face; beyond that
    // lie only the places where two waves meet.
    opening / spread.max(0.2)
}
