//! The numbers of this chapter.

use measure::{Grade, Rule};

const fn trade(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::CommonPractice, source: "" }
}

const fn choice(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::OurChoice, source: "" }
}

/// How far apart partings are combed as a rule.
pub const ROW_SPACING: Rule = choice(
    "place-row-spacing",
    "Partings that carry a row are 20 mm apart as a rule, so that hair of the head hangs between the rows.",
    20.0,
    (12.0, 40.0),
    "mm",
);
/// How near partings come where the wish needs it.
pub const ROW_SPACING_LEAST: Rule = choice(
    "place-row-spacing-least",
    "Where the wish needs it rows come as near as 12 mm; nothing rests between rows nearer than the usual distance.",
    12.0,
    (10.0, 20.0),
    "mm",
);
/// What combing closer costs.
pub const WORTH_CLOSE: Rule = choice(
    "worth-close",
    "A row costs 4 points for every millimetre that it is nearer to the row below than the usual distance.",
    4.0,
    (0.0, 50.0),
    "points/mm",
);
/// Whether a tab may lie across the middle at the back.
pub const ACROSS_MIDDLE: Rule = choice(
    "place-across-middle",
    "The line down the middle parts two sections (T5): no tab lies across it (1 lets an odd tab stand there).",
    0.0,
    (0.0, 1.0),
    "",
);
/// Within which difference of height rows of two sections meet at the line between them.
pub const SECTION_LEVELS: Rule = choice(
    "place-section-levels",
    "Rows on either side of the line from ear to ear whose heights differ by less than 10 mm keep a tab's gap across it.",
    10.0,
    (5.0, 20.0),
    "mm",
);
/// Chance of showing that is marked when nothing is risked.
pub const CARE_CAREFUL_SHOWS: Rule =
    choice("care-careful-shows", "Careful: a bond is marked from a chance of 5 in a hundred that it shows.", 5.0, (1.0, 50.0), "%");
/// Chance of showing that is marked as a rule.
pub const CARE_USUAL_SHOWS: Rule =
    choice("care-usual-shows", "Usual care: a bond is marked from a chance of 10 in a hundred that it shows.", 10.0, (1.0, 50.0), "%");
/// Chance of showing that is marked when more is dared.
pub const CARE_BOLD_SHOWS: Rule =
    choice("care-bold-shows", "Bold: a bond is marked from a chance of 25 in a hundred that it shows.", 25.0, (1.0, 50.0), "%");
/// Load when nothing is risked.
pub const CARE_CAREFUL_LOAD: Rule =
    choice("care-careful-load", "Careful: a slice is given 0.8 times the load of usual care.", 0.8, (0.5, 1.0), "times");
/// Load when more is dared.
pub const CARE_BOLD_LOAD: Rule =
    choice("care-bold-load", "Bold: a slice is given 1.25 times the load of usual care.", 1.25, (1.0, 1.6), "times");
/// Free parting between neighbours.
pub const TAB_GAP: Rule = choice("place-tab-gap", "Between two tabs in a row 5 mm of parting stay free.", 5.0, (2.0, 20.0), "mm");
/// Rows side by side before brick begins.
pub const PLAIN_ROWS: Rule = trade(
    "place-plain-rows",
    "The first two or three rows are set side by side; from there on rows are set in brick (T10).",
    2.0,
    (2.0, 3.0),
    "rows",
);
/// Which rows stand in brick with each other.
pub const BRICK_WITHIN: Rule =
    choice("place-brick-within", "Rows less than 40 mm apart stand in brick with each other.", 40.0, (20.0, 60.0), "mm");
/// How far brick is shifted.
pub const BRICK_OFFSET: Rule = choice(
    "place-brick-offset",
    "In brick the middle of a tab is at least 10 mm aside of the middle of any tab in the row below.",
    10.0,
    (5.0, 20.0),
    "mm",
);
/// Which earlier slices took the same hair.
pub const REST_REACH: Rule =
    choice("place-rest-reach", "A slice within 10 mm above or below an earlier one takes the same hair.", 10.0, (3.0, 20.0), "mm");
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
    "The first row is set under the first section: on the lowest parting that keeps clear of the whole level nape hairline, or at most 5 mm above it (T6).",
    5.0,
    (0.0, 20.0),
    "mm",
);
/// Room for error in what is measured along the skin.
pub const SKIN_SLACK: Rule = choice(
    "place-skin-slack",
    "Every clearance is kept with 1 mm to spare, for what a line along the skin can be off.",
    1.0,
    (0.0, 5.0),
    "mm",
);
/// What a lighter piece weighs.
pub const LIGHTER_PIECE: Rule =
    choice("way-lighter-piece", "Where a plan stops short, pieces of 0.8 times the mass are tried.", 0.8, (0.5, 0.95), "times");
