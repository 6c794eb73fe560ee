//! Synthetic photographs with known truth, and everything that is no photograph.
//!
//! The photographs were rendered from published spectra (24-patch chart averages,
//! melanin absorption, CIE lights, measured camera sensitivities); truth is the
//! share-weighted mean reflectance, integrated with the CIE 1931 observer.

use colour::{Lab, ciede2000};
use photo::{PhotoFault, open_photo, read_photo, stripped};
use reading::{Marks, find_chart};

const E02: &[u8] = include_bytes!("data/e02.jpg");
const E06: &[u8] = include_bytes!("data/e06.jpg");
const H03: &[u8] = include_bytes!("data/h03.jpg");
const H04: &[u8] = include_bytes!("data/h04.jpg");
const H05: &[u8] = include_bytes!("data/h05.jpg");

fn marks(chart_corners: [[f64; 2]; 4], hair: [[f64; 2]; 4]) -> Marks {
    Marks { chart_corners, hair: hair.to_vec(), strands: None, leave_out: Vec::new() }
}

fn e02() -> Marks {
    marks(
        [[422.14, 226.69], [748.93, 242.13], [738.36, 460.09], [413.12, 454.05]],
        [[122.45, 69.06], [301.53, 75.37], [287.91, 529.37], [112.19, 530.5]],
    )
}

fn e06() -> Marks {
    marks(
        [[60.55, 202.9], [378.86, 224.23], [366.86, 439.69], [41.5, 416.85]],
        [[512.36, 68.36], [693.86, 76.56], [653.22, 528.76], [477.42, 523.64]],
    )
}

fn h03() -> Marks {
    marks(
        [[466.54, 150.49], [774.3, 233.69], [737.15, 453.18], [409.89, 383.42]],
        [[125.49, 79.53], [324.99, 85.55], [313.05, 527.05], [115.68, 518.54]],
    )
}

/// Lies on its side in the file (EXIF 6) and carries a Display P3 profile.
fn h04() -> Marks {
    marks(
        [[86.59, 148.78], [390.95, 230.04], [366.99, 433.5], [30.13, 356.29]],
        [[460.92, 89.05], [677.1, 76.86], [706.77, 504.31], [491.21, 515.1]],
    )
}

