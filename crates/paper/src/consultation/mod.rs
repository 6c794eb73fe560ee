//! The papers of a consultation: the letter to take along, and her copy.

mod copy;
mod letter;

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
    template: &'static str,
    /// What the template is filled with.
    fill: fn(&Consulted, &Heading) -> Result<serde_json::Value, PaperFault>,
    /// The drawing that the template places, as SVG.
    drawing: fn(&Consulted) -> Option<String>,
}

/// Every paper of a consultation. A new one is its own file, its template, and a name here.
pub const CONSULTATION_PAPERS: [&ConsultationPaper; 2] = [&LETTER, &COPY];

/// The letter to whoever looks at her first.
pub const LETTER: ConsultationPaper = letter::PAPER;

/// Her copy of the consultation.
pub const COPY: ConsultationPaper = copy::PAPER;

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

#[cfg(test)]
mod tests {
    use super::*;
    use craft::suitability::{Answers, judge};
    use measure::RuleBook;

    pub fn consulted() -> Consulted {
        let answers = Answers {
            age_years: Some(31),
            scalp: Some(vec!["sore".into()]),
            health: Some(vec!["alopecia".into(), "chemotherapy".into()]),
            ..Answers::default()
        };
        Consulted {
            judged: judge(&answers, &RuleBook::standard()),
            asked: vec![AskedPart { name: "How she lives".into(), answers: vec![("Swims".into(), "not asked".into())] }],
            agreed: vec![Agreed {
                title: "I agree that tapes are set in my hair".into(),
                says: vec!["I may stop at any time.".into()],
                how: "Signed on 2 March 2026, 10:30 (work-1).".into(),
                signature: Some(Signature { strokes: vec![vec![[10, 200], [990, 210]]] }),
            }],
            carried: Vec::new(),
        }
    }

    fn text(value: &serde_json::Value) -> String {
        value.to_string()
    }

    #[test]
    fn every_paper_of_a_consultation_is_set_with_and_without_a_signature() {
        let heading =
            Heading { salon: Some("Chair".into()), client: Some("Ada <Example>".into()), date: Some(jiff::civil::date(2026, 3, 2)) };
        let mut of = consulted();
        for _ in 0..2 {
            for paper in CONSULTATION_PAPERS {
                let bytes = paper.pdf(&of, &heading, &Fonts::default()).unwrap();
                assert!(bytes.starts_with(b"%PDF") && bytes.len() > 4000, "{}", paper.file);
            }
            of.agreed.clear();
        }
    }

    #[test]
    fn a_letter_carries_only_what_she_takes_along_and_names_who_should_look() {
        let mut of = consulted();
        let silent = text(&(LETTER.fill)(&of, &Heading::default()).unwrap());
        assert!(!silent.contains("sore") && !silent.contains("alopecia") && !silent.contains("cancer"), "{silent}");
        assert!(silent.contains("dermatologist"), "{silent}");
        of.carried = vec!["scalp-pain".into(), "hair-oily".into()];
        let told = text(&(LETTER.fill)(&of, &Heading::default()).unwrap());
        assert!(told.contains("Scalp: sore") && !told.contains("alopecia"), "{told}");
    }

    #[test]
    fn a_signature_is_drawn_line_by_line() {
        let svg = signature_svg(&Signature { strokes: vec![vec![[1, 2], [3, 4]], vec![[5, 6], [7, 8]]] });
        assert!(svg.contains("d=\"M1 2L3 4M5 6L7 8\""), "{svg}");
    }
}
