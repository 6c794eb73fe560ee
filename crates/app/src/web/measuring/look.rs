//! What the readings come to, field by field: what cannot be right, what is odd,
//! and the fit of the rest.

use super::shape::{self, ShapeView};
use super::steps::names;
use crate::web::client::form::Typed;
use head::{Courses, Fit, Marks, MeasureFault, Tape};
use measure::text::{capital, sentences};
use salon::client::HeadSection;
use salon::client::fitted::{WhyWrong, WrongReading, fitted};
use salon::client::readings::{field_of, given, is_given, leave_out, tape_of};
use std::collections::BTreeMap;

/// What is said at one field.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Says {
    /// `wrong`: cannot be kept so; `care`: look again; `fine`: as people have; empty: nothing typed.
    pub tone: &'static str,
    /// The sentence.
    pub text: String,
    /// What was most likely meant, in millimetres.
    pub likely: Option<String>,
    /// Whether a written reason would let it be kept.
    pub asks_why: bool,
}

/// The readings, judged.
pub struct Look {
    says: BTreeMap<&'static str, Says>,
    known: Option<(Fit, Courses)>,
    marks: Marks,
}

impl Look {
    /// Judges what was typed. A reading that cannot be right is told at its
    /// field and left out, so that the rest still gives a head.
    pub fn at(typed: &Typed) -> Self {
        let mut look = Self { says: BTreeMap::new(), known: None, marks: Marks::default() };
        let mut section = look.readable(typed);
        // Every round leaves out at least one reading, so this ends.
        for _ in 0..=names().count() {
            let found = fitted(&section);
            look.says.extend(found.unusual.iter().map(told));
            look.marks = found.marks.unwrap_or(look.marks);
            match found.head {
                Ok(known) => {
                    look.known = known;
                    break;
                }
                Err(wrong) => {
                    for (name, says) in wrong.iter().map(cannot_be) {
                        leave_out(&mut section, name);
                        look.says.insert(name, says);
                    }
                }
            }
        }
        look.tell_the_rest(&section);
        look
    }

    /// The readings that cannot be right, each with its sentence.
    pub fn wrong(&self) -> impl Iterator<Item = (&'static str, &str)> {
        self.says.iter().filter(|(_, says)| says.tone == "wrong").map(|(name, says)| (*name, says.text.as_str()))
    }

    /// What is said at a field.
    pub fn says(&self, name: &str) -> Says {
        self.says.get(name).cloned().unwrap_or_default()
    }

    /// The head's part of what was typed; what cannot be read is told.
    fn readable(&mut self, typed: &Typed) -> HeadSection {
        let mut left = Typed::default().with_answers_of(typed, names());
        loop {
            match left.file(None) {
                Ok(file) => return file.head.unwrap_or_default(),
                Err(wrong) => {
                    let before = self.says.len();
                    for (name, text) in wrong {
                        if let Some(name) = names().find(|known| *known == name) {
                            self.says.insert(name, Says { tone: "wrong", text, ..Says::default() });
                        }
                    }
                    if self.says.len() == before {
                        return HeadSection::default();
                    }
                    let readable: Vec<&str> = names().filter(|name| !self.says.contains_key(name)).collect();
                    left = Typed::default().with_answers_of(&left, readable.into_iter());
                }
            }
        }
    }

    /// What is said of readings with nothing wrong in them.
    fn tell_the_rest(&mut self, section: &HeadSection) {
        let reason = section.unusual_reason.as_deref().map(str::trim).filter(|reason| !reason.is_empty());
        for name in names() {
            let Some(tape) = tape_of(name).filter(|_| is_given(section, name) && !self.says.contains_key(name)) else { continue };
            let (least, most) = tape.usual_range();
            let mm = given(section, tape).unwrap_or_default();
            let range = format!("people have {}", range(tape));
            let says = if (least.to_mm()..=most.to_mm()).contains(&mm) {
                Says { tone: "fine", text: format!("{} mm. {}.", shown(mm), capital(&range)), ..Says::default() }
            } else {
                let why = reason.map(|reason| format!(" Kept because: {reason}.")).unwrap_or_default();
                Says { tone: "care", text: format!("{} mm is unusual: {range}.{why}", shown(mm)), ..Says::default() }
            };
            self.says.insert(name, says);
        }
        if let Some(doubt) = self.known.as_ref().and_then(|(fit, _)| fit.doubt) {
            let by = doubt.longer.to_mm().round();
            let way = if by > 0.0 { "longer" } else { "shorter" };
            let text = format!(
                "The measures do not agree, and this one is most likely wrong: it is {:.0} mm {way} than the others suggest. Take it again first; if it stays so, take the others again.",
                by.abs()
            );
            let said = self.says.entry(field_of(doubt.tape)).or_default();
            // What cannot be kept is said first, and said alone.
            if said.tone != "wrong" {
                let before = if said.tone == "care" { format!("{} ", said.text) } else { String::new() };
                *said = Says { tone: "care", text: before + &text, ..Says::default() };
            }
        }
    }

