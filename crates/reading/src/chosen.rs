//! Numbers of the reader that no theory gives and no single picture may choose.
//!
//! They are chosen in folds by camera: on all cameras of the real pictures but one, judged
//! on that one. `bench_real_folds` (crate `photo`) does the folds anew and prints what each
//! fold would have chosen and what it then comes to on the camera that was left out.

/// The numbers. A reading takes [`Chosen::IN_FOLDS`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chosen {
    /// How firmly the slope of a curve through the greys is held to the profile's own,
    /// and its bend to none, against one grey that counts in full.
    pub held_slope: f64,
    /// See `held_slope`.
    pub held_bend: f64,
    /// How firmly roots of products are held to nothing, against a term in full.
    pub held_roots: f64,
    /// What a patch is off by for itself, against what like colours are off by together,
    /// in variance.
    pub own: f64,
    /// The difference, in a colour's place, at which two patches are no longer alike.
    pub alike: f64,
    /// An account that does worse than the best by this share of it, squared, counts much
    /// less.
    pub patience: f64,
    /// How far the recipes' camera may seem off on paint, against the others, and be
    /// believed as much: it alone knows what hair can look like to a camera, which no
    /// patch shows. The folds, which have paint only, would take 1.1; below 1 the made
    /// photographs' hair is read better. Our choice between them.
    pub knows_hair: f64,
    /// How far the chart's own fall of light is believed beyond its rim. Not chosen in
    /// folds: a patch copied beside its chart brings its own light with it, so pictures
    /// of that kind cannot tell. Our choice.
    pub beyond: f64,
    /// No photo is read to better than this, in dE00: three channels do not hold a spectrum.
    pub least: f64,
    /// The doubt from the chart, in what like patches are off by on average.
    pub times_chart: f64,
    /// How much faster than that the doubt grows: its power less 1. Where the chart comes
    /// out badly a few patches are off by much more than the rest.
    pub steeper: f64,
    /// The doubt from the accounts' disagreement.
    pub times_accounts: f64,
    /// The doubt from greys that do not come out true, against the made photographs'.
    pub times_greys: f64,
    /// The doubt of hair all of whose pixels are at the top of the scale. Not chosen in folds,
    /// for hardly a picture has such: our choice, so that hair of which most is white with
    /// light is refused.
    pub times_clipped: f64,
}

impl Chosen {
    /// What a reading takes.
    pub const IN_FOLDS: Self = Self {
        held_slope: 0.15,
        held_bend: 2.0,
        held_roots: 0.01,
        own: 0.08,
        alike: 17.0,
        patience: 0.12,
        knows_hair: 0.9,
        beyond: 1.0 / 3.0,
        least: 1.2,
        times_chart: 1.35,
        steeper: 0.25,
        times_accounts: 1.2,
        times_greys: 0.25,
        times_clipped: 7.0,
    };
}
