//! What was typed, and the client's file: there and back, nothing lost.

use super::answers::{amount, amount_text, length, number, plain, words};
use super::fields::{Cell, Field, GROUPS, HEALTH_CONSENT, Kind};
use measure::Currency;
use measure::text::capital;
use salon::client::ClientFile;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// The word that says: asked, and nothing named.
pub const NONE_NAMED: &str = "none";

/// The field that stands last in a form: without it the page had not come whole,
/// and an answer that is missing may never have been asked.
pub const ALL_HERE: &str = "all_here";

/// Above a form that had not come whole.
pub const NOT_WHOLE: &str = "The page had not come whole";

/// What is said above a form that had not come whole.
pub const NOT_WHOLE_SAYS: &str =
    "Nothing was saved. What you typed is below; what had not come yet stands as it was saved before. Look through it and save again.";

/// Every answer as it was typed, by the name of its field.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed(BTreeMap<String, Vec<String>>);

/// What is wrong with an answer, by the name of its field.
pub type Wrong = BTreeMap<String, String>;

impl Typed {
    /// The answers of a posted form.
    pub fn posted(pairs: Vec<(String, String)>) -> Self {
        let mut typed = Self::default();
        for (name, value) in pairs {
            typed.0.entry(name).or_default().push(value);
        }
        typed
    }

    /// Answers as they were kept in a draft.
    pub fn drafted(answers: BTreeMap<String, Vec<String>>) -> Self {
        Self(answers)
    }