    /// The head as far as it is known.
    pub fn shape(&self) -> ShapeView {
        shape::shape(self.known.as_ref(), &self.marks)
    }
}

fn range(tape: Tape) -> String {
    let (least, most) = tape.usual_range();
    format!("{:.0} to {:.0} mm", least.to_mm(), most.to_mm())
}

fn shown(mm: f64) -> String {
    format!("{}", (mm * 10.0).round() / 10.0)
}

/// A reading that cannot be right, in the page's words.
fn cannot_be((name, why): &WrongReading) -> (&'static str, Says) {
    let (what, cure) = match why {
        WhyWrong::Measure(fault) => return told(fault),
        WhyWrong::Reading(fault) => match tape_of(name) {
            Some(tape) => (&fault.what, format!("People have {}. Leave it empty if it was not measured.", range(tape))),
            None => (&fault.what, fault.cure.clone()),
        },
        WhyWrong::Place(fault) => (&fault.what, fault.cure.clone()),
    };
    (*name, Says { tone: "wrong", text: sentences(what, &cure), ..Says::default() })
}

/// A fault of the fit, at its field and in the page's words.
fn told(fault: &MeasureFault) -> (&'static str, Says) {
    let name = field_of(fault.tape);
    let cure = if fault.reason_suffices {
        "Take it again. If it is right (a child, a very large head), go on: it is kept with your reason.".to_owned()
    } else {
        fault.cure.clone()
    };
    let text = sentences(&fault.what, &cure);
    (name, Says { tone: "wrong", text, likely: fault.likely.map(|length| shown(length.to_mm())), asks_why: fault.reason_suffices })
}

#[cfg(test)]
mod tests {
    use super::*;
    use salon::client::readings::{CROWN_ASIDE, CROWN_BEHIND, NAPE_BELOW, READINGS};

    const AROUND: &str = "head.circumference_mm";
    const OVER: &str = "head.ear_to_ear_over_crown_mm";

    fn look(pairs: &[(&str, &str)]) -> Look {
        Look::at(&Typed::posted(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()))
    }

    #[test]
    fn inches_written_as_millimetres_are_asked_about_with_what_was_meant() {
        // *Source*: 22 in are 558.8 mm; key `inch1959`.
        let says = look(&[(AROUND, "22")]).says(AROUND);
        assert_eq!((says.tone, says.likely.as_deref()), ("wrong", Some("559")), "{says:?}");
        assert!(!says.text.contains('_'), "no key of a file on the page: {}", says.text);
        assert_eq!(look(&[(AROUND, "22 in")]).says(AROUND).tone, "fine");
    }

    #[test]
    fn the_usual_range_is_told_and_only_a_reason_leads_beyond_it() {
        // *Source*: key `niosh2003`, least and most circumference of the survey.
        for (typed, tone) in [("474", "wrong"), ("475", "fine"), ("654", "fine"), ("655", "wrong")] {
            let says = look(&[(AROUND, typed)]).says(AROUND);
            assert_eq!(says.tone, tone, "{typed}");
            assert!(says.text.contains("475 to 654 mm"));
            assert_eq!(says.asks_why, tone == "wrong");
        }
        let kept = look(&[(AROUND, "460"), ("head.unusual_reason", "a child of six")]).says(AROUND);
        assert!(kept.tone == "care" && kept.text.contains("a child of six"), "{kept:?}");
        // Far from the other tapes as well: what cannot be kept is still said.
        let both = look(&[(AROUND, "460"), (OVER, "338")]).says(AROUND);
        assert!(both.tone == "wrong" && both.text.contains("475"), "{both:?}");
    }

    #[test]
    fn what_cannot_be_right_is_left_out_and_the_rest_gives_a_head() {
        let look = look(&[(AROUND, "560"), (OVER, "0"), ("head.length_mm", "wide"), ("head.breadth_mm", "900")]);
        assert!(look.shape().known);
        for name in [OVER, "head.length_mm", "head.breadth_mm"] {
            assert_eq!(look.says(name).tone, "wrong", "{name}");
        }
        assert_eq!(look.says(AROUND).tone, "fine");
    }

