//! How small a chart may be in a photograph: pictures of known colour are shrunk, and each
//! line prints how wide the patches are then, in how many the chart is still found, and what
//! a reading of the same hair is off by:
//! `cargo run --release -p photo --example bench_small_charts`
//!
//! The pictures are the tests' own (made photographs with truth). Shrinking averages pixels,
//! as going further away does; the sensor's noise falls with it, so that what is printed is
//! the better side of the truth.

use colour::{Lab, ciede2000};
use image::imageops::{FilterType, resize};
use image::{ExtendedColorType, ImageEncoder, RgbImage, codecs::jpeg::JpegEncoder};
use photo::open_photo;
use reading::{Marks, find_chart, patch_pitch, read};

/// File, chart, hair, true colour under D50.
type Case = (&'static str, [[f64; 2]; 4], [[f64; 2]; 4], [f64; 3]);

/// *Source*: the photographs' maker; as in `tests/reading.rs`.
const CASES: [Case; 3] = [
    (
        "e02.jpg",
        [[422.14, 226.69], [748.93, 242.13], [738.36, 460.09], [413.12, 454.05]],
        [[122.45, 69.06], [301.53, 75.37], [287.91, 529.37], [112.19, 530.5]],
        [24.868, 9.641, 15.392],
    ),
    (
        "e06.jpg",
        [[60.55, 202.9], [378.86, 224.23], [366.86, 439.69], [41.5, 416.85]],
        [[512.36, 68.36], [693.86, 76.56], [653.22, 528.76], [477.42, 523.64]],
        [36.103, 15.287, 28.619],
    ),
    (
        "h03.jpg",
        [[466.54, 150.49], [774.3, 233.69], [737.15, 453.18], [409.89, 383.42]],
        [[125.49, 79.53], [324.99, 85.55], [313.05, 527.05], [115.68, 518.54]],
        [39.605, 10.505, 23.014],
    ),
];

fn main() {
    println!("{:>8}{:>8}{:>8}{:>10}{:>10}", "pitch px", "found", "read", "off dE00", "sure to");
    for pitch in [50.0, 40.0, 32.0, 26.0, 22.0, 19.0, 16.0, 14.0, 12.0, 10.0, 8.0] {
        let (mut found, mut off, mut sure, mut asked) = (0, Vec::new(), Vec::new(), 0);
        for (file, chart, hair, truth) in CASES {
            let bytes = std::fs::read(format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"))).expect("a picture");
            let picture = open_photo(&bytes).expect("a picture that opens");
            let factor = pitch / patch_pitch(&chart);
            let (w, h) = picture.size();
            let whole = RgbImage::from_raw(w as u32, h as u32, picture.rgb_bytes().to_vec()).expect("its pixels");
            let small = resize(&whole, (w as f64 * factor) as u32, (h as f64 * factor) as u32, FilterType::Triangle);
            let mut jpeg = Vec::new();
            JpegEncoder::new_with_quality(&mut jpeg, 92)
                .write_image(&small, small.width(), small.height(), ExtendedColorType::Rgb8)
                .expect("a JPEG");
            asked += 1;
            let Ok(small) = open_photo(&jpeg) else { continue };
            found += usize::from(find_chart(&small).is_some());
            let scaled = |list: [[f64; 2]; 4]| list.map(|p| p.map(|v| v * factor));
            let marks = Marks { chart_corners: scaled(chart), hair: scaled(hair).to_vec(), strands: None, leave_out: Vec::new() };
            if let Ok(reading) = read(&small, &marks) {
                off.push(ciede2000(reading.lab_d50, Lab::from(truth)));
                sure.push(reading.uncertainty_de00);
            }
        }
        let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len().max(1) as f64;
        println!(
            "{pitch:>8.0}{:>8}{:>8}{:>10.2}{:>10.2}",
            format!("{found}/{asked}"),
            format!("{}/{asked}", off.len()),
            mean(&off),
            mean(&sure)
        );
    }
}
