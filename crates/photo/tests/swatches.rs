//! Several swatches beside one chart, and the corrected picture of one.
//!
//! The photographs are painted here: every patch of the chart and every swatch
//! in its published or chosen colour, X Y Z under D65 to screen codes by the
//! matrix and curve of IEC 61966-2-1, all under one tint and darkness as from a
//! camera that balanced badly. What must come out is what was painted.

use colour::chart::patches_under;
use colour::{D65, Lab, Light, Xyz, ciede2000};
use measure::linear;
use photo::{corrected_patch, open_photo};
use reading::{Marks, OutlineFault, Picture, ReadFault, Swatch, find_chart, read, read_swatches};

const CHART: [[f64; 2]; 4] = [[60.0, 60.0], [360.0, 60.0], [360.0, 260.0], [60.0, 260.0]];
const TINT: [f64; 3] = [0.8, 0.7, 0.55];
const TO_SCREEN: [[f64; 3]; 3] = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];

fn screen(colour: Xyz, tint: [f64; 3]) -> [u8; 3] {
    let light = linear::apply(&TO_SCREEN, colour.into());
    [0, 1, 2].map(|c| {
        let l = (light[c] * tint[c]).clamp(0.0, 1.0);
        let x = if l <= 0.003_130_8 { 12.92 * l } else { 1.055 * l.powf(1.0 / 2.4) - 0.055 };
        (x * 255.0).round() as u8
    })
}

fn outline(left: f64) -> Vec<[f64; 2]> {
    vec![[left, 300.0], [left + 90.0, 300.0], [left + 90.0, 560.0], [left, 560.0]]
}

/// Hair colours of an invented ring, under D65.
const RING: [(&str, Lab); 4] = [
    ("1", Lab { l: 18.0, a: 4.5, b: 7.0 }),
    ("5", Lab { l: 30.0, a: 8.5, b: 18.0 }),
    ("7a", Lab { l: 45.0, a: 3.0, b: 14.0 }),
    ("10", Lab { l: 66.0, a: 4.5, b: 20.0 }),
];

fn photograph() -> Picture {
    painted(|row, column| row * 6 + column)
}

/// The photograph with the chart's patches where `place` puts them.
fn painted(place: impl Fn(usize, usize) -> usize) -> Picture {
    let patches = patches_under(Light::D65);
    let picture = image::RgbImage::from_fn(800, 600, |x, y| {
        let (x, y) = (f64::from(x), f64::from(y));
        let (u, v) = ((x - 60.0) / 50.0, (y - 60.0) / 50.0);
        let colour = if (0.0..6.0).contains(&u) && (0.0..4.0).contains(&v) {
            let on_patch = (u.fract() - 0.5).abs() < 0.4 && (v.fract() - 0.5).abs() < 0.4;
            if on_patch { patches[place(v as usize, u as usize)] } else { D65 * 0.04 }
        } else if let Some(i) = (0..RING.len()).find(|i| (0.0..90.0).contains(&(x - start(*i))) && (300.0..560.0).contains(&y)) {
            RING[i].1.to_xyz(D65)
        } else {
            D65 * 0.3
        };
        image::Rgb(screen(colour, TINT))
    });
    let mut bytes = Vec::new();
    picture.write_to(&mut std::io::Cursor::new(&mut bytes), image::ImageFormat::Png).unwrap();
    open_photo(&bytes).unwrap()
}

fn start(index: usize) -> f64 {
    80.0 + 170.0 * index as f64
}

#[test]
fn a_ring_is_read_from_one_photo_each_shade_with_its_own_uncertainty() {
    let photo = photograph();
    let mut swatches: Vec<Swatch> =
        RING.iter().enumerate().map(|(i, (code, _))| Swatch { code: (*code).to_owned(), outline: outline(start(i)) }).collect();
    swatches.push(Swatch { code: "lost".to_owned(), outline: vec![[100.0, 100.0], [200.0, 100.0], [200.0, 200.0]] });
    let readings = read_swatches(&photo, &CHART, &swatches).unwrap();
    assert_eq!(readings.len(), 5);
    for ((code, painted), found) in RING.iter().zip(&readings) {
        assert_eq!(found.code, *code);
        let reading = found.reading.as_ref().unwrap();
        let off = ciede2000(reading.lab_d65, *painted);
        assert!(off < 0.7 && off <= reading.uncertainty_de00, "{code}: {off}");
        assert!((reading.uncertainty_parts.together() - reading.uncertainty_de00).abs() < 1e-12);
    }
    assert_eq!(readings[4].reading, Err(ReadFault::Hair(OutlineFault::OnChart)));
}

#[test]
fn a_swatch_reads_alone_as_it_does_among_others() {
    let photo = photograph();
    let swatches: Vec<Swatch> = (0..4).map(|i| Swatch { code: i.to_string(), outline: outline(start(i)) }).collect();
    let among = read_swatches(&photo, &CHART, &swatches).unwrap();
    let alone = read(&photo, &Marks { chart_corners: CHART, hair: outline(start(1)), strands: None, leave_out: Vec::new() }).unwrap();
    assert!(ciede2000(among[1].reading.as_ref().unwrap().lab_d65, alone.lab_d65) < 0.3);
}

#[test]
fn the_chart_is_refused_once_for_all_swatches() {
    let turned = [CHART[2], CHART[3], CHART[0], CHART[1]];
    let swatches = [Swatch { code: "5".to_owned(), outline: outline(start(1)) }];
    let fault = read_swatches(&photograph(), &turned, &swatches).unwrap_err();
    assert!(fault.to_string().contains("turned"), "{fault}");
}

#[test]
fn the_corrected_picture_shows_the_painted_colour() {
    let photo = photograph();
    for (i, (code, painted)) in RING.iter().enumerate() {
        let png =
            corrected_patch(&photo, &Marks { chart_corners: CHART, hair: outline(start(i)), strands: None, leave_out: Vec::new() }, 260)
                .unwrap();
        let picture = image::load_from_memory(&png).unwrap().into_rgb8();
        assert_eq!(picture.dimensions(), (90, 260));
        let (shown, wanted) = (picture.get_pixel(45, 130).0, screen(painted.to_xyz(D65), [1.0; 3]));
        for c in 0..3 {
            assert!(shown[c].abs_diff(wanted[c]) <= 3, "{code}: {shown:?} {wanted:?}");
        }
    }
}

#[test]
fn only_a_chart_with_all_its_colours_is_offered() {
    let found = find_chart(&photograph()).unwrap();
    for (p, q) in found.iter().zip(&CHART) {
        assert!((p[0] - q[0]).abs() < 6.0 && (p[1] - q[1]).abs() < 6.0, "{found:?}");
    }
    // The greys stand where they should and fall as they should; the coloured
    // patches above them are in another order.
    let mixed = painted(|row, column| if row < 3 { row * 6 + 5 - column } else { 18 + column });
    assert_eq!(find_chart(&mixed), None);
}
