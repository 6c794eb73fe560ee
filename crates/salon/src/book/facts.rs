//! A client's facts as they are kept: section by section, ages and spans with
//! the day they were said, health answers apart.

use super::day::{AsOf, Day};
use crate::client::{
    ClientFile, ClientSection, ColourSection, ConsultationSection, HairSection, HeadSection, LastVisitSection, PatchLook, PiecesSection,
    PricesSection,
};
use serde::{Deserialize, Serialize};

/// Who she is, as it is kept.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Who {
    /// Her name, for the papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Her age in years, as it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age: Option<AsOf>,
}

/// What she answered, without her health, as it is kept.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Answered {
    /// What does not age.
    pub answers: ConsultationSection,
    /// Days since her hair was lightened, as it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bleached: Option<AsOf>,
}

/// One section of her facts: from its event on it stands in place of the one before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "section", content = "is", rename_all = "snake_case")]
pub enum FactsSection {
    /// Who she is.
    Client(Option<Who>),
    /// What she answered, without her health.
    Consultation(Option<Box<Answered>>),
    /// Her hair.
    Hair(Option<HairSection>),
    /// Her head.
    Head(Option<Box<HeadSection>>),
    /// The colour of her ends.
    Colour(Option<ColourSection>),
    /// Pieces of her own choice.
    Pieces(Option<PiecesSection>),
    /// Where slices were before she came here.
    LastVisit(Option<LastVisitSection>),
    /// Prices of her own.
    Prices(Option<PricesSection>),
}

/// What she answered about her health: a document of its own, under its own key.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HealthAnswers {
    /// Whether she reacted before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reacted_before: Option<bool>,
    /// Her allergies, in her words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allergies: Option<Vec<String>>,
    /// What is seen or felt on her scalp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scalp: Option<Vec<String>>,
    /// Her health and medicines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub health: Option<Vec<String>>,
    /// Months since she gave birth, as it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postpartum: Option<AsOf>,
    /// Looks at the patch test.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patch_test: Option<Vec<PatchLook>>,
}

impl HealthAnswers {
    /// Whether nothing was answered.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Takes her health answers, as they are said on a day, out of a file.
    #[must_use]
    pub fn taken_from(file: &mut ClientFile, day: Day) -> Self {
        let (rest, answers) = parted(file.consultation.as_ref(), day, None);
        file.consultation = rest;
        answers
    }

    /// Puts her health answers, as they read on a day, back into a file.
    pub fn put_into(&self, file: &mut ClientFile, day: Day) {
        if self.is_empty() {
            return;
        }
        let section = file.consultation.get_or_insert_default();
        section.reacted_before = self.reacted_before;
        section.allergies.clone_from(&self.allergies);
        section.scalp.clone_from(&self.scalp);
        section.health.clone_from(&self.health);
        section.postpartum_months = self.postpartum.map(|span| span.months_on(day));
        section.patch_test.clone_from(&self.patch_test);
    }
}

/// A client's facts in force.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    who: Option<Who>,
    answered: Option<Box<Answered>>,
    hair: Option<HairSection>,
    head: Option<Box<HeadSection>>,
    colour: Option<ColourSection>,
    pieces: Option<PiecesSection>,
    last_visit: Option<LastVisitSection>,
    prices: Option<PricesSection>,
}

impl Facts {
    /// Puts a section in force.
    pub fn apply(&mut self, section: FactsSection) {
        match section {
            FactsSection::Client(is) => self.who = is,
            FactsSection::Consultation(is) => self.answered = is,
            FactsSection::Hair(is) => self.hair = is,
            FactsSection::Head(is) => self.head = is,
            FactsSection::Colour(is) => self.colour = is,
            FactsSection::Pieces(is) => self.pieces = is,
            FactsSection::LastVisit(is) => self.last_visit = is,
            FactsSection::Prices(is) => self.prices = is,
        }
    }

    /// Her name, where it was said.
    #[must_use]
    pub fn name(&self) -> Option<&str> {
        self.who.as_ref()?.name.as_deref()
    }

    /// Her file as it reads on a day, with what is known of her health.
    #[must_use]
    pub fn file_on(&self, day: Day, health: Option<&HealthAnswers>) -> ClientFile {
        let client = self.who.as_ref().map(|who| ClientSection { name: who.name.clone(), age_years: who.age.map(|age| age.years_on(day)) });
        let consultation = self
            .answered
            .as_ref()
            .map(|kept| ConsultationSection { bleached_days_ago: kept.bleached.map(|span| span.days_on(day)), ..kept.answers.clone() });
        let mut file = ClientFile {
            client,
            consultation,
            hair: self.hair.clone(),
            head: self.head.as_deref().cloned(),
            colour: self.colour.clone(),
            pieces: self.pieces.clone(),
            last_visit: self.last_visit.clone(),
            prices: self.prices.clone(),
        };
        if let Some(health) = health {
            health.put_into(&mut file, day);
        }
        file
    }

