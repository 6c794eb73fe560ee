//! Colour space in cells, each with a difference that no colour in it comes under.
//!
//! Legend: light as ratios to the white's, `x = X/Xn` and so on; `rho = x/y`,
//! `sigma = z/y`. A mixture's `y` lies between those of its parts, and so do
//! its `rho` and `sigma` (the mediant of fractions), so the cells between the
//! ring's own extremes hold every mixture. In a cell L*, a*, b* lie in a box,
//! and the box gives the bound (`no_less`), step by step along the published
//! equations with an interval for every quantity in them.

use colour::xyz::ratio_to_f;
use colour::{D65, Lab, Xyz};
use measure::real::{atan2, cbrt, cos, exp, hypot, sin};
use std::f64::consts::PI;

/// Cells along y, rho and sigma when all is fine. More make the bounds closer,
/// and take longer to make than they save.
const FINEST: [f64; 3] = [40.0, 28.0, 36.0];
/// Mixes for which cells as fine as that are worth making, and the share of
/// each count below which bounds say too little.
const WORTH_FINEST: f64 = 5e7;
const COARSEST: f64 = 0.3;
/// Steps of y that are told apart when a cell is looked up.
const Y_STEPS: usize = 2048;
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

/// How many cells are worth making along y, rho and sigma for so many mixes.
pub(super) fn fineness(mixes: f64) -> [usize; 3] {
    let share = cbrt(mixes / WORTH_FINEST).clamp(COARSEST, 1.0);
    FINEST.map(|most| (most * share).round() as usize)
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

    fn meeting(self, other: Self) -> Self {
        Self { low: self.low.max(other.low), high: self.high.min(other.high) }
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

/// Where cells of at most some bound lie: ranges of y, rho and sigma.
#[derive(Debug, Clone, Copy)]
pub(super) struct Region {
    pub y: Range,
    pub rho: Range,
    pub sigma: Range,
    /// The most that each slope comes to.
    pub most: [f64; SLOPES],
}

/// How many slopes a region is cut off by.
pub(super) const SLOPES: usize = 2;
/// A straight function of light, by its factors of x, y and z.
pub(super) type Slope = [f64; 3];

impl Region {
    const NOWHERE: Self = Self { y: Range::NOTHING, rho: Range::NOTHING, sigma: Range::NOTHING, most: [f64::NEG_INFINITY; SLOPES] };

    fn joined(self, other: Self) -> Self {
        Self {
            y: self.y.joined(other.y),
            rho: self.rho.joined(other.rho),
            sigma: self.sigma.joined(other.sigma),
            most: std::array::from_fn(|k| self.most[k].max(other.most[k])),
        }
    }

    /// With the most that slopes come to in it: they are y times something
    /// straight in rho and sigma, so most at an end of each.
    fn on(self, slopes: &[Slope; SLOPES]) -> Self {
        let most = slopes.map(|[x, y, z]| {
            let each = (x * self.rho.low).max(x * self.rho.high) + y + (z * self.sigma.low).max(z * self.sigma.high);
            let most = (self.y.low * each).max(self.y.high * each);
            most + ROOM * (x.abs() + y.abs() + z.abs())
        });
        Self { most, ..self }
    }
}

/// The cells that hold every mixture of a ring, for one target.
pub(super) struct Cells {
    /// Which cell along y each step of y belongs to.
    layer: Vec<u16>,
    /// Where steps of y, and cells along rho and sigma, begin, and how many
    /// there are to one.
    y: (f64, f64),
    rho: (f64, f64),
    sigma: (f64, f64),
    slopes: [Slope; SLOPES],
    counts: [usize; 3],
    bounds: Vec<f64>,
    /// Bounds from the least up, each with the region of all cells up to it.
    rising: Vec<(f64, Region)>,
}

impl Cells {
    /// The cells for some shades, all of which have ratios.
    pub(super) fn of(lights: &[Light], target: Lab, counts: [usize; 3]) -> Self {
        let over = |part: fn(&Light) -> f64| lights.iter().map(part).fold(Range::NOTHING, Range::with).widened();
        let region = Region { y: over(|l| l[1]), rho: over(|l| l[0] / l[1]), sigma: over(|l| l[2] / l[1]), ..Region::NOWHERE };
        Self::over(region, target, &[[0.0; 3]; SLOPES], counts)
    }

    /// The cells that a region is divided into, their regions cut off by
    /// slopes; of a colour outside the region a bound says nothing.
    pub(super) fn over(region: Region, target: Lab, slopes: &[Slope; SLOPES], counts: [usize; 3]) -> Self {
        let [along_y, along_rho, along_sigma] = counts;
        let Region { y, rho, sigma, .. } = region;
        let per_y = Y_STEPS as f64 / (y.high - y.low).max(1e-12);
        // Layers alike in lightness; each step of y belongs to one of them.
        let (dark, bright) = (ratio_to_f(y.low), ratio_to_f(y.high));
        let per_f = along_y as f64 / (bright - dark).max(1e-9);
        let layer: Vec<u16> = (0..=Y_STEPS)
            .map(|step| (((ratio_to_f(y.low + step as f64 / per_y) - dark) * per_f).max(0.0) as usize).min(along_y - 1) as u16)
            .collect();
        let step = |range: Range, count: usize| (range.high - range.low).max(1e-9) / count as f64;
        let (rho_step, sigma_step) = (step(rho, along_rho), step(sigma, along_sigma));
        let cell = |from: f64, step: f64, k: usize| Range::new(from + step * k as f64, from + step * (k + 1) as f64).widened();
        let mut layers = vec![Range::NOTHING; along_y];
        for (step, index) in layer.iter().enumerate() {
            let of = &mut layers[usize::from(*index)];
            *of = of.joined(Range::new(y.low + step as f64 / per_y, y.low + (step + 1) as f64 / per_y).widened());
        }
        let regions: Vec<Region> = layers
            .iter()
            .flat_map(|&layer| (0..along_rho).map(move |r| (layer, r)))
            .flat_map(|(layer, r)| (0..along_sigma).map(move |s| (layer, r, s)))
            .map(|(layer, r, s)| Region {
                y: layer.meeting(y),
                rho: cell(rho.low, rho_step, r),
                sigma: cell(sigma.low, sigma_step, s),
                ..Region::NOWHERE
            })
            .collect();
        let bounds = bounds_of(&regions, target);
        let mut order: Vec<usize> = (0..bounds.len()).filter(|&i| bounds[i].is_finite()).collect();
        order.sort_by(|p, q| bounds[*p].total_cmp(&bounds[*q]));
        let mut so_far = Region::NOWHERE;
        let rising = order
            .into_iter()
            .map(|i| {
                so_far = so_far.joined(regions[i].on(slopes));
                (bounds[i], so_far)
            })
            .collect();
        Self { layer, y: (y.low, per_y), rho: (rho.low, 1.0 / rho_step), sigma: (sigma.low, 1.0 / sigma_step), slopes: *slopes, counts, bounds, rising }
    }

    /// A difference that a mixture of this light does not come under.
    #[inline(always)]
    pub(super) fn bound(&self, [x, y, z]: Light) -> f64 {
        let per = 1.0 / y;
        let index = |value: f64, last: usize| (value as i32).clamp(0, last as i32) as usize;
        let layer = usize::from(self.layer[index((y - self.y.0) * self.y.1, Y_STEPS)]);
        let [_, along_rho, along_sigma] = self.counts;
        let r = index((x * per - self.rho.0) * self.rho.1, along_rho - 1);
        let s = index((z * per - self.sigma.0) * self.sigma.1, along_sigma - 1);
        self.bounds[(layer * along_rho + r) * along_sigma + s]
    }

    /// The slopes that regions are cut off by.
    pub(super) fn slopes(&self) -> &[Slope; SLOPES] {
        &self.slopes
    }

    /// Where mixtures within a difference can only lie; nothing when nowhere.
    pub(super) fn region(&self, within: f64) -> Option<Region> {
        let count = self.rising.partition_point(|(bound, _)| *bound <= within);
        count.checked_sub(1).and_then(|last| self.rising.get(last)).map(|(_, region)| *region)
    }
}

fn bounds_of(regions: &[Region], target: Lab) -> Vec<f64> {
    let bound = |region: &Region| {
        // A layer so thin that no step of y falls in it is never looked up.
        if region.y.low > region.y.high { f64::INFINITY } else { no_less(target, box_of(region)) }
    };
    let (first, second) = regions.split_at(regions.len() / 2);
    std::thread::scope(|scope| {
        let other = scope.spawn(|| second.iter().map(bound).collect::<Vec<f64>>());
        let mut bounds: Vec<f64> = first.iter().map(bound).collect();
        bounds.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        bounds
    })
}

/// The box of L*, a*, b* that a region of y, rho and sigma lies in.
fn box_of(region: &Region) -> [Range; 3] {
    let f_y = Range::new(ratio_to_f(region.y.low), ratio_to_f(region.y.high));
    // f(q y) / f(y): for the cube root its factor; where f is straight less far
    // from 1, as its elasticity falls from a third to nothing.
    let factor = |q: Range| {
        let root = Range::new(cbrt(q.low), cbrt(q.high));
        if region.y.low * q.low.min(1.0) > 0.009 { root } else { root.with(1.0) }
    };
    let beside = |q: Range| {
        if q.low <= 0.0 {
            // Less than no light, as strong colours given in L*, a*, b* may
            // have: both ranges apart.
            let light = q.times(region.y);
            return Range::new(ratio_to_f(light.low) - f_y.high, ratio_to_f(light.high) - f_y.low);
        }
        let factor = factor(q);
        f_y.times(Range::new(factor.low - 1.0, factor.high - 1.0))
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
        fn no_mixture_comes_under_the_bound_of_its_cell(
            target in (5.0..95.0f64, -20.0..50.0f64, -30.0..50.0f64),
            shades in prop::collection::vec((3.0..90.0f64, -20.0..30.0f64, -12.0..60.0f64), 3),
            shares in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 6),
        ) {
            let target = Lab::new(target.0, target.1, target.2);
            let lights: Vec<Light> = shades.iter().map(|(l, a, b)| light(Lab::new(*l, *a, *b).to_xyz(D65))).collect();
            prop_assume!(lights.iter().all(|l| has_ratios(*l)));
            let cells = Cells::of(&lights, target, fineness(5e6));
            for (p, q) in shares {
                let (p, q) = if p + q > 1.0 { (1.0 - p, 1.0 - q) } else { (p, q) };
                let mix: Light = std::array::from_fn(|k| p * lights[0][k] + q * lights[1][k] + (1.0 - p - q) * lights[2][k]);
                let exact = ciede2000(target, Xyz::new(mix[0] * D65.x, mix[1] * D65.y, mix[2] * D65.z).to_lab(D65));
                let bound = cells.bound(mix);
                prop_assert!(bound <= exact, "{bound} is more than {exact}");
                let region = cells.region(exact).unwrap();
                prop_assert!(region.y.low <= mix[1] && mix[1] <= region.y.high);
                prop_assert!(region.rho.low * mix[1] <= mix[0] && mix[0] <= region.rho.high * mix[1]);
                prop_assert!(region.sigma.low * mix[1] <= mix[2] && mix[2] <= region.sigma.high * mix[1]);
                let slopes = [[p - 0.5, 0.3 - q, 1.0], [-1.0, q, p]];
                let finer = Cells::over(region, target, &slopes, fineness(0.0));
                let again = finer.bound(mix);
                prop_assert!(again <= exact, "finer: {again} is more than {exact}");
                let most = finer.region(exact).unwrap().most;
                for (slope, most) in slopes.iter().zip(most) {
                    prop_assert!((0..3).map(|k| slope[k] * mix[k]).sum::<f64>() <= most);
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
