//! An invented plan on an invented head, for tests and for looking at papers.

use craft::aftercare::{Worn, sheet};
use craft::steps::{RowToSet, SiteToSet, Visit, run_sheet};
use craft::suitability::answers::{Answers, Ends, HotTools, Oil};
use craft::suitability::judge;
use measure::{Currency, Length, Money, RuleBook};
use salon::Fault;
use salon::plan::{
    ColourPlan, HairPlan, HeadPlan, KeptFree, LandmarksPlan, MapPair, MapPlan, Plan, PlanSide, QuantityPlan,
    RetapePlan, RowPlan, SitePiece, SitePlan,
};
use salon::quote::{QuoteCase, quote};
use salon::stock::{Need, OnHand, Order, Pack, StockLength, Supplier, buy};
use std::collections::BTreeMap;

/// The whole invented plan.
pub fn plan() -> Plan {
    let book = RuleBook::standard();
    let (rows, sites) = (rows(), sites());
    let verdict = judge(&Answers::default(), &book);
    let eur = Currency::new("EUR").expect("a currency");
    let order = order(eur);
    let bought = buy(&order).expect("the packs meet the need");
    let case = QuoteCase {
        currency: eur,
        hour: Some(Money::minor(6000, eur)),
        tape_tab: Some(Money::minor(35, eur)),
        hair: Some((&bought, &order)),
        sandwiches: sites.len() as u32,
        pieces: 60,
        worn: 49,
        budget: Some(Money::minor(30_000, eur)),
    };
    let worn = Worn {
        limits: &verdict.limits,
        oil: Oil::Oily,
        swims: true,
        hot_tools: HotTools::Daily,
        due: 49,
        closes: 56,
        hairs: 138.0,
        loose: 6.6,
    };
    Plan {
        set_by_hand: None,
        others: Vec::new(),
        colour: ColourPlan {
            mix_de00: Some(0.42),
            shades_lab_d65: BTreeMap::from([
                ("S02".to_owned(), [62.0, 8.0, 28.0]),
                ("S05".to_owned(), [32.0, 8.0, 19.0]),
                ("S07".to_owned(), [18.0, 5.0, 8.0]),
            ]),
            shade_names: BTreeMap::from([("S02".to_owned(), "Corn".to_owned()), ("S05".to_owned(), "Hazel".to_owned())]),
            notes: vec!["The match holds in daylight and shop light.".to_owned()],
            ..ColourPlan::default()
        },
        quantity: QuantityPlan {
            added_g: 150.0,
            wished_g: 140.0,
            wished_g_low: 118.0,
            wished_g_high: 171.0,
            pieces: 60,
            sandwiches: sites.len() as u32,
            notes: vec!["The packing of a ponytail is taken as one half; her own may differ by a fifth.".to_owned()],
            ..QuantityPlan::default()
        },
        quote: Some(quote(&case, &book)),
        buy: Some(bought),
        steps: steps(&rows, &sites, &verdict.limits, &book),
        aftercare: Some(sheet(&worn, &book)),
        retape: Some(RetapePlan {
            due: 49,
            window: [42, 56],
            because: vec!["A set is re-taped every 6 to 8 weeks.".to_owned()],
        }),
        faults: vec![Fault::new("the highest row is left out", "crown", "coverage", "Tie the hair lower, or wear it down.")],
        limits: verdict.limits.clone(),
        warnings: vec!["The head's length was not measured: places are less sure.".to_owned()],
        head: HeadPlan::default(),
        hair: HairPlan::default(),
        map: map(),
        landmarks_mm: LandmarksPlan::default(),
        seed: 1,
        verdict,
        rows,
        sites,
    }
}

fn steps(rows: &[RowPlan], sites: &[SitePlan], limits: &craft::suitability::Limits, book: &RuleBook) -> Vec<craft::steps::Step> {
    let rows: Vec<RowToSet> = rows
        .iter()
        .map(|row| RowToSet {
            row: row.row,
            zone: row.zone.clone(),
            above_nape: Length::mm(row.parting_above_nape_mm),
            up_midline: Length::mm(row.start_mm()),
            brick: row.setting == "brick",
        })
        .collect();
    let sites: Vec<SiteToSet> = sites
        .iter()
        .map(|site| SiteToSet {
            site: site.site.clone(),
            row: site.row,
            side: site.side.words().to_owned(),
            along: Length::mm(site.along_mm),
            width: Length::mm(site.width_mm),
            slice_width: Length::mm(site.slice_width_mm),
            slice: Length::mm(site.slice_mm),
            shade: site.piece.shade.clone(),
            length: Length::mm(site.piece.length_mm),
            half: site.piece.cut == "half",
            single_sided: site.single_sided,
        })
        .collect();
    run_sheet(
        &Visit { rows: &rows, sites: &sites, limits, ends: Ends::Blunt, oil: Oil::Oily, off_scalp: Length::mm(5.0) },
        book,
    )
}

fn order(currency: Currency) -> Order {
    let length = |mm| StockLength::mm(mm).expect("a length");
    let pack = |shade: &str, mm, price_minor| Pack {
        id: format!("P-{shade}-{mm}"),
        supplier: "North".to_owned(),
        shade: shade.to_owned(),
        length_mm: length(mm),
        pieces: 20,
        price_minor,
        available: None,
    };
    let need = |shade: &str, mm, pieces| Need { shade: shade.to_owned(), length_mm: length(mm), pieces };
    Order {
        need: vec![need("S07", 500.0, 14), need("S07", 550.0, 22), need("S05", 500.0, 8)],
        on_hand: vec![OnHand { lot: "L-118".to_owned(), shade: "S07".to_owned(), length_mm: length(500.0), pieces: 6 }],
        packs: vec![pack("S07", 500.0, 8900), pack("S07", 550.0, 9900), pack("S05", 500.0, 8900)],
        suppliers: vec![Supplier { id: "North".to_owned(), shipping_minor: 1200, free_over_minor: None }],
        currency,
    }
}

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
            up_midline_mm: Some(height + (height / 50.0).round()),
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
                single_sided: false,
                slice_width_mm: slice,
                slice_mm: 2.6,
                hairs: 138.0,
                load_mg_per_hair: 36.2,
                traction_index: 64.0,
                coverage: BTreeMap::from([("down".to_owned(), 0.99), ("high_ponytail".to_owned(), 0.962)]),
                clearance_mm: 31.0,
                gaps: std::collections::BTreeMap::new(),
                clearance_to: "the nape hairline".to_owned(),
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