    #[test]
    fn a_crown_that_no_head_has_is_told_at_its_field() {
        let look = look(&[(AROUND, "560"), (CROWN_BEHIND, "400")]);
        assert_eq!((look.says(CROWN_BEHIND).tone, look.says(AROUND).tone), ("wrong", "fine"));
        assert!(look.shape().known);
        let aside = self::look(&[(AROUND, "560"), (CROWN_ASIDE, "12")]);
        assert_eq!(aside.says(CROWN_BEHIND).tone, "wrong", "how far back is missing");
        assert_eq!(self::look(&[(AROUND, "560"), (CROWN_BEHIND, "60"), (CROWN_ASIDE, "-12")]).says(CROWN_ASIDE).tone, "");
    }

    #[test]
    fn longer_over_the_top_than_round_is_no_head() {
        let look = look(&[(AROUND, "480"), (OVER, "420")]);
        assert_eq!(look.says(OVER).tone, "wrong");
    }

    #[test]
    fn the_tape_that_does_not_go_with_the_others_is_named_at_its_field() {
        let look = look(&[(AROUND, "560"), (OVER, "300")]);
        assert_eq!((look.says(OVER).tone, look.says(AROUND).tone), ("care", "fine"));
        assert!(look.says(OVER).text.contains("shorter"));
    }

    #[test]
    fn a_hairline_beyond_the_head_is_told_where_it_was_typed() {
        let look = look(&[(AROUND, "560"), (NAPE_BELOW, "200")]);
        assert!(look.shape().known);
        assert_eq!((look.says(NAPE_BELOW).tone, look.says(AROUND).tone), ("wrong", "fine"));
    }

    #[test]
    fn readings_of_the_hairline_that_no_head_has_are_told_at_their_field() {
        for (name, odd) in [
            ("head.nape_half_width_mm", "150"),
            ("head.nape_corner_rise_mm", "-90"),
            ("head.behind_ear_bare_mm", "lots"),
            ("head.temple_hairline_mm", "12"),
            ("head.ear_line_back_mm", "80"),
        ] {
            let look = look(&[(AROUND, "560"), (name, odd)]);
            assert_eq!((look.says(name).tone, look.says(AROUND).tone), ("wrong", "fine"), "{name} = {odd}");
            assert!(look.shape().known, "{name}: the rest still gives a head");
        }
    }

    /// Every reading may be at the end of its range: hair may grow right up to
    /// the ear, and a corner lie high and far out, each on the least and the largest head.
    #[test]
    fn readings_of_the_hairline_inside_their_ranges_give_a_head() {
        for round in ["480", "560", "640"] {
            for (name, values) in [
                ("head.behind_ear_bare_mm", ["0", "2", "25"]),
                ("head.nape_half_width_mm", ["25", "50", "70"]),
                ("head.nape_corner_rise_mm", ["-20", "5", "25"]),
                ("head.temple_hairline_mm", ["45", "65", "90"]),
                ("head.ear_line_back_mm", ["-20", "0", "20"]),
            ] {
                for value in values {
                    let look = look(&[(AROUND, round), (name, value)]);
                    assert_eq!(look.wrong().collect::<Vec<_>>(), Vec::new(), "{name} = {value} on {round}");
                    assert!(look.shape().known);
                }
            }
        }
    }

    #[test]
    fn the_picture_follows_the_measures() {
        let drawn = |around: &str| look(&[(AROUND, around)]).shape();
        let (small, large) = (drawn("500"), drawn("620"));
        assert!(small.known && large.known);
        assert_ne!(small.views[0].drawing, large.views[0].drawing);
        assert!(!look(&[]).shape().known);
        let sure = look(&[(AROUND, "560"), ("head.tape_to_nape_hairline_mm", "232")]).shape();
        let nape = |shape: &ShapeView| shape.places[0].1.parse::<f64>().unwrap();
        assert!(nape(&sure) < nape(&small), "a nape hairline that was taped is surer than one that was not");
        assert!(small.next.iter().any(|says| says.contains("nape")), "{:?}", small.next);
        assert!(sure.next.iter().all(|says| !says.contains("nape hairline")), "{:?}", sure.next);
    }

    #[test]
    fn every_reading_has_a_step_of_its_own() {
        let of = |all: Vec<&'static str>| all.into_iter().collect::<std::collections::BTreeSet<_>>();
        assert_eq!(of(names().collect()), of(READINGS.to_vec()));
    }

    #[test]
    fn every_reading_has_a_picture_that_tells_itself() {
        for (name, kind) in super::super::STEPS {
            if let super::super::Kind::Reading(_) = kind {
                let picture = super::super::drawn(*kind).unwrap();
                assert!(picture.drawing.contains("class=\"tape"), "{name} shows no tape");
                assert!(picture.says.len() > 40 && !picture.drawing.contains("NaN") && !picture.drawing.contains("style="), "{name}");
            }
        }
    }
}
