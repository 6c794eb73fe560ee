//! The consultation's named rules: what was answered, what follows, and why.
//!
//! A rule names what was answered. It never names a disease that nobody
//! answered, and whatever stops the work says who to see about it.

use crate::words::Message;
use measure::Grade;
use measure::words::Sentence;
use serde::Serialize;

/// What follows when a rule is met, gentlest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// Said to the technician; the plan stays as it is.
    Note,
    /// The plan keeps to a limit.
    Limit,
    /// No tapes today.
    NotToday,
    /// No tapes until the person named has looked at it.
    Refer,
}

/// A limit that a rule sets on the plan or the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Change {
    /// More clearance because the hair hides little.
    ClearanceForFineHair,
    /// More clearance because the hair is often tied up.
    ClearanceForTiedHair,
    /// A slice bears less: age, or earlier loss.
    BearsLess,
    /// Lighter pieces, and a ceiling on the sandwich.
    LighterPieces,
    /// A remover and a cleaner without limonene and scent.
    LimoneneFree,
    /// Gloves without latex.
    LatexFree,
    /// Clips and pliers without nickel against the skin.
    NickelFree,
    /// Moving air, and the least volatile remover.
    Ventilate,
    /// A patch test before the day.
    PatchTest,
    /// A guardian signs.
    Guardian,
    /// She signs.
    Consent,
    /// Pieces go only where her hair is dense.
    DensePlacesOnly,
    /// A shorter time to the first look.
    EarlyLook,
}

impl Change {
    /// What it changes, in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ClearanceForFineHair => "more clearance at every edge, for hair that hides little",
            Self::ClearanceForTiedHair => "more clearance at every edge, for hair that is tied up",
            Self::BearsLess => "a slice is planned to bear less",
            Self::LighterPieces => "lighter pieces, with a ceiling on the sandwich",
            Self::LimoneneFree => "remover, cleaner and care without limonene and scent",
            Self::LatexFree => "gloves and bands without latex",
            Self::NickelFree => "combs, clips and pliers without nickel on her skin",
            Self::Ventilate => "moving air and the least volatile remover",
            Self::PatchTest => "a patch test, set and read before the day",
            Self::Guardian => "a guardian signs before her hair is touched",
            Self::Consent => "she signs before her hair is touched",
            Self::DensePlacesOnly => "pieces only where her hair is dense",
            Self::EarlyLook => "an early look at the bonds",
        }
    }
}

impl Effect {
    /// What follows, in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Note => "go ahead",
            Self::Limit => "within limits",
            Self::NotToday => "not today",
            Self::Refer => "refer",
        }
    }
}

/// The rule of that name.
///
/// ```
/// use craft::suitability::book::{Effect, rule_named};
/// assert_eq!(rule_named("scalp-pain").map(|rule| rule.effect), Some(Effect::Refer));
/// assert_eq!(rule_named("scalp-paint"), None);
/// ```
#[must_use]
pub fn rule_named(id: &str) -> Option<&'static ConsultationRule> {
    CONSULTATION.iter().copied().find(|rule| rule.id == id)
}

/// One named rule of the consultation.
///
/// *Meaning*: its words stand in `words/en.ftl` under its id.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ConsultationRule {
    /// A short stable name.
    pub id: &'static str,
    /// What follows.
    pub effect: Effect,
    /// The limits it sets.
    pub changes: &'static [Change],
    /// How well it is founded.
    pub grade: Grade,
    /// A key of SOURCES.bib; empty when there is none.
    pub source: &'static str,
}

impl ConsultationRule {
    /// What it says, to the technician.
    #[must_use]
    pub fn says(&self) -> &'static str {
        self.words("")
    }

    /// Why, in plain words.
    #[must_use]
    pub fn reason(&self) -> &'static str {
        self.words(".reason")
    }

    /// Who to see, or what to do first; empty when nothing is stopped.
    #[must_use]
    pub fn next(&self) -> &'static str {
        self.words(".next")
    }

    fn words(&self, part: &str) -> &'static str {
        Message::words().text(&format!("{}{part}", id_of_words(self))).unwrap_or_default()
    }
}

