//! An invented plan on an invented head, for tests and for looking at papers;
//! the same as plans were kept before their rows stood in sections.

use craft::aftercare::{Worn, sheet};
use craft::coverage::Style;
use craft::piece::{Cut, Setting};
use craft::placement::{Degree, HeadPart, RowSetting};
use craft::steps::{RowToSet, SiteToSet, Visit, run_sheet};
use craft::suitability::answers::{Answers, Ends, HotTools, Oil};
use craft::suitability::judge;
use head::{Border, Panel};
use measure::{Currency, Grams, Length, Money, RuleBook};
use salon::Fault;
use salon::plan::{
    CautionPlan, ColourPlan, EndMark, HairPlan, HeadPlan, KeptFree, LandmarksPlan, MapPair, MapPlan, PanelPlan, PanelRow, PanelsPlan, Plan,
    PlanSide, QuantityPlan, RetapePlan, RowEnd, RowPlan, RowStart, RowZone, SiteId, SitePiece, SitePlan, StartLine,
};
use salon::quote::{QuoteCase, quote};
use salon::stock::{Need, OnHand, Order, Pack, StockLength, Supplier, buy};
use std::collections::BTreeMap;

/// The whole invented plan.
pub fn plan() -> Plan {
    let mut plan = plan_with(rows(), sites());
    plan.panels = Some(panels());
    plan.row_spacing = Some(Length::mm(20.0));
    let caution =
        |site: &str, degree, what: &str| CautionPlan { site: site.parse().ok(), what: what.into(), rule: "invented".into(), degree };
    plan.cautions = vec![
        caution("B7.1", Degree::MayShow, "It may show when hair is worn in a high ponytail: about 18 chances in a hundred."),
        caution("B1.1", Degree::Heavy, "Its slice carries 1.2 times what is usual for such hair; beyond 1.6 times it would not be set."),
        caution("L1.1", Degree::Watch, "26 mm from the ear: fine or often tied hair would like a little more."),
    ];
    plan
}

/// A plan as it was kept before rows stood in sections.
pub fn plan_of_before() -> Plan {
    let mut plan = plan_with(rows_of_before(), sites_of_before());
    plan.map = Some(map_of_before());
    plan
}

fn plan_with(rows: Vec<RowPlan>, sites: Vec<SitePlan>) -> Plan {
    let book = RuleBook::standard();
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
        again: 0,
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
        again: Vec::new(),
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
            added: Grams::g(150.0),
            wished: Grams::g(140.0),
            wished_low: Grams::g(118.0),
            wished_high: Grams::g(171.0),
            pieces: 60,
            sandwiches: sites.len() as u32,
            notes: vec!["The packing of a ponytail is taken as one half; her own may differ by a fifth.".to_owned()],
            ..QuantityPlan::default()
        },
        quote: Some(quote(&case, &book)),
        buy: Some(bought),
        steps: steps(&rows, &sites, &verdict.limits, &book),
        aftercare: Some(sheet(&worn, &book)),
        retape: Some(RetapePlan { due: 49, window: [42, 56], because: vec!["A set is re-taped every 6 to 8 weeks.".to_owned()] }),
        faults: vec![Fault::new("the highest row is left out", "crown", "coverage", "Tie the hair lower, or wear it down.")],
        limits: verdict.limits.clone(),
        warnings: vec!["The head's length was not measured: places are less sure.".to_owned()],
        head: HeadPlan::default(),
        hair: HairPlan::default(),
        map: None,
        panels: None,
        cautions: Vec::new(),
        row_spacing: None,
        ways: Vec::new(),
        landmarks_mm: LandmarksPlan::default(),
        seed: 1,
        verdict,
        rows,
        sites,
    }
}

