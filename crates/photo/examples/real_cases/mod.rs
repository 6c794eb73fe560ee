//! What the benchmarks of real pictures share: a patch laid beside its own chart.

#![allow(dead_code, reason = "not every benchmark asks for all of it")]

use colour::Lab;
use reading::Picture;
use serde_json::Value;

/// Patches that hair is like: brown, pale pink, orange, golden yellow, coral red and the
/// three middle greys.
pub const HAIR_LIKE: [usize; 8] = [0, 1, 6, 8, 11, 20, 21, 22];

pub fn points(value: &Value) -> Vec<[f64; 2]> {
    serde_json::from_value(value.clone()).expect("points")
}

pub fn lab(value: &Value) -> Lab {
    Lab::from(serde_json::from_value::<[f64; 3]>(value.clone()).expect("three numbers"))
}

/// The chart's corners.
pub fn corners(case: &Value) -> [[f64; 2]; 4] {
    serde_json::from_value(case["chart"]["corners"].clone()).expect("corners")
}

/// One patch laid beside its chart: its number, the picture, its outline there, its truth.
pub struct Copied {
    pub index: usize,
    pub name: String,
    pub picture: Picture,
    pub hair: Vec<[f64; 2]>,
    pub truth: Lab,
}

/// Every patch of a case laid beside its chart in turn.
pub fn copies<'a>(case: &'a Value, picture: &'a Picture) -> impl Iterator<Item = Copied> + 'a {
    let patches = case["copied"]["patches"].as_array().map_or(&[][..], Vec::as_slice);
    patches.iter().map(move |patch| {
        let to: Vec<f64> = serde_json::from_value(case["copied"]["to"].clone()).expect("to");
        let side = case["copied"]["side"].as_u64().expect("side") as usize;
        let source: Vec<f64> = serde_json::from_value(patch["src"].clone()).expect("src");
        let (picture, hair) = with_copy(picture, &source, &to, side);
        let name = patch["name"].as_str().unwrap_or("").to_owned();
        Copied { index: patch["patch"].as_u64().expect("patch") as usize, name, picture, hair, truth: lab(&patch["lab_d50"]) }
    })
}

/// The picture with a patch copied beside its chart, and the copy's outline.
fn with_copy(picture: &Picture, source: &[f64], to: &[f64], side: usize) -> (Picture, Vec<[f64; 2]>) {
    let (width, height) = picture.size();
    let mut pixels = picture.rgb_bytes().to_vec();
    let size = (source[2] as usize).min(side);
    let (x0, y0) = ((source[0] - size as f64 / 2.0) as usize, (source[1] - size as f64 / 2.0) as usize);
    let (tx, ty) = (to[0] as usize, to[1] as usize);
    for y in 0..side {
        for x in 0..side {
            // A patch smaller than its place is laid to and fro.
            let fold = |v: usize| {
                let v = v % (2 * size);
                if v < size { v } else { 2 * size - 1 - v }
            };
            let (from, to) = (3 * ((y0 + fold(y)) * width + x0 + fold(x)), 3 * ((ty + y) * width + tx + x));
            let pixel = [0, 1, 2].map(|c| picture.rgb_bytes()[from + c]);
            pixels[to..to + 3].copy_from_slice(&pixel);
        }
    }
    let copy = Picture::new((width as u32, height as u32), pixels, *picture.decoding(), picture.loss()).expect("as many pixels");
    let (x, y, s) = (to[0] + 1.0, to[1] + 1.0, side as f64 - 2.0);
    (copy, vec![[x, y], [x + s, y], [x + s, y + s], [x, y + s]])
}

pub fn mean(list: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = list.fold((0.0, 0.0), |(sum, n), v| (sum + v, n + 1.0));
    if n > 0.0 { sum / n } else { f64::NAN }
}

/// What so large a share of a list stays below.
pub fn below(mut list: Vec<f64>, share: f64) -> f64 {
    list.sort_by(f64::total_cmp);
    let Some(last) = list.len().checked_sub(1) else { return f64::NAN };
    let place = share * last as f64;
    let (low, high) = (list[place.floor() as usize], list[place.ceil() as usize]);
    low + place.fract() * (high - low)
}
