//! The ordered steps at the chair.
//!
//! The run sheet is the plan told in the order of the hands: prepare, section,
//! place from the nape upward and then the sides, look, close. Three stops
//! hold everything up until somebody has looked: before her hair is touched,
//! before the first piece, before she leaves. Cautions stand where the step is.

use crate::combing::{CombedLine, along_words, is_on_middle};
use crate::placement::{HeadPart, SiteId};
use crate::suitability::Limits;
use crate::suitability::answers::{Ends, Oil};
use crate::suitability::irons::CAP_BOND;
use crate::suitability::remover::AIRING;
use crate::words::Message;
use measure::text::{capital, fixed, millimetres, number};
use measure::words::Sentence;
use measure::{Grade, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// How deep the first section at the nape is, at least.
pub const FIRST_SECTION: Rule = Rule {
    id: "steps-first-section",
    says: "The first section at the nape is about 38 mm deep, so that nothing shows when hair is tied up (T6).",
    value: 38.0,
    range: (25.0, 60.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};

/// How long the technician works before she rests.
pub const BREAK_EVERY: Rule = Rule {
    id: "steps-break-every",
    says: "After this long at the chair the technician rests five to ten minutes: hands, shoulders and back wear out first.",
    value: 60.0,
    range: (30.0, 90.0),
    unit: "minutes",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&FIRST_SECTION, &BREAK_EVERY];

/// Where in the visit a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Before her hair is touched.
    Prepare,
    /// Washing, drying, sectioning.
    Ready,
    /// Placing.
    Place,
    /// Looking and blending.
    Finish,
    /// Before she leaves.
    Close,
    /// At the next visit: taking out and putting back.
    Retape,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Counted from 1.
    pub id: u32,
    /// Where in the visit.
    pub phase: Phase,
    /// What is done, one short sentence.
    pub what: String,
    /// How, with its numbers.
    pub how: String,
    /// The caution that belongs here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution: Option<String>,
    /// What is looked at and said aloud or written down before going on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value_to_confirm: Option<String>,
    /// Whether nothing goes on before this is done.
    pub stop: bool,
    /// The site it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<SiteId>,
    /// The facts of the trade and rules it comes from.
    pub rules: Vec<String>,
}

/// A row as the steps need it.
#[derive(Debug, Clone, PartialEq)]
pub struct RowToSet {
    /// Counted in the order of work.
    pub row: u32,
    /// Where its parting starts and ends, and in which section.
    pub line: CombedLine,
    /// In brick against the row below, or side by side with it.
    pub brick: bool,
}

/// A site as the steps need it.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteToSet {
    /// Its name.
    pub site: SiteId,
    /// Its row.
    pub row: u32,
    /// Her own side in words.
    pub side: String,
    /// The section it stands in.
    pub section: HeadPart,
    /// From the line where its row starts to the middle of the tab.
    pub from_line: Length,
    /// The tab's width as set.
    pub width: Length,
    /// The slice's width.
    pub slice_width: Length,
    /// The slice's thickness.
    pub slice: Length,
    /// The shade in words, under and over.
    pub shade: String,
    /// The length of the hair.
    pub length: Length,
    /// Whether the piece is cut in half.
    pub half: bool,
    /// One piece and a backing strip instead of two pieces.
    pub single_sided: bool,
}

/// What the run sheet is made for.
#[derive(Debug, Clone, Copy)]
pub struct Visit<'a> {
    /// The rows, as they are worked.
    pub rows: &'a [RowToSet],
    /// The sites, as they are worked.
    pub sites: &'a [SiteToSet],
    /// What the consultation allows.
    pub limits: &'a Limits,
    /// How her hair's ends are cut.
    pub ends: Ends,
    /// Her hair's oil.
    pub oil: Oil,
    /// How far off the scalp a bond is set.
    pub off_scalp: Length,
}