    /// The answers to some questions alone.
    pub fn only<'a>(&self, fields: impl Iterator<Item = &'a Field>) -> BTreeMap<String, Vec<String>> {
        fields.flat_map(names_of).filter_map(|name| self.0.get_key_value(&name)).map(|(name, said)| (name.clone(), said.clone())).collect()
    }

    /// These answers with one more, where it says something.
    #[must_use]
    pub fn with(mut self, name: &str, answer: &str) -> Self {
        if !answer.is_empty() {
            self.0.insert(name.to_owned(), vec![answer.to_owned()]);
        }
        self
    }

    /// All that was typed under a name.
    pub fn all(&self, name: &str) -> &[String] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }

    /// What was typed under a name first, without blanks around it.
    pub fn one(&self, name: &str) -> &str {
        self.all(name).first().map_or("", |text| text.trim())
    }

    /// Whether the form had come whole.
    pub fn is_whole(&self) -> bool {
        !self.all(ALL_HERE).is_empty()
    }

    /// These answers over those as they were kept.
    #[must_use]
    pub fn over(self, mut kept: Self) -> Self {
        kept.0.extend(self.0);
        kept
    }

    /// These answers with those to some questions as they stand in `other`.
    #[must_use]
    pub fn with_answers_of<'a>(mut self, other: &Self, names: impl Iterator<Item = &'a str>) -> Self {
        for name in names {
            match other.0.get(name) {
                Some(answers) => self.0.insert(name.to_owned(), answers.clone()),
                None => self.0.remove(name),
            };
        }
        self
    }

    /// Whether nothing was answered to a question.
    pub fn is_blank(&self, field: &Field) -> bool {
        let blank = |name: &str| self.all(name).iter().all(|text| text.trim().is_empty());
        match field.kind {
            Kind::Lines { cells, .. } => cells.iter().all(|cell| blank(&format!("{}.{}", field.name, cell.key()))),
            Kind::Lab => ["l", "a", "b"].iter().all(|part| blank(&format!("{}.{part}", field.name))),
            _ => blank(field.name) && blank(&format!("{}.other", field.name)),
        }
    }

    /// The answers as they stand in a client's file.
    pub fn of(file: &ClientFile, currency: Option<Currency>) -> Self {
        let mut typed = Self::default();
        let Ok(Value::Object(sections)) = serde_json::to_value(file) else { return typed };
        for field in GROUPS.iter().flat_map(|group| group.fields) {
            let Some((section, key)) = field.name.split_once('.') else { continue };
            if let Some(value) = sections.get(section).and_then(|section| section.get(key)) {
                typed.take_in(field, value, currency);
            }
        }
        typed
    }

    fn take_in(&mut self, field: &Field, value: &Value, currency: Option<Currency>) {
        let name = field.name.to_owned();
        match (field.kind, value) {
            (Kind::Amount, Value::Number(minor)) => {
                self.0.insert(name, vec![amount_text(minor.as_i64().unwrap_or_default(), currency)]);
            }
            (Kind::Numbers { .. }, Value::Array(list)) => {
                self.0.insert(name, vec![list.iter().map(plain).collect::<Vec<_>>().join(" ")]);
            }
            (Kind::Lab, Value::Array(list)) => {
                for (part, value) in ["l", "a", "b"].iter().zip(list) {
                    self.0.insert(format!("{name}.{part}"), vec![plain(value)]);
                }
            }
            (Kind::Lines { cells, .. }, Value::Array(lines)) => {
                for cell in cells {
                    let column = lines.iter().map(|line| line.get(cell.key()).map(plain).unwrap_or_default()).collect();
                    self.0.insert(format!("{name}.{}", cell.key()), column);
                }
            }
            (Kind::Several(_) | Kind::OwnWords(_), Value::Array(list)) if list.is_empty() => {
                self.0.insert(name, vec![NONE_NAMED.to_owned()]);
            }
            (Kind::Several(_) | Kind::OwnWords(_), Value::Array(list)) => {
                let offered = offered_words(field);
                let (known, other): (Vec<String>, Vec<String>) =
                    list.iter().map(plain).partition(|word| offered.iter().any(|(offer, _)| offer == word));
                self.0.insert(name.clone(), known);
                if !other.is_empty() {
                    self.0.insert(format!("{name}.other"), vec![other.join(", ")]);
                }
            }
            (_, value) => {
                self.0.insert(name, vec![plain(value)]);
            }
        }
    }

    /// The client's file that these answers make, or what is wrong with each.
    ///
    /// *Meaning*: only whether an answer can be read at all is decided here;
    /// whether it makes sense is for the file's own check.
    pub fn file(&self, currency: Option<Currency>) -> Result<ClientFile, Wrong> {
        let mut sections: Map<String, Value> = Map::new();
        let mut wrong = Wrong::new();
        for field in GROUPS.iter().flat_map(|group| group.fields) {
            let Some((section, key)) = field.name.split_once('.').filter(|_| field.name != HEALTH_CONSENT) else { continue };
            match self.read(field, currency) {
                Ok(Some(value)) => {
                    let section = sections.entry(section.to_owned()).or_insert_with(|| Value::Object(Map::new()));
                    if let Value::Object(section) = section {
                        section.insert(key.to_owned(), value);
                    }
                }
                Ok(None) => {}
                Err(what) => {
                    wrong.insert(field.name.to_owned(), what);
                }
            }
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        if let Some(Value::Object(colour)) = sections.get_mut("colour")
            && let Some(marks) = colour.get("photo").and_then(Value::as_str).map(crate::web::colour::kept::marks_beside)
        {
            colour.insert("marks".to_owned(), Value::from(marks));
        }
        serde_json::from_value(Value::Object(sections))
            .map_err(|error| Wrong::from([("client.name".to_owned(), format!("The answers cannot be kept ({error})."))]))
    }

    fn read(&self, field: &Field, currency: Option<Currency>) -> Result<Option<Value>, String> {
        if self.is_blank(field) {
            return Ok(None);
        }
        let text = self.one(field.name);
        Ok(Some(match field.kind {
            Kind::Words | Kind::Choice(_) | Kind::Shade | Kind::Reading => words(text)?,
            Kind::Number { unit: "mm" } => length(text)?,
            Kind::Number { .. } => number(text)?,
            Kind::Numbers { .. } => Value::Array(
                text.split(|c: char| c.is_whitespace() || c == ';')
                    .filter(|part| !part.is_empty())
                    .map(number)
                    .collect::<Result<_, _>>()?,
            ),
            Kind::Amount => Value::from(amount(text, currency)?),
            Kind::YesNo => Value::Bool(text == "true"),
            Kind::Lab => Value::Array(
                ["l", "a", "b"]
                    .iter()
                    .map(|part| {
                        let typed = self.one(&format!("{}.{part}", field.name));
                        if typed.is_empty() { Err("All three numbers are needed: L*, a* and b*.".to_owned()) } else { number(typed) }
                    })
                    .collect::<Result<_, _>>()?,
            ),
            Kind::Several(_) | Kind::OwnWords(_) => Value::Array(self.read_list(field.name)?),
            Kind::Lines { cells, one } => Value::Array(self.read_lines(field.name, cells, one)?),
        }))
    }

    fn read_list(&self, name: &str) -> Result<Vec<Value>, String> {
        let ticked = self.all(name).iter().map(|word| word.trim()).filter(|word| !word.is_empty());
        let other = self.one(&format!("{name}.other")).split(',').map(str::trim).filter(|word| !word.is_empty());
        let named: Vec<&str> = ticked.clone().filter(|word| *word != NONE_NAMED).chain(other).collect();
        if ticked.clone().any(|word| word == NONE_NAMED) && !named.is_empty() {
            return Err(format!("“None” is ticked and “{}” is named too: untick one of them.", named.join(", ")));
        }
        named.into_iter().map(words).collect()
    }

    fn read_lines(&self, name: &str, cells: &[Cell], one: &str) -> Result<Vec<Value>, String> {
        let most = cells.iter().map(|cell| self.all(&format!("{name}.{}", cell.key())).len()).max().unwrap_or(0);
        let mut lines = Vec::new();
        for at in 0..most {
            let mut line = Map::new();
            for cell in cells {
                let text = self.all(&format!("{name}.{}", cell.key())).get(at).map_or("", |text| text.trim());
                if text.is_empty() {
                    continue;
                }
                let value = match cell.kind {
                    Kind::Number { .. } => number(text),
                    _ => words(text),
                }
                .map_err(|what| format!("{} {}, {}: {what}", capital(one), at + 1, cell.label().to_lowercase()))?;
                line.insert(cell.key().to_owned(), value);
            }
            if !line.is_empty() {
                lines.push(Value::Object(line));
            }
        }
        Ok(lines)
    }

    /// The labels of the questions that were answered otherwise in `other`, with its answers.
    pub fn differing(&self, other: &Self) -> Vec<(&'static str, String)> {
        let said = |typed: &Self, name: &str| -> Vec<String> {
            typed.all(name).iter().map(|text| text.trim().to_owned()).filter(|text| !text.is_empty()).collect()
        };
        GROUPS
            .iter()
            .flat_map(|group| group.fields)
            .filter(|field| names_of(field).iter().any(|name| said(self, name) != said(other, name)))
            .map(|field| {
                let theirs: Vec<String> = names_of(field)
                    .iter()
                    .flat_map(|name| said(other, name))
                    .map(|word| super::fields::offered_as(field.name, &word))
                    .collect();
                (field.label(), theirs.join(", "))
            })
            .collect()
    }
}