fn steps(rows: &[RowPlan], sites: &[SitePlan], limits: &craft::suitability::Limits, book: &RuleBook) -> Vec<craft::steps::Step> {
    let rows: Vec<RowToSet> = rows.iter().map(RowPlan::to_set).collect();
    let sites: Vec<SiteToSet> = sites.iter().map(SitePlan::to_set).collect();
    run_sheet(&Visit { rows: &rows, sites: &sites, limits, ends: Ends::Blunt, oil: Oil::Oily, off_scalp: Length::mm(5.0) }, book)
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

/// A row of the example: section, start, half its length at the back and all of
/// it at a side, its end, and where its sandwiches stand from its line.
type Row = (HeadPart, f64, f64, f64, &'static [f64]);

/// The rows of the example; those of the right are those of the left.
const ROWS: [Row; 13] = [
    (HeadPart::Back, 42.0, 78.0, -42.0, &[-22.5, 22.5]),
    (HeadPart::Back, 62.0, 95.0, -23.0, &[-67.5, -22.5, 22.5, 67.5]),
    (HeadPart::Back, 82.0, 106.0, -3.0, &[-67.5, -22.5, 22.5, 67.5]),
    (HeadPart::Back, 102.0, 112.0, 17.0, &[-80.0, -47.5, -15.0, 15.0, 47.5, 80.0]),
    (HeadPart::Back, 122.0, 113.0, 36.0, &[-67.5, -22.5, 22.5, 67.5]),
    (HeadPart::Back, 142.0, 104.0, 56.0, &[-47.5, -12.5, 12.5, 47.5]),
    (HeadPart::Back, 162.0, 86.0, 77.0, &[-47.5, 47.5]),
    (HeadPart::Left, 26.0, 60.0, 68.0, &[12.5]),
    (HeadPart::Left, 45.0, 64.0, 77.0, &[20.0]),
    (HeadPart::Left, 65.0, 66.0, 85.0, &[10.0]),
    (HeadPart::Right, 26.0, 60.0, 68.0, &[12.5]),
    (HeadPart::Right, 45.0, 64.0, 77.0, &[20.0]),
    (HeadPart::Right, 65.0, 66.0, 85.0, &[10.0]),
];

fn in_section(at: usize) -> u32 {
    ROWS[..=at].iter().filter(|row| row.0 == ROWS[at].0).count() as u32
}

/// The rows of the example.
pub fn rows() -> Vec<RowPlan> {
    ROWS.iter()
        .enumerate()
        .map(|(at, (section, start, reach, end, _))| {
            let back = *section == HeadPart::Back;
            // A side's row lies on the level of a parting of the back.
            let up = if back { *start } else { start + 82.0 };
            RowPlan {
                row: at as u32 + 1,
                name: format!("{}{}", section.letter(), in_section(at)),
                section: Some(*section),
                start: Some(RowStart { on: if back { StartLine::Midline } else { StartLine::EarToEarLine }, up: Length::mm(*start) }),
                end: Some(RowEnd { from: if back { EndMark::EarTop } else { EndMark::EarFront }, away: Length::mm(*end) }),
                ends_behind_ear: back && *end < 0.0,
                zone: if back { RowZone::Back } else { RowZone::Side },
                parting_above_nape: Length::mm(up),
                up_midline: Some(Length::mm(up)),
                length: Length::mm(if back { 2.0 * reach } else { *reach }),
                setting: if in_section(at) <= 3 { RowSetting::SideBySide } else { RowSetting::Brick },
            }
        })
        .collect()
}

/// The sites of the example: two shades, halves where a row has room for no more.
pub fn sites() -> Vec<SitePlan> {
    let mut sites = Vec::new();
    for (at, row) in rows().iter().enumerate() {
        let (section, start, .., places) = &ROWS[at];
        for (from, count) in places.iter().zip(1..) {
            let half = [10.0, 12.5, 15.0, 80.0].contains(&from.abs());
            let sign = if *section == HeadPart::Left { -1.0 } else { 1.0 };
            let (side, along) = match section {
                HeadPart::Back if *from < 0.0 => (PlanSide::Left, *from),
                HeadPart::Back => (PlanSide::Right, *from),
                HeadPart::Left => (PlanSide::Left, -112.0 - from),
                HeadPart::Right => (PlanSide::Right, 112.0 + from),
            };
            let slice = if half { 15.0 } else { 30.0 };
            let x = if *section == HeadPart::Back { *from } else { sign * from };
            sites.push(SitePlan {
                site: format!("{}.{count}", row.name).parse().expect("a site's name"),
                section: Some(*section),
                from_line: Some(Length::mm(from.abs())),
                panel: Some(match section {
                    HeadPart::Back => Panel::Back,
                    HeadPart::Left => Panel::Left,
                    HeadPart::Right => Panel::Right,
                }),
                side,
                along: Length::mm(along),
                above_nape: row.parting_above_nape,
                map_mm: [[x - slice / 2.0, *start], [x + slice / 2.0, *start]],
                ..site(row.row, count, half)
            });
        }
    }
    sites
}

/// A sandwich of the example, without its place.
fn site(row: u32, count: u32, half: bool) -> SitePlan {
    SitePlan {
        site: SiteId::ASKED,
        row,
        section: None,
        from_line: None,
        panel: None,
        side: PlanSide::Centre,
        along: Length::ZERO,
        above_nape: Length::ZERO,
        width: Length::mm(if half { 20.0 } else { 40.0 }),
        piece: SitePiece {
            shade: if (row + count).is_multiple_of(3) { "S05" } else { "S07" }.to_owned(),
            under_shade: (row == 7).then(|| "S02".to_owned()),
            length: Length::mm(if row < 4 { 500.0 } else { 550.0 }),
            mass: Grams::g(if half { 1.25 } else { 2.5 }),
            cut: if half { Cut::Half } else { Cut::Full },
        },
        setting: Setting::Sandwich,
        slice_width: Length::mm(if half { 15.0 } else { 30.0 }),
        slice: Length::mm(2.6),
        hairs: 138.0,
        load_per_hair: Grams::mg(36.2),
        traction_index: 64.0,
        coverage: BTreeMap::from([(Style::Down, 0.99), (Style::HighPonytail, 0.962)]),
        gaps: BTreeMap::new(),
        clearance: Length::mm(31.0),
        clearance_to: Border::NapeHairline,
        sigma: Length::mm(4.0),
        why: vec!["first-parting".to_owned()],
        because: vec!["the first parting is 38 mm above the nape hairline".to_owned()],
        ends_mm: [[0.0; 3]; 2],
        chance_of_showing: Some(0.04),
        map_mm: [[0.0; 2]; 2],
    }
}

/// The three panels of the example.
pub fn panels() -> PanelsPlan {
    let half: [MapPair; 13] = [
        [0.0, 0.0],
        [38.0, 0.0],
        [48.0, 5.0],
        [78.0, 42.0],
        [95.0, 62.0],
        [106.0, 82.0],
        [112.0, 102.0],
        [113.0, 122.0],
        [104.0, 142.0],
        [86.0, 162.0],
        [56.0, 184.0],
        [24.0, 196.0],
        [0.0, 200.0],
    ];
    let mut edge: Vec<MapPair> = half.iter().rev().map(|[x, y]| [-x, *y]).collect();
    edge.extend(&half[1..half.len() - 1]);
    let rows_of = |section: HeadPart, line: &dyn Fn(&Row) -> Vec<MapPair>| {
        (1..).zip(&ROWS).filter(|(_, row)| row.0 == section).map(|(number, row)| PanelRow { row: number, line: line(row) }).collect()
    };
    let ring = oval([0.0, 188.0], [30.0, 8.0]);
    let ear: Vec<MapPair> = oval([112.0, 56.0], [7.0, 30.0]);
    let back = PanelPlan {
        edge,
        axis: vec![[0.0, 0.0], [0.0, 200.0]],
        ears: vec![ear.iter().map(|[x, y]| [-x, *y]).collect(), ear],
        crown: Some([0.0, 174.0]),
        ties: BTreeMap::from([(Style::LowPonytail, [0.0, 58.0]), (Style::HighPonytail, [0.0, 150.0])]),
        shape_only_from: Some(174.0),
        rows: rows_of(HeadPart::Back, &|(_, start, reach, ..)| vec![[-reach, *start], [*reach, *start]]),
        kept_free: vec![KeptFree { reason: "an old scar".to_owned(), outline: ring }],
    };
    let side = |sign: f64, section: HeadPart| PanelPlan {
        edge: [
            [98.0, 66.0],
            [84.0, 62.0],
            [72.0, 66.0],
            [66.0, 56.0],
            [64.0, 40.0],
            [60.0, 22.0],
            [48.0, 6.0],
            [26.0, 1.0],
            [0.0, 0.0],
            [0.0, 26.0],
            [0.0, 65.0],
            [0.0, 98.0],
            [36.0, 97.0],
            [66.0, 88.0],
        ]
        .map(|[x, y]: MapPair| [sign * x, y])
        .to_vec(),
        axis: vec![[0.0, 0.0], [0.0, 98.0]],
        ears: vec![oval([sign * -2.0, -30.0], [18.0, 30.0])],
        shape_only_from: Some(70.0),
        rows: rows_of(section, &|(_, start, reach, ..)| {
            let mut line: Vec<MapPair> = (0..=12).map(|k| [sign * reach * f64::from(k) / 12.0, *start]).collect();
            if sign < 0.0 {
                line.reverse();
            }
            line
        }),
        ..PanelPlan::default()
    };
    PanelsPlan { back, left: side(-1.0, HeadPart::Left), right: side(1.0, HeadPart::Right) }
}

/// The height and the reach of each row, and where its sandwiches stand.
const ROWS_OF_BEFORE: [(f64, f64, RowZone, &[f64]); 8] = [
    (38.0, 78.0, RowZone::Nape, &[-46.0, 0.0, 46.0]),
    (52.0, 92.0, RowZone::Nape, &[-69.0, -23.0, 23.0, 69.0]),
    (66.0, 100.0, RowZone::Nape, &[-69.0, -23.0, 23.0, 69.0]),
    (82.0, 108.0, RowZone::Back, &[-82.0, -46.0, 0.0, 46.0, 82.0]),
    (98.0, 112.0, RowZone::Back, &[-69.0, -23.0, 23.0, 69.0]),
    (114.0, 114.0, RowZone::Back, &[-84.0, -46.0, 0.0, 46.0, 84.0]),
    (130.0, 112.0, RowZone::Crown, &[-69.0, -23.0, 23.0, 69.0]),
    (146.0, 108.0, RowZone::Crown, &[-46.0, 0.0, 46.0]),
];

fn rows_of_before() -> Vec<RowPlan> {
    ROWS_OF_BEFORE
        .iter()
        .zip(1..)
        .map(|((height, reach, zone, _), row)| RowPlan {
            row,
            name: String::new(),
            section: None,
            start: None,
            end: None,
            ends_behind_ear: false,
            zone: *zone,
            parting_above_nape: Length::mm(*height),
            up_midline: Some(Length::mm(height + (height / 50.0).round())),
            length: Length::mm(2.0 * reach),
            setting: if row <= 3 { RowSetting::SideBySide } else { RowSetting::Brick },
        })
        .collect()
}

fn sites_of_before() -> Vec<SitePlan> {
    let mut sites = Vec::new();
    for ((height, _, _, places), row) in ROWS_OF_BEFORE.iter().zip(1..) {
        for (along, count) in places.iter().zip(1..) {
            let half = along.abs() > 80.0;
            let slice = if half { 15.0 } else { 30.0 };
            sites.push(SitePlan {
                site: SiteId::of(HeadPart::Back, row, count),
                side: match along {
                    a if *a < 0.0 => PlanSide::Left,
                    a if *a > 0.0 => PlanSide::Right,
                    _ => PlanSide::Centre,
                },
                along: Length::mm(*along),
                above_nape: Length::mm(*height),
                chance_of_showing: None,
                map_mm: [place(along - slice / 2.0, *height), place(along + slice / 2.0, *height)],
                ..site(row, count, half)
            });
        }
    }
    sites
}

fn map_of_before() -> MapPlan {
    let crown_ring = oval([0.0, 196.0], [46.0, 34.0]);
    let mut behind_left: Vec<MapPair> = (0..=10).map(|i| place(-88.0, 20.0 + 8.0 * f64::from(i))).collect();
    behind_left.extend((0..=10).rev().map(|i| [-118.0, 42.0 + 7.0 * f64::from(i)]));
    let behind_right = behind_left.iter().map(|[x, y]| [-x, *y]).collect();
    MapPlan {
        nape_hairline: level(0.0, 100.0),
        front_hairline: vec![
            [-118.0, 92.0],
            [-138.0, 120.0],
            [-142.0, 165.0],
            [-122.0, 205.0],
            [-92.0, 262.0],
            [-46.0, 296.0],
            [0.0, 300.0],
            [46.0, 296.0],
            [92.0, 262.0],
            [122.0, 205.0],
            [142.0, 165.0],
            [138.0, 120.0],
            [118.0, 92.0],
        ],
        left_ear: oval([-126.0, 58.0], [12.0, 30.0]),
        right_ear: oval([126.0, 58.0], [12.0, 30.0]),
        midline: (0..=30).map(|i| [0.0, 10.0 * f64::from(i)]).collect(),
        ear_to_ear: (-12..=12)
            .map(|i| {
                let x = 10.0 * f64::from(i);
                [x, 222.0 - 0.0092 * x * x]
            })
            .collect(),
        crown: [0.0, 178.0],
        ties: BTreeMap::from([(Style::LowPonytail, [0.0, 58.0]), (Style::HighPonytail, [0.0, 172.0])]),
        partings: ROWS_OF_BEFORE.iter().map(|(height, reach, ..)| level(*height, *reach)).collect(),
        kept_free: vec![
            KeptFree { reason: "nothing at the back goes higher than the crown".to_owned(), outline: crown_ring },
            KeptFree { reason: "25 mm are kept free from the ear".to_owned(), outline: behind_left },
            KeptFree { reason: "25 mm are kept free from the ear".to_owned(), outline: behind_right },
        ],
        distortion:
            "Distances along the partings are true to 2 % in the middle and shrink by up to a tenth at the edges; go by the numbers."
                .to_owned(),
    }
}
