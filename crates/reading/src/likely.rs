//! What hair can look like to this camera under this light.
//!
//! Legend: `P` spectra of the chart's patches, `h` spectrum of a hair, `w` how
//! much of each patch makes up the hair.
//!
//! Three channels see no spectrum, and a matrix fitted to painted patches is
//! biased for hair. But hair's spectrum is no riddle: melanin, or dyes over
//! what bleach has left. So a hair is written as a sum of patches, h = P w; the
//! camera, being linear, would have shown the same sum of the patches' light.
//! That gives pairs of light and colour for hair nobody photographed.

use crate::chart_fit::Known;
use colour::pigment::Pigment;
use colour::tables::chart::PATCHES;
use colour::tables::spectral::{FIRST_NM, STEP_NM, STEPS};
use colour::{Spectrum, Xyz};
use measure::linear::{cholesky, solve_by_triangle};
use measure::real::{exp, ln};

/// Hair's surface: light sent back before it enters.
const SURFACE: f64 = 0.014;

/// The constant of the albedo fit, as in [`colour::pigment`].
///
/// *Source*: key `chiang2016`.
const ALBEDO: f64 = 5.89;

/// Amounts of eumelanin, from white-blonde to black, each about a level apart.
const EUMELANIN: [f64; 9] = [0.004, 0.012, 0.025, 0.045, 0.075, 0.13, 0.22, 0.4, 0.8];

/// Pheomelanin for each eumelanin: natural, golden, copper, red.
const RATIOS: [f64; 5] = [0.1, 0.6, 2.0, 7.0, 25.0];

/// Bell-shaped bands that toners and dyes add to the absorption: middle and
/// width in nm. Our choice: wide enough to hold no one product.
const DYES: [(f64, f64); 4] = [(460.0, 45.0), (530.0, 45.0), (580.0, 50.0), (630.0, 50.0)];

/// How strong such a band is, against the green absorption of the hair.
const DYE_STRENGTH: f64 = 0.35;

/// A patch's deviation from its published colour, relative: more of it holds the
/// sums of patches small, at the cost of meeting the hair's spectrum less well.
/// A printed chart is off by one to four in a hundred.
const PATCH_SPREAD: f64 = 0.04;

/// Spectra of many hairs.
fn hairs() -> Vec<[f64; STEPS]> {
    let mut list = Vec::new();
    for eumelanin in EUMELANIN {
        for ratio in RATIOS {
            let share = eumelanin / (1.0 + 0.4 * ratio);
            let plain = Pigment { eumelanin: share, pheomelanin: share * ratio, surface: SURFACE }.spectrum();
            list.push(*plain.values());
            for dye in DYES {
                list.push(dyed(&plain, dye));
            }
        }
    }
    list
}

/// The spectrum with a dye's band laid over it.
fn dyed(plain: &Spectrum, (middle, width): (f64, f64)) -> [f64; STEPS] {
    let depth = |r: f64| {
        let d = ln(((r - SURFACE) / (1.0 - SURFACE)).max(1e-9)) / ALBEDO;
        d * d
    };
    let green = depth(plain.values()[((550.0 - FIRST_NM) / STEP_NM) as usize]);
    std::array::from_fn(|i| {
        let off = (FIRST_NM + STEP_NM * i as f64 - middle) / width;
        let more = DYE_STRENGTH * green * exp(-off * off / 2.0);
        SURFACE + (1.0 - SURFACE) * exp(-ALBEDO * (depth(plain.values()[i]) + more).sqrt())
    })
}

/// Pairs of light and colour of likely hairs, from the patches'. Both are the
/// same sum, so a camera that sees as the eye does is left as it is.
pub(crate) fn likely(patches: &[Known], used: &[usize]) -> Vec<Known> {
    let spectra: Vec<&[f64; STEPS]> = used.iter().map(|i| &PATCHES[*i].1).collect();
    let mut normal: Vec<Vec<f64>> = spectra.iter().map(|p| spectra.iter().map(|q| dot(p, q)).collect()).collect();
    for (i, row) in normal.iter_mut().enumerate() {
        row[i] *= 1.0 + PATCH_SPREAD * PATCH_SPREAD;
    }
    let Some(lower) = cholesky(normal) else { return Vec::new() };
    let sum = |parts: Vec<f64>| {
        let mut all = Known { light: [0.0; 3], colour: Xyz::new(0.0, 0.0, 0.0) };
        for (part, patch) in parts.into_iter().zip(patches) {
            all.colour = all.colour + patch.colour * part;
            for c in 0..3 {
                all.light[c] += part * patch.light[c];
            }
        }
        all
    };
    let hairs = hairs().into_iter().map(|hair| sum(solve_by_triangle(&lower, spectra.iter().map(|p| dot(p, &hair)).collect())));
    // Black hair may come out as less than nothing of one primary: no hair then.
    hairs.filter(|known| <[f64; 3]>::from(known.colour).iter().chain(&known.light).all(|v| *v > 1e-4)).collect()
}

fn dot(p: &[f64; STEPS], q: &[f64; STEPS]) -> f64 {
    p.iter().zip(q).map(|(a, b)| a * b).sum()
}