/// The names under which a question's answers are sent.
pub fn names_of(field: &Field) -> Vec<String> {
    let mut names = vec![field.name.to_owned(), format!("{}.other", field.name)];
    names.extend(["l", "a", "b"].iter().map(|part| format!("{}.{part}", field.name)));
    if let Kind::Lines { cells, .. } = field.kind {
        names.extend(cells.iter().map(|cell| format!("{}.{}", field.name, cell.key())));
    }
    names
}

/// The words a field offers, with what they say on the page.
pub fn offered_words(field: &Field) -> Vec<(String, String)> {
    match field.kind {
        Kind::Several(offered) => offered.iter().map(|(word, says)| ((*word).to_owned(), (*says).to_owned())).collect(),
        Kind::OwnWords(question) => question.offered().map(|word| (word.to_owned(), capital(&word.replace('_', " ")))).collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn typed(pairs: &[(&str, &str)]) -> Typed {
        Typed::posted(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect())
    }

    #[test]
    fn commas_and_points_both_make_a_number_and_words_do_not() {
        let file = typed(&[("hair.own_length_mm", " 350,5 ")]).file(None).unwrap();
        assert_eq!(file.hair.unwrap().own_length_mm, Some(350.5));
        for nonsense in ["many", "5 6", "1e3", "NaN", "inf", "0x10", "--3", "5kg", "cm", "5 cm cm", "5 6 in"] {
            let wrong = typed(&[("hair.own_length_mm", nonsense)]).file(None).unwrap_err();
            assert!(wrong["hair.own_length_mm"].contains("is not a number"), "{nonsense}");
        }
    }

    #[test]
    fn a_length_may_be_written_with_its_unit() {
        // *Source*: the inch is 25.4 mm exactly; key `inch1959`.
        for (text, mm) in [
            ("560 mm", 560.0),
            ("56 cm", 560.0),
            ("56,3cm", 563.0),
            ("22 in", 558.8),
            ("22\"", 558.8),
            ("22 Inches", 558.8),
            ("560", 560.0),
        ] {
            let file = typed(&[("head.circumference_mm", text)]).file(None).unwrap();
            assert_eq!(file.head.unwrap().circumference_mm, Some(mm), "{text}");
        }
        assert!(typed(&[("hair.density_per_cm2", "180 cm")]).file(None).is_err(), "only lengths have a unit of length");
    }

    #[test]
    fn not_asked_and_nothing_named_are_not_the_same() {
        let open = typed(&[("consultation.swims", "")]).file(None).unwrap();
        assert_eq!(open, ClientFile::default());
        let none = typed(&[("consultation.allergies", NONE_NAMED)]).file(None).unwrap();
        assert_eq!(none.consultation.unwrap().allergies, Some(vec![]));
        let both = typed(&[("consultation.allergies", NONE_NAMED), ("consultation.allergies.other", "kiwi")]);
        assert!(both.file(None).unwrap_err()["consultation.allergies"].contains("kiwi"));
    }

    #[test]
    fn every_wrong_answer_is_named_at_once() {
        let wrong =
            typed(&[("hair.own_length_mm", "x"), ("head.circumference_mm", "y"), ("colour.lab_d65.l", "30")]).file(None).unwrap_err();
        assert_eq!(wrong.keys().collect::<Vec<_>>(), ["colour.lab_d65", "hair.own_length_mm", "head.circumference_mm"]);
    }

    proptest! {
        /// A file shown in the form and saved unchanged is the same file.
        #[test]
        fn a_file_comes_back_from_the_form_as_it_went_in(
            length in proptest::option::of(-1e6..1e6_f64),
            minor in proptest::option::of(-1_000_000_i64..1_000_000),
            name in proptest::option::of("[A-Za-zÀ-ž'][A-Za-zÀ-ž' ]{0,20}[A-Za-zÀ-ž]"),
            allergies in proptest::option::of(proptest::sample::subsequence(vec!["latex", "acrylate", "kiwi fruit"], 0..=3)),
            swims in proptest::option::of(any::<bool>()),
            lab in proptest::option::of(proptest::array::uniform3(-100.0..100.0_f64)),
            places in proptest::collection::vec(("left|right", "temple|nape", "[a-z]{1,9}"), 1..4),
        ) {
            let text = serde_json::json!({
                "client": { "name": name }, "hair": { "own_length_mm": length }, "prices": { "hour_minor": minor },
                "consultation": { "allergies": allergies, "swims": swims }, "colour": { "lab_d65": lab },
                "head": { "avoid": places.iter().map(|(side, zone, reason)| serde_json::json!({ "side": side, "zone": zone, "reason": reason })).collect::<Vec<_>>() },
            });
            let file: ClientFile = serde_json::from_value(text).unwrap();
            let back = Typed::of(&file, None).file(None).unwrap();
            let sorted = |mut file: ClientFile| {
                if let Some(list) = file.consultation.as_mut().and_then(|section| section.allergies.as_mut()) { list.sort(); }
                let mut value = serde_json::to_value(file).unwrap();
                if let Value::Object(sections) = &mut value { sections.retain(|_, section| section.as_object().is_none_or(|s| !s.is_empty())); }
                value
            };
            prop_assert_eq!(sorted(back), sorted(file));
        }
    }
}
