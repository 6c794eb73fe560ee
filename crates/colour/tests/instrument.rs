//! Instrument files as the keyword standard and spreadsheets write them.

use colour::instrument::{Conditions, InstrumentFault, read_instrument};
use colour::{D65, Lab, Light, Observer, chart, ciede2000};

const KEYWORDS: &str = "CGATS.17\nORIGINATOR \"bench\"\nILLUMINATION_NAME \"D50\"\nOBSERVER_ANGLE \"2\"\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_NAME LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n\"warm brown\" 35.947 10.616 21.673\nS2 20.295 8.186 11.053\nEND_DATA\n";

#[test]
fn keyword_text_with_lab_is_read() {
    let samples = read_instrument(KEYWORDS, None).unwrap();
    assert_eq!(samples.len(), 2);
    assert_eq!(samples[0].name, "warm brown");
    assert!(ciede2000(samples[0].lab_d50, Lab::new(35.947, 10.616, 21.673)) < 1e-3);
    // The same hair integrated under D65 is L 35.5 a 8.469 b 21.265: a transform
    // of appearance comes near it, not onto it.
    assert!(ciede2000(samples[0].lab_d65, Lab::new(35.5, 8.469, 21.265)) < 1.5);
    assert!(samples[0].carried);
}

#[test]
fn spectra_need_no_statement_of_light() {
    let mut text = String::from("name");
    for i in 0..36 {
        text += &format!(",{} nm", 380 + 10 * i);
    }
    text += "\ndark skin";
    for i in 0..36 {
        text += &format!(",{}", colour::tables::chart::PATCHES[0].1[2 * i]);
    }
    let samples = read_instrument(&text, None).unwrap();
    let wanted = chart::patches_under(Light::D65)[0].to_lab(D65);
    assert!(ciede2000(samples[0].lab_d65, wanted) < 0.05);
    assert!(!samples[0].carried && samples[0].spectrum.is_some());
}

#[test]
fn a_table_without_light_or_observer_is_refused_unless_the_caller_states_them() {
    let text = "name,L,a,b\nS1,40,8,20\n";
    assert_eq!(read_instrument(text, None), Err(InstrumentFault::Unstated("the light")));
    let stated = Conditions { light: Light::D65, observer: Observer::TenDegrees };
    let sample = &read_instrument(text, Some(stated)).unwrap()[0];
    assert!((sample.lab_d65.l - 40.0).abs() < 0.1);
    let said = "# illuminant: D65\n# observer: 10 degree\nname,L,a,b\nS1,40,8,20\n";
    assert_eq!(read_instrument(said, None).unwrap()[0].lab_d65, sample.lab_d65);
    let commas = "# illuminant: D65\n# observer: 10\nname;L;a;b\nS1;40,0;8;20\n";
    assert_eq!(read_instrument(commas, None).unwrap()[0].lab_d65, sample.lab_d65);
}

#[test]
fn faults_name_the_line_and_the_mending() {
    let short = read_instrument(&KEYWORDS.replace("S2 20.295 8.186 11.053", "S2 20.295 8.186"), None);
    assert_eq!(short.unwrap_err().to_string(), "line 12: 3 values where the heading names 4");
    let wrong = read_instrument(&KEYWORDS.replace("8.186", "abc"), None);
    assert_eq!(wrong.unwrap_err().to_string(), "line 12: \"abc\" is no value for LAB_A");
    let lamp = read_instrument(&KEYWORDS.replace("\"D50\"", "\"F11\""), None);
    assert!(lamp.unwrap_err().to_string().contains("F11"));
    assert!(read_instrument("", None).is_err());
    assert!(read_instrument("hello\nworld\n", None).is_err());
    assert!(read_instrument("BEGIN_DATA\n1 2\nEND_DATA\n", None).is_err());
    assert!(read_instrument(&KEYWORDS.replace("20.295", "NaN"), None).is_err());
}
