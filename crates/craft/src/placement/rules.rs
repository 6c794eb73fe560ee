//! The numbers of this chapter.

use measure::{Grade, Rule};

const fn trade(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::CommonPractice, source: "" }
}

const fn choice(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::OurChoice, source: "" }
}

/// How far apart partings are combed.
pub const ROW_SPACING: Rule = choice(
    "place-row-spacing",
    "Partings that carry a row are at least 20 mm apart, so that hair of the head hangs between the rows.",
    20.0,
    (10.0, 40.0),
    "mm",
);
/// Free parting between neighbours.
pub const TAB_GAP: Rule = choice(
    "place-tab-gap",
    "Between two tabs in a row 5 mm of parting stay free.",
    5.0,
    (2.0, 20.0),
    "mm",
);
/// Rows side by side before brick begins.
pub const PLAIN_ROWS: Rule = trade(
    "place-plain-rows",
    "The first two or three rows are set side by side; from there on rows are set in brick (T10).",
    2.0,
    (2.0, 3.0),
    "rows",
);
/// Which rows stand in brick with each other.
pub const BRICK_WITHIN: Rule = choice(
    "place-brick-within",
    "Rows less than 40 mm apart stand in brick with each other.",
    40.0,
    (20.0, 60.0),
    "mm",
);
/// How far brick is shifted.
pub const BRICK_OFFSET: Rule = choice(
    "place-brick-offset",
    "In brick the middle of a tab is at least 10 mm aside of the middle of any tab in the row below.",
    10.0,
    (5.0, 20.0),
    "mm",
);
/// Which earlier slices took the same hair.
pub const REST_REACH: Rule = choice(
    "place-rest-reach",
    "A slice within 10 mm above or below an earlier one takes the same hair.",
    10.0,
    (3.0, 20.0),
    "mm",
);
/// How often the same hair may be used.
pub const REST_VISITS: Rule = trade(
    "place-rest-visits",
    "Hair that carried a slice at both of the last two visits rests at this one; after one visit it rests where the layout allows.",
    2.0,
    (1.0, 2.0),
    "visits running",
);
/// How far a parting may bow under a tab.
pub const BOW: Rule = choice(
    "place-bow",
    "Partings are clean straight lines (T14): under one tab the parting bows by at most 5 mm, the roundness of the head included.",
    5.0,
    (2.0, 10.0),
    "mm",
);
/// Where the first row lies.
pub const FIRST_PARTING: Rule = trade(
    "place-first-parting",
    "The first row is set under the first section: on the lowest parting that takes a whole piece, or at most 5 mm above it (T6).",
    5.0,
    (0.0, 20.0),
    "mm",
);
/// The most rows on a head.
pub const ROWS_MOST: Rule = choice("place-rows-most", "No head takes more than 10 rows.", 10.0, (2.0, 14.0), "rows");
/// Room for error in what is measured along the skin.
pub const SKIN_SLACK: Rule = choice(
    "place-skin-slack",
    "Every clearance is kept with 1 mm to spare, for what a line along the skin can be off.",
    1.0,
    (0.0, 5.0),
    "mm",
);
/// Less than which share of the mean density is not dense.
pub const DENSE_FROM: Rule = choice(
    "place-dense-from",
    "Where pieces may only go into dense hair, a region counts as dense from 0.95 of the head's mean density.",
    0.95,
    (0.8, 1.1),
    "of the mean",
);
/// What a sandwich costs.
pub const WORTH_SANDWICH: Rule = choice(
    "worth-sandwich",
    "Every sandwich costs 40 points: of two layouts that give the wish, the one of fewer pieces is better.",
    40.0,
    (0.0, 200.0),
    "points",
);
/// What a row costs.
pub const WORTH_ROW: Rule = choice(
    "worth-row",
    "Every parting that must be combed and set costs 50 points; the lowest is combed anyway and costs nothing.",
    50.0,
    (0.0, 200.0),
    "points",
);
/// What cutting a piece costs.
pub const WORTH_CUT: Rule = choice(
    "worth-cut",
    "A sandwich of halves costs 14 points more: a piece is cut, and two halves take longer to set than a whole one.",
    14.0,
    (0.0, 100.0),
    "points",
);
/// What thin cover costs.
pub const WORTH_COVER: Rule = choice(
    "worth-cover",
    "A bond hidden only just enough in a style costs 30 points in that style, falling to none at twice the threshold.",
    30.0,
    (0.0, 200.0),
    "points",
);
/// What load costs.
pub const WORTH_LOAD: Rule = choice(
    "worth-load",
    "A slice at the limit of the traction index costs 60 points, a lighter one in proportion.",
    60.0,
    (0.0, 300.0),
    "points",
);
/// What using hair again costs.
pub const WORTH_REST: Rule = choice(
    "worth-rest",
    "A slice in hair that carried one at the last visit costs 250 points.",
    250.0,
    (0.0, 1000.0),
    "points",
);
/// The older visit's part of it.
pub const WORTH_REST_OLDER: Rule = choice(
    "worth-rest-older",
    "A slice in hair that carried one at the visit before the last costs 60 points.",
    60.0,
    (0.0, 1000.0),
    "points",
);
/// What a piece without its mirror image costs.
pub const WORTH_LONE: Rule = choice(
    "worth-lone",
    "A sandwich without its mirror image costs 40 points where the other side would take one.",
    40.0,
    (0.0, 200.0),
    "points",
);
/// What a place that is hard to reach costs.
pub const WORTH_REACH: Rule = choice(
    "worth-reach",
    "A sandwich before the ears costs 10 points: flat pliers reach it less well, and it is seen sooner.",
    10.0,
    (0.0, 100.0),
    "points",
);
/// What height costs.
pub const WORTH_ORDER: Rule = choice(
    "worth-order",
    "Work starts at the nape: a sandwich costs 2 points for every 10 mm of height above the lowest parting.",
    2.0,
    (0.0, 20.0),
    "points per 10 mm",
);
/// The top of the head.
pub const TOP_FREE: Rule = choice(
    "place-top-free",
    "Before the ears nothing is set above the horseshoe line: the top is seen from above and parted anew every day (0 lifts this).",
    1.0,
    (0.0, 1.0),
    "",
);
/// What falling short of the wish costs.
pub const WORTH_SHORT: Rule = choice(
    "worth-short",
    "Every gram short of the wish costs 80 points.",
    80.0,
    (10.0, 500.0),
    "points per g",
);

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[
    &ROW_SPACING,
    &TAB_GAP,
    &PLAIN_ROWS,
    &BRICK_WITHIN,
    &BRICK_OFFSET,
    &REST_REACH,
    &REST_VISITS,
    &BOW,
    &FIRST_PARTING,
    &ROWS_MOST,
    &SKIN_SLACK,
    &DENSE_FROM,
    &WORTH_SANDWICH,
    &WORTH_ROW,
    &WORTH_CUT,
    &WORTH_COVER,
    &WORTH_LOAD,
    &WORTH_REST,
    &WORTH_REST_OLDER,
    &WORTH_LONE,
    &WORTH_REACH,
    &WORTH_ORDER,
    &TOP_FREE,
    &WORTH_SHORT,
];
