//! Colour space in cells, each with a difference that no colour in it comes under.
//!
//! Legend: light as ratios to the white's, `x = X/Xn` and so on; `rho = x/y`,
//! `sigma = z/y`. A mixture's `y` lies between those of its parts, and so do
//! its `rho` and `sigma` (the mediant of fractions), so the cell between the
//! ring's own extremes holds every mixture. It is halved again and again, and
//! halves are dropped that no mixture falls in (outside the hull of the ring's
//! lights) or that are too far from the target: in a cell L*, a*, b* lie in a
//! box, and the box gives the bound (`no_less`), step by step along the
//! published equations with an interval for every quantity in them.

use colour::xyz::ratio_to_f;
use colour::{D65, Lab, Xyz};
use measure::real::{atan2, cbrt, cos, exp, hypot, sin};
use std::f64::consts::PI;

/// Cells that are enough to halve no further: more make the region closer, and
/// take longer to make than they save.
const ENOUGH: usize = 2_000;
/// Cells are halved anew when so few of them are left, as a share.
const FEW_LEFT: usize = 8;
/// The most halvings at a time, and the most sides of the hull that are heeded.
const MOST_HALVINGS: usize = 40;
const MOST_FACETS: usize = 200;
/// Room for rounding at the borders of cells, as a share.
const ROOM: f64 = 1e-9;
/// Below this luminance ratios to it mean nothing.
const DARKEST: f64 = 1e-4;

/// A colour of light as ratios to the white's.
pub(super) type Light = [f64; 3];

/// The ratios of a colour.
pub(super) fn light(colour: Xyz) -> Light {
    [colour.x / D65.x, colour.y / D65.y, colour.z / D65.z]
}

/// Whether a shade's ratios can be put in cells.
pub(super) fn has_ratios([_, y, _]: Light) -> bool {
    y >= DARKEST
}

/// A range with both ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Range {
    pub low: f64,
    pub high: f64,
}

impl Range {
    const NOTHING: Self = Self { low: f64::INFINITY, high: f64::NEG_INFINITY };

    const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    fn with(self, value: f64) -> Self {
        Self { low: self.low.min(value), high: self.high.max(value) }
    }

    fn joined(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    fn times(self, by: Self) -> Self {
        let ends = [self.low * by.low, self.low * by.high, self.high * by.low, self.high * by.high];
        ends.into_iter().fold(Self::NOTHING, Self::with)
    }

    fn nearest_to_zero(self) -> f64 {
        self.low.max(-self.high).max(0.0)
    }

    fn farthest_from_zero(self) -> f64 {
        self.low.abs().max(self.high.abs())
    }

    fn widened(self) -> Self {
        let room = ROOM * self.farthest_from_zero();
        Self { low: self.low - room, high: self.high + room }
    }
}

/// A straight function of light, by its factors of x, y and z.
pub(super) type Slope = [f64; 3];

/// What a straight function comes to.
pub(super) fn along(slope: Slope, light: Light) -> f64 {
    slope[0] * light[0] + slope[1] * light[1] + slope[2] * light[2]
}

/// A cell, or what several cells span: ranges of y, rho and sigma.
#[derive(Debug, Clone, Copy)]
pub(super) struct Region {
    pub y: Range,
    pub rho: Range,
    pub sigma: Range,
    /// The most that the slope of its cells comes to.
    pub most: f64,
}

impl Region {
    const NOWHERE: Self = Self { y: Range::NOTHING, rho: Range::NOTHING, sigma: Range::NOTHING, most: f64::NEG_INFINITY };

    fn joined(self, other: Self) -> Self {
        Self {
            y: self.y.joined(other.y.widened()),
            rho: self.rho.joined(other.rho.widened()),
            sigma: self.sigma.joined(other.sigma.widened()),
            most: self.most.max(other.most),
        }
    }

