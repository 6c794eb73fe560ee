//! The papers of a consultation: the letter to take along, and her copy.

mod copy;
mod letter;
mod sheet;

pub use sheet::{Agreed, AskedPart, ConsultationPaper, Consulted, signature_svg};

/// Every paper of a consultation. A new one is its own file, its template, and a name here.
pub const CONSULTATION_PAPERS: [&ConsultationPaper; 2] = [&LETTER, &COPY];

/// The letter to whoever looks at her first.
pub const LETTER: ConsultationPaper = letter::PAPER;

/// Her copy of the consultation.
pub const COPY: ConsultationPaper = copy::PAPER;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Fonts, Heading};
    use craft::suitability::{Answers, judge};
    use measure::RuleBook;
    use salon::book::Signature;

    fn consulted() -> Consulted {
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
