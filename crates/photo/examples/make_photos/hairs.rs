//! Hair of the trade's tones, from melanin, and hair dyed over a bleached base.

use crate::chance::Chance;
use colour::pigment::Pigment;
use colour::tables::spectral::{FIRST_NM, STEP_NM, STEPS};
use colour::{D65, Light, Observer, Spectrum};

/// What kinds of hair a set holds.
#[derive(Clone, Copy, PartialEq)]
pub enum Kind {
    /// Melanin in the proportions of natural, gold, copper, red and ash hair.
    Melanin,
    /// A bleached base under one to three dye bands of chance.
    Dyed,
    /// Grey to white hair, alone or with dark strands between: the colour of the light.
    Grey,
}

/// Lightness under D65 of levels 1 to 10.
const LEVELS: [f64; 10] = [15.0, 17.5, 20.0, 24.5, 29.5, 35.5, 42.5, 50.0, 57.5, 65.0];

const SURFACE: f64 = 0.014;
const ALBEDO: f64 = 5.89;

/// The spectrum that `make` gives for an amount, halved until its lightness is right.
fn at_lightness(lightness: f64, make: impl Fn(f64) -> Spectrum) -> Spectrum {
    let (mut low, mut high) = (0.0005, 6.0_f64);
    for _ in 0..50 {
        let middle = (low * high).sqrt();
        if make(middle).under(Light::D65, Observer::TwoDegrees).to_lab(D65).l > lightness { low = middle } else { high = middle }
    }
    make((low * high).sqrt())
}

/// Melanin with so much pheomelanin for each eumelanin, and a violet-blue toner
/// as strong as this share of the eumelanin.
fn melanin(lightness: f64, ratio: f64, toner: f64) -> Spectrum {
    at_lightness(lightness, |eumelanin| {
        let plain = Pigment { eumelanin, pheomelanin: eumelanin * ratio, surface: SURFACE }.spectrum();
        with_bands(&plain, &[(600.0, 55.0, toner * 0.697 * eumelanin)])
    })
}

/// The spectrum with more absorption in bell-shaped bands (middle, width, strength).
fn with_bands(plain: &Spectrum, bands: &[(f64, f64, f64)]) -> Spectrum {
    let mut values = [0.0; STEPS];
    for (i, (value, r)) in values.iter_mut().zip(plain.values()).enumerate() {
        let nm = FIRST_NM + STEP_NM * i as f64;
        let depth = -(((r - SURFACE) / (1.0 - SURFACE)).max(1e-9)).ln() / ALBEDO;
        let more: f64 = bands.iter().map(|(at, width, strength)| strength * (-((nm - at) / width).powi(2) / 2.0).exp()).sum();
        *value = SURFACE + (1.0 - SURFACE) * (-ALBEDO * (depth * depth + more).sqrt()).exp();
    }
    Spectrum::on_table_steps(values)
}

fn dyed(lightness: f64, chance: &mut Chance) -> Spectrum {
    let base = Pigment { eumelanin: chance.within(0.01, 0.05), pheomelanin: chance.within(0.01, 0.08), surface: SURFACE }.spectrum();
    let bands: Vec<(f64, f64, f64)> = [(430.0, 490.0, 1.2), (510.0, 560.0, 0.5), (580.0, 640.0, 0.3)]
        .into_iter()
        .map(|(low, high, usual)| (chance.within(low, high), chance.within(35.0, 60.0), usual * chance.within(0.6, 1.4)))
        .collect();
    at_lightness(lightness, |amount| {
        let scaled: Vec<(f64, f64, f64)> = bands.iter().map(|(at, width, strength)| (*at, *width, strength * amount)).collect();
        with_bands(&base, &scaled)
    })
}

/// Hair without pigment: nearly the same at all wavelengths, a little less in the blue.
fn grey(chance: &mut Chance) -> Spectrum {
    let (middle, yellow) = (chance.within(0.12, 0.6), chance.within(0.0, 0.06));
    Spectrum::on_table_steps(std::array::from_fn(|i| middle * (1.0 + yellow * ((FIRST_NM + STEP_NM * i as f64) - 560.0) / 120.0)))
}

/// One to three tones with their shares, the first the largest.
pub fn tones(chance: &mut Chance, kind: Kind, hard: bool) -> Vec<(f64, Spectrum)> {
    if kind == Kind::Grey {
        let white = grey(chance);
        let dark = melanin(LEVELS[1 + (chance.unit() * 4.0) as usize], 0.1, 0.0);
        return if chance.unit() < 0.7 { vec![(1.0, white)] } else { vec![(0.65, white), (0.35, dark)] };
    }
    let single = chance.unit() < if hard { 0.42 } else { 0.75 };
    let count = if single {
        1
    } else if chance.unit() < 0.7 {
        2
    } else {
        3
    };
    let mut level = (chance.unit() * (10 - 2 * (count - 1)) as f64) as usize;
    let shares: &[f64] = [&[1.0][..], &[0.65, 0.35], &[0.45, 0.33, 0.22]][count - 1];
    let mut list = Vec::new();
    for share in shares {
        let lightness = LEVELS[level.min(9)];
        // Natural hair most often; reds and coppers only where the trade has them.
        let natural = (0.1, 0.0);
        let lighter = (if level > 2 { 0.5 } else { 0.1 }, 0.0);
        let kinds: &[(f64, f64)] = match level {
            0..=2 => &[natural],
            3..=6 => &[lighter, lighter, lighter, (3.0, 0.0), (12.0, 0.0), (30.0, 0.0), (0.3, 0.31)],
            _ => &[lighter, lighter, lighter, (3.0, 0.0), (0.3, 0.31)],
        };
        let (ratio, toner) = chance.pick(kinds);
        let spectrum = if kind == Kind::Dyed { dyed(lightness, chance) } else { melanin(lightness, ratio, toner) };
        list.push((*share, spectrum));
        level += 2;
    }
    list
}
