//! The tones of the hair: which there are, and how much of each.

use crate::hair::mean;

/// Groups of cells that are one tone: share and mean light, the largest first.
///
/// Tones differ most in lightness, by far more than strands are shaded; the
/// proportions of the channels, which shading leaves alone but noise does not,
/// help to part the rest.
pub(crate) fn tones(cells: &[[f64; 3]]) -> Vec<(f64, [f64; 3])> {
    let points: Vec<[f64; 3]> = cells.iter().filter_map(features).collect();
    let cells: Vec<&[f64; 3]> = cells.iter().filter(|cell| features(cell).is_some()).collect();
    if points.is_empty() {
        return Vec::new();
    }
    let mut best: Option<(f64, Vec<usize>)> = None;
    for k in 1..=3 {
        let (groups, inner) = cluster(&points, k);
        let cost = inner * FURTHER_TONE[k - 1];
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, groups));
        }
    }
    let groups = best.map(|(_, groups)| groups).unwrap_or_default();
    let mut result = grouped(&cells, &groups);
    let found = result.len();
    while let Some(i) = (1..result.len()).find(|i| result[i - 1].1[1] < ONE_LEVEL * result[*i].1[1]) {
        result.remove(i);
    }
    // With fewer tones every cell is asked again which it belongs to.
    if result.len() < found {
        result = grouped(&cells, &cluster(&points, result.len()).0);
    }
    result.sort_by(|p, q| q.0.total_cmp(&p.0));
    result
}

/// Share and mean light of each group, the lightest first.
fn grouped(cells: &[&[f64; 3]], groups: &[usize]) -> Vec<(f64, [f64; 3])> {
    let group = |g: usize| {
        let members = || cells.iter().zip(groups).filter(move |(_, own)| **own == g).map(|(cell, _)| *cell);
        mean(members()).map(|m| (members().count() as f64 / cells.len() as f64, m))
    };
    let mut result: Vec<(f64, [f64; 3])> = (0..3).filter_map(group).collect();
    result.sort_by(|p, q| q.1[1].total_cmp(&p.1[1]));
    result
}

/// By what one, two and three tones' inner spread is multiplied before the least
/// is chosen. Halving a single bell curve leaves 0.36 of its spread and a third
/// cut about half of that again; only tones that leave less are told apart.
const FURTHER_TONE: [f64; 3] = [1.0, 3.3, 5.5];

/// Two tones with less than this between their lights are one tone: about a level.
const ONE_LEVEL: f64 = 1.4;

fn features(cell: &[f64; 3]) -> Option<[f64; 3]> {
    let [r, g, b] = *cell;
    (r > 1e-4 && g > 1e-4 && b > 1e-4).then(|| [(r + g + b).ln(), 0.2 * (r / g).ln(), 0.1 * (g / b).ln()])
}

/// Groups of points about `k` middles, and the mean squared distance inside them.
fn cluster(points: &[[f64; 3]], k: usize) -> (Vec<usize>, f64) {
    let distance = |p: &[f64; 3], q: &[f64; 3]| (0..3).map(|i| (p[i] - q[i]) * (p[i] - q[i])).sum::<f64>();
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|p, q| points[*p][0].total_cmp(&points[*q][0]));
    let mut middles: Vec<[f64; 3]> = (0..k).map(|g| points[order[(2 * g + 1) * points.len() / (2 * k)]]).collect();
    let mut groups = vec![0; points.len()];
    for _ in 0..30 {
        for (group, point) in groups.iter_mut().zip(points) {
            *group = (0..k).min_by(|p, q| distance(point, &middles[*p]).total_cmp(&distance(point, &middles[*q]))).unwrap_or(0);
        }
        for (g, middle) in middles.iter_mut().enumerate() {
            if let Some(m) = mean(points.iter().zip(&groups).filter(|(_, own)| **own == g).map(|(p, _)| p)) {
                *middle = m;
            }
        }
    }
    let inner = points.iter().zip(&groups).map(|(p, g)| distance(p, &middles[*g])).sum::<f64>() / points.len() as f64;
    (groups, inner)
}
