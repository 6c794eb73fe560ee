//! How the consultation's parts and follow-up questions are called, and answers in words.

use crate::web::client::fields::{Cell, Field, Kind, of, offered_as};
use crate::web::client::form::{NONE_NAMED, Typed};
use measure::text::counted;
use salon::client::Fact;
use salon::consultation::Part;

/// A part's name in the line of parts, its heading, and what it is about.
pub const fn of_part(part: Part) -> (&'static str, &'static str, &'static str) {
    match part {
        Part::Before => ("Before", "Who she is, and what she wore before", "A first name or a number will do; her age decides who signs."),
        Part::Wish => ("Wish", "What she wishes", "What she wants to walk out with."),
        Part::Life => ("Life", "How she lives", "Nothing may show in any style she wears, and the plan bears what she does."),
        Part::Hair => ("Hair", "Her hair", "Clean, dry and combed through: what is to carry it."),
        Part::Health => (
            "Skin and health",
            "Her skin and her health",
            "Note “none” when she names nothing: not asked and nothing named are not the same. The program never diagnoses; some answers send her to a doctor first.",
        ),
        Part::Agreement => ("Agreement", "What she can keep to, and her agreement", "After risks, care and cost were explained."),
    }
}

/// Why a question is asked that is not asked of everybody.
pub const fn why_asked(fact: Fact) -> &'static str {
    match fact {
        Fact::WantedLength => "asked because she wants length",
        Fact::MeasuredBy => "asked because a strand was measured",
        Fact::Bleached => "asked because her hair was coloured or lightened",
        Fact::GuardianConsent => "asked because she is under age",
        _ => "",
    }
}

/// How many questions were not asked.
pub fn not_asked(count: usize) -> String {
    match count {
        0 => "all asked".to_owned(),
        count => format!("{count} not asked"),
    }
}

/// The same as a sentence of a part's foot.
pub fn not_asked_here(count: usize) -> String {
    match count {
        0 => String::new(),
        1 => "One question here not asked.".to_owned(),
        count => format!("{} here not asked.", counted(count, "question", "questions")),
    }
}

/// A fact's field; none where no page asks it.
pub fn field_of(fact: Fact) -> Option<&'static Field> {
    of(fact)
}

/// An answer as she reads it.
pub fn answer(field: &Field, typed: &Typed) -> String {
    if typed.is_blank(field) {
        return "not asked".to_owned();
    }
    let said = typed.one(field.name);
    match field.kind {
        Kind::YesNo => if said == "true" { "Yes" } else { "No" }.to_owned(),
        Kind::Number { unit } => format!("{said} {unit}"),
        Kind::Several(_) | Kind::OwnWords(_) => {
            let ticked = typed.all(field.name).iter().map(|word| word.trim()).filter(|word| !word.is_empty());
            let word = |word: &str| if word == NONE_NAMED { "None".to_owned() } else { offered_as(field.name, word) };
            let other = typed.one(&format!("{}.other", field.name));
            let all: Vec<String> = ticked.map(word).chain(Some(other).filter(|text| !text.is_empty()).map(str::to_owned)).collect();
            all.join(", ")
        }
        Kind::Lines { cells, .. } => lines(field, cells, typed),
        _ => offered_as(field.name, said),
    }
}

fn lines(field: &Field, cells: &[Cell], typed: &Typed) -> String {
    let column = |cell: &Cell| typed.all(&format!("{}.{}", field.name, cell.key()));
    let most = cells.iter().map(|cell| column(cell).len()).max().unwrap_or(0);
    let line = |at: usize| {
        let told = cells.iter().map(|cell| {
            let said = column(cell).get(at).map_or("", |text| text.trim());
            match cell.kind {
                Kind::Number { unit } => format!("{said} {unit}"),
                Kind::Choice(words) => words.iter().find(|(word, _)| *word == said).map_or(said, |(_, says)| says).to_lowercase(),
                _ => said.to_owned(),
            }
        });
        told.collect::<Vec<_>>().join(": ")
    };
    (0..most).map(line).collect::<Vec<_>>().join("; ")
}
