//! Real camera pictures of the chart, which nobody of this project made; licences in
//! NOTICE. A patch laid beside its own chart has a known colour, and with `leave_out` the
//! reader has not seen it: the honest test. What the whole set comes to is printed by the
//! benchmark (`bench_real_photos`); here a few readings of each camera are held to what a
//! technician needs.

use colour::{Lab, ciede2000};
use photo::open_photo;
use reading::{Marks, Picture, ReadFault, find_chart, find_chart_at, find_charts, read};
use serde_json::Value;

fn cases() -> Vec<Value> {
    let all: Value = serde_json::from_str(include_str!("data/real/cases.json")).unwrap();
    all["cases"].as_array().unwrap().clone()
}

fn picture(case: &Value) -> Picture {
    let file = case["file"].as_str().unwrap();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/real").join(file);
    open_photo(&std::fs::read(path).unwrap()).unwrap()
}

fn corners(case: &Value) -> [[f64; 2]; 4] {
    serde_json::from_value(case["chart"]["corners"].clone()).unwrap()
}

/// The picture with one of its patches laid beside the chart, and the copy's outline.
fn with_copy(case: &Value, picture: &Picture, patch: usize) -> (Picture, Vec<[f64; 2]>, Lab) {
    let of = &case["copied"];
    let number = |value: &Value| value.as_f64().unwrap();
    let source = &of["patches"][patch]["src"];
    let (side, own) = (number(&of["side"]) as usize, number(&source[2]) as usize);
    let (x0, y0) = (number(&source[0]) as usize - own / 2, number(&source[1]) as usize - own / 2);
    let (x1, y1) = (number(&of["to"][0]) as usize, number(&of["to"][1]) as usize);
    let (width, height) = picture.size();
    let mut pixels = picture.rgb_bytes().to_vec();
    // A patch smaller than its place is laid to and fro.
    let fold = |v: usize| if v % (2 * own) < own { v % (2 * own) } else { 2 * own - 1 - v % (2 * own) };
    for y in 0..side {
        for x in 0..side {
            let (from, to) = (3 * ((y0 + fold(y)) * width + x0 + fold(x)), 3 * ((y1 + y) * width + x1 + x));
            pixels[to..to + 3].copy_from_slice(&picture.rgb_bytes()[from..from + 3]);
        }
    }
    let copy = Picture::new((width as u32, height as u32), pixels, *picture.decoding(), picture.loss()).unwrap();
    let (x, y, s) = (x1 as f64 + 1.0, y1 as f64 + 1.0, side as f64 - 2.0);
    let truth: [f64; 3] = serde_json::from_value(of["patches"][patch]["lab_d50"].clone()).unwrap();
    (copy, vec![[x, y], [x + s, y], [x + s, y + s], [x, y + s]], truth.into())
}

/// Pale pink and middle grey, light and dark: one like light hair, one like grey hair.
const TRIED: [usize; 2] = [1, 21];

#[test]
fn patches_of_other_peoples_cameras_are_read_unseen_with_a_doubt_that_holds() {
    let (mut read_of, mut offs, mut covered) = (0, Vec::new(), 0);
    for case in cases().iter().filter(|case| case["copied"].is_object()) {
        let picture = picture(case);
        for patch in TRIED {
            let (copy, hair, truth) = with_copy(case, &picture, patch);
            let marks = Marks { chart_corners: corners(case), hair, strands: None, leave_out: vec![patch] };
            read_of += 1;
            let Ok(reading) = read(&copy, &marks) else { continue };
            let off = ciede2000(reading.lab_d50, truth);
            offs.push(off);
            covered += usize::from(off <= reading.uncertainty_de00);
            assert!((0.0..=97.0).contains(&reading.lab_d50.l) && reading.uncertainty_de00 <= 6.0, "{reading:?}");
        }
    }
    // Of the simple scripts on other pictures of this kind the best has a mean of 3.1.
    let mean = offs.iter().sum::<f64>() / offs.len() as f64;
    assert!(offs.len() * 10 >= read_of * 9, "{} of {read_of} read", offs.len());
    assert!(mean < 3.6, "{mean}: {offs:?}");
    assert!(covered * 10 >= offs.len() * 7, "{covered} of {}", offs.len());
}

/// A chart in the sun: three pixels in four of its orange and golden yellow patches are at the
/// top of the scale in red, and so are other reds and yellows.
#[test]
fn what_is_cut_off_in_one_channel_is_read_by_what_is_left_below() {
    let case = cases().into_iter().find(|case| case["id"] == "qj2").unwrap();
    let picture = picture(&case);
    for patch in [6, 11] {
        let (copy, hair, truth) = with_copy(&case, &picture, patch);
        let marks = Marks { chart_corners: corners(&case), hair, strands: None, leave_out: vec![patch] };
        let reading = read(&copy, &marks).unwrap();
        let off = ciede2000(reading.lab_d50, truth);
        assert!(reading.residuals.clipped > 0.5 && off < 4.0 && off < reading.uncertainty_de00, "{patch}: {off}, {reading:?}");
    }
}