    /// What of a file, as it is said on a day, differs from what is in force;
    /// and what it answers about her health.
    #[must_use]
    pub fn changes(&self, file: &ClientFile, day: Day, health: Option<&HealthAnswers>) -> (Vec<FactsSection>, HealthAnswers) {
        let now = self.file_on(day, health);
        let mut sections = Vec::new();
        if file.client != now.client {
            let age = file.client.as_ref().and_then(|client| client.age_years);
            let age = same_span(age, self.who.as_ref().and_then(|who| who.age), day, AsOf::years_on);
            sections.push(FactsSection::Client(file.client.as_ref().map(|client| Who { name: client.name.clone(), age })));
        }
        let (asked, answers) = parted(file.consultation.as_ref(), day, health);
        let (before, _) = parted(now.consultation.as_ref(), day, health);
        if asked != before {
            let kept = asked.map(|mut section| {
                let span = self.answered.as_ref().and_then(|kept| kept.bleached);
                let bleached = same_span(section.bleached_days_ago.take(), span, day, AsOf::days_on);
                Box::new(Answered { answers: section, bleached })
            });
            sections.push(FactsSection::Consultation(kept));
        }
        if file.hair != now.hair {
            sections.push(FactsSection::Hair(file.hair.clone()));
        }
        if file.head != now.head {
            sections.push(FactsSection::Head(file.head.clone().map(Box::new)));
        }
        if file.colour != now.colour {
            sections.push(FactsSection::Colour(file.colour.clone()));
        }
        if file.pieces != now.pieces {
            sections.push(FactsSection::Pieces(file.pieces.clone()));
        }
        if file.last_visit != now.last_visit {
            sections.push(FactsSection::LastVisit(file.last_visit.clone()));
        }
        if file.prices != now.prices {
            sections.push(FactsSection::Prices(file.prices.clone()));
        }
        (sections, answers)
    }
}

/// A span as it is said now: the one that was kept where it says the same.
fn same_span(now: Option<f64>, kept: Option<AsOf>, on: Day, as_said: impl Fn(AsOf, Day) -> f64) -> Option<AsOf> {
    let value = now?;
    Some(kept.filter(|kept| (as_said(*kept, on) - value).abs() < 1e-9).unwrap_or(AsOf { value, on }))
}

/// What she answered, parted into what is her health and what is not.
fn parted(section: Option<&ConsultationSection>, day: Day, kept: Option<&HealthAnswers>) -> (Option<ConsultationSection>, HealthAnswers) {
    let Some(section) = section else { return (None, HealthAnswers::default()) };
    let mut rest = section.clone();
    let health = HealthAnswers {
        reacted_before: rest.reacted_before.take(),
        allergies: rest.allergies.take(),
        scalp: rest.scalp.take(),
        health: rest.health.take(),
        postpartum: same_span(rest.postpartum_months.take(), kept.and_then(|kept| kept.postpartum), day, AsOf::months_on),
        patch_test: rest.patch_test.take(),
    };
    // A section that held nothing else is no section.
    let rest = (rest != ConsultationSection::default() || health.is_empty()).then_some(rest);
    (rest, health)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn file() -> ClientFile {
        serde_json::from_value(json!({
            "client": {"name": "Ada Example", "age_years": 39},
            "consultation": {"goal": "both", "styles": ["down"], "bleached_days_ago": 20, "health": ["pregnant"], "allergies": [],
                "reacted_before": false, "postpartum_months": 2, "consent": true},
            "hair": {"strand": "fine"}, "head": {"circumference_mm": 556}
        }))
        .unwrap()
    }

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn kept(file: &ClientFile, on: Day) -> (Facts, HealthAnswers) {
        let mut facts = Facts::default();
        let (sections, health) = facts.changes(file, on, None);
        for section in sections {
            facts.apply(section);
        }
        (facts, health)
    }

    #[test]
    fn a_file_reads_back_on_its_own_day_and_ages_on_a_later_one() {
        let on = day("2026-03-02");
        let (facts, health) = kept(&file(), on);
        assert_eq!(facts.file_on(on, Some(&health)), file());
        let later = facts.file_on(day("2027-03-12"), Some(&health));
        assert_eq!(later.client.unwrap().age_years, Some(40.0));
        let consultation = later.consultation.unwrap();
        assert_eq!((consultation.bleached_days_ago, consultation.postpartum_months), (Some(395.0), Some(14.3)));
    }

    #[test]
    fn her_health_is_in_no_section_and_its_absence_in_no_file() {
        let (facts, health) = kept(&file(), day("2026-03-02"));
        assert_eq!(health.health, Some(vec!["pregnant".to_owned()]));
        let without = facts.file_on(day("2026-03-02"), None).consultation.unwrap();
        assert_eq!((without.health, without.allergies, without.reacted_before, without.postpartum_months), (None, None, None, None));
        assert_eq!(without.goal.as_deref(), Some("both"));
    }

    #[test]
    fn saving_what_is_shown_a_year_later_changes_nothing() {
        let (facts, health) = kept(&file(), day("2026-03-02"));
        let later = day("2027-04-02");
        let shown = facts.file_on(later, Some(&health));
        let (sections, answers) = facts.changes(&shown, later, Some(&health));
        assert_eq!((sections, answers), (Vec::new(), health));
    }

    #[test]
    fn only_the_section_that_changed_is_told() {
        let on = day("2026-03-02");
        let (facts, health) = kept(&file(), on);
        let mut changed = file();
        changed.hair.as_mut().unwrap().strand = Some("medium".into());
        let (sections, answers) = facts.changes(&changed, day("2026-05-02"), Some(&health));
        // Age and spans were typed anew, as they were on the first day: they are said of the second.
        let names: Vec<String> =
            sections.iter().map(|s| serde_json::to_value(s).unwrap()["section"].as_str().unwrap().to_owned()).collect();
        assert_eq!(names, ["consultation", "hair"]);
        assert_eq!(answers.postpartum, Some(AsOf { value: 2.0, on: day("2026-05-02") }));
    }
}
