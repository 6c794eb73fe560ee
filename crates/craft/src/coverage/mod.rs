//! What hides a bond: hair rooted upstream of the slice, lying over it in a style.
//!
//! In every style each hair lies along a flow line of the skin: towards the tie,
//! or off the part and down. The hair that passes over a place is all that is
//! rooted upstream of it between two neighbouring lines, over the distance
//! between them there (`sheet`). Only hair rooted upstream of the *slice* lies
//! over the bond; what is rooted between slice and bond comes out beneath it.
//! So the roots are summed down to the slice, and spread over the width of the
//! lines at the bond's near edge.
//!
//! Legend: `F` flux, strands per centimetre of width; `d` strand diameter;
//! optical depth `tau = kappa F d`; coverage `C = 1 - exp(-tau)` (strands lying
//! independently of each other hide as Beer and Lambert's law says).
//!
//! *Accuracy*: the tracing meets every closed form on sphere and spheroid within
//! 0.05 %. What is *shown* by a given coverage is another matter: the threshold
//! is one number fitted to the trade's inch for medium hair, and each salon
//! corrects it from what was seen at the chair ([`refit_threshold`]).

mod check;
mod floors;
mod gaps;
mod sheet;
mod style;
mod threshold;
mod trace;

pub use crate::suitability::answers::{Part, Style, TiesUp};
pub use check::{CaseFault, CheckStyle, CheckedCoverage, CoverageCase, SurfaceCase, check_coverage};
pub use floors::{Floors, clearance_for_threshold, clearance_wished, floors};
pub use gaps::{CLUMP, CLUMP_PACKING, GAP_SEEN, gaps_seen};
pub use style::{Covering, StyleFlow};
pub use threshold::{Seen, SeenFault, Threshold, chance_of_showing, depth_at_chance, refit_threshold};

use measure::{Grade, Rule};

/// From how many bonds looked at a salon's own threshold means something.
pub const LOOKS_ENOUGH: Rule = Rule {
    id: "coverage-looks-enough",
    says: "Fewer than twelve bonds looked at move a salon's own threshold by chance as much as by truth.",
    value: 12.0,
    range: (3.0, 100.0),
    unit: "bonds",
    grade: Grade::OurChoice,
    source: "",
};
/// How much of a bond one strand over it hides.
pub const KAPPA: Rule = Rule {
    id: "coverage-kappa",
    says: "A strand over the bond hides its own width; strands lie independently of each other.",
    value: 1.0,
    range: (0.5, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// The optical depth from which a bond is taken as hidden.
pub const THRESHOLD: Rule = Rule {
    id: "coverage-threshold",
    says: "At an optical depth of 3.0 (a coverage of 0.95) one bond in ten shows: fitted so that medium hair asks for about an inch, and refitted from what shows at the chair.",
    value: 3.0,
    range: (1.5, 6.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Over which hair grows dense inside the hairline.
pub const HAIRLINE_RAMP: Rule = Rule {
    id: "coverage-hairline-ramp",
    says: "Inside the hairline hair grows to its full density over 10 mm.",
    value: 10.0,
    range: (0.0, 20.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};
/// How far the part stands from the middle when it is worn at a side.
pub const SIDE_PART: Rule = Rule {
    id: "coverage-side-part",
    says: "A part worn left or right stands 35 mm from the middle.",
    value: 35.0,
    range: (15.0, 60.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Clearance at the nape when hair is worn up.
pub const NAPE_FLOOR: Rule = Rule {
    id: "coverage-nape-floor",
    says: "When hair is worn tied, nothing is set in the first 38 mm above the nape hairline (T6).",
    value: 38.0,
    range: (30.0, 60.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Clearance at the nape when hair is never tied.
pub const NAPE_FLOOR_DOWN: Rule = Rule {
    id: "coverage-nape-floor-down",
    says: "When hair is never tied, nothing is set in the first 25 mm above the nape hairline.",
    value: 25.0,
    range: (20.0, 50.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};
/// Clearance from the ears.
pub const EAR_FLOOR: Rule = Rule {
    id: "coverage-ear-floor",
    says: "25 mm are kept from the ear (T12).",
    value: 25.0,
    range: (20.0, 60.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Clearance from the hairline at the sides.
pub const SIDE_FLOOR: Rule = Rule {
    id: "coverage-side-floor",
    says: "At least 25 mm are kept from the hairline along the sides (T12).",
    value: 25.0,
    range: (20.0, 60.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// More clearance for fine or often tied hair.
pub const FINE_OR_TIED: Rule = Rule {
    id: "coverage-fine-or-tied",
    says: "When hair is fine or often tied up, 1.2 times the clearance is wished for at ears and side hairline; a site nearer is marked (T12).",
    value: 1.2,
    range: (1.0, 2.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};
/// How far above the crown a piece may be set at the back.
pub const CROWN_CEILING: Rule = Rule {
    id: "coverage-crown-ceiling",
    says: "At the back nothing is set higher than the crown (T11).",
    value: 0.0,
    range: (-40.0, 0.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Chance of showing that the threshold stands for.
pub const SHOWING_CHANCE: Rule = Rule {
    id: "coverage-showing-chance",
    says: "At the threshold one bond in ten shows.",
    value: 0.10,
    range: (0.02, 0.5),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Beyond which chance of showing a bond is not set.
pub const SHOWING_END: Rule = Rule {
    id: "coverage-showing-end",
    says: "A bond that is more likely than not to show in a style she wears is not set.",
    value: 0.5,
    range: (0.3, 0.8),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How sure the threshold is before anything was seen.
pub const THRESHOLD_SPREAD: Rule = Rule {
    id: "coverage-threshold-spread",
    says: "Before anything was seen at the chair the threshold is right within 30 % (one standard deviation).",
    value: 30.0,
    range: (10.0, 60.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// How sharply showing falls with depth, before anything was seen.
pub const STEEPNESS: Rule = Rule {
    id: "coverage-steepness",
    says: "Before anything was seen, the odds of showing fall with the fifth power of the optical depth.",
    value: 5.0,
    range: (2.0, 12.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[
    &KAPPA,
    &THRESHOLD,
    &HAIRLINE_RAMP,
    &SIDE_PART,
    &NAPE_FLOOR,
    &NAPE_FLOOR_DOWN,
    &EAR_FLOOR,
    &SIDE_FLOOR,
    &FINE_OR_TIED,
    &CROWN_CEILING,
    &SHOWING_CHANCE,
    &SHOWING_END,
    &THRESHOLD_SPREAD,
    &STEEPNESS,
    &LOOKS_ENOUGH,
    &CLUMP,
    &CLUMP_PACKING,
    &GAP_SEEN,
];
