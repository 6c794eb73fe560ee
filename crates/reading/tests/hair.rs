//! Hair as it is in pictures: strands of their own shades, gloss bands, roots darker than
//! the ends, an outline begun at any side. The pictures are made here from the chart's
//! published colours (crate `colour`), so that the hair's own colour is known.

use colour::chart::patches_under;
use colour::{D50, Lab, Light, Xyz, ciede2000};
use reading::{Loss, Marks, Picture, Reading, linear_to_srgb, read, srgb_to_linear};

const WIDE: usize = 640;
const HIGH: usize = 460;

/// Upper left corner of the chart and the distance between its patches.
const CHART: [f64; 2] = [40.0, 60.0];
const PITCH: f64 = 52.0;

/// The hair: upper left corner, width and length.
const HAIR: [f64; 2] = [420.0, 50.0];
const SIZE: [f64; 2] = [120.0, 360.0];

/// From X Y Z under D50 to the light of a screen's red, green and blue.
///
/// *Source*: the matrix of sRGB with Bradford's adaptation from D50 (from
/// memory); keys `iec61966`, `icc1`.
const TO_SCREEN: [[f64; 3]; 3] = [[3.1339, -1.6169, -0.4906], [-0.9788, 1.9161, 0.0335], [0.0719, -0.2290, 1.4052]];

/// A camera whose colours are a matrix away, a little darker than the chart.
fn light(colour: Xyz) -> [f64; 3] {
    let xyz: [f64; 3] = colour.into();
    TO_SCREEN.map(|row| 0.85 * (row[0] * xyz[0] + row[1] * xyz[1] + row[2] * xyz[2]))
}

