//! Reflectance along the spectrum, and the colour it has under a light.

use crate::light::Light;
use crate::tables::spectral::{FIRST_NM, OBSERVER_1931, OBSERVER_1964, STEP_NM, STEPS};
use crate::xyz::Xyz;
use serde::{Deserialize, Serialize};

/// Whose eyes: the size of field the matching functions were measured with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Observer {
    /// CIE 1931, a field of 2 degrees.
    #[default]
    TwoDegrees,
    /// CIE 1964, a field of 10 degrees.
    TenDegrees,
}

impl Observer {
    fn functions(self) -> &'static [[f64; 3]; STEPS] {
        match self {
            Self::TwoDegrees => &OBSERVER_1931,
            Self::TenDegrees => &OBSERVER_1964,
        }
    }
}

/// Why a list of wavelengths and values is no spectrum.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SpectrumFault {
    /// The two lists differ in length, or are too short.
    #[error("{wavelengths} wavelengths and {values} values: give one value for each of at least 8 wavelengths")]
    Count {
        /// How many wavelengths.
        wavelengths: usize,
        /// How many values.
        values: usize,
    },
    /// The wavelengths do not rise, or leave the middle of the spectrum out.
    #[error("wavelengths must rise from 420 nm or below to 700 nm or above, in steps of at most 20 nm")]
    Wavelengths,
    /// A reflectance that nothing has.
    #[error("reflectance {value} at {nm} nm: write shares of 1, as in 0.35 (0 to 1.5)")]
    Value {
        /// Where.
        nm: f64,
        /// The value found.
        value: f64,
    },
}

/// The share of light sent back at each wavelength, 380 to 780 nm by 5 nm.
///
/// ```
/// use colour::{D65, Light, Observer, Spectrum};
/// // A grey that sends back a fifth of every light.
/// let nm: [f64; 21] = std::array::from_fn(|i| 380.0 + 20.0 * i as f64);
/// let grey = Spectrum::from_samples(&nm, &[0.2; 21]).unwrap();
/// let seen = grey.under(Light::D65, Observer::TwoDegrees).to_lab(D65);
/// assert!(seen.chroma() < 0.01 && (seen.l - 51.8).abs() < 0.1);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum(Box<[f64; STEPS]>);

impl Spectrum {
    /// A spectrum on the tables' own wavelengths.
    #[must_use]
    pub fn on_table_steps(values: [f64; STEPS]) -> Self {
        Self(Box::new(values))
    }

    /// A spectrum from measured wavelengths, straight lines between them and
    /// held level beyond the first and last. *Source*: key `cie015`, section 7.2.2.
    ///
    /// *Errors*: too few, not rising, a gap over 20 nm, or a value nothing has.
    pub fn from_samples(nm: &[f64], values: &[f64]) -> Result<Self, SpectrumFault> {
        if nm.len() != values.len() || nm.len() < 8 {
            return Err(SpectrumFault::Count { wavelengths: nm.len(), values: values.len() });
        }
        let steps_well = nm.windows(2).all(|w| w[1] > w[0] && w[1] - w[0] <= 20.0);
        if !steps_well || !nm.iter().all(|x| x.is_finite()) || nm[0] > 420.0 || nm[nm.len() - 1] < 700.0 {
            return Err(SpectrumFault::Wavelengths);
        }
        if let Some(i) = values.iter().position(|v| !(0.0..=1.5).contains(v)) {
            return Err(SpectrumFault::Value { nm: nm[i], value: values[i] });
        }
        let mut result = [0.0; STEPS];
        for (i, cell) in result.iter_mut().enumerate() {
            let at = FIRST_NM + STEP_NM * i as f64;
            let above = nm.partition_point(|&x| x < at);
            *cell = if above == 0 {
                values[0]
            } else if above == nm.len() {
                values[nm.len() - 1]
            } else {
                let part = (at - nm[above - 1]) / (nm[above] - nm[above - 1]);
                values[above - 1] + part * (values[above] - values[above - 1])
            };
        }
        Ok(Self::on_table_steps(result))
    }

    /// The values, 380 to 780 nm by 5 nm.
    #[must_use]
    pub fn values(&self) -> &[f64; STEPS] {
        &self.0
    }

    /// The colour under a light, Y = 1 for a perfect white.
    ///
    /// *Source*: CIE 15, section 7.1, sums by 5 nm; key `cie015`.
    #[must_use]
    pub fn under(&self, light: Light, observer: Observer) -> Xyz {
        integrate(&self.0, light.power(), observer)
    }

    /// The mixture of spectra by weight.
    #[must_use]
    pub fn mixed(parts: &[(&Self, f64)]) -> Option<Self> {
        let total: f64 = parts.iter().map(|(_, weight)| weight).sum();
        if !total.is_finite() || total <= 0.0 {
            return None;
        }
        let mut sum = [0.0; STEPS];
        for (spectrum, weight) in parts {
            for (cell, value) in sum.iter_mut().zip(spectrum.0.iter()) {
                *cell += value * weight / total;
            }
        }
        Some(Self::on_table_steps(sum))
    }
}

/// The white of a light for an observer, by the same sums as the samples.
///
/// ```
/// use colour::{D50, Light, Observer, spectrum::white_of};
/// let white = white_of(Light::D50, Observer::TwoDegrees);
/// assert!((white.z - D50.z).abs() < 1e-5);
/// ```
#[must_use]
pub fn white_of(light: Light, observer: Observer) -> Xyz {
    integrate(&[1.0; STEPS], light.power(), observer)
}

fn integrate(reflectance: &[f64; STEPS], power: &[f64; STEPS], observer: Observer) -> Xyz {
    let mut sum = [0.0; 3];
    let mut white = 0.0;
    for ((value, light), functions) in reflectance.iter().zip(power).zip(observer.functions()) {
        for (cell, weight) in sum.iter_mut().zip(functions) {
            *cell += value * light * weight;
        }
        white += light * functions[1];
    }
    Xyz::from(sum) * (1.0 / white)
}