#[test]
fn hair_of_known_colour_is_read_within_two_units_and_the_stated_uncertainty() {
    let cases = [
        (E02, e02(), Lab::new(24.868, 9.641, 15.392), Lab::new(24.5, 8.032, 14.956)),
        (E06, e06(), Lab::new(36.103, 15.287, 28.619), Lab::new(35.5, 12.892, 27.982)),
        (H03, h03(), Lab::new(39.605, 10.505, 23.014), Lab::new(39.147, 8.241, 22.629)),
        (H04, h04(), Lab::new(30.094, 16.165, 25.246), Lab::new(29.5, 14.078, 24.488)),
    ];
    for (bytes, marks, d50, d65) in cases {
        let reading = read_photo(bytes, &marks).unwrap();
        let (off50, off65) = (ciede2000(reading.lab_d50, d50), ciede2000(reading.lab_d65, d65));
        assert!(off50 < 2.0 && off65 < 2.0, "{off50} {off65}");
        assert!(off50 <= reading.uncertainty_de00);
        let shares: f64 = reading.tones.iter().map(|tone| tone.share).sum();
        assert!((shares - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_hand_that_taps_beside_the_corners_reads_nearly_the_same() {
    // Up to a tenth of a patch's distance off, each corner another way.
    let off = [[5.0, -4.0], [-3.5, 5.0], [4.5, 4.0], [5.0, 3.0]];
    for (bytes, marks) in [(E02, e02()), (E06, e06()), (H03, h03()), (H04, h04())] {
        let exact = read_photo(bytes, &marks).unwrap();
        let chart_corners = std::array::from_fn(|i| [0, 1].map(|k| marks.chart_corners[i][k] + off[i][k]));
        let tapped = read_photo(bytes, &Marks { chart_corners, ..marks }).unwrap();
        let moved = ciede2000(exact.lab_d65, tapped.lab_d65);
        assert!(moved < 0.4, "{moved}");
    }
}

#[test]
fn another_side_called_the_root_reads_nearly_the_same() {
    for (bytes, marks) in [(E02, e02()), (E06, e06()), (H03, h03()), (H04, h04())] {
        let said = read_photo(bytes, &marks).unwrap();
        for turns in 1..4 {
            let mut turned = marks.clone();
            turned.hair.rotate_left(turns);
            let read = read_photo(bytes, &turned).unwrap();
            let moved = ciede2000(said.lab_d65, read.lab_d65);
            assert!(moved < 1.0, "{turns}: {moved}");
        }
    }
}

#[test]
fn two_tones_are_told_with_their_colours_and_shares() {
    let corners = [[371.87, 305.78], [709.25, 208.6], [777.18, 412.01], [445.1, 528.09]];
    let reading = read_photo(H05, &marks(corners, [[108.93, 64.58], [317.02, 72.01], [317.8, 538.68], [108.18, 528.78]])).unwrap();
    let truth = [(0.6471, Lab::new(42.5, 7.882, 22.809)), (0.3529, Lab::new(57.5, 1.932, 13.895))];
    assert_eq!(reading.tones.len(), truth.len(), "{:?}", reading.tones);
    for (tone, (share, lab)) in reading.tones.iter().zip(truth) {
        assert!((tone.share - share).abs() < 0.05, "{:?}", reading.tones);
        assert!(ciede2000(tone.lab_d65, lab) < 3.0, "{:?}", reading.tones);
    }
}

#[test]
fn the_chart_is_found_by_itself_and_not_where_there_is_none() {
    for (bytes, marks) in [(E02, e02()), (E06, e06()), (H04, h04())] {
        let found = find_chart(&open_photo(bytes).unwrap()).unwrap();
        for (p, q) in found.iter().zip(&marks.chart_corners) {
            assert!((p[0] - q[0]).abs() < 12.0 && (p[1] - q[1]).abs() < 12.0, "{found:?}");
        }
    }
    assert_eq!(find_chart(&open_photo(&plain([120, 120, 120])).unwrap()), None);
}

fn plain(code: [u8; 3]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let picture = image::RgbImage::from_pixel(800, 600, image::Rgb(code));
    picture.write_to(&mut std::io::Cursor::new(&mut bytes), image::ImageFormat::Png).unwrap();
    bytes
}

fn says(bytes: &[u8], marks: &Marks) -> String {
    read_photo(bytes, marks).unwrap_err().to_string()
}

#[test]
fn marks_that_cannot_be_are_refused_with_what_to_do() {
    let mut crossed = e02();
    crossed.chart_corners.swap(1, 2);
    assert!(says(E02, &crossed).contains("cross over"));
    let mut outside = e02();
    outside.chart_corners[0] = [-30.0, 20.0];
    assert!(says(E02, &outside).contains("outside the photo"));
    let mut nowhere = e02();
    nowhere.chart_corners[0] = [f64::NAN, 20.0];
    assert!(says(E02, &nowhere).contains("outside the photo"));
    let mut upside_down = e02();
    upside_down.chart_corners.rotate_left(2);
    assert!(says(E02, &upside_down).contains("turned"), "{}", says(E02, &upside_down));
    let mut on_chart = e02();
    on_chart.hair = vec![[450.0, 250.0], [700.0, 260.0], [690.0, 440.0], [440.0, 430.0]];
    assert!(says(E02, &on_chart).contains("lies on the chart"));
    let mut mirrored = e02();
    mirrored.chart_corners.reverse();
    assert!(says(E02, &mirrored).contains("wrong way round"));
    let mut thin = e02();
    thin.hair.truncate(2);
    assert!(says(E02, &thin).contains("3 to 500"));
    let hair_for_chart = marks(
        [[130.0, 80.0], [290.0, 80.0], [280.0, 500.0], [120.0, 500.0]],
        [[450.0, 500.0], [700.0, 500.0], [700.0, 590.0], [450.0, 590.0]],
    );
    assert!(says(E02, &hair_for_chart).contains("no 24-patch chart"));
    assert!(serde_json::from_str::<Marks>(r#"{"chart_corners":[[0,0],[1,0],[1,1],[0,1]],"hair":[],"chart":1}"#).is_err());
}

#[test]
fn files_that_are_no_photos_are_refused_with_what_to_do() {
    assert!(says(&plain([0, 0, 0]), &e02()).contains("black"));
    assert!(says(&plain([128, 128, 128]), &e02()).contains("no 24-patch chart"));
    assert!(says(b"", &e02()).contains("no JPEG"));
    assert!(says(b"%PDF-1.4 and more", &e02()).contains("no JPEG"));
    assert_eq!(read_photo(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", &e02()), Err(PhotoFault::Heic));
    assert!(says(&E02[..40], &e02()).contains("damaged"));
    let mut dot = Vec::new();
    image::RgbImage::new(1, 1).write_to(&mut std::io::Cursor::new(&mut dot), image::ImageFormat::Png).unwrap();
    assert_eq!(read_photo(&dot, &e02()), Err(PhotoFault::TooSmall { width: 1, height: 1 }));
    let mut vast = plain([9, 9, 9]);
    vast[16..20].copy_from_slice(&20_000_u32.to_be_bytes());
    vast[20..24].copy_from_slice(&20_000_u32.to_be_bytes());
    assert_eq!(read_photo(&vast, &e02()), Err(PhotoFault::TooLarge { width: 20_000, height: 20_000 }));
    // A frame of four channels in a JPEG's heading is ink.
    let ink = [0xff, 0xd8, 0xff, 0xc0, 0, 20, 8, 2, 88, 3, 32, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0];
    assert_eq!(read_photo(&ink, &e02()), Err(PhotoFault::Cmyk));
    assert!(matches!(read_photo(&vec![0; photo::LARGEST_FILE + 1], &e02()), Err(PhotoFault::TooManyBytes { .. })));
}

#[test]
fn a_picture_that_was_cut_short_is_said_to_be_and_not_read() {
    let picture = image::load_from_memory(E02).unwrap();
    let written = |format: image::ImageFormat| {
        let mut bytes = Vec::new();
        picture.write_to(&mut std::io::Cursor::new(&mut bytes), format).unwrap();
        bytes
    };
    for whole in [E02.to_vec(), written(image::ImageFormat::Png), written(image::ImageFormat::WebP)] {
        assert!(read_photo(&whole, &e02()).is_ok());
        for share in [0.3, 0.6, 0.9, 0.99] {
            let cut = &whole[..(share * whole.len() as f64) as usize];
            assert_eq!(read_photo(cut, &e02()), Err(PhotoFault::CutShort), "{share}");
            assert!(stripped(cut).is_err(), "{share}");
        }
    }
    // With its end mark put back, as some programs do that save what they have.
    for share in [0.4, 0.7, 0.9] {
        let mut cut = E02[..(share * E02.len() as f64) as usize].to_vec();
        cut.extend_from_slice(&[0xff, 0xd9]);
        assert_eq!(read_photo(&cut, &e02()), Err(PhotoFault::CutShort), "{share}");
    }
    assert!(PhotoFault::CutShort.to_string().contains("truncated"));
}

/// A whole JPEG of four inks, 160 x 160: the marker of four inks, one code for
/// "no change" and one for "no more" in the tables, and 1600 blocks. *Source*:
/// keys `itut872`, `itut81`.
fn printed() -> Vec<u8> {
    let mut bytes = vec![0xff, 0xd8, 0xff, 0xee, 0, 14];
    bytes.extend_from_slice(b"Adobe\0\x64\0\0\0\0\0");
    bytes.extend_from_slice(&[0xff, 0xdb, 0, 67, 0]);
    bytes.extend_from_slice(&[1; 64]);
    bytes.extend_from_slice(&[0xff, 0xc0, 0, 20, 8, 0, 160, 0, 160, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0]);
    for table in [0x00, 0x10] {
        bytes.extend_from_slice(&[0xff, 0xc4, 0, 20, table, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    }
    bytes.extend_from_slice(&[0xff, 0xda, 0, 14, 4, 1, 0, 2, 0, 3, 0, 4, 0, 0, 63, 0]);
    bytes.extend_from_slice(&[0; 400]);
    bytes.extend_from_slice(&[0xff, 0xd9]);
    bytes
}

#[test]
fn a_whole_jpeg_for_printing_is_refused_as_one() {
    let bytes = printed();
    // Another reader takes it for a whole picture.
    assert_eq!(image::load_from_memory(&bytes).unwrap().into_rgb8().dimensions(), (160, 160));
    assert_eq!(read_photo(&bytes, &e02()), Err(PhotoFault::Cmyk));
    assert!(says(&bytes, &e02()).contains("for printing"));
}

#[test]
fn a_whole_but_vast_png_is_refused_for_its_size() {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 20_000, 20_000);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    let mut head = encoder.write_header().unwrap();
    let mut writer = head.stream_writer().unwrap();
    for _ in 0..20_000 {
        std::io::Write::write_all(&mut writer, &[0x55; 2500]).unwrap();
    }
    writer.finish().unwrap();
    drop(head);
    assert_eq!(read_photo(&bytes, &e02()), Err(PhotoFault::TooLarge { width: 20_000, height: 20_000 }));
}

#[test]
fn what_is_kept_reads_the_same() {
    let contains = |bytes: &[u8], word: &[u8]| bytes.windows(word.len()).any(|w| w == word);
    assert!(contains(H04, b"Exif"));
    let kept = stripped(H04).unwrap();
    assert!(contains(&kept, b"ICC_PROFILE"));
    assert_eq!(read_photo(H04, &h04()), read_photo(&kept, &h04()));
}
