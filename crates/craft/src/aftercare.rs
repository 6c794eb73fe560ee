//! What the client is told to do and to leave, for her hair and her plan.
//!
//! Plain words, one page. Every caution that stands here is the usual one; what
//! hurts is never explained away, and every warning says whom to see.

use crate::suitability::Limits;
use crate::suitability::answers::{HotTools, Oil};
use crate::suitability::irons::{DRYER, FROM_BOND};
use crate::suitability::patch_test::LATE_QUESTION;
use crate::words::Message;
use measure::text::{millimetres, number};
use measure::{Grade, Length, Rule, RuleBook};
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
    let dry = number(book.value(&FIRST_WASH), 0);
    let mut parts = vec![
        part(Message::FirstTwoDays, [Message::KeepDry { hours: dry }, Message::DoNotTie]),
        part(Message::Washing, washing(worn)),
        part(Message::Brushing, [Message::BrushUpward, Message::DetangleDry, Message::SleepInPlait]),
    ];
    if worn.swims {
        parts.push(part(Message::Swimming, [Message::PlaitAndRinse]));
    }
    parts.push(part(Message::Heat, heat(worn, book)));
    let loose = Message::LooseInBond { loose: number(worn.loose, 0), hairs: number(worn.hairs, 0), due: worn.due.to_string() };
    parts.push(part(Message::LooseHairs, [loose]));
    let due = Message::ComesOut { due: worn.due.to_string(), closes: worn.closes.to_string() };
    parts.push(part(Message::NextDate, [due, Message::NeverPull]));
    parts.push(SheetPart { warns: true, ..part(Message::SomethingWrong, warning(worn, book)) });
    Sheet { parts }
}

fn part(heading: Message, lines: impl IntoIterator<Item = Message>) -> SheetPart {
    SheetPart { heading: heading.into(), warns: false, lines: lines.into_iter().map(String::from).collect() }
}

fn washing(worn: &Worn) -> [Message; 3] {
    let oil = if worn.oil == Oil::Oily { Message::WashOily } else { Message::OilBelowBonds };
    [Message::ShampooScalp, oil, Message::DryBonds]
}

fn heat(worn: &Worn, book: &RuleBook) -> Vec<Message> {
    let cap = worn.limits.iron_max.to_deg();
    let mut lines = vec![
        Message::ToolsAway { way: millimetres(Length::mm(book.value(&FROM_BOND))) },
        Message::WarmAir { degrees: number(book.value(&DRYER), 0) },
        if cap > 0.0 { Message::IronAtMost { degrees: number(cap, 0) } } else { Message::NoHotTool },
    ];
    if worn.hot_tools == HotTools::Daily {
        lines.push(Message::EveryDayIsALot);
    }
    lines
}

fn warning(worn: &Worn, book: &RuleBook) -> Vec<Message> {
    let mut lines = vec![
        Message::ComeBack { hours: number(book.value(&PAIN_BACK), 0) },
        Message::SeeADoctor,
        Message::CallForHelp,
        Message::LookAgain { days: number(book.value(&LATE_QUESTION), 0) },
        Message::ConstantPull,
    ];
    if worn.limits.no_limonene {
        lines.push(Message::NothingWithScent);
    }
    lines
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
