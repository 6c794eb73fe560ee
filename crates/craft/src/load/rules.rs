//! The rules of what a slice bears.

use measure::{Grade, Rule};

/// Distance of the bond from the scalp when set.
pub const BOND_OFF_SCALP: Rule = Rule {
    id: "load-bond-off-scalp",
    says: "The bond sits 5 mm off the scalp (T9).",
    value: 5.0,
    range: (4.0, 10.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Thinnest slice the trade takes.
pub const SLICE_LEAST: Rule = Rule {
    id: "load-slice-least",
    says: "A slice is at least 2 mm thick.",
    value: 2.0,
    range: (1.0, 3.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Thickest slice that anyone takes.
pub const SLICE_MOST: Rule = Rule {
    id: "load-slice-most",
    says: "A slice is never thicker than 6 mm, however sparse her hair is, nor than half the way to the next row.",
    value: 6.0,
    range: (3.0, 6.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};
/// How far a load may pass its caution at all.
pub const LOAD_END: Rule = Rule {
    id: "load-end",
    says: "A slice that carries more than 1.6 times what usual care marks is not set: that is beyond what anyone does.",
    value: 1.6,
    range: (1.0, 2.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};
/// How much must be seen through a slice.
pub const SEE_THROUGH: Rule = Rule {
    id: "load-see-through",
    says: "A slice is fine enough to see through: at least half of what lies behind it shows (T8).",
    value: 0.5,
    range: (0.3, 0.8),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How much of the tab must hold on the other tab.
pub const CONTACT: Rule = Rule {
    id: "load-contact",
    says: "On at least 0.7 of the tab adhesive meets adhesive.",
    value: 0.7,
    range: (0.6, 0.85),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// The hanging weight that a strand carries at most.
pub const STATIC_LIMIT: Rule = Rule {
    id: "load-static-limit",
    says: "A strand carries hanging at most 25 times the weight of 50 cm of itself.",
    value: 25.0,
    range: (10.0, 40.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};
/// The pull on the worst strand of a tugged bond.
pub const TUG_LIMIT: Rule = Rule {
    id: "load-tug-limit",
    says: "When the bond is tugged, no strand feels more than 19.4 gf, the pull that all but one in twenty of well-nourished people's hairs withstand.",
    value: 19.4,
    range: (10.0, 25.0),
    unit: "gf",
    grade: Grade::Measured,
    source: "chase1981",
};
/// The tug a sandwich is judged by.
pub const TUG: Rule = Rule {
    id: "load-tug",
    says: "A sandwich of 5 g is judged by a tug of 500 gf, a heavier one by more in proportion.",
    value: 500.0,
    range: (250.0, 1000.0),
    unit: "gf",
    grade: Grade::OurChoice,
    source: "",
};
/// Stiffness of one strand between scalp and bond.
pub const STIFFNESS: Rule = Rule {
    id: "load-stiffness",
    says: "A strand between scalp and bond gives way by one millimetre under 0.19 N.",
    value: 190.0,
    range: (100.0, 400.0),
    unit: "N/m",
    grade: Grade::OurChoice,
    source: "",
};
/// Slack between strands that no thickness or growth explains.
pub const SLACK: Rule = Rule {
    id: "load-slack",
    says: "The strands of a combed slice differ in free length by 0.3 mm.",
    value: 0.3,
    range: (0.1, 1.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};
/// The angle at which the slice stands to the scalp.
pub const SLICE_ANGLE: Rule = Rule {
    id: "load-slice-angle",
    says: "A slice is held at 30 degrees to the scalp, so its upper strands are longer by half its thickness.",
    value: 30.0,
    range: (10.0, 60.0),
    unit: "degrees",
    grade: Grade::OurChoice,
    source: "",
};
/// Slack that grows with the distance from the scalp.
pub const SLACK_GROWTH: Rule = Rule {
    id: "load-slack-growth",
    says: "Each centimetre between scalp and bond adds 0.3 mm of difference in free length.",
    value: 0.3,
    range: (0.0, 1.0),
    unit: "mm/cm",
    grade: Grade::OurChoice,
    source: "",
};
/// Index from which a site is shown in amber.
pub const INDEX_AMBER: Rule = Rule {
    id: "load-index-amber",
    says: "From a traction index of 70 a site is shown as one to watch.",
    value: 70.0,
    range: (40.0, 100.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Index above which a site is shown in red.
pub const INDEX_RED: Rule = Rule {
    id: "load-index-red",
    says: "Above a traction index of 100 a site is shown as carrying too much.",
    value: 100.0,
    range: (70.0, 120.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// The honest error of the index.
pub const INDEX_ERROR: Rule = Rule {
    id: "load-index-error",
    says: "The traction index may be wrong by 25 points either way: stiffness and tug are known to a factor of two only.",
    value: 25.0,
    range: (15.0, 40.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Hanging load per strand that is shown in green.
pub const Q_GREEN: Rule = Rule {
    id: "load-q-green",
    says: "Up to 30 mg on a strand of 70 um is shown in green; the limit goes with the square of the diameter.",
    value: 30.0,
    range: (15.0, 45.0),
    unit: "mg",
    grade: Grade::OurChoice,
    source: "",
};
/// Hanging load per strand above which it is shown in red.
pub const Q_RED: Rule = Rule {
    id: "load-q-red",
    says: "Above 50 mg on a strand of 70 um is shown in red; the limit goes with the square of the diameter.",
    value: 50.0,
    range: (30.0, 80.0),
    unit: "mg",
    grade: Grade::OurChoice,
    source: "",
};
/// Limits on bleached or relaxed hair.
pub const PROCESSED_FACTOR: Rule = Rule {
    id: "load-processed",
    says: "On bleached or relaxed hair the load limits stand at 0.75: traction on chemically processed hair was found with three times the odds of harm.",
    value: 0.75,
    range: (0.4, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "khumalo2008",
};
/// Limits on coloured hair.
pub const COLOURED_FACTOR: Rule = Rule {
    id: "load-coloured",
    says: "On coloured hair that was not lightened the load limits stand at 0.9.",
    value: 0.9,
    range: (0.6, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Limits at temples and front.
pub const EDGE_REGION_FACTOR: Rule = Rule {
    id: "load-edge-region",
    says: "At the temples and the front, where harm by traction begins, the load limits stand at 0.9.",
    value: 0.9,
    range: (0.5, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "akingbola2017",
};
/// Hanging load when the hair is drawn across its growth.
pub const PULL_ACROSS: Rule = Rule {
    id: "load-pull-across",
    says: "Drawn across its growth a strand feels 1.3 times the hanging weight.",
    value: 1.3,
    range: (1.0, 2.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};
/// Hanging load when the hair is drawn against its growth.
pub const PULL_AGAINST: Rule = Rule {
    id: "load-pull-against",
    says: "Drawn up against its growth a strand feels 1.6 times the hanging weight.",
    value: 1.6,
    range: (1.0, 2.5),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[
    &BOND_OFF_SCALP,
    &SLICE_LEAST,
    &SLICE_MOST,
    &LOAD_END,
    &SEE_THROUGH,
    &CONTACT,
    &STATIC_LIMIT,
    &TUG_LIMIT,
    &TUG,
    &STIFFNESS,
    &SLACK,
    &SLICE_ANGLE,
    &SLACK_GROWTH,
    &INDEX_AMBER,
    &INDEX_RED,
    &INDEX_ERROR,
    &Q_GREEN,
    &Q_RED,
    &PROCESSED_FACTOR,
    &COLOURED_FACTOR,
    &EDGE_REGION_FACTOR,
    &PULL_ACROSS,
    &PULL_AGAINST,
];
