//! The corners of a mark: as the page shows them, and as they come back from it.

use super::outline;
use crate::web::client::form::Typed;
use reading::Swatch;

/// The four corners of the patch grid, by the patch that lies in each.
pub const CHART_CORNERS: [&str; 4] = ["Brown patch", "Turquoise patch", "Black patch", "White patch"];
/// The four corners of the hair.
pub const HAIR_CORNERS: [&str; 4] = ["Root side left", "Root side right", "Tips right", "Tips left"];

/// Two corners of a swatch, across from each other.
const SWATCH_CORNERS: [&str; 2] = ["First corner", "Opposite corner"];

/// One mark: its corners, by name, with their place as it is typed.
pub struct MarkView {
    /// Its name in the form.
    pub key: &'static str,
    /// The shade, for a swatch.
    pub code: String,
    /// Its corners in their order.
    pub corners: Vec<CornerView>,
    /// Its outline, as points of a polygon.
    pub path: String,
}

/// One corner and where it lies.
pub struct CornerView {
    /// What lies in it.
    pub name: &'static str,
    /// How far across.
    pub x: String,
    /// How far down.
    pub y: String,
}

impl MarkView {
    /// A mark whose corners lie there.
    pub fn of(key: &'static str, names: &[&'static str], corners: &[[f64; 2]]) -> Self {
        let text = |value: f64| format!("{}", (value * 10.0).round() / 10.0);
        Self {
            key,
            code: String::new(),
            path: corners.iter().map(|[x, y]| format!("{},{}", text(*x), text(*y))).collect::<Vec<_>>().join(" "),
            corners: names.iter().zip(corners).map(|(name, [x, y])| CornerView { name, x: text(*x), y: text(*y) }).collect(),
        }
    }

    /// A swatch’s box, by two corners.
    pub fn swatch(swatch: &Swatch) -> Self {
        let (low, high) = bounds(&swatch.outline);
        let mut view = Self::of("swatch", &SWATCH_CORNERS, &[low, high]);
        view.path = MarkView::of("swatch", &[], &boxed(low, high)).path;
        view.code.clone_from(&swatch.code);
        view
    }
}

fn bounds(outline: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    let fold = |k: usize, f: fn(f64, f64) -> f64, from: f64| outline.iter().map(|corner| corner[k]).fold(from, f);
    let low = [0, 1].map(|k| fold(k, f64::min, f64::INFINITY));
    let high = [0, 1].map(|k| fold(k, f64::max, f64::NEG_INFINITY));
    (low, high)
}

fn boxed(low: [f64; 2], high: [f64; 2]) -> [[f64; 2]; 4] {
    [low, [high[0], low[1]], high, [low[0], high[1]]]
}

/// Where a swatch's box stands before anyone has moved it: over the free space,
/// or beside the ends.
pub fn blank_swatch(chart: &[[f64; 2]; 4], hair: &[[f64; 2]; 4], size: (usize, usize), of_ring: bool) -> MarkView {
    let free = if of_ring { outline::usual_hair(chart, size) } else { *hair };
    let (low, high) = bounds(&free);
    let (wide, tall) = (high[0] - low[0], high[1] - low[1]);
    let corner = |x: f64, y: f64| [(low[0] + wide * x).clamp(0.0, size.0 as f64), (low[1] + tall * y).clamp(0.0, size.1 as f64)];
    let (first, last) = if of_ring { (corner(0.0, 0.0), corner(0.4, 0.45)) } else { (corner(0.6, 0.5), corner(1.0, 1.0)) };
    MarkView::swatch(&Swatch { code: String::new(), outline: boxed(first, last).to_vec() })
}

/// The marks as they were posted.
pub struct Posted {
    /// Of the chart.
    pub chart: [[f64; 2]; 4],
    /// Of her ends; of the ring’s photo nothing that counts.
    pub hair: [[f64; 2]; 4],
    /// The boxes, each with its code.
    pub swatches: Vec<Swatch>,
}

