//! Small laws of colours and spectra that a broken sign or limit would fail.

use colour::{Lab, Spectrum, Xyz};

#[test]
fn a_hue_goes_once_round_and_is_never_below_nought() {
    for (a, b, degrees) in [(1.0, 0.0, 0.0), (0.0, 1.0, 90.0), (-1.0, 0.0, 180.0), (0.0, -1.0, 270.0), (1.0, -1.0, 315.0)] {
        let hue = Lab::new(50.0, a, b).hue().to_deg();
        assert!((hue - degrees).abs() < 1e-9, "{a} {b}: {hue}");
    }
}

#[test]
fn lights_add_and_take_away_part_by_part() {
    let (one, two) = (Xyz::new(1.0, 20.0, 300.0), Xyz::new(4.0, 50.0, 600.0));
    assert_eq!(<[f64; 3]>::from(one + two), [5.0, 70.0, 900.0]);
    assert_eq!(<[f64; 3]>::from(two - one), [3.0, 30.0, 300.0]);
}

#[test]
fn fewer_than_eight_samples_are_no_spectrum() {
    let samples = |count: usize| -> Vec<f64> { (0..count).map(|at| 420.0 + 20.0 * at as f64).collect() };
    for count in [0, 1, 5, 7, 8] {
        let fault = Spectrum::from_samples(&samples(count), &vec![0.5; count]).unwrap_err().to_string();
        assert_eq!(fault.contains(&format!("{count} wavelengths")), count < 8, "{count}: {fault}");
    }
    assert!(Spectrum::from_samples(&samples(16), &[0.5; 16]).is_ok());
}
