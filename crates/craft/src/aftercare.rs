//! What the client is told to do and to leave, for her hair and her plan.
//!
//! Plain words, one page. Every caution that stands here is the usual one; what
//! hurts is never explained away, and every warning says whom to see.

use crate::suitability::Limits;
use crate::suitability::answers::{HotTools, Oil};
use crate::suitability::irons::{DRYER, FROM_BOND};
use crate::suitability::patch_test::LATE_QUESTION;
use measure::{Grade, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// How long the bonds stay dry at first.
pub const FIRST_WASH: Rule = Rule {
    id: "aftercare-first-wash",
    says: "No washing, swimming, sauna or sweating for this long after the pieces went in.",
    value: 48.0,
    range: (24.0, 72.0),
    unit: "hours",
    grade: Grade::CommonPractice,
    source: "",
};

/// How soon she comes back with pain.
pub const PAIN_BACK: Rule = Rule {
    id: "aftercare-pain-back",
    says: "With pain, a headache or itching she comes back within this time, without waiting for her date.",
    value: 48.0,
    range: (12.0, 48.0),
    unit: "hours",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&FIRST_WASH, &PAIN_BACK];

/// The sheet she takes home.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// The parts, in the order she reads them.
    pub parts: Vec<SheetPart>,
}

/// One part of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetPart {
    /// Its heading.
    pub heading: String,
    /// Whether it warns of harm.
    pub warns: bool,
    /// What to do or to leave, a sentence a line.
    pub lines: Vec<String>,
}

/// What the sheet is made for.
#[derive(Debug, Clone, Copy)]
pub struct Worn<'a> {
    /// What the consultation allows.
    pub limits: &'a Limits,
    /// Her hair's oil.
    pub oil: Oil,
    /// Whether she swims.
    pub swims: bool,
    /// How often she uses hot tools.
    pub hot_tools: HotTools,
    /// When the set is due, in days after it goes in.
    pub due: u32,
    /// The last day it may stay in.
    pub closes: u32,
    /// Hairs in a usual slice.
    pub hairs: f64,
    /// Loose hairs expected in a bond by then.
    pub loose: f64,
}

/// The sheet for this client and this plan.
///
/// ```
/// use craft::aftercare::{Worn, sheet};
/// use craft::hair::Oil;
/// use craft::suitability::{Answers, answers::HotTools, judge};
/// let book = measure::RuleBook::standard();
/// let limits = judge(&Answers::default(), &book).limits;
/// let worn = Worn {
///     limits: &limits, oil: Oil::Normal, swims: true, hot_tools: HotTools::Daily, due: 44, closes: 56, hairs: 170.0, loose: 8.0,
/// };
/// assert!(sheet(&worn, &book).parts.iter().any(|part| part.warns));
/// ```
#[must_use]
pub fn sheet(worn: &Worn, book: &RuleBook) -> Sheet {
    let hours = |rule: &Rule| format!("{:.0} hours", book.value(rule));
    let mut parts = vec![
        part(
            "The first two days",
            [
                format!("Keep the bonds dry for {}: no washing, no sauna, no swimming, no hard sport.", hours(&FIRST_WASH)),
                "Do not tie the hair tightly.".to_owned(),
            ],
        ),
        part("Washing", washing(worn)),
        part(
            "Brushing and sleeping",
            [
                "Brush morning and evening from the ends upward, with the other hand holding the hair above.".to_owned(),
                "Detangle before washing, never when the bonds are wet: wet hair pulls several times harder.".to_owned(),
                "Sleep with dry hair in a loose plait.".to_owned(),
            ],
        ),
    ];
    if worn.swims {
        parts.push(part(
            "Swimming",
            ["Plait the hair and keep it out of the water where you can; rinse with clear water straight after and dry the bonds."
                .to_owned()],
        ));
    }
    parts.push(part("Heat", heat(worn, book)));
    parts.push(part("Loose hairs when they come out", [format!(
        "Each bond holds back the hairs that you would have lost anyway: about {:.0} of {:.0} by day {}, each with a small white end. That is not damage.",
        worn.loose, worn.hairs, worn.due
    )]));
    parts.push(part(
        "Your next date",
        [
            format!("The set comes out about day {} and never stays in longer than {} days.", worn.due, worn.closes),
            "Never pull a piece out yourself, and never cut one out.".to_owned(),
        ],
    ));
    parts.push(warning(worn, book));
    Sheet { parts }
}

