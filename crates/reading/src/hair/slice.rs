//! A slice across the tress: its light, its shine, its shade.

/// Slices along the strands.
pub(crate) const SLICES: usize = 40;

/// The share of slices, the darkest, from which the search for gloss starts.
pub(super) const DARKEST: f64 = 0.4;

/// White light in a slice, as a share of the hair's own, that is still no gloss.
pub(super) const SHINE_ALLOWED: f64 = 0.03;

/// Noise wider than this share of the hair's own light, in a slice, makes a channel
/// count for less.
pub(super) const NOISY: f64 = 0.02;

/// White is known to this share of the hair's own light: where a single slice does
/// not tell it so well its neighbours help, up to so many slices to each side.
pub(super) const WHITE_KNOWN: f64 = 0.006;

pub(super) const NEIGHBOURS: f64 = 1.5;

/// Slices beyond the ends that a shifted and smeared band may reach.
pub(super) const BEYOND: usize = 20;

/// One slice: its mean light, parted into hair and white.
#[derive(Debug, Clone)]
pub(super) struct Slice {
    pub(super) place: usize,
    pub(super) light: [f64; 3],
    /// White in it, as a share of the hair's own light.
    pub(super) shine: f64,
    /// The hair's own light in it, as a multiple of the hair's colour.
    pub(super) shade: f64,
    /// Share of its pixels at the top of the scale.
    pub(super) clipped: f64,
}

impl Slice {
    /// Where white is strong or clipped the parting is worth less.
    pub(super) fn trust(&self) -> f64 {
        let white = 0.1 + self.shine.max(0.0) + 20.0 * self.clipped;
        1.0 / (white * white)
    }
}

/// The mean of lights, or nothing of none.
pub(crate) fn mean<'a>(lights: impl Iterator<Item = &'a [f64; 3]>) -> Option<[f64; 3]> {
    let mut sum = [0.0; 3];
    let mut count = 0.0;
    for light in lights {
        for c in 0..3 {
            sum[c] += light[c];
        }
        count += 1.0;
    }
    (count > 0.0).then(|| sum.map(|s| s / count))
}
