//! The client's form as it is drawn: every field with what was typed, what it
//! offers and what is wrong with it.

use super::fields::{Cell, Field, GROUPS, Kind};
use super::form::{NONE_NAMED, Typed, Wrong, offered_words};
use crate::web::frame::swatch;
use craft::matching::Ring;
use craft::placement::Care;
use desk::House;
use measure::RuleBook;
use measure::text::{capital, number};

/// One station of the visit.
pub struct GroupView {
    /// Its anchor.
    pub id: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What it is about.
    pub says: &'static str,
    /// Its fields.
    pub fields: Vec<FieldView>,
    /// How many answers are wrong.
    pub wrong: usize,
    /// Whether an answer that a plan needs is missing.
    pub wanting: bool,
}

/// One field.
pub struct FieldView {
    /// Its anchor and the id of its input.
    pub id: String,
    /// The name it is posted under.
    pub name: &'static str,
    /// What is asked.
    pub label: &'static str,
    /// How to measure it.
    pub hint: String,
    /// What is wrong with the answer.
    pub error: Option<String>,
    /// Whether hint or error say something.
    pub described: bool,
    /// Whether a plan needs it and it is missing.
    pub needed: bool,
    /// Whether it takes the whole width.
    pub wide: bool,
    /// A heading before it.
    pub heading: Option<(&'static str, &'static str)>,
    /// Which piece of the page draws it.
    pub shape: &'static str,
    /// What was typed.
    pub value: String,
    /// The unit beside it; of a reading, its id.
    pub unit: String,
    /// What it offers.
    pub options: Vec<OptionView>,
    /// Her own words, where they may be typed.
    pub other: Option<String>,
    /// Its parts, for a colour in numbers.
    pub parts: Vec<PartView>,
    /// Its lines.
    pub lines: Vec<Vec<CellView>>,
    /// A line with nothing in it.
    pub blank_line: Vec<CellView>,
    /// What a line is called.
    pub one: &'static str,
}

/// One answer on offer.
pub struct OptionView {
    /// The word in the file.
    pub word: String,
    /// The word on the page.
    pub says: String,
    /// Whether it was chosen.
    pub chosen: bool,
}

/// One number of a colour.
pub struct PartView {
    /// Its key.
    pub key: &'static str,
    /// Its sign.
    pub label: &'static str,
    /// What was typed.
    pub value: String,
}

/// One answer of a line.
pub struct CellView {
    /// Its key.
    pub key: &'static str,
    /// What is asked.
    pub label: &'static str,
    /// What was typed.
    pub value: String,
    /// Whether it is a number.
    pub number: bool,
    /// What it offers.
    pub options: Vec<OptionView>,
}

/// What the form is drawn from.
pub struct FormState<'a> {
    /// What was typed.
    pub typed: &'a Typed,
    /// What is wrong with it.
    pub wrong: &'a Wrong,
    /// The fields a plan still needs.
    pub wanting: &'a [String],
    /// The salon.
    pub house: &'a House,
    /// The salon's ring.
    pub ring: &'a Ring,
}

/// The anchor of a field.
#[must_use]
pub fn anchor(name: &str) -> String {
    name.replace('.', "-")
}

/// The whole form.
#[must_use]
pub fn groups(asked: &FormState<'_>) -> Vec<GroupView> {
    GROUPS
        .iter()
        .map(|group| GroupView {
            id: group.id,
            title: group.title,
            says: group.says,
            fields: group.fields.iter().map(|field| field_view(field, asked)).collect(),
            wrong: group.fields.iter().filter(|field| asked.wrong.contains_key(field.name)).count(),
            wanting: group.fields.iter().any(|field| asked.wanting.iter().any(|name| name == field.name)),
        })
        .collect()
}

