//! What the camera would make of hair that is not on the chart.
//!
//! The camera under this light weighs the spectrum by three functions nobody
//! knows, only that they are mostly smooth. The 24 patches are 24 sums by those
//! functions. A hair spectrum is very nearly a mixture of patch spectra, so its
//! sums are nearly the same mixture of the patches' sums: the mixture is chosen
//! to be best for functions that are smooth with some spikes, and for patches
//! that are not printed perfectly. This gives the matrix fit points of hair's
//! own spectral shape, without any photograph of hair.
//!
//! *Accuracy*: the shape is that of melanin. Dyed hair that imitates a natural
//! colour with other spectra is read as if it were natural, with an error that
//! no three-channel camera can see.

use crate::solve::solve;
use colour::pigment::Pigment;
use colour::tables::chart::PATCHES;
use colour::tables::spectral::{STEP_NM, STEPS};
use colour::{Light, Observer, Xyz};

/// Width over which the camera's functions are alike, in nanometres.
const SMOOTH: f64 = 35.0;

/// The part of their strength that is spikes.
const SPIKES: f64 = 0.05;

/// How far a printed patch may be off, relative.
const PRINT: f64 = 0.012;

/// Amounts of eumelanin, from black to lightest blonde.
const EUMELANIN: [f64; 8] = [0.65, 0.45, 0.3, 0.2, 0.13, 0.08, 0.05, 0.03];

/// Pheomelanin for each part of eumelanin.
const PHEOMELANIN: [f64; 3] = [0.0, 0.35, 0.9];

/// Expected light and known colour of one hair spectrum.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Expected {
    pub light: [f64; 3],
    pub colour: Xyz,
}

/// Natural hair as this camera would show it under this photo's light.
pub(crate) fn natural_hair(lights: &[[f64; 3]; 24], usable: &[bool; 24], under: Light) -> Vec<Expected> {
    let spread = |spectrum: &[f64; STEPS]| {
        let mut result = [0.0; STEPS];
        for (i, cell) in result.iter_mut().enumerate() {
            let near = |j: usize| {
                let off = (i as f64 - j as f64) * STEP_NM / SMOOTH;
                (-off * off / 2.0).exp()
            };
            *cell = (0..STEPS).map(|j| near(j) * spectrum[j]).sum::<f64>() + SPIKES * spectrum[i] * SMOOTH / STEP_NM;
        }
        result
    };
    let alike = |p: &[f64; STEPS], q: &[f64; STEPS]| p.iter().zip(q).map(|(a, b)| a * b).sum::<f64>();
    let spread_patches: [[f64; STEPS]; 24] = std::array::from_fn(|i| spread(&PATCHES[i].1));
    let mut kernel = [[0.0; 24]; 24];
    for i in 0..24 {
        for j in 0..24 {
            kernel[i][j] = alike(&PATCHES[j].1, &spread_patches[i]);
        }
    }
    for i in 0..24 {
        let own = kernel[i][i];
        kernel[i][i] = own * (1.0 + if usable[i] { PRINT * PRINT } else { 1e6 });
    }
    let mut result = Vec::new();
    for eumelanin in EUMELANIN {
        for ratio in PHEOMELANIN {
            let hair = Pigment { eumelanin, pheomelanin: eumelanin * ratio, surface: 0.014 }.spectrum();
            let right = std::array::from_fn(|i| alike(hair.values(), &spread_patches[i]));
            let Some(parts) = solve(kernel, right) else { continue };
            let light = [0, 1, 2].map(|c| (0..24).map(|i| parts[i] * lights[i][c]).sum());
            result.push(Expected { light, colour: hair.under(under, Observer::TwoDegrees) });
        }
    }
    result
}
