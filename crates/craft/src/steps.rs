//! The ordered steps at the chair.
//!
//! The run sheet is the plan told in the order of the hands: prepare, section,
//! place from the nape upward and then the sides, look, close. Three stops
//! hold everything up until somebody has looked: before her hair is touched,
//! before the first piece, before she leaves. Cautions stand where the step is.

use crate::combing::{CombedLine, MIDDLE, SECTIONS, along_words};
use crate::placement::{HeadPart, SiteId};
use crate::suitability::Limits;
use crate::suitability::answers::{Ends, Oil};
use crate::suitability::irons::CAP_BOND;
use crate::suitability::remover::AIRING;
use measure::text::capital;
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
    fn add(&mut self, phase: Phase, what: impl Into<String>, how: impl Into<String>, rules: &[&str]) -> &mut Step {
        let at = self.steps.len();
        self.steps.push(Step {
            id: at as u32 + 1,
            phase,
            what: what.into(),
            how: how.into(),
            caution: None,
            value_to_confirm: None,
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
    sheet
        .add(
            Phase::Prepare,
            "Stop: is this the right client, and may it be done today?",
            "Say her name and the plan's verdict; look at her scalp; read the answers on health and allergies once more.",
            &["consultation"],
        )
        .caution("Sore, broken or flaking skin, sudden shedding, pain or an earlier reaction: do not go on; she sees a doctor or dermatologist first.")
        .confirm(patch_words(visit.limits))
        .hold();
    sheet
        .add(
            Phase::Prepare,
            "Lay out the tools",
            "Flat pliers, two metal tail combs, four butterfly clips, a slide clip, a soft brush, the printed map.",
            &["T15"],
        )
        .caution(tools_caution(visit.limits));
    sheet.add(
        Phase::Prepare,
        "Set the chair to your shoulders",
        format!(
            "Her head at the height of your chest for the nape, lower for the crown; a rest of five to ten minutes every {:.0} minutes.",
            book.value(&BREAK_EVERY)
        ),
        &[BREAK_EVERY.id],
    );
    sheet
        .add(
            Phase::Prepare,
            "Lay out the pieces in the order they go in",
            format!(
                "{} sandwiches in {} rows: count shades and lengths against the list on the first page.",
                visit.sites.len(),
                visit.rows.len()
            ),
            &["T18"],
        )
        .confirm(format!("{} sandwiches counted", visit.sites.len()));
}

fn tools_caution(limits: &Limits) -> String {
    let mut said =
        vec![if limits.no_latex { "Nitrile gloves, no latex, no latex bands." } else { "Nitrile gloves for remover and adhesive." }];
    if limits.no_nickel {
        said.push("Combs, clips and pliers that touch her skin are free of nickel.");
    }
    if limits.no_limonene {
        said.push("Remover, cleaner and care without limonene and scent.");
    }
    if limits.moving_air {
        said.push("Window open or fan on throughout; the least volatile remover.");
    }
    said.join(" ")
}

fn patch_words(limits: &Limits) -> String {
    let mut said = vec!["consent signed".to_owned()];
    if limits.guardian_signs {
        said.push("guardian signed".to_owned());
    }
    if let Some(test) = limits.patch_test {
        said.push(format!("patch test read at {:.0} and {:.0} hours: what was seen", test.first_reading_hours, test.second_reading_hours));
    }
    said.join("; ")
}

fn ready(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    let oily = visit.oil == Oil::Oily;
    sheet.add(
        Phase::Ready,
        "Wash and dry",
        if oily {
            "Wash twice with a clarifying shampoo, no conditioner on the roots; dry completely, roots first."
        } else {
            "Freshly washed, no conditioner on the roots; dry completely."
        },
        &["T3"],
    );
    if visit.ends == Ends::Blunt {
        sheet.add(
            Phase::Ready,
            "Soften the blunt ends",
            "Point cut or thin the last few centimetres, so that her own ends do not make a step under the pieces.",
            &["T4"],
        );
    }
    sheet.add(Phase::Ready, "Make the four first sections", SECTIONS, &["T5", "T14"]);
    if let Some(first) = visit.rows.first().filter(|row| row.line.section == HeadPart::Back) {
        let deep = book.value(&FIRST_SECTION);
        let why = if first.line.start.to_mm() >= deep - 0.5 {
            format!("The section is {deep:.0} mm deep or more, so that nothing shows when the hair is tied up.")
        } else {
            "Nothing goes below it.".to_owned()
        };
        sheet.add(
            Phase::Ready,
            "Take the first section at the nape",
            format!(
                "Measure {:.0} mm up from the nape hairline at the middle and comb the first parting there. {why}",
                first.line.start.to_mm()
            ),
            &["T6", FIRST_SECTION.id],
        );
    }
    sheet
        .add(
            Phase::Ready,
            "Stop: hold the first piece beside her ends",
            "Daylight, beside the ends and never the roots. Read shade and length off the pack.",
            &["T2"],
        )
        .caution("Once it has been in, hair cannot go back.")
        .confirm("shade and length on the pack")
        .hold();
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
            (true, _) => "side by side",
            (false, true) => "in brick: no gap over a gap",
            (false, false) => "side by side with the row below",
        };
        sheet.add(
            Phase::Place,
            format!("{}: comb the parting", row.line.called()),
            format!("{}; set {setting}.", capital(&row.line.combed())),
            &["T10", "T14"],
        );
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
    sheet.add(
        Phase::Place,
        "Let the back down and brush",
        "Is it enough? If not, add where the map still has room, and nothing above the crown, before going on.",
        &["T20", "T11"],
    );
}

/// One site; `first` is whether the first one of all was single-sided, where
/// this is not the first itself.
fn place_one(sheet: &mut Sheet, site: &SiteToSet, off_scalp: Length, first: Option<bool>) {
    let place = along_words(site.section, site.from_line);
    let where_ = if place == MIDDLE { capital(&place) } else { format!("{place}, {}", site.side) };
    let cut = if site.half { "half piece" } else { "full piece" };
    let closing = if site.single_sided {
        "comb as a ruler, backing strip over it (one piece only here)"
    } else {
        "comb as a ruler, upper piece over it"
    };
    let step = sheet.add(
        Phase::Place,
        format!("{}: {} {:.0} mm, {cut}", site.site, site.shade, site.length.to_mm()),
        format!(
            "{where_}. Slice {:.0} mm wide and {:.1} mm thick, thin enough to see through; both ends of the {:.0} mm tab stay bare. \
             Lower piece under the slice {:.0} mm off the scalp, {closing}, press the whole bond with flat pliers from both ends.",
            site.slice_width.to_mm(),
            site.slice.to_mm(),
            site.width.to_mm(),
            off_scalp.to_mm()
        ),
        &["T8", "T9", "T15", "T21"],
    );
    step.site = Some(site.site);
    if site.half {
        step.rules.push("T13".to_owned());
    }
    if first.is_some_and(|usual| usual != site.single_sided) {
        step.caution(if site.single_sided {
            "Other than the first: one piece and a backing strip, no second piece."
        } else {
            "Other than the first: two pieces, no backing strip."
        });
    }
    if first.is_none() {
        step.caution("One chance: hold the position with the comb before the second piece or the strip closes it. It must move up and down without pulling.");
    }
}

fn finish(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    match visit.limits.bond_iron {
        Some(iron) if visit.oil == Oil::Oily => {
            sheet
                .add(
                    Phase::Finish,
                    "Warm the bonds, if they need it",
                    format!("A temperature-controlled iron at most {:.0} degC, tapped, never drawn.", iron.to_deg().min(book.value(&CAP_BOND))),
                    &["T16", CAP_BOND.id],
                )
                .caution("Not on damp hair, not near the skin, not after remover until all is dry and aired. Heat that reached a bond makes it slower to remove.");
        }
        _ => {}
    }
    sheet.add(Phase::Finish, "Blend the ends", "Razor, thinning scissors or point cutting; never a blunt straight line.", &["T4"]);
}

fn close(sheet: &mut Sheet, visit: &Visit) {
    sheet
        .add(
            Phase::Close,
            "Stop: before she leaves",
            format!(
                "Every bond moves up and down without pulling and sits {:.0} mm off the scalp; tie the hair up as she wears it: nothing shows. Count the pieces used against the list.",
                visit.off_scalp.to_mm()
            ),
            &["T9", "T6"],
        )
        .caution("Pain or a headache means too tight: take that sandwich out and set it again.")
        .confirm(format!("{} sandwiches in, no pain, aftercare sheet given, next date made", visit.sites.len()))
        .hold();
    if let Some(days) = visit.limits.early_look {
        sheet.add(
            Phase::Close,
            "Make a date for an early look",
            format!("In {:.0} days: bonds, skin and hairline, five minutes.", days.to_days()),
            &["life-early-look"],
        );
    }
}

fn retape(sheet: &mut Sheet, visit: &Visit, book: &RuleBook) {
    let remover = if visit.limits.no_limonene { "An acetone-free remover without limonene or scent" } else { "An acetone-free remover" };
    sheet
        .add(
            Phase::Retape,
            "Next visit: take the pieces out in order",
            format!("{remover}, soaked in, then peel; the second piece slides out. Lay each down in the order it came out."),
            &["T17", "T18", "T19"],
        )
        .caution(format!(
            "Removers burn: no flame, no hot tool until rinsed, dried and aired for {:.0} minutes. Gloves, eyes covered, window open. A bond that was heated takes longer: wait, never pull.",
            book.value(&AIRING)
        ));
    sheet.add(
        Phase::Retape,
        "Clean and re-tape",
        "Rub the old adhesive off with a dry towel, new adhesive on; wash her hair, no conditioner on the roots, dry; put the pieces back in order on rested hair.",
        &["T18", "T3"],
    );
}

#[cfg(test)]
mod tests;
