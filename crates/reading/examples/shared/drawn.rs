// A picture drawn for the examples and the laws: a chart beside hair, the colours of both
// known. Included where it is used; no target of its own.

use colour::chart::patches_under;
use colour::{D50, Lab, Light, Xyz};
use reading::{Loss, Marks, Picture, linear_to_srgb, srgb_to_linear};

const WIDE: usize = 600;
const HIGH: usize = 360;
/// Upper left corner of the chart and the distance between its patches.
const CHART: [f64; 2] = [40.0, 60.0];
const PITCH: f64 = 52.0;
/// The hair: upper left corner and size.
const HAIR: [f64; 2] = [420.0, 50.0];
const SIZE: [f64; 2] = [120.0, 260.0];

/// From X Y Z under D50 to the light of a screen's red, green and blue.
///
/// *Source*: the matrix of sRGB with Bradford's adaptation from D50 (from
/// memory); keys `iec61966`, `icc1`.
const TO_SCREEN: [[f64; 3]; 3] = [[3.1339, -1.6169, -0.4906], [-0.9788, 1.9161, 0.0335], [0.0719, -0.2290, 1.4052]];

/// A draw for a place, the same every time.
fn draw(i: usize) -> f64 {
    let x = (i as u64).wrapping_add(17).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    ((x ^ (x >> 29)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// The chart beside brown hair, in so much light (white board would be at 1): the picture,
/// where to look, and the hair's own colour under D50.
pub fn chart_beside_hair(exposure: f64) -> (Picture, Marks, Lab) {
    let own = Lab::new(36.0, 9.0, 17.0).to_xyz(D50);
    let patches = patches_under(Light::D50);
    let inside = |part: f64, to: f64| (0.0..to).contains(&part);
    let mut pixels = Vec::with_capacity(3 * WIDE * HIGH);
    let (mut sum, mut count) = (Xyz::new(0.0, 0.0, 0.0), 0.0);
    for i in 0..WIDE * HIGH {
        let (x, y) = (i % WIDE, i / WIDE);
        let (column, row) = ((x as f64 - CHART[0]) / PITCH, (y as f64 - CHART[1]) / PITCH);
        let inner = |part: f64| (0.1..0.9).contains(&part.fract());
        let colour = if inside(x as f64 - HAIR[0], SIZE[0]) && inside(y as f64 - HAIR[1], SIZE[1]) {
            // Strands are two pixels wide, each of its own shade.
            let strand = own * (0.65 + 0.7 * draw(x / 2));
            sum = sum + strand;
            count += 1.0;
            strand
        } else if inside(column, 6.0) && inside(row, 4.0) && inner(column) && inner(row) {
            patches[row as usize * 6 + column as usize]
        } else if inside(column + 0.3, 6.6) && inside(row + 0.3, 4.6) {
            D50 * 0.03
        } else {
            D50 * 0.3
        };
        let xyz: [f64; 3] = colour.into();
        for (c, of) in TO_SCREEN.iter().enumerate() {
            let light = exposure * (of[0] * xyz[0] + of[1] * xyz[1] + of[2] * xyz[2]);
            let noise = 1.2 * (draw(3 * i + c) - 0.5);
            pixels.push((255.0 * linear_to_srgb(light.clamp(0.0, 1.0)) + noise).round().clamp(0.0, 255.0) as u8);
        }
    }
    let decoding = [std::array::from_fn(|code| srgb_to_linear(code as f64 / 255.0)); 3];
    let photo = Picture::new((WIDE as u32, HIGH as u32), pixels, decoding, Loss::None).unwrap();
    let corners = |[x, y]: [f64; 2], [w, h]: [f64; 2]| [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    let marks = Marks {
        chart_corners: corners(CHART, [6.0 * PITCH, 4.0 * PITCH]),
        hair: corners([HAIR[0] + 4.0, HAIR[1] + 4.0], [SIZE[0] - 8.0, SIZE[1] - 8.0]).to_vec(),
        strands: None,
        leave_out: Vec::new(),
    };
    (photo, marks, (sum * (1.0 / count)).to_lab(D50))
}
