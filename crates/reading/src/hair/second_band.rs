//! The hair's own band of gloss beside the white one.

use super::slice::{BEYOND, SLICES, Slice};
use measure::linear::least_squares;
use measure::real::exp;

/// How much lighter than matt the second band makes every slice.
#[derive(Debug)]
pub(super) struct SecondBand {
    /// Factor for each slice of the tress.
    pub(super) factors: Vec<f64>,
    /// How far the matt hair's lightness is in doubt, relative.
    pub(super) doubt: f64,
    /// Share of the slices' squared differences in lightness that it explains.
    pub(super) explained: f64,
}

/// How far the second band may be shifted, and how far smeared, in slices.
const SHIFTS: std::ops::RangeInclusive<i32> = -6..=6;

const SMEARS: [f64; 10] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.5, 5.5, 6.5];

/// How far the matt hair is likely to be darker than the darkest slices seen, relative.
pub(super) const DARKER: f64 = 0.05;

/// More white than this, as a share of the hair's own light, leaves its colour unknown.
const WHITE: f64 = 1.0;

/// Neighbouring slices err together: so many count as one.
const ALIKE: f64 = 10.0;

/// One account of the second band: cost, the matt hair's shade, all shades.
struct Account {
    cost: f64,
    base: f64,
    shades: Vec<f64>,
}

impl SecondBand {
    /// Weighs all shifts and smears by how well they explain the slices' shades.
    pub(super) fn fit(slices: &[Slice]) -> Self {
        let mut sorted: Vec<f64> =
            slices.iter().filter(|slice| slice.clipped < 0.02 && slice.shine < WHITE).map(|slice| slice.shade).collect();
        sorted.sort_by(f64::total_cmp);
        let Some(darkest) = sorted.get(sorted.len() / 20).copied() else {
            return Self { factors: vec![1.0; SLICES], doubt: DARKER, explained: 0.0 };
        };
        let accounts: Vec<Account> = SHIFTS.flat_map(|shift| SMEARS.map(|smear| Self::account(slices, shift, smear))).flatten().collect();
        let least = accounts.iter().map(|account| account.cost).fold(f64::INFINITY, f64::min);
        let noise = least / (slices.len().max(5) - 4) as f64 + 1e-9;
        let (mut sum, mut base, mut square) = (0.0, 0.0, 0.0);
        let mut shades = vec![0.0; SLICES];
        for account in &accounts {
            let below = (darkest - account.base) / (darkest * DARKER);
            let weight = exp(-(account.cost - least) / (2.0 * noise * ALIKE) - below * below / 2.0);
            sum += weight;
            base += weight * account.base;
            square += weight * account.base * account.base;
            for (all, one) in shades.iter_mut().zip(&account.shades) {
                *all += weight * one;
            }
        }
        if sum <= 1e-12 {
            // No white anywhere, so no second band: what is lighter is so for other reasons,
            // and the matt hair is no darker than these let it be.
            let lightest = sorted[sorted.len() - 1 - sorted.len() / 20];
            let spread = if darkest > 0.0 { (lightest / darkest - 1.0) / 4.0 } else { DARKER };
            return Self { factors: vec![1.0; SLICES], doubt: spread.min(DARKER), explained: 0.0 };
        }
        (base, square) = (base / sum, square / sum);
        let all: f64 = slices.iter().map(Slice::trust).sum();
        let middle = slices.iter().map(|slice| slice.trust() * slice.shade).sum::<f64>() / all;
        let total: f64 = slices.iter().map(|slice| slice.trust() * (slice.shade - middle) * (slice.shade - middle)).sum();
        let explained = 1.0 - (least / total).min(1.0);
        Self {
            factors: shades.iter().map(|shade| shade / sum / base).collect(),
            doubt: (square - base * base).max(0.0).sqrt() / base,
            explained,
        }
    }

    fn account(slices: &[Slice], shift: i32, smear: f64) -> Option<Account> {
        let smeared: Vec<f64> = (0..SLICES).map(|place| smeared(slices, place as f64 - f64::from(shift), smear)).collect();
        let rows: Vec<[f64; 2]> = slices.iter().map(|slice| [1.0, smeared[slice.place]]).collect();
        let shades: Vec<f64> = slices.iter().map(|slice| slice.shade).collect();
        let weights: Vec<f64> = slices.iter().map(Slice::trust).collect();
        let [base, rise] = least_squares(&rows, &shades, &weights)?;
        if base <= 0.0 || rise < 0.0 {
            return None;
        }
        let cost =
            rows.iter().zip(&shades).zip(&weights).map(|((row, y), w)| w * (y - base - rise * row[1]) * (y - base - rise * row[1])).sum();
        Some(Account { cost, base, shades: smeared.iter().map(|v| base + rise * v).collect() })
    }
}

/// White about a place, weighed by a normal density; beyond both ends it goes on as there.
fn smeared(slices: &[Slice], middle: f64, width: f64) -> f64 {
    let (Some(first), Some(last)) = (slices.first(), slices.last()) else { return 0.0 };
    let (mut sum, mut weights) = (0.0, 0.0);
    let mut add = |place: f64, shine: f64| {
        let off = (place - middle) / width;
        let w = exp(-off * off / 2.0);
        sum += w * shine.max(0.0);
        weights += w;
    };
    slices.iter().for_each(|slice| add(slice.place as f64, slice.shine));
    for beyond in 1..=BEYOND {
        add(first.place as f64 - beyond as f64, first.shine);
        add(last.place as f64 + beyond as f64, last.shine);
    }
    if weights > 1e-6 { sum / weights } else { 0.0 }
}
