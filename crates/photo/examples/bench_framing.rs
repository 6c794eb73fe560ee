//! Whether what is said while framing is what the photo is told afterwards: each picture is
//! looked at whole and as a small frame, as the camera page sends it:
//! `cargo run --release -p photo --example bench_framing -- FOLDER...`
//!
//! FOLDER holds `cases.json` as `bench_real_photos` and `make_photos` have it. Each verdict is
//! counted as the same in both, missed by the frame, or only in the frame.

use image::imageops::{FilterType, resize};
use image::{ExtendedColorType, ImageEncoder, RgbImage, codecs::jpeg::JpegEncoder};
use photo::open_photo;
use reading::{Framing, Picture, framing};
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

/// The longer side of a frame, and how finely it is kept, as the page sends it.
const FRAME: f64 = 640.0;
const QUALITY: u8 = 85;

/// A verdict by its name.
type Verdict = (&'static str, fn(&Framing) -> bool);

const VERDICTS: [Verdict; 6] = [
    ("chart found", |f| f.chart.is_some()),
    ("uneven light", |f| f.light.is_some()),
    ("whites too bright", |f| !f.too_bright.is_empty()),
    ("partly covered", |f| !f.covered.is_empty()),
    ("too dark", |f| f.too_dark),
    ("fit to be taken", Framing::is_fit),
];

fn main() {
    for folder in std::env::args().skip(1) {
        let folder = Path::new(&folder);
        let text = std::fs::read_to_string(folder.join("cases.json")).expect("cases.json");
        let all: Value = serde_json::from_str(&text).expect("cases.json is JSON");
        let mut counts = [[0; 4]; VERDICTS.len()];
        let (mut apart, mut seconds): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
        let mut pictures = 0;
        for case in all["cases"].as_array().expect("cases") {
            let Some(file) = case["file"].as_str().or_else(|| case["jpg"].as_str()) else { continue };
            let whole = open_photo(&std::fs::read(folder.join(file)).expect("a picture")).expect("a picture that opens");
            let (w, h) = whole.size();
            let scale = (FRAME / w.max(h) as f64).min(1.0);
            let small = shrunk(&whole, scale);
            let start = Instant::now();
            let frame = framing(&small, 1.0 / scale, beside);
            seconds.push(start.elapsed().as_secs_f64());
            let photo = framing(&whole, 1.0, beside);
            pictures += 1;
            for ((_, verdict), count) in VERDICTS.iter().zip(&mut counts) {
                let (of_frame, of_photo) = (verdict(&frame), verdict(&photo));
                count[match (of_photo, of_frame) {
                    (true, true) => 0,
                    (false, false) => 1,
                    (true, false) => 2,
                    (false, true) => 3,
                }] += 1;
            }
            if let (Some(p), Some(q)) = (frame.chart, photo.chart) {
                let pitch = reading::patch_pitch(&q);
                apart.push((0..4).map(|i| (p[i][0] / scale - q[i][0]).hypot(p[i][1] / scale - q[i][1])).fold(0.0, f64::max) / pitch);
            }
        }
        seconds.sort_by(f64::total_cmp);
        apart.sort_by(f64::total_cmp);
        println!(
            "{}: {pictures} pictures, a frame takes {:.0} ms in the middle, {:.0} at worst",
            folder.file_name().unwrap_or_default().to_string_lossy(),
            1000.0 * seconds[seconds.len() / 2],
            1000.0 * seconds[seconds.len() - 1]
        );
        println!("{:20}{:>10}{:>10}{:>10}{:>16}", "", "both", "neither", "missed", "only in frame");
        for ((name, _), [both, neither, missed, only]) in VERDICTS.iter().zip(counts) {
            println!("{name:20}{both:>10}{neither:>10}{missed:>10}{only:>16}");
        }
        if let Some(worst) = apart.last() {
            println!("corners lie at most {worst:.2} patches apart, {:.2} in the middle", apart[apart.len() / 2]);
        }
    }
}

/// Where the ends are taken to lie: a band as high as the chart, beside or below it, where the
/// picture has more room.
fn beside(chart: &[[f64; 2]; 4]) -> [[f64; 2]; 4] {
    let span = |k: usize| (chart.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min), chart.iter().map(|p| p[k]).fold(0.0, f64::max));
    let ((left, right), (top, bottom)) = (span(0), span(1));
    let (wide, high) = (right - left, bottom - top);
    if left > wide * 0.5 {
        [[left - wide * 0.45, top], [left - wide * 0.1, top], [left - wide * 0.1, bottom], [left - wide * 0.45, bottom]]
    } else if top > high * 0.5 {
        [[left, top - high * 0.45], [right, top - high * 0.45], [right, top - high * 0.1], [left, top - high * 0.1]]
    } else {
        [[right + wide * 0.1, top], [right + wide * 0.45, top], [right + wide * 0.45, bottom], [right + wide * 0.1, bottom]]
    }
}

fn shrunk(whole: &Picture, scale: f64) -> Picture {
    let (w, h) = whole.size();
    let pixels = RgbImage::from_raw(w as u32, h as u32, whole.rgb_bytes().to_vec()).expect("its pixels");
    let small = resize(&pixels, (w as f64 * scale).round() as u32, (h as f64 * scale).round() as u32, FilterType::Triangle);
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .write_image(&small, small.width(), small.height(), ExtendedColorType::Rgb8)
        .expect("a JPEG");
    open_photo(&jpeg).expect("a picture that opens")
}
