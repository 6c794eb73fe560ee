//! How long it takes to refuse what is no photograph of hair beside a chart:
//! `cargo run --release -p photo --example bench_bad_photos`.

use photo::{Marks, read_photo};
use std::time::Instant;

fn picture(width: u32, height: u32, code: [u8; 3], kind: image::ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::RgbImage::from_pixel(width, height, image::Rgb(code)).write_to(&mut std::io::Cursor::new(&mut bytes), kind).expect("a picture");
    bytes
}

fn main() {
    let marks = Marks {
        chart_corners: [[422.0, 226.0], [748.0, 242.0], [738.0, 460.0], [413.0, 454.0]],
        hair: vec![[122.0, 69.0], [301.0, 75.0], [287.0, 529.0], [112.0, 530.0]],
        strands: None,
    };
    let jpeg = picture(4000, 3000, [120, 110, 100], image::ImageFormat::Jpeg);
    let mut vast = picture(800, 600, [9, 9, 9], image::ImageFormat::Png);
    vast[16..20].copy_from_slice(&20_000_u32.to_be_bytes());
    vast[20..24].copy_from_slice(&20_000_u32.to_be_bytes());
    vast.resize(1_000_000, 0);
    let mut crossed = marks.clone();
    crossed.chart_corners.swap(1, 2);
    let mut on_chart = marks.clone();
    on_chart.hair = vec![[450.0, 250.0], [700.0, 260.0], [690.0, 440.0], [440.0, 430.0]];
    let cases: [(&str, Vec<u8>, &Marks); 10] = [
        ("text", b"no picture at all".to_vec(), &marks),
        ("HEIC", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec(), &marks),
        ("one pixel", picture(1, 1, [0, 0, 0], image::ImageFormat::Png), &marks),
        ("20,000 x 20,000", vast, &marks),
        ("cut short", jpeg[..jpeg.len() / 2].to_vec(), &marks),
        ("black", picture(800, 600, [0, 0, 0], image::ImageFormat::Png), &marks),
        ("no chart", picture(800, 600, [128, 128, 128], image::ImageFormat::Png), &marks),
        ("corners crossed", picture(800, 600, [128, 128, 128], image::ImageFormat::Png), &crossed),
        ("hair on chart", picture(800, 600, [128, 128, 128], image::ImageFormat::Png), &on_chart),
        ("12 MP, no chart", jpeg, &marks),
    ];
    for (name, bytes, marks) in cases {
        let start = Instant::now();
        let said = read_photo(&bytes, marks).map_or_else(|fault| fault.to_string(), |_| "read!".to_owned());
        println!("{name:16} {:6.1} ms  {said}", start.elapsed().as_secs_f64() * 1000.0);
    }
}
