//! What a paper is: its file, what it is for, its template and what fills it.

use crate::fault::PaperFault;
use crate::heading::Heading;
use crate::typeset::{Copy, Fonts, pdf};
use salon::plan::Plan;
use serde::Serialize;

/// A paper of a visit. Each stands in a file of its own, beside its template.
#[derive(Debug)]
pub struct Paper {
    /// Its file.
    pub file: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub says: &'static str,
    /// The template's source.
    pub(crate) template: &'static str,
    /// What the template is filled with.
    pub(crate) fill: fn(&Plan, &Heading) -> Result<serde_json::Value, PaperFault>,
    /// The drawing that the template places, as SVG.
    pub(crate) drawing: Option<fn(&Plan) -> String>,
}

impl Paper {
    /// The paper of a plan, as an accessible PDF.
    ///
    /// *Errors*: a face that is no font.
    pub fn pdf(&self, plan: &Plan, heading: &Heading, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
        pdf(&Copy {
            template: self.template,
            data: (self.fill)(plan, heading)?,
            drawing: self.drawing.map(|draw| draw(plan)),
            fonts,
            date: heading.date,
        })
    }
}

/// A sheet as its template reads it.
///
/// *Errors*: it cannot be written: a fault of the program.
pub(crate) fn filled(sheet: &impl Serialize) -> Result<serde_json::Value, PaperFault> {
    serde_json::to_value(sheet).map_err(|fault| PaperFault::Setting(fault.to_string()))
}
