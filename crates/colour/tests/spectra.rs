//! White points, chart colours and adaptation against published or
//! independently computed numbers.

use colour::tables::spectral::LIGHTS;
use colour::{D50, D65, Lab, Light, Observer, Spectrum, Xyz, adapt_bradford, chart, ciede2000, spectrum, white};
use proptest::prelude::*;

fn near(found: Xyz, wanted: [f64; 3], within: f64) {
    let found: [f64; 3] = found.into();
    for (f, w) in found.iter().zip(wanted) {
        assert!((f - w).abs() <= within, "{found:?} is not {wanted:?}");
    }
}

/// The table's white points were summed by colour-science 0.4.7.
#[test]
fn our_sums_give_the_tables_white_points() {
    for light in Light::all() {
        near(spectrum::white_of(light, Observer::TwoDegrees), LIGHTS.iter().find(|l| l.0 == light.name()).unwrap().1, 1e-6);
    }
    assert_eq!(Light::SHOP_TUBE.name(), "FL11");
    assert_eq!(Light::WARM_LED.name(), "LED-B1");
    assert_eq!(Light::D65.white(), D65);
    assert_eq!(Light::D50.white(), D50);
    assert_eq!(Light::named("D65"), Some(Light::D65));
}

/// White points for 10 degrees; sums by 5 nm come within 1e-3. *Source*: key
/// `cie015`, from memory.
#[test]
fn ten_degree_whites_are_those_of_the_handbook() {
    near(spectrum::white_of(Light::D50, Observer::TenDegrees), white::D50_TEN.into(), 1e-3);
    near(spectrum::white_of(Light::D65, Observer::TenDegrees), white::D65_TEN.into(), 1e-3);
}

/// Dark skin, red, white and black patches by colour-science 0.4.7.
#[test]
fn patches_have_the_colours_an_independent_library_gives() {
    let (d50, d65) = (chart::patches_under(Light::D50), chart::patches_under(Light::D65));
    near(d50[0], [0.118048, 0.103276, 0.051656], 2e-6);
    near(d65[0], [0.111471, 0.100725, 0.068039], 2e-6);
    near(d50[18], [0.877597, 0.912813, 0.725459], 2e-6);
    let lab = d65[0].to_lab(D65);
    for (found, wanted) in <[f64; 3]>::from(lab).iter().zip([37.972, 12.107, 13.69]) {
        assert!((found - wanted).abs() < 1e-3);
    }
}

/// D65 (0.95047 1 1.08883) to D50 (0.96422 1 0.82521) by the Bradford matrix:
/// first column 1.0478112 0.0295424 -0.0092345. *Source*: key `lindbloom`.
#[test]
fn bradford_is_the_published_matrix() {
    let (d65, d50) = (Xyz::new(0.95047, 1.0, 1.08883), Xyz::new(0.96422, 1.0, 0.82521));
    near(adapt_bradford(Xyz::new(1.0, 0.0, 0.0), d65, d50), [1.0478112, 0.0295424, -0.0092345], 1e-6);
    near(adapt_bradford(d65, d65, d50), d50.into(), 1e-12);
}

#[test]
fn a_grey_spectrum_is_grey_under_every_light() {
    let grey = Spectrum::from_samples(
        &[380.0, 390.0, 410.0, 430.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0],
        &[0.2; 18],
    )
    .unwrap();
    for light in Light::all() {
        let lab = grey.under(light, Observer::TwoDegrees).to_lab(light.white());
        assert!(lab.chroma() < 1e-3, "{} {lab:?}", light.name());
    }
}

#[test]
fn lists_that_are_no_spectra_are_refused() {
    let nm: Vec<f64> = (0..36).map(|i| 380.0 + 10.0 * f64::from(i)).collect();
    assert!(Spectrum::from_samples(&nm, &[0.3; 36]).is_ok());
    assert!(Spectrum::from_samples(&nm, &[0.3; 35]).is_err());
    assert!(Spectrum::from_samples(&nm[5..], &[0.3; 31]).is_err());
    let mut values = [0.3; 36];
    values[9] = 35.0;
    assert_eq!(
        Spectrum::from_samples(&nm, &values).unwrap_err().to_string(),
        "reflectance 35 at 470 nm: write shares of 1, as in 0.35 (0 to 1.5)"
    );
    let mut turned = nm.clone();
    turned.swap(3, 4);
    assert!(Spectrum::from_samples(&turned, &[0.3; 36]).is_err());
}

proptest! {
    #[test]
    fn lab_and_xyz_are_each_others_inverse(l in 0.0..100.0f64, a in -90.0..90.0f64, b in -90.0..90.0f64) {
        let lab = Lab::new(l, a, b);
        let back = lab.to_xyz(D65).to_lab(D65);
        prop_assert!((back.l - l).abs() < 1e-9 && (back.a - a).abs() < 1e-9 && (back.b - b).abs() < 1e-9);
        prop_assert!(ciede2000(lab, back) < 1e-9);
    }

    #[test]
    fn adaptation_there_and_back_is_no_change(x in 0.0..1.0f64, y in 0.0..1.0f64, z in 0.0..1.0f64) {
        let there = adapt_bradford(Xyz::new(x, y, z), D65, D50);
        near(adapt_bradford(there, D50, D65), [x, y, z], 1e-12);
    }
}
