//! The table of rules of the hair's chapter.

use measure::{Grade, Rule};

/// Strands per area over the whole scalp, before anything is known.
pub const DENSITY_START: Rule = Rule {
    id: "hair-density-start",
    says: "Before anything is known, hair stands at 190 strands to the square centimetre.",
    value: 190.0,
    range: (120.0, 260.0),
    unit: "strands/cm2",
    grade: Grade::Handbook,
    source: "loussouarn2016",
};
/// Spread of density between people.
pub const DENSITY_SPREAD: Rule = Rule {
    id: "hair-density-spread",
    says: "Between people density spreads by 35 strands to the square centimetre (one standard deviation).",
    value: 35.0,
    range: (20.0, 60.0),
    unit: "strands/cm2",
    grade: Grade::Measured,
    source: "birnbaum2018",
};
/// How sure a count of strands is.
pub const COUNT_SPREAD: Rule = Rule {
    id: "hair-count-spread",
    says: "A density that the technician counted or judged herself is right within 8 % (one standard deviation).",
    value: 8.0,
    range: (3.0, 15.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// Least density that is taken without a question.
pub const DENSITY_LEAST: Rule = Rule {
    id: "hair-density-least",
    says: "A density below 95 strands to the square centimetre is rarer than any counted in twenty adults.",
    value: 95.0,
    range: (60.0, 120.0),
    unit: "strands/cm2",
    grade: Grade::Measured,
    source: "scc1977density",
};
/// Greatest density that is taken without a question.
pub const DENSITY_MOST: Rule = Rule {
    id: "hair-density-most",
    says: "A density above 300 strands to the square centimetre is beyond the range counted under the microscope.",
    value: 300.0,
    range: (280.0, 350.0),
    unit: "strands/cm2",
    grade: Grade::Handbook,
    source: "barman1965",
};
/// Strand diameter before anything is known.
pub const DIAMETER_START: Rule = Rule {
    id: "hair-diameter-start",
    says: "Before anything is known, a strand is 65 um thick.",
    value: 65.0,
    range: (55.0, 80.0),
    unit: "um",
    grade: Grade::OurChoice,
    source: "rakowska2009",
};
/// Spread of mean strand diameter between people.
pub const DIAMETER_SPREAD: Rule = Rule {
    id: "hair-diameter-spread",
    says: "Between people the mean strand diameter spreads by 18 % (one standard deviation).",
    value: 18.0,
    range: (12.0, 25.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// Middle of the class "fine".
pub const FINE: Rule = Rule {
    id: "hair-strand-fine",
    says: "A fine strand is about 50 um thick (under 60 um).",
    value: 50.0,
    range: (40.0, 60.0),
    unit: "um",
    grade: Grade::CommonPractice,
    source: "",
};
/// Middle of the class "medium".
pub const MEDIUM: Rule = Rule {
    id: "hair-strand-medium",
    says: "A medium strand is about 70 um thick (60 to 80 um).",
    value: 70.0,
    range: (60.0, 80.0),
    unit: "um",
    grade: Grade::CommonPractice,
    source: "",
};
/// Middle of the class "coarse".
pub const COARSE: Rule = Rule {
    id: "hair-strand-coarse",
    says: "A coarse strand is about 90 um thick (over 80 um).",
    value: 90.0,
    range: (80.0, 110.0),
    unit: "um",
    grade: Grade::CommonPractice,
    source: "",
};
/// How sure a class by touch is.
pub const CLASS_SPREAD: Rule = Rule {
    id: "hair-class-spread",
    says: "A strand class judged by touch is right within 9 % of its middle (one standard deviation).",
    value: 9.0,
    range: (5.0, 15.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// How sure an optical width is.
pub const OPTICAL_SPREAD: Rule = Rule {
    id: "hair-optical-spread",
    says: "A width read in an optical instrument is right within 16 %: the same hairs read 41 % wider there than in a calliper, the curl explains only part of it, and the range must hold the rest.",
    value: 16.0,
    range: (8.0, 17.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "eaaps801",
};
/// How sure a calliper reading is.
pub const CALLIPER_SPREAD: Rule = Rule {
    id: "hair-calliper-spread",
    says: "A mean strand diameter by calliper is right within 7 % (one standard deviation).",
    value: 7.0,
    range: (3.0, 12.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// How sure the weighing of a counted bundle is.
pub const WEIGHED_SPREAD: Rule = Rule {
    id: "hair-weighed-spread",
    says: "A strand diameter from the mass of a counted bundle is right within 4 % (one standard deviation).",
    value: 4.0,
    range: (2.0, 8.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// Long axis over short axis of a straight strand's section.
pub const ELLIPSE_STRAIGHT: Rule = Rule {
    id: "hair-ellipse-straight",
    says: "The section of a straight strand is 1.2 times as wide as it is thick.",
    value: 1.2,
    range: (1.0, 1.4),
    unit: "",
    grade: Grade::Handbook,
    source: "robbins2012",
};
/// Long axis over short axis of a wavy strand's section.
pub const ELLIPSE_WAVY: Rule = Rule {
    id: "hair-ellipse-wavy",
    says: "The section of a wavy strand is 1.4 times as wide as it is thick.",
    value: 1.4,
    range: (1.2, 1.6),
    unit: "",
    grade: Grade::Handbook,
    source: "robbins2012",
};
/// Long axis over short axis of a tightly curled strand's section.
pub const ELLIPSE_COILY: Rule = Rule {
    id: "hair-ellipse-coily",
    says: "The section of a coily strand is 1.87 times as wide as it is thick.",
    value: 1.87,
    range: (1.5, 2.2),
    unit: "",
    grade: Grade::Handbook,
    source: "robbins2012",
};
/// Share of a tied tail's section that is hair.
pub const PACKING: Rule = Rule {
    id: "hair-packing",
    says: "Half of a tied tail's cross-section is hair, the rest is air; one measured head settles it for a salon.",
    value: 0.5,
    range: (0.40, 0.66),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// How sure the packing of one tail is.
pub const PACKING_SPREAD: Rule = Rule {
    id: "hair-packing-spread",
    says: "The packing of one tied tail and the scalp's area together are right within 20 % (one standard deviation).",
    value: 20.0,
    range: (10.0, 30.0),
    unit: "%",
    grade: Grade::OurChoice,
    source: "",
};
/// Mass of hair per volume.
pub const FIBRE_MASS: Rule = Rule {
    id: "hair-fibre-mass",
    says: "A cubic centimetre of hair weighs 1.32 g.",
    value: 1.32,
    range: (1.30, 1.34),
    unit: "g/cm3",
    grade: Grade::Handbook,
    source: "robbins2012",
};
/// Hair-bearing area of a head of 55 cm.
pub const SCALP_AREA: Rule = Rule {
    id: "hair-scalp-area",
    says: "On a head of 55 cm circumference 600 square centimetres bear hair; the area grows with the square of the circumference.",
    value: 600.0,
    range: (450.0, 775.0),
    unit: "cm2",
    grade: Grade::Handbook,
    source: "scc1977density",
};
/// Density at the nape against the whole head.
pub const NAPE_DENSITY: Rule = region_density("hair-nape-density", "At the nape hair stands at 0.85 of the head's mean density.", 0.85);
/// Density at the back of the head against the whole head.
pub const OCCIPITAL_DENSITY: Rule =
    region_density("hair-occipital-density", "At the back of the head hair stands at the head's mean density.", 1.0);
/// Density at the crown against the whole head.
pub const CROWN_DENSITY: Rule = region_density("hair-crown-density", "At the crown hair stands at 1.05 of the head's mean density.", 1.05);
/// Density at the sides above the ears against the whole head.
pub const PARIETAL_DENSITY: Rule =
    region_density("hair-parietal-density", "At the sides hair stands at 0.98 of the head's mean density.", 0.98);
/// Density at the temples against the whole head.
pub const TEMPORAL_DENSITY: Rule =
    region_density("hair-temporal-density", "At the temples hair stands at 0.85 of the head's mean density.", 0.85);
/// Density at the front of the top against the whole head.
pub const FRONTAL_DENSITY: Rule =
    region_density("hair-frontal-density", "At the front of the top hair stands at 1.05 of the head's mean density.", 1.05);
/// Strand diameter at the nape against the whole head.
pub const NAPE_DIAMETER: Rule = Rule {
    id: "hair-nape-diameter",
    says: "At the nape a strand has 0.95 of the head's mean diameter.",
    value: 0.95,
    range: (0.80, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of the length that every strand of blunt hair reaches.
pub const BLUNT_FULL_TO: Rule = Rule {
    id: "hair-blunt-full-to",
    says: "Where the ends are blunt, every strand reaches 0.9 of the length.",
    value: 0.9,
    range: (0.7, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of strands that reach the very end of blunt hair.
pub const BLUNT_END_SHARE: Rule = Rule {
    id: "hair-blunt-end-share",
    says: "Where the ends are blunt, 0.8 of the strands reach the very end.",
    value: 0.8,
    range: (0.5, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of the length that every strand of soft hair reaches.
pub const SOFT_FULL_TO: Rule = Rule {
    id: "hair-soft-full-to",
    says: "Where the ends are soft, every strand reaches 0.7 of the length.",
    value: 0.7,
    range: (0.4, 0.9),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of strands that reach the very end of soft hair.
pub const SOFT_END_SHARE: Rule = Rule {
    id: "hair-soft-end-share",
    says: "Where the ends are soft, 0.4 of the strands reach the very end.",
    value: 0.4,
    range: (0.1, 0.8),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[
    &DENSITY_START,
    &DENSITY_SPREAD,
    &COUNT_SPREAD,
    &DENSITY_LEAST,
    &DENSITY_MOST,
    &DIAMETER_START,
    &DIAMETER_SPREAD,
    &FINE,
    &MEDIUM,
    &COARSE,
    &CLASS_SPREAD,
    &OPTICAL_SPREAD,
    &CALLIPER_SPREAD,
    &WEIGHED_SPREAD,
    &ELLIPSE_STRAIGHT,
    &ELLIPSE_WAVY,
    &ELLIPSE_COILY,
    &PACKING,
    &PACKING_SPREAD,
    &FIBRE_MASS,
    &SCALP_AREA,
    &NAPE_DENSITY,
    &OCCIPITAL_DENSITY,
    &CROWN_DENSITY,
    &PARIETAL_DENSITY,
    &TEMPORAL_DENSITY,
    &FRONTAL_DENSITY,
    &NAPE_DIAMETER,
    &BLUNT_FULL_TO,
    &BLUNT_END_SHARE,
    &SOFT_FULL_TO,
    &SOFT_END_SHARE,
];

const fn region_density(id: &'static str, says: &'static str, value: f64) -> Rule {
    Rule { id, says, value, range: (0.6, 1.3), unit: "", grade: Grade::OurChoice, source: "" }
}