#[test]
fn a_patch_that_is_left_out_is_not_used_and_numbers_beyond_the_chart_are_refused() {
    let case = cases().into_iter().find(|case| case["id"] == "cw1").unwrap();
    let (copy, hair, truth) = with_copy(&case, &picture(&case), 1);
    let marks = |leave_out: Vec<usize>| Marks { chart_corners: corners(&case), hair: hair.clone(), strands: None, leave_out };
    let (seen, unseen) = (read(&copy, &marks(Vec::new())).unwrap(), read(&copy, &marks(vec![1])).unwrap());
    assert_ne!(seen.lab_d50, unseen.lab_d50);
    assert!(ciede2000(seen.lab_d50, truth) < 2.0, "{}", ciede2000(seen.lab_d50, truth));
    assert!(matches!(read(&copy, &marks(vec![24])), Err(ReadFault::LeftOut(_))));
    assert!(matches!(read(&copy, &marks((0..13).collect())), Err(ReadFault::LeftOut(_))));
    let written: Marks = serde_json::from_str(&serde_json::to_string(&marks(vec![1, 4])).unwrap()).unwrap();
    assert_eq!(written.leave_out, [1, 4]);
}

#[test]
fn a_patch_that_something_lies_on_is_left_out_and_named() {
    let case = cases().into_iter().find(|case| case["id"] == "cw1").unwrap();
    let (copy, hair, _) = with_copy(&case, &picture(&case), 1);
    // A black thing over the orange patch.
    let (width, height) = copy.size();
    let mut pixels = copy.rgb_bytes().to_vec();
    let source: Vec<f64> = serde_json::from_value(case["copied"]["patches"][6]["src"].clone()).unwrap();
    let half = source[2] / 2.0;
    for y in (source[1] - half) as usize..(source[1] + half) as usize {
        for x in (source[0] - half) as usize..(source[0] + half) as usize {
            pixels[3 * (y * width + x)..3 * (y * width + x) + 3].fill(30);
        }
    }
    let covered = Picture::new((width as u32, height as u32), pixels, *copy.decoding(), copy.loss()).unwrap();
    let marks = Marks { chart_corners: corners(&case), hair, strands: None, leave_out: Vec::new() };
    let (clean, covered) = (read(&copy, &marks).unwrap(), read(&covered, &marks).unwrap());
    assert!(covered.warnings.iter().any(|said| said.contains("orange patch, first in the second row")), "{:?}", covered.warnings);
    assert!(ciede2000(clean.lab_d50, covered.lab_d50) < 1.0);
}

/// The picture without so many columns at its left and rows at its top.
fn cut_off(picture: &Picture, by: [usize; 2]) -> Picture {
    let (width, height) = picture.size();
    let row = |y: usize| picture.rgb_bytes()[3 * (y * width + by[0])..3 * (y + 1) * width].iter().copied();
    let pixels = (by[1]..height).flat_map(row).collect();
    Picture::new(((width - by[0]) as u32, (height - by[1]) as u32), pixels, *picture.decoding(), picture.loss()).unwrap()
}

/// The picture written once more as a JPEG of fine steps.
fn written_again(picture: &Picture) -> Picture {
    let (width, height) = picture.size();
    let mut bytes = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut bytes, 96);
    encoder.encode(picture.rgb_bytes(), width as u16, height as u16, jpeg_encoder::ColorType::Rgb).unwrap();
    open_photo(&bytes).unwrap()
}

#[test]
fn nearly_the_same_file_reads_nearly_alike_and_with_nearly_the_same_doubt() {
    for id in ["cw1", "jm5", "pd"] {
        let case = cases().into_iter().find(|case| case["id"] == id).unwrap();
        let (copy, hair, _) = with_copy(&case, &picture(&case), 0);
        let moved = |points: &[[f64; 2]], by: f64| points.iter().map(|p| p.map(|v| v - by)).collect::<Vec<_>>();
        let marks = |by: f64| Marks {
            chart_corners: moved(&corners(&case), by).try_into().unwrap(),
            hair: moved(&hair, by),
            strands: None,
            leave_out: vec![0],
        };
        let one = read(&copy, &marks(0.0)).unwrap();
        // Every code moved by one at most, to and fro; a pixel cut off; written again.
        let (width, height) = copy.size();
        let pixels = copy
            .rgb_bytes()
            .iter()
            .enumerate()
            .map(|(i, code)| code.saturating_add_signed([0, 1, 0, -1][(i / 3 + i / (3 * width)) % 4]))
            .collect();
        let other = Picture::new((width as u32, height as u32), pixels, *copy.decoding(), copy.loss()).unwrap();
        for (what, other, by) in
            [("codes", other, 0.0), ("a pixel", cut_off(&copy, [1, 1]), 1.0), ("written again", written_again(&copy), 0.0)]
        {
            let two = read(&other, &marks(by)).unwrap();
            assert!(ciede2000(one.lab_d50, two.lab_d50) < 0.7, "{id}, {what}: {:?} {:?}", one.lab_d50, two.lab_d50);
            assert!(
                (one.uncertainty_de00 - two.uncertainty_de00).abs() < 0.4,
                "{id}, {what}: {} {}",
                one.uncertainty_de00,
                two.uncertainty_de00
            );
        }
    }
}