/// The run sheet from preparing to the next visit's way out and back.
///
/// ```
/// use craft::hair::{Ends, Oil};
/// use craft::steps::{Visit, run_sheet};
/// use craft::suitability::{Answers, judge};
/// use measure::Length;
/// let book = measure::RuleBook::standard();
/// let limits = judge(&Answers::default(), &book).limits;
/// let visit = Visit { rows: &[], sites: &[], limits: &limits, ends: Ends::Soft, oil: Oil::Normal, off_scalp: Length::mm(5.0) };
/// assert!(run_sheet(&visit, &book)[0].stop, "first: may it be done today?");
/// ```
#[must_use]
pub fn run_sheet(visit: &Visit, book: &RuleBook) -> Vec<Step> {
    let mut sheet = Sheet { steps: Vec::new() };
    prepare(&mut sheet, visit, book);
    ready(&mut sheet, visit, book);
    place(&mut sheet, visit);
    finish(&mut sheet, visit, book);
    close(&mut sheet, visit);
    retape(&mut sheet, visit, book);
    sheet.steps
}

struct Sheet {
    steps: Vec<Step>,
}

impl Sheet {
    /// A step as its message tells it: what is done, how, and the caution and the word of
    /// confirmation that always belong to it.
    fn add(&mut self, phase: Phase, message: &Message, rules: &[&str]) -> &mut Step {
        let at = self.steps.len();
        self.steps.push(Step {
            id: at as u32 + 1,
            phase,
            what: message.to_string(),
            how: message.part("how").unwrap_or_default(),
            caution: message.part("caution"),
            value_to_confirm: message.part("confirm"),
            stop: false,
            site: None,
            rules: rules.iter().map(|&rule| rule.to_owned()).collect(),
        });
        &mut self.steps[at]
    }
}

impl Step {
    fn caution(&mut self, text: impl Into<String>) -> &mut Self {
        self.caution = Some(text.into());
        self
    }

    fn confirm(&mut self, text: impl Into<String>) -> &mut Self {
        self.value_to_confirm = Some(text.into());
        self
    }

    fn hold(&mut self) -> &mut Self {
        self.stop = true;
        self
    }
}

fn prepare(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    sheet.add(Phase::Prepare, &Message::StepRightClient, &["consultation"]).confirm(signed_and_read(visit.limits)).hold();
    sheet.add(Phase::Prepare, &Message::StepTools, &["T15"]).caution(tools_caution(visit.limits));
    let every = number(book.value(&BREAK_EVERY), 0);
    sheet.add(Phase::Prepare, &Message::StepChair { minutes: every }, &[BREAK_EVERY.id]);
    let pieces = Message::StepLayOut { sandwiches: visit.sites.len(), rows: visit.rows.len() };
    sheet.add(Phase::Prepare, &pieces, &["T18"]);
}

fn tools_caution(limits: &Limits) -> String {
    let mut said = vec![if limits.no_latex { Message::GlovesWithoutLatex.text() } else { Message::Gloves.text() }];
    if limits.no_nickel {
        said.push(Message::NickelFree.text());
    }
    if limits.no_limonene {
        said.push(Message::ScentFree.text());
    }
    if limits.moving_air {
        said.push(Message::MovingAir.text());
    }
    said.join(" ")
}

fn signed_and_read(limits: &Limits) -> String {
    let mut said = vec![Message::ConsentSigned.to_string()];
    if limits.guardian_signs {
        said.push(Message::GuardianSigned.to_string());
    }
    if let Some(test) = limits.patch_test {
        let (first, second) = (number(test.first_reading_hours, 0), number(test.second_reading_hours, 0));
        said.push(Message::PatchRead { first, second }.to_string());
    }
    said.join("; ")
}

fn ready(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    let oily = visit.oil == Oil::Oily;
    sheet.add(Phase::Ready, if oily { &Message::StepWashOily } else { &Message::StepWash }, &["T3"]);
    if visit.ends == Ends::Blunt {
        sheet.add(Phase::Ready, &Message::StepSoften, &["T4"]);
    }
    sheet.add(Phase::Ready, &Message::StepSections, &["T5", "T14"]);
    if let Some(first) = visit.rows.first().filter(|row| row.line.section == HeadPart::Back) {
        let deep = Length::mm(book.value(&FIRST_SECTION));
        let why = if first.line.start.to_mm() >= deep.to_mm() - 0.5 {
            Message::FirstSectionDeep { deep: millimetres(deep) }
        } else {
            Message::FirstSectionLowest
        };
        let step = Message::StepFirstSection { up: millimetres(first.line.start), why: why.to_string() };
        sheet.add(Phase::Ready, &step, &["T6", FIRST_SECTION.id]);
    }
    sheet.add(Phase::Ready, &Message::StepFirstPiece, &["T2"]).hold();
}