/// A number as it was typed, with a point or a comma.
pub fn number(text: Option<&String>) -> Option<f64> {
    let value: f64 = text?.trim().replace(',', ".").parse().ok()?;
    value.is_finite().then_some(value)
}

/// Reads the corners that were posted under a mark's name.
///
/// *Errors*: a corner that has no place, as a sentence.
fn corners<const N: usize>(typed: &Typed, key: &str, names: &[&str; N], at: usize) -> Result<[[f64; 2]; N], String> {
    let mut result = [[0.0; 2]; N];
    for (i, corner) in result.iter_mut().enumerate() {
        for (k, axis) in ["x", "y"].iter().enumerate() {
            corner[k] = number(typed.all(&format!("{key}.{axis}")).get(at * N + i))
                .ok_or_else(|| format!("The corner “{}” has no place in the photo: move its ring, or type where it is.", names[i]))?;
        }
    }
    Ok(result)
}

/// The marks as they were posted.
///
/// *Errors*: a corner that has no place, as a sentence.
pub fn posted(typed: &Typed, of_ring: bool) -> Result<Posted, String> {
    let chart = corners(typed, "chart", &CHART_CORNERS, 0)?;
    let hair = if of_ring { [[0.0; 2]; 4] } else { corners(typed, "hair", &HAIR_CORNERS, 0)? };
    let mut swatches = Vec::new();
    for (at, code) in typed.all("swatch.code").iter().enumerate() {
        let code: String = code.trim().chars().filter(|c| !c.is_control()).take(24).collect();
        let [first, last] = corners(typed, "swatch", &SWATCH_CORNERS, at)?;
        let (low, high) = bounds(&[first, last]);
        swatches.push(Swatch { code, outline: boxed(low, high).to_vec() });
    }
    Ok(Posted { chart, hair, swatches })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> Typed {
        Typed::posted(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect())
    }

    #[test]
    fn corners_come_back_in_their_order_and_a_missing_one_is_named() {
        let mut pairs = Vec::new();
        for (key, from) in [("chart", 0), ("hair", 100)] {
            for corner in 0..4 {
                pairs.push((format!("{key}.x"), format!("{}", from + corner)));
                pairs.push((format!("{key}.y"), format!("{},5", from + 10 * corner)));
            }
        }
        let whole = posted(&Typed::posted(pairs.clone()), false).unwrap();
        assert_eq!(whole.chart[2], [2.0, 20.5]);
        assert_eq!(whole.hair[3], [103.0, 130.5]);
        pairs.retain(|(name, value)| name != "chart.y" || value != "30,5");
        let says = posted(&Typed::posted(pairs), false).err().unwrap();
        assert!(says.contains("White patch"), "{says}");
        for nonsense in ["", "NaN", "inf", "left"] {
            assert!(posted(&typed(&[("chart.x", nonsense), ("chart.y", "1")]), false).is_err());
        }
    }

    #[test]
    fn a_box_is_the_same_from_whichever_corner_it_was_drawn() {
        let swatches = |first: [&str; 2], last: [&str; 2]| {
            let mut pairs = vec![("swatch.code", "S05"), ("swatch.x", first[0]), ("swatch.y", first[1])];
            pairs.extend([("swatch.x", last[0]), ("swatch.y", last[1])]);
            for corner in ["0", "1", "2", "3"] {
                pairs.extend([("chart.x", corner), ("chart.y", corner)]);
            }
            posted(&typed(&pairs), true).unwrap().swatches
        };
        assert_eq!(swatches(["10", "20"], ["30", "90"]), swatches(["30", "90"], ["10", "20"]));
        assert_eq!(swatches(["10", "90"], ["30", "20"])[0].outline, [[10.0, 20.0], [30.0, 20.0], [30.0, 90.0], [10.0, 90.0]]);
    }
}