fn part(heading: &str, lines: impl IntoIterator<Item = String>) -> SheetPart {
    SheetPart { heading: heading.to_owned(), warns: false, lines: lines.into_iter().collect() }
}

fn washing(worn: &Worn) -> Vec<String> {
    let mut lines = vec!["Shampoo the scalp gently, conditioner on the lengths only, never on the roots or the bonds.".to_owned()];
    if worn.oil == Oil::Oily {
        lines.push(
            "Wash as soon as the roots feel oily: oil loosens the tape. No dry oil, silicone serum or mask near the bonds.".to_owned(),
        );
    } else {
        lines.push("Keep oil, mask and serum a hand's breadth below the bonds.".to_owned());
    }
    lines.push("Dry the bonds first and completely.".to_owned());
    lines
}

fn heat(worn: &Worn, book: &RuleBook) -> Vec<String> {
    let mut lines = vec![format!("Keep every hot tool {:.0} mm away from the bonds.", book.value(&FROM_BOND))];
    lines.push(format!("Dry with air that is warm, not hot: at most {:.0} degrees at the hair.", book.value(&DRYER)));
    let cap = worn.limits.iron_max.to_deg();
    if cap > 0.0 {
        lines.push(format!("At most {cap:.0} degrees on dry hair, one pass; none on damp hair."));
    } else {
        lines.push("No hot tool on this hair.".to_owned());
    }
    if worn.hot_tools == HotTools::Daily {
        lines.push("Every day is a lot: leave days without heat, the pieces do not grow back.".to_owned());
    }
    lines
}

fn warning(worn: &Worn, book: &RuleBook) -> SheetPart {
    let mut lines = vec![
        format!(
            "Pain, a headache, itching, redness or sore places: come back within {:.0} hours to have the pieces out; do not wait for your date.",
            book.value(&PAIN_BACK)
        ),
        "If it does not settle, if the skin blisters or weeps, or if hair falls suddenly or in patches: see a doctor or a dermatologist."
            .to_owned(),
        "Swelling of the face or trouble with breathing: call the emergency number.".to_owned(),
        format!("Skin can react late: look again after {:.0} days.", book.value(&LATE_QUESTION)),
        "Constant pull can thin the hair, and long pull can do so for good: tell us when anything feels tight.".to_owned(),
    ];
    if worn.limits.no_limonene {
        lines.push("Use nothing with limonene or scent near the bonds.".to_owned());
    }
    SheetPart { heading: "When something is wrong".to_owned(), warns: true, lines }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::suitability::{Answers, judge};

    fn made(swims: bool, oil: Oil) -> Sheet {
        let book = RuleBook::standard();
        let limits = judge(&Answers::default(), &book).limits;
        let worn = Worn { limits: &limits, oil, swims, hot_tools: HotTools::Daily, due: 48, closes: 56, hairs: 150.0, loose: 7.2 };
        sheet(&worn, &book)
    }

    #[test]
    fn the_warning_names_what_hurts_and_whom_to_see_and_no_disease() {
        let sheet = made(false, Oil::Normal);
        let warning = sheet.parts.iter().find(|p| p.warns).unwrap().lines.join(" ");
        for word in ["Pain", "doctor", "dermatologist", "48 hours", "7 days"] {
            assert!(warning.contains(word), "{word}");
        }
        for word in ["alopecia", "dermatitis", "eczema"] {
            assert!(!warning.contains(word), "{word}");
        }
    }

    #[test]
    fn only_a_swimmer_reads_of_swimming_and_only_oily_hair_of_washing_sooner() {
        let has = |s: &Sheet, h: &str| s.parts.iter().any(|p| p.heading == h);
        assert!(has(&made(true, Oil::Normal), "Swimming") && !has(&made(false, Oil::Normal), "Swimming"));
        let washing = |s: &Sheet| s.parts.iter().find(|p| p.heading == "Washing").unwrap().lines.join(" ");
        assert!(washing(&made(false, Oil::Oily)).contains("oil loosens the tape"));
        assert!(!washing(&made(false, Oil::Dry)).contains("oil loosens the tape"));
    }

    /// T1: the sheet says the last day (common practice, no source).
    #[test]
    fn the_sheet_gives_the_day_and_the_last_day() {
        let text = made(false, Oil::Normal).parts.into_iter().flat_map(|p| p.lines).collect::<Vec<_>>().join(" ");
        assert!(text.contains("day 48") && text.contains("56 days"));
    }
}