    /// The most that a slope comes to: it is y times something straight in rho
    /// and sigma, so most at an end of each.
    fn most(&self, [x, y, z]: Slope) -> f64 {
        let each = (x * self.rho.low).max(x * self.rho.high) + y + (z * self.sigma.low).max(z * self.sigma.high);
        (self.y.low * each).max(self.y.high * each) + ROOM * (x.abs() + y.abs() + z.abs())
    }

    fn halves(self, axis: usize) -> [Self; 2] {
        let Range { low, high } = [self.y, self.rho, self.sigma][axis];
        let middle = (low + high) / 2.0;
        [Range::new(low, middle), Range::new(middle, high)].map(|half| match axis {
            0 => Self { y: half, ..self },
            1 => Self { rho: half, ..self },
            _ => Self { sigma: half, ..self },
        })
    }
}

/// The sides of the hull of some lights: slopes with the most they come to.
fn facets(lights: &[Light]) -> Vec<(Slope, f64)> {
    let from = |p: Light, q: Light| [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
    let mut found = Vec::new();
    for (i, p) in lights.iter().enumerate() {
        for (j, q) in lights.iter().enumerate().skip(i + 1) {
            let u = from(*p, *q);
            for r in &lights[j + 1..] {
                let v = from(*p, *r);
                let across = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
                let size = across.iter().map(|part| part.abs()).sum::<f64>();
                for slope in [across, across.map(|part| -part)] {
                    let limit = along(slope, *p) + 1e-12 * size;
                    if size > 0.0 && found.len() < MOST_FACETS && lights.iter().all(|light| along(slope, *light) <= limit) {
                        found.push((slope, limit + ROOM * size));
                    }
                }
            }
        }
    }
    found
}

/// A region with its bound, and the axis it is widest along to the eye.
#[derive(Debug, Clone, Copy)]
struct Cell {
    region: Region,
    bound: f64,
    widest: usize,
}

/// The cells that hold every mixture of a ring within some difference of a target.
#[derive(Debug, Clone)]
pub(super) struct Cells {
    target: Lab,
    facets: Vec<(Slope, f64)>,
    slope: Slope,
    /// From the least bound up.
    cells: Vec<Cell>,
    /// What all cells up to each span.
    spans: Vec<Region>,
}

impl Cells {
    /// One cell for some shades, all of which have ratios.
    pub(super) fn of(lights: &[Light], target: Lab) -> Self {
        let over = |part: fn(&Light) -> f64| lights.iter().map(part).fold(Range::NOTHING, Range::with).widened();
        let region = Region { y: over(|l| l[1]), rho: over(|l| l[0] / l[1]), sigma: over(|l| l[2] / l[1]), most: 0.0 };
        let cells = if lights.is_empty() { Vec::new() } else { vec![Cell { region, bound: 0.0, widest: 0 }] };
        Self { target, facets: facets(lights), slope: [0.0; 3], spans: cells.iter().map(|cell| cell.region).collect(), cells }
    }

    /// Smaller cells that hold every mixture within a difference, their region
    /// cut off by a slope.
    pub(super) fn finer(&self, within: f64, slope: Slope) -> Self {
        let mut cells = self.cells[..self.count(within)].to_vec();
        for _ in 0..MOST_HALVINGS {
            if cells.len() >= ENOUGH {
                break;
            }
            let halves = cells.iter().flat_map(|cell| cell.region.halves(cell.widest));
            let reached = halves.filter(|half| self.facets.iter().all(|(slope, most)| -half.most(slope.map(|part| -part)) <= *most));
            cells = reached.map(|half| self.cell(half)).filter(|cell| cell.bound <= within).collect();
        }
        cells.sort_by(|p, q| p.bound.total_cmp(&q.bound));
        let mut so_far = Region::NOWHERE;
        let spans = cells
            .iter()
            .map(|cell| {
                so_far = so_far.joined(Region { most: cell.region.most(slope), ..cell.region });
                so_far
            })
            .collect();
        Self { target: self.target, facets: self.facets.clone(), slope, cells, spans }
    }

    fn cell(&self, region: Region) -> Cell {
        let lab = box_of(&region);
        let bright = region.y.high;
        let wide = |factor: f64, q: Range| factor * (ratio_to_f(bright * q.high) - ratio_to_f(bright * q.low));
        let (a, b) = (wide(500.0, region.rho), wide(200.0, region.sigma));
        let widest = if lab[0].high - lab[0].low >= a.max(b) { 0 } else { 1 + usize::from(b > a) };
        Cell { region, bound: no_less(self.target, lab), widest }
    }

    fn count(&self, within: f64) -> usize {
        self.cells.partition_point(|cell| cell.bound <= within)
    }

    /// Whether so few cells are within a difference that finer ones are worth making.
    pub(super) fn worth_halving(&self, within: f64) -> bool {
        self.count(within) * FEW_LEFT <= self.cells.len().max(FEW_LEFT)
    }

    /// The slope that regions are cut off by.
    pub(super) fn slope(&self) -> Slope {
        self.slope
    }

    /// Where mixtures within a difference can only lie; nothing when nowhere.
    pub(super) fn region(&self, within: f64) -> Option<Region> {
        self.count(within).checked_sub(1).map(|last| self.spans[last])
    }
}

/// The box of L*, a*, b* that a region of y, rho and sigma lies in.
fn box_of(region: &Region) -> [Range; 3] {
    let f_y = Range::new(ratio_to_f(region.y.low), ratio_to_f(region.y.high));
    let beside = |q: Range| {
        if region.y.low * q.low.min(1.0) > 0.009 {
            // f(q y) / f(y) is the cube root of q.
            f_y.times(Range::new(cbrt(q.low) - 1.0, cbrt(q.high) - 1.0))
        } else {
            // Dark, or less than no light, as strong colours given in L*, a*,
            // b* may have: both ranges apart.
            let light = q.times(region.y);
            Range::new(ratio_to_f(light.low) - f_y.high, ratio_to_f(light.high) - f_y.low)
        }
    };
    let (a, b) = (beside(region.rho), beside(region.sigma));
    [
        Range::new(116.0 * f_y.low - 16.0, 116.0 * f_y.high - 16.0),
        Range::new(500.0 * a.low, 500.0 * a.high),
        Range::new(-200.0 * b.high, -200.0 * b.low),
    ]
}

/// A difference that no colour of a box comes under.
///
/// Each quantity of the published equations is given the range it can take.
/// At the end `u = dC'/S_C` and `v = dH'/S_H` are at least so large, and the
/// rotation takes at most `r |u v|` away from `u^2 + v^2`.
///
/// *Source*: the equations of key `sharma2005`, by intervals.
pub(super) fn no_less(target: Lab, [l, a, b]: [Range; 3]) -> f64 {
    let l_apart = Range::new(l.low - target.l, l.high - target.l).nearest_to_zero();
    let from_middle = Range::new((l.low + target.l) / 2.0 - 50.0, (l.high + target.l) / 2.0 - 50.0).farthest_from_zero();
    let s_l = 1.0 + 0.015 * from_middle * from_middle / (20.0 + from_middle * from_middle).sqrt();
    let l_term = l_apart / s_l;

    let own = hypot(target.a, target.b);
    let chroma = |a: Range, b: Range| {
        Range::new(hypot(a.nearest_to_zero(), b.nearest_to_zero()), hypot(a.farthest_from_zero(), b.farthest_from_zero()))
    };
    let starred = chroma(a, b);
    let g = |mean: f64| 1.5 - 0.5 * seventh_share(mean);
    let g = Range::new(g((own + starred.high) / 2.0), g((own + starred.low) / 2.0));
    let a2 = a.times(g);
    let c1 = Range::new(hypot(g.low * target.a, target.b), hypot(g.high * target.a, target.b));
    let c2 = chroma(a2, b);
    let mean_c = (c1.high + c2.high) / 2.0;
    let u = Range::new(c2.low - c1.high, c2.high - c1.low).nearest_to_zero() / (1.0 + 0.045 * mean_c);

    let (hue_apart, t, rotation) = hues(target, g, a2, b);
    let v = 2.0 * (c1.low * c2.low).sqrt() * sin(hue_apart / 2.0) / (1.0 + 0.015 * mean_c * t);
    let r = 2.0 * seventh_share(mean_c) * rotation;
    // The least of u^2 + v^2 - r u v from these u and v upward.
    let left = 1.0 - r * r / 4.0;
    let around = if u <= r * v / 2.0 {
        v * v * left
    } else if v <= r * u / 2.0 {
        u * u * left
    } else {
        u * u + v * v - r * u * v
    };
    ((l_term * l_term + around.max(0.0)).sqrt() - ROOM).max(0.0) * (1.0 - ROOM)
}

/// The square root of C^7 / (C^7 + 25^7).
fn seventh_share(chroma: f64) -> f64 {
    let third = chroma * chroma * chroma;
    let seventh = third * third * chroma;
    (seventh / (seventh + 6_103_515_625.0)).sqrt()
}

/// Of the hues of a box of a', b and of the target: how far apart they are at
/// least (radians), the most that T can be, and the most that sin(2 theta) of
/// the rotation can be.
fn hues(target: Lab, g: Range, a: Range, b: Range) -> (f64, f64, f64) {
    /// T differs from 1 by at most the sum of its four waves.
    const T_MOST: f64 = 1.0 + 0.17 + 0.24 + 0.32 + 0.20;
    /// The steepest that the four waves together can be, per radian.
    const T_STEEPEST: f64 = 0.17 + 2.0 * 0.24 + 3.0 * 0.32 + 4.0 * 0.20;
    const MOST_TURNED: f64 = 0.866_025_403_784_438_7;
    let grey = target.a == 0.0 && target.b == 0.0;
    if grey || a.nearest_to_zero() == 0.0 && b.nearest_to_zero() == 0.0 {
        return (0.0, T_MOST, MOST_TURNED);
    }
    let middle = [(a.low + a.high) / 2.0, (b.low + b.high) / 2.0];
    let from_middle = |x: f64, y: f64| atan2(y * middle[0] - x * middle[1], x * middle[0] + y * middle[1]).abs();
    let corners = [(a.low, b.low), (a.low, b.high), (a.high, b.low), (a.high, b.high)];
    let wide = corners.into_iter().map(|(x, y)| from_middle(x, y)).fold(0.0, f64::max);
    let (one, other) = (atan2(target.b, g.low * target.a), atan2(target.b, g.high * target.a));
    let own = (one + other) / 2.0;
    let own_wide = (one - other).abs() / 2.0 + ROOM;
    let hue = atan2(middle[1], middle[0]);
    let apart = match hue - own {
        d if d > PI => d - 2.0 * PI,
        d if d < -PI => d + 2.0 * PI,
        d => d,
    };
    let spread = wide + own_wide;
    let least = (apart.abs() - spread).max(0.0);
    if apart.abs() + spread >= PI {
        // The two ways round cannot be told apart: the mean hue may be either.
        return (least, T_MOST, MOST_TURNED);
    }
    let mean = own + apart / 2.0;
    let half = spread / 2.0;
    let t = 1.0 - 0.17 * cos(mean - PI / 6.0) + 0.24 * cos(2.0 * mean) + 0.32 * cos(3.0 * mean + PI / 30.0)
        - 0.20 * cos(4.0 * mean - 63.0 * PI / 180.0);
    let from_blue = (mean - 275.0 * PI / 180.0).rem_euclid(2.0 * PI);
    let from_blue = (from_blue.min(2.0 * PI - from_blue) - half).max(0.0) * 180.0 / PI / 25.0;
    let turned = sin(PI / 3.0 * exp(-from_blue * from_blue));
    (least, (t + T_STEEPEST * half).min(T_MOST), turned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use colour::ciede2000;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_colour_of_a_box_comes_under_its_bound(
            target in (0.0..100.0f64, -60.0..60.0f64, -60.0..60.0f64),
            from in (0.0..95.0f64, -60.0..60.0f64, -60.0..60.0f64),
            size in (0.0..12.0f64, 0.0..12.0f64, 0.0..12.0f64),
            at in prop::collection::vec((0.0..=1.0f64, 0.0..=1.0f64, 0.0..=1.0f64), 60),
        ) {
            let target = Lab::new(target.0, target.1, target.2);
            let ranges = [Range::new(from.0, from.0 + size.0), Range::new(from.1, from.1 + size.1), Range::new(from.2, from.2 + size.2)];
            let bound = no_less(target, ranges);
            for at in at {
                let place = |range: Range, share: f64| range.low + share * (range.high - range.low);
                let colour = Lab::new(place(ranges[0], at.0), place(ranges[1], at.1), place(ranges[2], at.2));
                let exact = ciede2000(target, colour);
                prop_assert!(bound <= exact, "{bound} is more than {exact} of {colour:?} from {target:?}");
            }
        }

    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_mixture_lies_outside_the_region_of_its_difference(
            target in (5.0..95.0f64, -20.0..50.0f64, -30.0..50.0f64),
            shades in prop::collection::vec((3.0..90.0f64, -20.0..30.0f64, -12.0..60.0f64), 3..8),
            shares in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 6),
            wider in 0.0..3.0f64,
        ) {
            let target = Lab::new(target.0, target.1, target.2);
            let lights: Vec<Light> = shades.iter().map(|(l, a, b)| light(Lab::new(*l, *a, *b).to_xyz(D65))).collect();
            prop_assume!(lights.iter().all(|l| has_ratios(*l)));
            let whole = Cells::of(&lights, target);
            for (p, q) in shares {
                let (p, q) = if p + q > 1.0 { (1.0 - p, 1.0 - q) } else { (p, q) };
                let mix: Light = std::array::from_fn(|k| p * lights[0][k] + q * lights[1][k] + (1.0 - p - q) * lights[lights.len() - 1][k]);
                let exact = ciede2000(target, Xyz::new(mix[0] * D65.x, mix[1] * D65.y, mix[2] * D65.z).to_lab(D65));
                let slope = [p - 0.5, 0.3 - q, 1.0];
                let coarse = whole.finer(exact + wider, [0.0; 3]);
                for cells in [whole.finer(exact, slope), coarse.finer(exact, slope)] {
                    let region = cells.region(exact).unwrap();
                    prop_assert!(region.y.low <= mix[1] && mix[1] <= region.y.high);
                    prop_assert!(region.rho.low * mix[1] <= mix[0] && mix[0] <= region.rho.high * mix[1]);
                    prop_assert!(region.sigma.low * mix[1] <= mix[2] && mix[2] <= region.sigma.high * mix[1]);
                    prop_assert!(along(slope, mix) <= region.most);
                }
            }
        }
    }

    #[test]
    fn a_bound_of_a_small_box_is_close() {
        // A bound of nothing would be right and useless: boxes of half a unit
        // must come within a unit of the exact difference.
        for target in [Lab::new(40.0, 8.0, 20.0), Lab::new(20.0, 2.0, -20.0), Lab::new(40.0, 45.0, 20.0)] {
            for colour in [Lab::new(42.0, 9.0, 18.0), Lab::new(20.0, 5.0, 8.0), Lab::new(60.0, 14.0, 28.0)] {
                let around = |x: f64| Range::new(x - 0.25, x + 0.25);
                let bound = no_less(target, [around(colour.l), around(colour.a), around(colour.b)]);
                let exact = ciede2000(target, colour);
                assert!(bound > exact - 1.0, "{bound} for {exact}");
            }
        }
    }
}