/// A draw for a place, the same every time.
fn draw(i: usize) -> f64 {
    let x = (i as u64).wrapping_add(17).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    ((x ^ (x >> 29)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// What a strand's shade is, from 0.65 to 1.35: strands are two or three pixels wide.
fn strand(x: usize) -> f64 {
    let at = x as f64 / 2.5;
    let (i, part) = (at.floor() as usize, at.fract());
    0.65 + 0.7 * (draw(i) * (1.0 - part) + draw(i + 1) * part)
}

/// A picture of chart and hair on a grey board; `shown`: colour and white gloss at a place
/// across and along the hair, 0 to 1. The hair's mean colour without its gloss is given too.
fn picture(shown: impl Fn(f64, f64) -> (Xyz, f64)) -> (Picture, Lab) {
    let patches = patches_under(Light::D50);
    let mut pixels = Vec::with_capacity(3 * WIDE * HIGH);
    let (mut sum, mut count) = (Xyz::new(0.0, 0.0, 0.0), 0.0);
    for i in 0..WIDE * HIGH {
        let (x, y) = (i % WIDE, i / WIDE);
        let (u, v) = ((x as f64 - HAIR[0]) / SIZE[0], (y as f64 - HAIR[1]) / SIZE[1]);
        let (column, row) = ((x as f64 - CHART[0]) / PITCH, (y as f64 - CHART[1]) / PITCH);
        let colour = if (0.0..1.0).contains(&u) && (0.0..1.0).contains(&v) {
            let (own, gloss) = shown(u, v);
            let own = own * strand(x);
            sum = sum + own;
            count += 1.0;
            own + D50 * gloss
        } else if (0.0..6.0).contains(&column) && (0.0..4.0).contains(&row) {
            let inner = |part: f64| (0.1..0.9).contains(&part.fract());
            if inner(column) && inner(row) { patches[row as usize * 6 + column as usize] } else { D50 * 0.03 }
        } else if (-0.3..6.3).contains(&column) && (-0.3..4.3).contains(&row) {
            D50 * 0.03
        } else {
            D50 * 0.3
        };
        for (c, l) in light(colour).into_iter().enumerate() {
            let noise = 1.2 * (draw(3 * i + c) - 0.5);
            pixels.push((255.0 * linear_to_srgb(l.clamp(0.0, 1.0)) + noise).round().clamp(0.0, 255.0) as u8);
        }
    }
    let decoding = [std::array::from_fn(|code| srgb_to_linear(code as f64 / 255.0)); 3];
    let photo = Picture::new((WIDE as u32, HIGH as u32), pixels, decoding, Loss::None).unwrap();
    (photo, (sum * (1.0 / count)).to_lab(D50))
}

fn outline(along: (f64, f64)) -> Vec<[f64; 2]> {
    let at = |u: f64, v: f64| [HAIR[0] + u * SIZE[0], HAIR[1] + v * SIZE[1]];
    vec![at(0.04, along.0), at(0.96, along.0), at(0.96, along.1), at(0.04, along.1)]
}

fn read_in(photo: &Picture, hair: Vec<[f64; 2]>) -> Reading {
    let [x, y] = CHART;
    let chart_corners = [[x, y], [x + 6.0 * PITCH, y], [x + 6.0 * PITCH, y + 4.0 * PITCH], [x, y + 4.0 * PITCH]];
    read(photo, &Marks { chart_corners, hair, strands: None, leave_out: Vec::new() }).unwrap()
}

/// Brown, blonde and nearly black hair.
const COLOURS: [[f64; 3]; 3] = [[36.0, 9.0, 17.0], [62.0, 8.0, 25.0], [20.0, 4.0, 6.0]];

fn normal_density(off: f64, width: f64) -> f64 {
    (-(off / width) * (off / width) / 2.0).exp()
}

#[test]
fn gloss_in_bands_is_left_out() {
    for colour in COLOURS {
        let own = Lab::from(colour).to_xyz(D50);
        let (photo, truth) = picture(|_, v| (own, 0.12 * normal_density(v - 0.3, 0.05) + 0.08 * normal_density(v - 0.75, 0.04)));
        let reading = read_in(&photo, outline((0.02, 0.98)));
        let off = ciede2000(reading.lab_d50, truth);
        assert!(off < 1.5 && off <= reading.uncertainty_de00, "{colour:?}: off by {off}, {:?}, true {truth:?}", reading.lab_d50);
        // With the gloss counted in it would be another colour.
        let mean = 0.12 * 0.05 * 2.507 + 0.08 * 0.04 * 2.507;
        assert!(ciede2000((own + D50 * mean).to_lab(D50), truth) > off, "{colour:?}");
    }
}

#[test]
fn roots_darker_than_the_ends_are_read_as_the_outline_has_them() {
    let (dark, light) = (Lab::new(24.0, 6.0, 9.0).to_xyz(D50), Lab::new(58.0, 9.0, 26.0).to_xyz(D50));
    // Roots over a third of the length, then a soft line to the ends.
    let share = |v: f64| ((v - 0.3) / 0.12).clamp(0.0, 1.0);
    let (photo, _) = picture(|_, v| (dark * (1.0 - share(v)) + light * share(v), 0.0));
    for (along, truth) in [((0.5, 0.98), light), ((0.02, 0.28), dark)] {
        let reading = read_in(&photo, outline(along));
        let off = ciede2000(reading.lab_d50, truth.to_lab(D50));
        assert!(off < 2.0 && off <= reading.uncertainty_de00, "{along:?}: off by {off}, {:?}", reading.lab_d50);
    }
    // The whole length holds both: what is read lies between them, and both are told as tones.
    let whole = read_in(&photo, outline((0.02, 0.98)));
    assert!((30.0..58.0).contains(&whole.lab_d50.l), "{:?}", whole.lab_d50);
}

#[test]
fn whichever_side_the_outline_begins_at_the_reading_is_the_same() {
    for colour in COLOURS {
        let own = Lab::from(colour).to_xyz(D50);
        let (photo, truth) = picture(|_, v| (own * (0.85 + 0.3 * v), 0.1 * normal_density(v - 0.4, 0.05)));
        let outline = outline((0.02, 0.98));
        let first = read_in(&photo, outline.clone());
        assert!(ciede2000(first.lab_d50, truth) < 2.5, "{colour:?}: {:?}, true {truth:?}", first.lab_d50);
        for begin in 1..4 {
            let mut turned = outline.clone();
            turned.rotate_left(begin);
            let other = read_in(&photo, turned);
            let off = ciede2000(first.lab_d50, other.lab_d50);
            assert!(off < 0.8, "{colour:?} begun at side {begin}: {:?}, {:?}", first.lab_d50, other.lab_d50);
            assert!(
                (first.uncertainty_de00 - other.uncertainty_de00).abs() < 1.0,
                "{colour:?}: {} {}",
                first.uncertainty_de00,
                other.uncertainty_de00
            );
        }
    }
}
