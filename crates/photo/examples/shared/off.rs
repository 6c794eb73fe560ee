//! How far a reading is off, in words for a line of a bench.

use colour::{Lab, ciede2000};
use reading::Reading;

/// How far a reading is off, each way, and how far it says that it may be.
pub fn off_in_words(reading: &Reading, truth: Lab) -> String {
    let got = reading.lab_d50;
    let [dl, da, db] = [got.l - truth.l, got.a - truth.a, got.b - truth.b];
    let off = ciede2000(got, truth);
    format!("off {off:.3} (dL {dl:+.2} da {da:+.2} db {db:+.2}), sure to {:.2}", reading.uncertainty_de00)
}
