//! Which rule an answer in her own words belongs to.
//!
//! Words are compared in small letters with underscores for spaces. A word that
//! stands in no row meets the rule for unknown answers: it is never ignored.

use super::book::{self, ConsultationRule};

type Row = (&'static ConsultationRule, &'static [&'static str]);

const NOTHING: &[&str] = &["", "none", "no", "nothing", "healthy", "normal"];

const ALLERGIES: &[Row] = &[
    (
        &book::ALLERGY_ADHESIVE,
        &[
            "acrylate",
            "acrylates",
            "methacrylate",
            "methacrylates",
            "hema",
            "acrylic",
            "acrylic_nails",
            "gel_nails",
            "nail_glue",
            "nails",
            "lash_glue",
            "lashes",
            "eyelash_glue",
            "adhesive",
            "adhesives",
            "glue",
            "hair_glue",
            "wig_glue",
            "tape",
            "tapes",
            "plaster",
            "plasters",
            "sensor_tape",
            "glucose_sensor",
            "dental_work",
            "dental_filling",
            "cyanoacrylate",
            "bonding_glue",
        ],
    ),
    (&book::ALLERGY_COLOPHONY, &["colophony", "colophonium", "rosin", "resin", "pine_resin"]),
    (
        &book::ALLERGY_SCENT,
        &[
            "limonene",
            "linalool",
            "fragrance",
            "fragrances",
            "perfume",
            "scent",
            "citrus",
            "orange_oil",
            "balsam_of_peru",
            "essential_oils",
        ],
    ),
    (&book::ALLERGY_LATEX, &["latex", "rubber", "natural_rubber"]),
    (&book::ALLERGY_NICKEL, &["nickel", "metal", "cobalt"]),
    (&book::ATOPY, &["hay_fever", "hayfever", "pollen", "asthma", "eczema_elsewhere", "atopy", "atopic", "house_dust"]),
];

const SCALP: &[Row] = &[
    (&book::SCALP_PAIN, &["sore", "soreness", "tender", "tenderness", "pain", "painful", "burning", "hurts"]),
    (&book::SCALP_EDGES, &["thinning_edges", "thin_edges", "thinning_hairline", "receding_hairline", "thinning_temples"]),
    (
        &book::SCALP_PATCHES,
        &["patchy_loss", "patches", "bald_patch", "bald_patches", "bald_spot", "bald_spots", "rapid_loss", "sudden_loss"],
    ),
    (&book::SCALP_SHEDDING, &["shedding", "sudden_shedding", "heavy_shedding", "hair_falling_out", "hair_loss"]),
    (&book::SCALP_BUMPS, &["pustules", "pimples", "bumps", "boils", "folliculitis"]),
    (&book::SCALP_BREAKAGE, &["broken_hairs", "breakage", "hair_casts", "white_sleeves", "snapped_hairs"]),
    (&book::SCALP_SCARRED, &["scarring", "scar_tissue", "shiny_skin", "smooth_patches", "scarring_loss"]),
    (&book::SCALP_INFECTED, &["infected", "infection", "ringworm", "impetigo", "scabies", "fungus", "fungal"]),
    (
        &book::SCALP_BROKEN_SKIN,
        &["broken_skin", "wound", "wounds", "cut", "cuts", "scratches", "weeping", "open_skin", "scabs", "blisters"],
    ),
    (&book::SCALP_LICE, &["lice", "head_lice", "nits"]),
    (
        &book::SCALP_FLAKING,
        &[
            "flaking",
            "flakes",
            "dandruff",
            "itching",
            "itchy",
            "itch",
            "red",
            "redness",
            "rash",
            "psoriasis",
            "eczema",
            "dermatitis",
            "scaling",
        ],
    ),
    (&book::SCALP_SUNBURN, &["sunburn", "sunburnt", "burnt"]),
    (&book::SCALP_THINNER, &["thinning", "thinner", "thinning_crown", "thinning_parting", "thinning_top", "wide_parting"]),
    (&book::SCALP_QUIET, &["psoriasis_quiet", "eczema_quiet", "dermatitis_quiet", "quiet_psoriasis", "quiet_eczema"]),
    (&book::OILY, &["oily", "greasy"]),
];

const HEALTH: &[Row] = &[
    (&book::CHEMOTHERAPY, &["chemotherapy", "chemo", "radiotherapy", "cancer_treatment"]),
    (&book::CHEMOTHERAPY_OVER, &["chemotherapy_ended", "after_chemotherapy", "radiotherapy_ended", "cancer_treatment_ended"]),
    (&book::ISOTRETINOIN, &["isotretinoin", "retinoid", "acne_tablets"]),
    (
        &book::HAIR_LOSS_NAMED,
        &[
            "alopecia",
            "alopecia_areata",
            "traction_alopecia",
            "scarring_alopecia",
            "hair_loss",
            "female_pattern_hair_loss",
            "lichen_planopilaris",
            "frontal_fibrosing_alopecia",
            "telogen_effluvium",
        ],
    ),
    (&book::EARLIER_LOSS, &["earlier_hair_loss", "hair_loss_before", "earlier_traction_loss", "past_traction_loss"]),
    (&book::PULLS_HAIR, &["pulls_hair", "hair_pulling", "trichotillomania"]),
    (&book::SCALP_OPERATION, &["scalp_operation", "scalp_surgery", "hair_transplant", "transplant", "head_surgery"]),
    (&book::PREGNANCY, &["pregnancy", "pregnant"]),
    (&book::BREATHING, &["asthma", "breathing", "lung_disease", "copd"]),
    (&book::ATOPY, &["hay_fever", "atopy", "atopic", "eczema_elsewhere"]),
    (&book::SCAN_DUE, &["mri_due", "scan_due", "x_ray_due", "mri", "x_ray"]),
    (&book::SCALP_INFECTED, &["ringworm", "scabies"]),
    (&book::SCALP_FLAKING, &["psoriasis", "scalp_psoriasis", "scalp_eczema"]),
    (&book::SCALP_QUIET, &["psoriasis_quiet", "eczema_quiet"]),
];

/// The three lists that take her own words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// What she is allergic to.
    Allergies,
    /// What is seen or felt on the scalp.
    Scalp,
    /// Her health and medicines.
    Health,
}

impl Question {
    const fn rows(self) -> &'static [Row] {
        match self {
            Self::Allergies => ALLERGIES,
            Self::Scalp => SCALP,
            Self::Health => HEALTH,
        }
    }

    const fn unknown(self) -> &'static ConsultationRule {
        match self {
            Self::Allergies => &book::ALLERGY_UNKNOWN,
            Self::Scalp => &book::SCALP_UNKNOWN,
            Self::Health => &book::HEALTH_UNKNOWN,
        }
    }

    /// The question's key in a client's file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Allergies => "allergies",
            Self::Scalp => "scalp",
            Self::Health => "health",
        }
    }

    /// The answers to offer, one for each rule, in the order of the rules.
    pub fn offered(self) -> impl Iterator<Item = &'static str> {
        self.rows().iter().filter_map(|(_, words)| words.first().copied())
    }
}

/// An answer in small letters, underscores for spaces and hyphens.
///
/// ```
/// assert_eq!(craft::suitability::words::plain("  Open sore "), "open_sore");
/// ```
#[must_use]
pub fn plain(answer: &str) -> String {
    let spaced: String = answer.trim().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    spaced.split_whitespace().collect::<Vec<_>>().join("_").to_lowercase()
}

/// The rule an answer meets; nothing when she answered "none".
///
/// ```
/// use craft::suitability::words::{Question, rule_for};
/// assert!(rule_for(Question::Scalp, "none").is_none());
/// assert!(rule_for(Question::Scalp, "something never heard of").is_some(), "it is asked about, not passed over");
/// ```
#[must_use]
pub fn rule_for(question: Question, answer: &str) -> Option<&'static ConsultationRule> {
    let word = plain(answer);
    if NOTHING.contains(&word.as_str()) {
        return None;
    }
    let row = question.rows().iter().find(|(_, words)| words.contains(&word.as_str()));
    Some(row.map_or(question.unknown(), |(rule, _)| *rule))
}