/// Two pictures side by side.
fn side_by_side(left: &Picture, right: &Picture) -> Picture {
    let ((w1, h1), (w2, h2)) = (left.size(), right.size());
    let (width, height) = (w1 + w2, h1.max(h2));
    let at = |x: usize, y: usize| if x < w1 { left.codes(x, y) } else { right.codes(x - w1, y) };
    let pixels = (0..height).flat_map(|y| (0..width).flat_map(move |x| at(x, y))).collect();
    Picture::new((width as u32, height as u32), pixels, *left.decoding(), left.loss()).unwrap()
}

#[test]
fn of_two_charts_the_one_that_was_tapped_is_found_and_the_largest_where_none_was() {
    let [first, second] = ["cw1", "pd"].map(|id| cases().into_iter().find(|case| case["id"] == id).unwrap());
    let (left, right) = (picture(&first), picture(&second));
    let both = side_by_side(&left, &right);
    let beside = corners(&second).map(|[x, y]| [x + left.size().0 as f64, y]);
    assert_eq!(find_charts(&both).len(), 2);
    let middle = |chart: &[[f64; 2]; 4]| [0, 1].map(|k| chart.iter().map(|p| p[k]).sum::<f64>() / 4.0);
    for truth in [corners(&first), beside] {
        let found = find_chart_at(&both, middle(&truth)).unwrap().corners;
        let off = found.iter().zip(&truth).map(|(p, q)| (p[0] - q[0]).hypot(p[1] - q[1])).fold(0.0, f64::max);
        assert!(off < 12.0, "{off}");
    }
    assert!(find_charts(&both)[0].lies_under(middle(&corners(&first))));
    // Beside both the nearer one is meant.
    assert!(find_chart_at(&both, [beside[1][0] + 200.0, beside[1][1]]).unwrap().lies_under(middle(&beside)));
}

#[test]
fn a_chart_in_a_mirror_and_one_half_covered_are_not_offered() {
    for case in cases().iter().filter(|case| ["cw1", "jm5", "qj2"].contains(&case["id"].as_str().unwrap())) {
        let picture = picture(case);
        let (width, height) = picture.size();
        let as_picture =
            |pixels: Vec<u8>| Picture::new((width as u32, height as u32), pixels, *picture.decoding(), picture.loss()).unwrap();
        let mirrored = (0..width * height).flat_map(|i| picture.codes(width - 1 - i % width, i / width)).collect();
        assert_eq!(find_chart(&as_picture(mirrored)), None, "{}", case["id"]);
        // A leaf's green over the patches nearest to the first corner.
        let (chart, reach) = (corners(case), 2.2 * case["chart"]["pitch"].as_f64().unwrap());
        let green = |i: usize| ((i % width) as f64 - chart[0][0]).hypot((i / width) as f64 - chart[0][1]) < reach;
        let covered = (0..width * height).flat_map(|i| if green(i) { [60, 96, 40] } else { picture.codes(i % width, i / width) }).collect();
        assert_eq!(find_chart(&as_picture(covered)), None, "{}", case["id"]);
    }
}

#[test]
fn charts_are_found_in_real_pictures_and_never_beside() {
    let mut found = 0;
    let wanted: Vec<Value> = cases().into_iter().filter(|case| case["find"] == "the chart").collect();
    for case in &wanted {
        let Some(corners_found) = find_chart(&picture(case)) else { continue };
        let pitch = case["chart"]["pitch"].as_f64().unwrap();
        let off = corners_found.iter().zip(&corners(case)).map(|(p, q)| (p[0] - q[0]).hypot(p[1] - q[1])).fold(0.0, f64::max);
        assert!(off < 0.25 * pitch, "{}: {off} of {pitch}", case["id"]);
        found += 1;
    }
    assert_eq!(found, wanted.len());
}
