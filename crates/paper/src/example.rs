//! An invented plan on an invented head, for tests and for looking at papers.

use salon::plan::{KeptFree, MapPair, MapPlan, PlanSide, RowPlan, SitePiece, SitePlan};
use std::collections::BTreeMap;

/// The place of a spot of a parting on an invented flat map.
fn place(along: f64, height: f64) -> MapPair {
    let bend = 0.0016 - 0.000_018 * height;
    [along * (1.0 - 0.000_3 * height), height + bend * along * along]
}

fn level(height: f64, reach: f64) -> Vec<MapPair> {
    (-20..=20).map(|i| place(f64::from(i) / 20.0 * reach, height)).collect()
}

fn oval(middle: MapPair, half: MapPair) -> Vec<MapPair> {
    (0..24)
        .map(|i| {
            let (sin, cos) = (f64::from(i) / 24.0 * std::f64::consts::TAU).sin_cos();
            [middle[0] + half[0] * cos, middle[1] + half[1] * sin]
        })
        .collect()
}

/// The height and the reach of each row, and where its sandwiches stand.
const ROWS: [(f64, f64, &str, &[f64]); 8] = [
    (38.0, 78.0, "nape", &[-46.0, 0.0, 46.0]),
    (52.0, 92.0, "nape", &[-69.0, -23.0, 23.0, 69.0]),
    (66.0, 100.0, "nape", &[-69.0, -23.0, 23.0, 69.0]),
    (82.0, 108.0, "back", &[-82.0, -46.0, 0.0, 46.0, 82.0]),
    (98.0, 112.0, "back", &[-69.0, -23.0, 23.0, 69.0]),
    (114.0, 114.0, "back", &[-84.0, -46.0, 0.0, 46.0, 84.0]),
    (130.0, 112.0, "crown", &[-69.0, -23.0, 23.0, 69.0]),
    (146.0, 108.0, "crown", &[-46.0, 0.0, 46.0]),
];

/// The rows of the example.
pub fn rows() -> Vec<RowPlan> {
    ROWS.iter()
        .zip(1..)
        .map(|((height, reach, zone, _), row)| RowPlan {
            row,
            zone: (*zone).to_owned(),
            parting_above_nape_mm: *height,
            length_mm: 2.0 * reach,
            setting: if row <= 3 { "side_by_side" } else { "brick" }.to_owned(),
        })
        .collect()
}

/// The sites of the example: one shade below, a second above, halves at some ends.
pub fn sites() -> Vec<SitePlan> {
    let mut sites = Vec::new();
    for ((height, _, _, places), row) in ROWS.iter().zip(1..) {
        for (along, count) in places.iter().zip(1..) {
            let half = along.abs() > 80.0;
            let width = if half { 20.0 } else { 40.0 };
            let slice = if half { 15.0 } else { 30.0 };
            sites.push(SitePlan {
                site: format!("B{row}.{count}"),
                row,
                side: match along {
                    a if *a < 0.0 => PlanSide::Left,
                    a if *a > 0.0 => PlanSide::Right,
                    _ => PlanSide::Centre,
                },
                along_mm: *along,
                above_nape_mm: *height,
                width_mm: width,
                piece: SitePiece {
                    shade: if (row + count) % 3 == 0 { "S05" } else { "S07" }.to_owned(),
                    under_shade: (row == 7).then(|| "S02".to_owned()),
                    length_mm: if row < 4 { 500.0 } else { 550.0 },
                    mass_g: if half { 1.25 } else { 2.5 },
                    cut: if half { "half" } else { "full" }.to_owned(),
                },
                slice_width_mm: slice,
                slice_mm: 2.6,
                hairs: 138.0,
                load_mg_per_hair: 36.2,
                traction_index: 64.0,
                coverage: BTreeMap::from([("down".to_owned(), 0.99), ("high_ponytail".to_owned(), 0.962)]),
                clearance_mm: 31.0,
                clearance_to: "nape hairline".to_owned(),
                sigma_mm: 4.0,
                why: vec!["first-parting".to_owned()],
                because: vec!["the first parting is 38 mm above the nape hairline".to_owned()],
                ends_mm: [[0.0; 3]; 2],
                map_mm: [place(along - slice / 2.0, *height), place(along + slice / 2.0, *height)],
            });
        }
    }
    sites
}

/// The flat map of the example.
pub fn map() -> MapPlan {
    let crown_ring = oval([0.0, 196.0], [46.0, 34.0]);
    let mut behind_left: Vec<MapPair> = (0..=10).map(|i| place(-88.0, 20.0 + 8.0 * f64::from(i))).collect();
    behind_left.extend((0..=10).rev().map(|i| [-118.0, 42.0 + 7.0 * f64::from(i)]));
    let behind_right = behind_left.iter().map(|[x, y]| [-x, *y]).collect();
    MapPlan {
        nape_hairline: level(0.0, 100.0),
        front_hairline: vec![
            [-118.0, 92.0], [-138.0, 120.0], [-142.0, 165.0], [-122.0, 205.0], [-92.0, 262.0], [-46.0, 296.0],
            [0.0, 300.0], [46.0, 296.0], [92.0, 262.0], [122.0, 205.0], [142.0, 165.0], [138.0, 120.0], [118.0, 92.0],
        ],
        left_ear: oval([-126.0, 58.0], [12.0, 30.0]),
        right_ear: oval([126.0, 58.0], [12.0, 30.0]),
        midline: (0..=30).map(|i| [0.0, 10.0 * f64::from(i)]).collect(),
        ear_to_ear: (-12..=12).map(|i| { let x = 10.0 * f64::from(i); [x, 222.0 - 0.0092 * x * x] }).collect(),
        crown: [0.0, 178.0],
        ties: BTreeMap::from([("low_ponytail".to_owned(), [0.0, 58.0]), ("high_ponytail".to_owned(), [0.0, 172.0])]),
        partings: ROWS.iter().map(|(height, reach, ..)| level(*height, *reach)).collect(),
        kept_free: vec![
            KeptFree { reason: "nothing at the back goes higher than the crown".to_owned(), outline: crown_ring },
            KeptFree { reason: "25 mm are kept free from the ear".to_owned(), outline: behind_left },
            KeptFree { reason: "25 mm are kept free from the ear".to_owned(), outline: behind_right },
        ],
        distortion: "Distances along the partings are true to 2 % in the middle and shrink by up to a tenth at the edges; go by the numbers.".to_owned(),
    }
}