fn place(sheet: &mut Sheet, visit: &Visit) {
    let mut first = None;
    let mut looked = false;
    for (at, row) in visit.rows.iter().enumerate() {
        // The back is done when the first row of the sides begins.
        if !looked && at > 0 && row.line.section != HeadPart::Back {
            look_at_the_back(sheet);
            looked = true;
        }
        // The lowest row of a section has none below it.
        let lowest = visit.rows[..at].iter().all(|other| other.line.section != row.line.section);
        let setting = match (lowest, row.brick) {
            (true, _) => Message::SetSideBySide,
            (false, true) => Message::SetInBrick,
            (false, false) => Message::SetAsBelow,
        };
        let step = Message::StepParting { row: row.line.called(), combed: capital(&row.line.combed()), setting: setting.to_string() };
        sheet.add(Phase::Place, &step, &["T10", "T14"]);
        for site in visit.sites.iter().filter(|site| site.row == row.row) {
            place_one(sheet, site, visit.off_scalp, first);
            first = first.or(Some(site.single_sided));
        }
    }
    if !looked {
        look_at_the_back(sheet);
    }
}

fn look_at_the_back(sheet: &mut Sheet) {
    sheet.add(Phase::Place, &Message::StepLookAtBack, &["T20", "T11"]);
}

/// One site; `first` is whether the first one of all was single-sided, where
/// this is not the first itself.
fn place_one(sheet: &mut Sheet, site: &SiteToSet, off_scalp: Length, first: Option<bool>) {
    let place = along_words(site.section, site.from_line);
    let place = if is_on_middle(site.section, site.from_line) { capital(&place) } else { format!("{place}, {}", site.side) };
    let message = Message::StepSite {
        site: site.site.to_string(),
        shade: site.shade.clone(),
        length: millimetres(site.length),
        cut: if site.half { Message::HalfPiece } else { Message::FullPiece }.to_string(),
        place,
        wide: millimetres(site.slice_width),
        thick: fixed(site.slice.to_mm(), 1),
        tab: millimetres(site.width),
        off: millimetres(off_scalp),
        closing: if site.single_sided { Message::ClosedByStrip } else { Message::ClosedByPiece }.to_string(),
    };
    let step = sheet.add(Phase::Place, &message, &["T8", "T9", "T15", "T21"]);
    step.site = Some(site.site);
    if site.half {
        step.rules.push("T13".to_owned());
    }
    if first.is_some_and(|usual| usual != site.single_sided) {
        step.caution(if site.single_sided { Message::OtherThanFirstStrip } else { Message::OtherThanFirstPieces });
    }
    if first.is_none() {
        step.caution(Message::OneChance);
    }
}

fn finish(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    match visit.limits.bond_iron {
        Some(iron) if visit.oil == Oil::Oily => {
            let degrees = number(iron.to_deg().min(book.value(&CAP_BOND)), 0);
            sheet.add(Phase::Finish, &Message::StepWarm { degrees }, &["T16", CAP_BOND.id]);
        }
        _ => {}
    }
    sheet.add(Phase::Finish, &Message::StepBlend, &["T4"]);
}

fn close(sheet: &mut Sheet, visit: &Visit) {
    let checks = Message::StepChecks { off: millimetres(visit.off_scalp), sandwiches: visit.sites.len() };
    sheet.add(Phase::Close, &checks, &["T9", "T6"]).hold();
    if let Some(days) = visit.limits.early_look {
        sheet.add(Phase::Close, &Message::StepEarlyLook { days: number(days.to_days(), 0) }, &["life-early-look"]);
    }
}

fn retape(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    let remover = if visit.limits.no_limonene { Message::RemoverWithoutScent } else { Message::Remover };
    let out = Message::StepTakeOut { remover: remover.to_string(), minutes: number(book.value(&AIRING), 0) };
    sheet.add(Phase::Retape, &out, &["T17", "T18", "T19"]);
    sheet.add(Phase::Retape, &Message::StepRetape, &["T18", "T3"]);
}

#[cfg(test)]
mod tests;
