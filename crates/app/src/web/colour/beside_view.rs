//! Shades laid against her ends, edge to edge, in daylight or under another light.

use super::words;
use crate::web::frame::swatch;
use colour::{D65, Lab, Light, Observer, Spectrum, ciede2000};
use craft::matching::{Match, Reflectance, Ring, Target};
use measure::text::fixed;
use std::collections::BTreeMap;

/// One colour laid against her ends.
pub struct Beside {
    /// What to show it alone by.
    pub key: String,
    /// What it is.
    pub label: String,
    /// How far it is.
    pub de00: String,
    /// Its screen colour.
    pub fill: String,
    /// Whether dark letters read on it.
    pub light: bool,
}

/// The match under one light.
pub struct LightView {
    /// The light.
    pub name: String,
    /// Its published name.
    pub key: &'static str,
    /// Whether the shades are looked at under it.
    pub on: bool,
    /// The difference.
    pub de00: String,
    /// In words.
    pub says: &'static str,
}

/// How many near shades are laid against the ends, besides the mix.
const LAID_BESIDE: usize = 3;
/// From this lightness on, dark letters read better than light ones.
const DARK_LETTERS_FROM: f64 = 50.0;

/// A light that everything is looked at under, where spectra are known.
pub struct Lit {
    light: Light,
    own: Spectrum,
}

impl Lit {
    /// The light of that published name; nothing where her ends have no spectrum.
    pub fn by(target: &Target, name: &str) -> Option<Self> {
        Some(Self { light: Light::named(name)?, own: target.spectrum.clone()? })
    }

    /// Her ends in this light.
    pub fn ends(&self) -> Lab {
        self.seen(&self.own)
    }

    /// How a spectrum is seen in this light.
    fn seen(&self, spectrum: &Spectrum) -> Lab {
        spectrum.under(self.light, Observer::TwoDegrees).to_lab(self.light.white())
    }

    /// Shades together, and how far they are from the ends, in this light.
    fn together(&self, ring: &Ring, pieces: &BTreeMap<String, u32>) -> Option<(Lab, f64)> {
        let parts = pieces
            .iter()
            .map(|(code, count)| {
                let shade = ring.shades.iter().find(|shade| shade.code == *code)?;
                let spectrum = shade.reflectance.as_ref().and_then(|reflectance: &Reflectance| reflectance.spectrum().ok())?;
                Some((spectrum, f64::from(*count)))
            })
            .collect::<Option<Vec<_>>>()?;
        let borrowed: Vec<(&Spectrum, f64)> = parts.iter().map(|(spectrum, count)| (spectrum, *count)).collect();
        let lab = self.seen(&Spectrum::mixed(&borrowed)?);
        Some((lab, ciede2000(self.ends(), lab)))
    }
}

/// The mix and the nearest shades, to be laid against the ends; under a light
/// only what has a spectrum.
pub fn beside(found: &Match, target: &Target, ring: &Ring, lit: Option<&Lit>) -> Vec<Beside> {
    let mix = found.taken().filter(|mix| mix.pieces.len() > 1).map(|mix| {
        let label: Vec<String> = mix.pieces.iter().map(|(code, count)| format!("{count} × {code}")).collect();
        ("mix".to_owned(), label.join(" + "), mix.pieces.clone(), Some(mix.lab_d65))
    });
    let near = found
        .nearest
        .iter()
        .take(LAID_BESIDE)
        .map(|near| (near.code.clone(), near.code.clone(), BTreeMap::from([(near.code.clone(), 1)]), stored(ring, &near.code)));
    mix.into_iter()
        .chain(near)
        .filter_map(|(key, label, pieces, lab)| {
            let (lab, de00) = match lit {
                Some(lit) => lit.together(ring, &pieces)?,
                None => lab.map(|lab| (lab, ciede2000(target.lab_d65, lab)))?,
            };
            Some(Beside { key, label, de00: fixed(de00, 1), fill: swatch::of_lab(lab), light: lab.l >= DARK_LETTERS_FROM })
        })
        .collect()
}

/// What the ring says of a shade, by code.
pub fn stored(ring: &Ring, code: &str) -> Option<Lab> {
    ring.shades.iter().find(|shade| shade.code == code)?.colour().ok().map(|colour| colour.to_lab(D65))
}

/// The match under each light, and which of them is looked at.
pub fn lights(found: &Match, lit: Option<&Lit>) -> Vec<LightView> {
    let looked_at = lit.map_or(Light::D65, |lit| lit.light).name();
    found
        .lights
        .iter()
        .map(|under| LightView {
            name: words::light(under.light).to_owned(),
            key: under.light,
            on: looked_at == under.light,
            de00: fixed(under.de00, 1),
            says: words::difference(under.de00),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_under_a_light_nobody_knows_is_looked_at_in_daylight() {
        let target = Target { spectrum: Some(Spectrum::on_table_steps([0.2; 81])), ..Target::of(Lab::new(50.0, 0.0, 0.0)) };
        assert!(Lit::by(&target, "candle").is_none());
        assert!(Lit::by(&target, "A").is_some());
        assert!(Lit::by(&Target::of(Lab::new(50.0, 0.0, 0.0)), "A").is_none(), "no spectrum, no other light");
    }
}
