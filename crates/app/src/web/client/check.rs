//! What is wrong with a client's facts and what is still missing, by field.

use super::fields::{self, Field, GROUPS};
use super::form::{Typed, Wrong};
use super::view::anchor;
use desk::limits;
use measure::text::{capital, sentences};
use salon::client::{ClientFile, Section};
use salon::{Fault, Place};

/// A fault as the page shows it: at its field where it has one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultView {
    /// The field's name, or nothing when it belongs to none.
    pub field: Option<&'static str>,
    /// Where to jump to: a field, a group, or nowhere.
    pub anchor: String,
    /// The field's label, or the place in words.
    pub label: String,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub cure: String,
}

/// What the facts come to.
#[derive(Debug, Default)]
pub struct Assessed {
    /// Answers that cannot be right: nothing is saved with them.
    pub wrong: Wrong,
    /// Faults that belong to no answer, in words.
    pub elsewhere: Vec<String>,
    /// What a plan still needs.
    pub wanting: Vec<FaultView>,
}

impl Assessed {
    /// Whether the facts may be kept as they are.
    pub fn may_be_kept(&self) -> bool {
        self.wrong.is_empty() && self.elsewhere.is_empty()
    }
}

/// Goes through the facts; `file` holds the house's pieces and prices too.
///
/// *Meaning*: a fault at a question that was answered is wrong; a fault at one
/// that was left open is something a plan still needs.
pub fn assess(typed: &Typed, file: &ClientFile) -> Assessed {
    let beyond = limits::facts(file);
    let faults = match if beyond.is_empty() { file.check() } else { Err(beyond) } {
        Ok(facts) => match head::fit(&facts.head.measures) {
            // Each reading may be one that people have, and all of them together no head's.
            Ok(fit) if head::Courses::of(&fit, &facts.head.marks).is_err() => {
                let wrong = crate::web::measuring::wrong(typed);
                wrong.into_iter().map(|(name, says)| Fault::new(says, name, "head-marks", "")).collect()
            }
            Ok(_) => Vec::new(),
            Err(faults) => salon::client::of_the_tapes(faults),
        },
        Err(faults) => faults,
    };
    let mut assessed = Assessed::default();
    for fault in faults {
        let placed = place(&fault);
        match placed.field {
            Some(name) if is_answered(typed, name) => {
                let says = sentence(&placed);
                assessed
                    .wrong
                    .entry(name.to_owned())
                    .and_modify(|before| {
                        before.push(' ');
                        before.push_str(&says);
                    })
                    .or_insert(says);
            }
            Some(_) => assessed.wanting.push(placed),
            None if is_open(typed, &fault.place) => assessed.wanting.push(placed),
            None => assessed.elsewhere.push(format!("{}: {}", placed.label, sentence(&placed))),
        }
    }
    assessed
}

/// Where on the page a fault belongs.
pub fn place(fault: &Fault) -> FaultView {
    let (what, cure) = (fault.what.clone(), fault.cure.clone());
    if let Some(field) = fault.place.fact().and_then(fields::of) {
        return FaultView { field: Some(field.name), anchor: anchor(field.name), label: field.label().to_owned(), what, cure };
    }
    let group =
        fault.place.section().and_then(|section| GROUPS.iter().find(|group| group.fields.iter().any(|field| is_of(field, section))));
    FaultView {
        field: None,
        anchor: group.map(|group| group.id.to_owned()).unwrap_or_default(),
        label: group.map_or_else(|| capital(&fault.place.to_string()), |group| group.title.to_owned()),
        what,
        cure,
    }
}

fn is_of(field: &Field, section: Section) -> bool {
    field.fact.is_some_and(|fact| fact.section() == section)
}

/// What is wrong and the cure, as one or two sentences.
pub fn sentence(placed: &FaultView) -> String {
    sentences(&placed.what, &placed.cure)
}

fn is_answered(typed: &Typed, name: &str) -> bool {
    fields::named(name).is_some_and(|field| !typed.is_blank(field))
}

/// Whether nothing was answered where a fault lies that is no question's own.
fn is_open(typed: &Typed, place: &Place) -> bool {
    match place {
        Place::Section(section) => {
            GROUPS.iter().flat_map(|group| group.fields).filter(|field| is_of(field, *section)).all(|field| typed.is_blank(field))
        }
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn assessed(pairs: &[(&str, &str)]) -> Assessed {
        let typed = Typed::posted(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect());
        assess(&typed, &typed.file(None).unwrap())
    }

    #[test]
    fn nothing_typed_is_nothing_wrong_but_much_wanting() {
        let open = assessed(&[]);
        assert!(open.may_be_kept(), "{open:?}");
        let wanting: Vec<&str> = open.wanting.iter().map(|placed| placed.anchor.as_str()).collect();
        for needed in ["head-circumference_mm", "consultation-goal", "hair-density_per_cm2"] {
            assert!(wanting.contains(&needed), "{needed} of {wanting:?}");
        }
    }

    #[test]
    fn an_impossible_answer_is_wrong_at_its_own_field() {
        let odd = assessed(&[("hair.own_length_mm", "-5"), ("consultation.swims", "true")]);
        assert!(odd.wrong["hair.own_length_mm"].len() > 20, "{odd:?}");
        assert!(!odd.may_be_kept());
    }

    #[test]
    fn a_head_in_the_wrong_unit_is_caught_when_the_rest_is_there() {
        let rest = [
            ("consultation.goal", "thickness"),
            ("consultation.styles", "down"),
            ("hair.density_per_cm2", "180"),
            ("hair.strand", "medium"),
            ("hair.own_length_mm", "350"),
            ("colour.shade", "S05"),
        ];
        for (circumference, wrong) in [("560", false), ("56", true), ("5600", true), ("22", true)] {
            let mut pairs = rest.to_vec();
            pairs.push(("head.circumference_mm", circumference));
            let outcome = assessed(&pairs);
            assert_eq!(outcome.wrong.contains_key("head.circumference_mm"), wrong, "{circumference}: {outcome:?}");
        }
    }
}