/// What the lightest piece weighs.
pub const LIGHTEST_PIECE: Rule = choice("way-lightest-piece", "No piece lighter than 1 g is proposed.", 1.0, (0.3, 2.5), "g");
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
    "Every sandwich costs 40 points, one of halves 20: of two layouts that give the wish, the one of fewer pieces is better.",
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
    "A bond costs 3 points for every chance in a hundred that it shows, in the style that hides it least.",
    3.0,
    (0.0, 20.0),
    "points per %",
);
/// What load costs.
pub const WORTH_LOAD: Rule = choice(
    "worth-load",
    "A slice at the limit of the traction index costs 60 points, a lighter one in proportion.",
    60.0,
    (0.0, 300.0),
    "points",
);
/// What load beyond the mark costs.
pub const WORTH_STRAIN: Rule = choice(
    "worth-strain",
    "A slice that carries more than is marked costs up to 100 points more, as much at the end of what anyone sets.",
    100.0,
    (0.0, 500.0),
    "points",
);
/// What standing nearer a border than is wished costs.
pub const WORTH_NEAR: Rule = choice(
    "worth-near",
    "Where more clearance is wished for, a site at the floor costs 30 points, falling to none at the wished clearance.",
    30.0,
    (0.0, 200.0),
    "points",
);
/// What an untidy row costs.
pub const WORTH_NEAT: Rule = choice(
    "worth-neat",
    "A row costs 1 point for every 2.5 mm that its first tab stands off the line where it starts, and for every 2.5 mm that its gaps are wider than they need be.",
    1.0,
    (0.0, 10.0),
    "points",
);
/// What a row of a single sandwich costs.
pub const WORTH_ALONE: Rule = choice(
    "worth-alone",
    "A row that holds one sandwich on a side where another would take two costs 25 points.",
    25.0,
    (0.0, 200.0),
    "points",
);
/// What hair at the back that belongs to the sides costs.
pub const WORTH_SPREAD: Rule = choice(
    "worth-spread",
    "Every gram that the sides have less or more than their share of the room costs 12 points.",
    12.0,
    (0.0, 80.0),
    "points per g",
);
/// From how many sandwiches on the sides carry too.
pub const SIDES_FROM: Rule = choice(
    "place-sides-from",
    "In a set for length of 20 sandwiches and more each side section carries at least one, unless a floor forbids it.",
    20.0,
    (0.0, 60.0),
    "sandwiches",
);
/// What using hair again costs.
pub const WORTH_REST: Rule =
    choice("worth-rest", "A slice in hair that carried one at the last visit costs 250 points.", 250.0, (0.0, 1000.0), "points");
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
    "Every gram short of the wish costs 120 points: more than any caution, so that what a caution marks is still offered.",
    120.0,
    (10.0, 500.0),
    "points per g",
);

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[
    &ROW_SPACING,
    &ROW_SPACING_LEAST,
    &TAB_GAP,
    &ACROSS_MIDDLE,
    &SECTION_LEVELS,
    &PLAIN_ROWS,
    &BRICK_WITHIN,
    &BRICK_OFFSET,
    &REST_REACH,
    &REST_VISITS,
    &BOW,
    &FIRST_PARTING,
    &SKIN_SLACK,
    &LIGHTER_PIECE,
    &LIGHTEST_PIECE,
    &DENSE_FROM,
    &WORTH_SANDWICH,
    &WORTH_ROW,
    &WORTH_CUT,
    &WORTH_COVER,
    &WORTH_LOAD,
    &WORTH_STRAIN,
    &WORTH_NEAR,
    &WORTH_NEAT,
    &WORTH_ALONE,
    &WORTH_CLOSE,
    &WORTH_SPREAD,
    &WORTH_REST,
    &WORTH_REST_OLDER,
    &WORTH_LONE,
    &WORTH_REACH,
    &WORTH_ORDER,
    &TOP_FREE,
    &SIDES_FROM,
    &WORTH_SHORT,
    &CARE_CAREFUL_SHOWS,
    &CARE_USUAL_SHOWS,
    &CARE_BOLD_SHOWS,
    &CARE_CAREFUL_LOAD,
    &CARE_BOLD_LOAD,
];