/// The message of `words/en.ftl` that holds a rule's words: `consultation-scalp-pain`.
pub(crate) fn id_of_words(rule: &ConsultationRule) -> String {
    format!("consultation-{}", rule.id)
}

macro_rules! rules {
    ($($name:ident = $id:literal, $effect:ident, [$($change:ident),*], $grade:ident, $source:literal;)+) => {
        $(
            #[doc = concat!("`", $id, "`; what it says stands in `words/en.ftl`.")]
            pub const $name: ConsultationRule = ConsultationRule {
                id: $id,
                effect: Effect::$effect,
                changes: &[$(Change::$change),*],
                grade: Grade::$grade,
                source: $source,
            };
        )+
        /// Every rule of the consultation, in the order it is gone through.
        pub const CONSULTATION: &[&ConsultationRule] = &[$(&$name),+];
    };
}

rules! {
    // Agreement.
    CONSENT_REFUSED = "consent-refused", NotToday, [], CommonPractice, "";
    CONSENT_OPEN = "consent-open", Limit, [Consent], CommonPractice, "";
    GUARDIAN = "age-guardian", Limit, [Guardian, EarlyLook], Measured, "afifi2021";
    GUARDIAN_REFUSED = "age-guardian-refused", NotToday, [], CommonPractice, "";
    CHILD = "age-child", NotToday, [], OurChoice, "afifi2021";
    AGE_35 = "age-bears-less", Limit, [BearsLess], Measured, "cameroon223";

    // What she lived through with extensions.
    REACTED = "history-reacted", Refer, [], Measured, "thyssen2012";
    REACTED_UNKNOWN = "history-reaction-unknown", Limit, [], Measured, "thyssen2012";
    FIRST_TIME = "history-first-time", Limit, [PatchTest, EarlyLook], Measured, "higgins2013";
    WORN_BEFORE = "history-worn-before", Note, [], OurChoice, "higgins2013";
    PATCH_REACTED = "patch-reacted", Refer, [], Measured, "higgins2013";
    PATCH_OPEN = "patch-open", NotToday, [PatchTest], Measured, "higgins2013";
    UNANSWERED = "history-unanswered", Limit, [], OurChoice, "";

    // Allergies.
    ALLERGY_ADHESIVE = "allergy-adhesive", Refer, [], Measured, "rolls2019";
    ALLERGY_COLOPHONY = "allergy-colophony", Refer, [], CommonPractice, "";
    ALLERGY_SCENT = "allergy-scent", Limit, [LimoneneFree, PatchTest], Measured, "christensson2014";
    ALLERGY_LATEX = "allergy-latex", Limit, [LatexFree], CommonPractice, "";
    ALLERGY_NICKEL = "allergy-nickel", Limit, [NickelFree], Measured, "scalpallergens2017";
    ATOPY = "allergy-atopy", Limit, [PatchTest, Ventilate, EarlyLook], Measured, "atopic2021";
    ALLERGY_UNKNOWN = "allergy-unknown", NotToday, [], OurChoice, "";

    // Scalp.
    SCALP_PAIN = "scalp-pain", Refer, [], Measured, "billero2018";
    SCALP_EDGES = "scalp-thinning-edges", Refer, [], Measured, "billero2018";
    SCALP_PATCHES = "scalp-patchy-loss", Refer, [], Handbook, "messenger2012";
    SCALP_SHEDDING = "scalp-shedding", Refer, [], Measured, "sinclair2015";
    SCALP_BUMPS = "scalp-bumps", Refer, [], Measured, "billero2018";
    SCALP_BREAKAGE = "scalp-broken-hairs", Refer, [], Measured, "billero2018";
    SCALP_SCARRED = "scalp-smooth-bare-skin", Refer, [], Measured, "billero2018";
    SCALP_INFECTED = "scalp-infected", Refer, [], Standard, "ccr16-984";
    SCALP_BROKEN_SKIN = "scalp-broken-skin", NotToday, [], Standard, "ccr16-984";
    SCALP_LICE = "scalp-lice", NotToday, [], Standard, "ccr16-984";
    SCALP_FLAKING = "scalp-flaking", NotToday, [], Handbook, "aadpsoriasis";
    SCALP_SUNBURN = "scalp-sunburn", NotToday, [], CommonPractice, "";
    SCALP_THINNER = "scalp-thinner-overall", Limit, [LighterPieces, DensePlacesOnly, EarlyLook], Measured, "rakowska2009";
    SCALP_QUIET = "scalp-quiet-condition", Limit, [EarlyLook, ClearanceForTiedHair], Handbook, "aadpsoriasis";
    SCALP_UNKNOWN = "scalp-unknown", NotToday, [], OurChoice, "";

    // Health.
    CHEMOTHERAPY = "health-cancer-treatment", Refer, [], Measured, "cancerie";
    CHEMOTHERAPY_OVER = "health-cancer-treatment-over", NotToday, [], Measured, "cancerie";
    POSTPARTUM = "health-postpartum", NotToday, [], OurChoice, "postpartum2016";
    POSTPARTUM_LATE = "health-postpartum-late", Limit, [LighterPieces, EarlyLook], OurChoice, "postpartum2016";
    ISOTRETINOIN = "health-isotretinoin", NotToday, [], OurChoice, "";
    HAIR_LOSS_NAMED = "health-hair-loss-named", Refer, [], Handbook, "messenger2012";
    EARLIER_LOSS = "health-earlier-loss", Limit, [BearsLess, EarlyLook], OurChoice, "billero2018";
    PULLS_HAIR = "health-pulls-hair", NotToday, [], OurChoice, "";
    SCALP_OPERATION = "health-scalp-operation", NotToday, [], OurChoice, "";
    PREGNANCY = "health-pregnancy", Limit, [Ventilate, PatchTest], OurChoice, "";
    BREATHING = "health-breathing", Limit, [Ventilate], CommonPractice, "";
    SCAN_DUE = "health-scan-due", Note, [], OurChoice, "";
    HEALTH_UNKNOWN = "health-unknown", NotToday, [], OurChoice, "";

    // Her hair.
    OWN_TOO_SHORT = "hair-too-short", NotToday, [], OurChoice, "";
    OWN_SHORT = "hair-short", Limit, [ClearanceForFineHair], OurChoice, "";
    FINE = "hair-fine", Limit, [ClearanceForFineHair], CommonPractice, "";
    FINE_AND_SPARSE = "hair-fine-and-sparse", Limit, [LighterPieces, EarlyLook], OurChoice, "rakowska2009";
    SPARSE_FOR_ANYTHING = "hair-too-sparse", NotToday, [], OurChoice, "birnbaum2018";
    THIN_STRANDS = "hair-thin-strands", Limit, [LighterPieces, DensePlacesOnly], Measured, "rakowska2009";
    TIED_OFTEN = "hair-tied-often", Limit, [ClearanceForTiedHair], CommonPractice, "";
    PROCESSED = "hair-processed", Limit, [], Measured, "khumalo2008";
    BLEACHED_LATELY = "hair-bleached-lately", NotToday, [], OurChoice, "";
    OILY = "hair-oily", Note, [], CommonPractice, "";
    BLUNT_ENDS = "hair-blunt-ends", Note, [], CommonPractice, "";

    // How she lives.
    CANNOT_RETURN = "life-cannot-return", NotToday, [], Handbook, "aguhpodcast";
    SWIMS = "life-swims", Note, [], CommonPractice, "";
    SPORT = "life-sport", Note, [EarlyLook], CommonPractice, "";
    HOT_TOOLS = "life-hot-tools", Note, [], Measured, "heat1984";
}
