//! What a paper of a consultation is, and what it is filled with.

use crate::fault::PaperFault;
use crate::heading::Heading;
use crate::typeset::{Copy, Fonts, pdf};
use craft::suitability::Judgement;
use salon::book::Signature;

/// What was asked, what follows, and what she agreed to.
#[derive(Debug, Clone)]
pub struct Consulted {
    /// What the rules make of her answers.
    pub judged: Judgement,
    /// What was asked, part by part: each question with its answer as she reads it.
    pub asked: Vec<AskedPart>,
    /// What she agreed to.
    pub agreed: Vec<Agreed>,
    /// The rules whose answers she takes along in a letter, by their names.
    pub carried: Vec<String>,
}

/// One part of the consultation.
#[derive(Debug, Clone)]
pub struct AskedPart {
    /// Its name.
    pub name: String,
    /// Each question with its answer.
    pub answers: Vec<(String, String)>,
}

/// Something she agreed to.
#[derive(Debug, Clone)]
pub struct Agreed {
    /// To what, in one line.
    pub title: String,
    /// The words that she read.
    pub says: Vec<String>,
    /// When, which version of the words, and how she signed.
    pub how: String,
    /// Her signature, where it was drawn.
    pub signature: Option<Signature>,
}

/// A paper of a consultation. Each stands in a file of its own, beside its template.
#[derive(Debug)]
pub struct ConsultationPaper {
    /// Its file.
    pub file: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub says: &'static str,
    /// The template's source.
    pub(super) template: &'static str,
    /// What the template is filled with.
    pub(super) fill: fn(&Consulted, &Heading) -> Result<serde_json::Value, PaperFault>,
    /// The drawing that the template places, as SVG.
    pub(super) drawing: fn(&Consulted) -> Option<String>,
}

impl ConsultationPaper {
    /// The paper as an accessible PDF.
    ///
    /// *Errors*: a face that is no font.
    pub fn pdf(&self, of: &Consulted, heading: &Heading, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
        pdf(&Copy { template: self.template, data: (self.fill)(of, heading)?, drawing: (self.drawing)(of), fonts, date: heading.date })
    }
}

/// A signature as a drawing of its lines.
#[must_use]
pub fn signature_svg(signature: &Signature) -> String {
    let line = |stroke: &Vec<[u16; 2]>| -> String {
        let points = stroke.iter().enumerate().map(|(at, [x, y])| format!("{}{x} {y}", if at == 0 { "M" } else { "L" }));
        points.collect::<Vec<_>>().join("")
    };
    let path: String = signature.strokes.iter().map(line).collect();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"Her signature\"><path d=\"{path}\" fill=\"none\" \
         stroke=\"#22201d\" stroke-width=\"6\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/></svg>",
        Signature::WIDE,
        Signature::HIGH
    )
}