/// A field as it is drawn.
#[must_use]
pub fn field_view(field: &Field, asked: &FormState<'_>) -> FieldView {
    let typed = asked.typed;
    let value = typed.one(field.name).to_owned();
    let error = asked.wrong.get(field.name).cloned();
    let hint = if field.name == "consultation.care" { care_means() } else { field.hint.to_owned() };
    let mut view = FieldView {
        id: anchor(field.name),
        name: field.name,
        label: field.label(),
        described: error.is_some() || !hint.is_empty(),
        hint,
        error,
        needed: asked.wanting.iter().any(|name| name == field.name),
        wide: false,
        heading: field.heading,
        shape: "words",
        value: value.clone(),
        unit: String::new(),
        options: Vec::new(),
        other: None,
        parts: Vec::new(),
        lines: Vec::new(),
        blank_line: Vec::new(),
        one: "",
    };
    match field.kind {
        Kind::Words => {}
        Kind::Number { unit } | Kind::Numbers { unit } => {
            view.shape = "number";
            view.unit = unit.to_owned();
        }
        Kind::Amount => {
            view.shape = "number";
            view.unit = asked.house.currency_code(typed.one("prices.currency"));
        }
        Kind::Choice(offered) => {
            view.shape = "choice";
            view.wide = offered.len() > 2;
            view.options = choices(offered.iter().copied(), &value, "Not asked");
        }
        Kind::YesNo => {
            view.shape = "choice";
            view.options = choices([("true", "Yes"), ("false", "No")].into_iter(), &value, "Not asked");
        }
        Kind::Several(_) | Kind::OwnWords(_) => several(field, asked, &mut view),
        Kind::Reading => {
            view.shape = "reading";
            view.wide = true;
            view.unit = crate::web::colour::kept::reading_of(&value).unwrap_or_default().to_owned();
        }
        Kind::Shade => {
            view.shape = "shade";
            view.options = shades(asked.ring, &value);
        }
        Kind::Lab => {
            view.shape = "lab";
            let part = |key, label| PartView { key, label, value: typed.one(&format!("{}.{key}", field.name)).to_owned() };
            view.parts = vec![part("l", "L*"), part("a", "a*"), part("b", "b*")];
        }
        Kind::Lines { one, cells } => {
            view.shape = "lines";
            view.one = one;
            let column = |key: &str| typed.all(&format!("{}.{key}", field.name));
            let most = cells.iter().map(|cell| column(cell.key()).len()).max().unwrap_or(0);
            let typed_at = |at: usize, cell: &Cell| column(cell.key()).get(at).map_or("", |text| text.trim()).to_owned();
            view.lines = (0..most).map(|at| cells.iter().map(|cell| cell_view(cell, typed_at(at, cell))).collect()).collect();
            view.blank_line = cells.iter().map(|cell| cell_view(cell, String::new())).collect();
        }
    }
    view
}

/// One cell of a line.
fn cell_view(cell: &Cell, value: String) -> CellView {
    let options = match cell.kind {
        Kind::Choice(offered) => choices(offered.iter().copied(), &value, "Choose"),
        _ => Vec::new(),
    };
    CellView { key: cell.key(), label: cell.label(), number: matches!(cell.kind, Kind::Number { .. }), value, options }
}

/// What each care means, from the rules behind it.
fn care_means() -> String {
    let book = RuleBook::standard();
    let shows = |care: Care| number(100.0 * care.marked_from(&book), 0);
    let load = |care: Care| number(100.0 * care.load(&book), 0);
    format!(
        "How much is dared. Careful: a bond is marked from a chance of {} in a hundred that it shows, and a slice is given {} % of the usual load. \
         Usual: from {} in a hundred, as most sets are made. Bold: from {} in a hundred, and {} % of the usual load, for hair you know bears it. \
         Not asked counts as usual.",
        shows(Care::Careful),
        load(Care::Careful),
        shows(Care::Usual),
        shows(Care::Bold),
        load(Care::Bold),
    )
}

fn several(field: &Field, asked: &FormState<'_>, view: &mut FieldView) {
    view.shape = "several";
    let ticked = asked.typed.all(field.name);
    let option = |word: String, says: String| OptionView { chosen: ticked.contains(&word), word, says };
    if matches!(field.kind, Kind::OwnWords(_)) {
        view.options.push(option(NONE_NAMED.to_owned(), "None".to_owned()));
        view.other = Some(asked.typed.one(&format!("{}.other", field.name)).to_owned());
    }
    view.options.extend(offered_words(field).into_iter().map(|(word, says)| option(word, says)));
}

/// The words of a choice, with the one that takes an answer back; a word typed
/// that nobody offered stays, so that nothing is lost.
fn choices<'a>(offered: impl Iterator<Item = (&'a str, &'a str)>, value: &str, open: &str) -> Vec<OptionView> {
    let option = |word: &str, says: &str| OptionView { word: word.to_owned(), says: says.to_owned(), chosen: word == value };
    let mut options: Vec<OptionView> = offered.map(|(word, says)| option(word, says)).collect();
    options.push(option("", open));
    if options.iter().all(|option| !option.chosen) {
        options.push(option(value, &capital(&value.replace('_', " "))));
    }
    options
}

fn shades(ring: &Ring, value: &str) -> Vec<OptionView> {
    let mut options: Vec<OptionView> = ring
        .shades
        .iter()
        .map(|shade| OptionView { chosen: shade.code == value, word: shade.code.clone(), says: swatch::spoken(shade) })
        .collect();
    if !value.is_empty() && options.iter().all(|option| !option.chosen) {
        options.push(OptionView { word: value.to_owned(), says: format!("{value} (not on the ring)"), chosen: true });
    }
    options
}
