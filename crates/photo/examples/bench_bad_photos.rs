//! How long it takes, and how much memory, to refuse what is no photograph of
//! hair beside a chart:
//! `cargo run --release -p photo --example bench_bad_photos`.
//!
//! Each file is taken in as a page does, stripped and then read, in a process of
//! its own; what is printed as memory is by how much that raised the most that the
//! process ever held (`VmHWM`, Linux only).

#[path = "../tests/bombs/mod.rs"]
mod bombs;

use photo::{read_photo, stripped};
use reading::Marks;
use std::io::Write;
use std::time::Instant;

fn picture(width: u32, height: u32, code: [u8; 3], kind: image::ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::RgbImage::from_pixel(width, height, image::Rgb(code)).write_to(&mut std::io::Cursor::new(&mut bytes), kind).expect("a picture");
    bytes
}

/// A whole RGB picture of 20,000 x 20,000, written row by row.
fn vast() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 20_000, 20_000);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::NoFilter);
    let mut head = encoder.write_header().expect("a heading");
    let mut writer = head.stream_writer().expect("a writer");
    for _ in 0..20_000 {
        writer.write_all(&[0; 60_000]).expect("a row");
    }
    writer.finish().expect("an end");
    drop(head);
    bytes
}

/// A whole JPEG of four inks: marker, tables, 1600 blocks that change nothing.
fn printed() -> Vec<u8> {
    let mut bytes = b"\xff\xd8\xff\xee\0\x0eAdobe\0\x64\0\0\0\0\0\xff\xdb\0\x43\0".to_vec();
    bytes.extend_from_slice(&[1; 64]);
    bytes.extend_from_slice(&[0xff, 0xc0, 0, 20, 8, 0, 160, 0, 160, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0]);
    for table in [0x00, 0x10] {
        bytes.extend_from_slice(&[0xff, 0xc4, 0, 20, table, 1]);
        bytes.extend_from_slice(&[0; 16]);
    }
    bytes.extend_from_slice(&[0xff, 0xda, 0, 14, 4, 1, 0, 2, 0, 3, 0, 4, 0, 0, 63, 0]);
    bytes.extend_from_slice(&[0; 400]);
    bytes.extend_from_slice(&[0xff, 0xd9]);
    bytes
}

/// The most memory this process ever held, in kB.
fn most_held() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?.split_whitespace().next()?.parse().ok()
}

/// Reads one file, in a process of its own.
fn read_one(file: &str, marks: &str) {
    let marks: Marks = serde_json::from_str(marks).expect("marks");
    let bytes = std::fs::read(file).expect("the file");
    let before = most_held();
    let start = Instant::now();
    let said = stripped(&bytes).and_then(|kept| read_photo(&kept, &marks)).map_or_else(|fault| fault.to_string(), |_| "read!".to_owned());
    let seconds = start.elapsed().as_secs_f64();
    let held = before.zip(most_held()).map_or("?".to_owned(), |(before, after)| format!("{:.1}", (after - before) as f64 / 1024.0));
    println!("{:7.2} MB {:6.1} ms {held:>6} MB  {said}", bytes.len() as f64 / 1e6, seconds * 1000.0);
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [file, marks] = arguments.as_slice() {
        return read_one(file, marks);
    }
    let marks = Marks {
        chart_corners: [[422.0, 226.0], [748.0, 242.0], [738.0, 460.0], [413.0, 454.0]],
        hair: vec![[122.0, 69.0], [301.0, 75.0], [287.0, 529.0], [112.0, 530.0]],
        strands: None,
        leave_out: Vec::new(),
    };
    let jpeg = picture(4000, 3000, [120, 110, 100], image::ImageFormat::Jpeg);
    let mut crossed = marks.clone();
    crossed.chart_corners.swap(1, 2);
    let mut on_chart = marks.clone();
    on_chart.hair = vec![[450.0, 250.0], [700.0, 260.0], [690.0, 440.0], [440.0, 430.0]];
    let grey = picture(800, 600, [128, 128, 128], image::ImageFormat::Png);
    let zeros = bombs::zeros(4_000_000_000);
    let profile = vec![7; 16_000_000];
    let announced = bombs::webp_part(b"ICCP", &profile);
    let names = bombs::profile_of_many_names(80_000, 1_000_000);
    let turned = bombs::chunk(b"eXIf", b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0");
    let packed = bombs::chunk(b"iCCP", &[b"p\0\0", zeros.as_slice()].concat());
    let cases: [(&str, Vec<u8>, &Marks); 18] = [
        ("text", b"no picture at all".to_vec(), &marks),
        ("HEIC", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec(), &marks),
        ("one pixel", picture(1, 1, [0, 0, 0], image::ImageFormat::Png), &marks),
        ("20,000 x 20,000", vast(), &marks),
        ("CMYK", printed(), &marks),
        ("cut short", jpeg[..jpeg.len() / 2].to_vec(), &marks),
        ("black", picture(800, 600, [0, 0, 0], image::ImageFormat::Png), &marks),
        ("no chart", grey.clone(), &marks),
        ("corners crossed", grey.clone(), &crossed),
        ("hair on chart", grey, &on_chart),
        ("12 MP, no chart", jpeg, &marks),
        ("PNG, profile", bombs::png_with_profile(&zeros), &marks),
        ("PNG, turned", bombs::png_with(&[turned, packed]), &marks),
        ("PNG, texts", bombs::png_with_texts(&zeros), &marks),
        ("WebP, profile", bombs::webp_with(0x20, &announced, &[]), &marks),
        ("JPEG, profile", bombs::jpeg_with(&bombs::jpeg_profile(&profile, 245)), &marks),
        ("JPEG, names", bombs::jpeg_with(&bombs::jpeg_profile(&names, names.len().div_ceil(65_519) as u8)), &marks),
        ("JPEG, parts", bombs::jpeg_with(&vec![(0xe1, b"http://ns.adobe.com/xmp/extension/\0".repeat(3)); 300_000]), &marks),
    ];
    let program = std::env::current_exe().expect("this program");
    let file = std::env::temp_dir().join(format!("bad-photo-{}", std::process::id()));
    println!("{:16} {:>10} {:>9} {:>9}", "", "file", "time", "memory");
    for (name, bytes, marks) in cases {
        std::fs::write(&file, bytes).expect("a file");
        let marks = serde_json::to_string(marks).expect("marks");
        let output = std::process::Command::new(&program).arg(&file).arg(marks).output().expect("a process");
        print!("{name:16} {}", String::from_utf8_lossy(&output.stdout));
    }
    std::fs::remove_file(&file).expect("the file to be gone");
}
