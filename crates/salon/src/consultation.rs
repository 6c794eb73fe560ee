//! The consultation: its parts in the order they are talked through, and which question applies.
//!
//! The questions themselves are the facts of a client's file; here they are only put into an
//! order. A question that follows from an answer applies once that answer was given. One that
//! was answered applies whatever follows, so that an answer can always be seen and taken back.

use crate::client::{ClientFile, ClientSection, ConsultationSection, Fact, HairSection};
use craft::suitability::{BIRTH_ASKED_UNTIL, CHILD_BELOW, OF_AGE};
use measure::{Rule, RuleBook};

/// A part of the consultation: one screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Who she is, and what she wore before.
    Before,
    /// What she wants to walk out with.
    Wish,
    /// How she lives and wears her hair.
    Life,
    /// The hair that is to carry it.
    Hair,
    /// Her skin and her health: asked once she agreed that it is.
    Health,
    /// What she can keep to, and her agreement.
    Agreement,
}

impl Part {
    /// All of them, in their order.
    pub const ALL: [Self; 6] = [Self::Before, Self::Wish, Self::Life, Self::Hair, Self::Health, Self::Agreement];

    /// Its word, as in an address.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Before => "before",
            Self::Wish => "wish",
            Self::Life => "life",
            Self::Hair => "hair",
            Self::Health => "health",
            Self::Agreement => "agreement",
        }
    }

    /// The part of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|part| part.word() == word)
    }

    /// The part after it; none after the last.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        Self::ALL.into_iter().find(|part| *part > self)
    }

    /// The part before it; none before the first.
    #[must_use]
    pub fn before(self) -> Option<Self> {
        Self::ALL.into_iter().rev().find(|part| *part < self)
    }

    /// Its questions, in their order.
    #[must_use]
    pub const fn facts(self) -> &'static [Fact] {
        match self {
            Self::Before => &[Fact::Name, Fact::Age, Fact::HadExtensions],
            Self::Wish => &[Fact::Goal, Fact::WantedLength, Fact::Fullness, Fact::Added, Fact::EndsRound, Fact::Care],
            Self::Life => &[Fact::TiesUp, Fact::Styles, Fact::Parting, Fact::Sport, Fact::Swims, Fact::HotTools],
            Self::Hair => &[
                Fact::TiedRound,
                Fact::Density,
                Fact::Strand,
                Fact::Diameter,
                Fact::MeasuredBy,
                Fact::OwnLength,
                Fact::Texture,
                Fact::Oil,
                Fact::Processed,
                Fact::Bleached,
                Fact::Ends,
            ],
            Self::Health => &[Fact::ReactedBefore, Fact::Allergies, Fact::Scalp, Fact::Health, Fact::Postpartum, Fact::PatchTest],
            Self::Agreement => &[Fact::Returns, Fact::Budget, Fact::Consent, Fact::GuardianConsent],
        }
    }

    /// The part that asks a fact; none where the consultation does not.
    #[must_use]
    pub fn of(fact: Fact) -> Option<Self> {
        Self::ALL.into_iter().find(|part| part.facts().contains(&fact.asked()))
    }

    /// The questions of this part that apply, that were not answered, and that a word is worth.
    #[must_use]
    pub fn open(self, file: &ClientFile, rules: &RuleBook) -> Vec<Fact> {
        let asked = Asked::of(file, rules);
        self.facts().iter().copied().filter(|fact| asked.applies(*fact) && asked.is_open(*fact)).collect()
    }
}

/// Whether a question applies to a client of whom so much is known.
#[must_use]
pub fn applies(fact: Fact, file: &ClientFile, rules: &RuleBook) -> bool {
    Asked::of(file, rules).applies(fact)
}

/// What was answered so far.
struct Asked<'a> {
    who: ClientSection,
    said: ConsultationSection,
    hair: HairSection,
    rules: &'a RuleBook,
}

impl<'a> Asked<'a> {
    fn of(file: &ClientFile, rules: &'a RuleBook) -> Self {
        Self {
            who: file.client.clone().unwrap_or_default(),
            said: file.consultation.clone().unwrap_or_default(),
            hair: file.hair.clone().unwrap_or_default(),
            rules,
        }
    }

    fn applies(&self, fact: Fact) -> bool {
        self.is_answered(fact) || self.follows(fact)
    }

    /// Whether a question is asked for what was answered to the others.
    fn follows(&self, fact: Fact) -> bool {
        let (said, hair) = (&self.said, &self.hair);
        let is = |answer: &Option<String>, words: &[&str]| answer.as_ref().is_some_and(|word| words.contains(&word.as_str()));
        let younger = |than: &Rule| self.who.age_years.is_some_and(|years| years < self.rules.value(than));
        match fact {
            Fact::WantedLength => is(&said.goal, &["length", "both"]),
            // Three ways of saying how much: once one is taken, the others are not asked.
            Fact::Fullness => said.added_g.is_none() && said.ends_circumference_mm.is_none(),
            Fact::Added => said.fullness.is_none() && said.ends_circumference_mm.is_none(),
            Fact::EndsRound => said.fullness.is_none() && said.added_g.is_none(),
            Fact::MeasuredBy => hair.diameter_um.is_some(),
            Fact::Bleached => is(&hair.processed, &["coloured", "bleached"]),
            Fact::Postpartum => {
                let older = self.who.age_years.is_some_and(|years| years > self.rules.value(&BIRTH_ASKED_UNTIL));
                !older && !younger(&CHILD_BELOW)
            }
            // A test is a contact: someone who reacted before is never tested here.
            Fact::PatchTest => said.reacted_before != Some(true),
            Fact::GuardianConsent => younger(&OF_AGE),
            fact => Part::of(fact).is_some(),
        }
    }

    fn is_answered(&self, fact: Fact) -> bool {
        let (said, hair) = (&self.said, &self.hair);
        match fact {
            Fact::Name => self.who.name.as_ref().is_some_and(|name| !name.trim().is_empty()),
            Fact::Age => self.who.age_years.is_some(),
            Fact::Goal => said.goal.is_some(),
            Fact::WantedLength => said.wanted_length_mm.is_some(),
            Fact::Fullness => said.fullness.is_some(),
            Fact::Added => said.added_g.is_some(),
            Fact::EndsRound => said.ends_circumference_mm.is_some(),
            Fact::Styles => said.styles.is_some(),
            Fact::Parting => said.part.is_some(),
            Fact::Care => said.care.is_some(),
            Fact::TiesUp => said.ties_up.is_some(),
            Fact::Sport => said.sport_per_week.is_some(),
            Fact::Swims => said.swims.is_some(),
            Fact::HotTools => said.hot_tools.is_some(),
            Fact::HadExtensions => said.had_extensions.is_some(),
            Fact::ReactedBefore => said.reacted_before.is_some(),
            Fact::Allergies => said.allergies.is_some(),
            Fact::Scalp => said.scalp.is_some(),
            Fact::Health => said.health.is_some(),
            Fact::Postpartum => said.postpartum_months.is_some(),
            Fact::Bleached => said.bleached_days_ago.is_some(),
            Fact::Returns => said.returns_weeks.is_some(),
            Fact::PatchTest => said.patch_test.is_some(),
            Fact::Consent => said.consent.is_some(),
            Fact::GuardianConsent => said.guardian_consent.is_some(),
            Fact::Budget => said.budget_minor.is_some(),
            Fact::Density => hair.density_per_cm2.is_some(),
            Fact::TiedRound => hair.tied_circumference_mm.is_some(),
            Fact::Strand => hair.strand.is_some(),
            Fact::Diameter => hair.diameter_um.is_some(),
            Fact::MeasuredBy => hair.measured_by.is_some(),
            Fact::OwnLength => hair.own_length_mm.is_some(),
            Fact::Texture => hair.texture.is_some(),
            Fact::Oil => hair.oil.is_some(),
            Fact::Processed => hair.processed.is_some(),
            Fact::Ends => hair.ends.is_some(),
            _ => false,
        }
    }

    /// Whether a question without an answer is one that was not asked, and not one that
    /// another answer stands for or that is left empty where it does not apply to her.
    fn is_open(&self, fact: Fact) -> bool {
        let stands_for = match fact {
            Fact::Added | Fact::EndsRound | Fact::Care | Fact::Diameter | Fact::Postpartum | Fact::PatchTest | Fact::Budget => true,
            Fact::TiedRound => self.is_answered(Fact::Density),
            Fact::Density => self.is_answered(Fact::TiedRound),
            Fact::Strand => self.is_answered(Fact::Diameter),
            Fact::Bleached => self.hair.processed.as_deref() != Some("bleached"),
            _ => false,
        };
        !stands_for && !self.is_answered(fact)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::client::Section;
    use serde_json::{Value, json};

    fn file(value: Value) -> ClientFile {
        serde_json::from_value(value).unwrap()
    }

    fn asks(fact: Fact, value: Value) -> bool {
        applies(fact, &file(value), &RuleBook::standard())
    }

    fn open(part: Part, value: Value) -> Vec<Fact> {
        part.open(&file(value), &RuleBook::standard())
    }

    #[test]
    fn every_fact_of_the_talk_and_of_her_hair_stands_in_one_part() {
        let asked: Vec<Fact> = Part::ALL.into_iter().flat_map(|part| part.facts().iter().copied()).collect();
        for fact in Fact::ALL.iter().copied().filter(|fact| fact.list().is_none()) {
            let once = matches!(fact.section(), Section::Client | Section::Consultation | Section::Hair);
            assert_eq!(asked.iter().filter(|known| **known == fact).count(), usize::from(once), "{fact}");
        }
    }

    #[test]
    fn every_question_can_be_answered_and_then_is_open_no_more() {
        let whole = file(json!({
            "client": {"name": "Ada Example", "age_years": 16},
            "consultation": {"goal": "both", "wanted_length_mm": 500, "fullness": "full", "added_g": 90, "ends_circumference_mm": 70,
                "styles": ["down"], "part": "left", "care": "usual", "ties_up": "never", "sport_per_week": 1, "swims": false,
                "hot_tools": "never", "had_extensions": true, "reacted_before": true, "allergies": [], "scalp": [], "health": [],
                "postpartum_months": 3, "bleached_days_ago": 9, "returns_weeks": 7, "patch_test": [], "consent": true,
                "guardian_consent": true, "budget_minor": 100},
            "hair": {"density_per_cm2": 180, "tied_circumference_mm": 80, "strand": "fine", "diameter_um": 60, "measured_by": "optical",
                "own_length_mm": 300, "texture": "wavy", "oil": "dry", "processed": "none", "ends": "soft"}
        }));
        let rules = RuleBook::standard();
        let asked = Asked::of(&whole, &rules);
        for part in Part::ALL {
            assert!(part.facts().iter().all(|fact| asked.is_answered(*fact) && asked.applies(*fact)), "{part:?}");
            assert_eq!(part.open(&whole, &rules), []);
            assert_eq!(Part::from_word(part.word()), Some(part));
            assert_eq!(part.next().and_then(Part::before).unwrap_or(part), part);
        }
    }

    #[test]
    fn a_guardian_is_asked_for_under_age_only() {
        let aged = |years: f64| json!({"client": {"age_years": years}});
        assert!(asks(Fact::GuardianConsent, aged(17.0)));
        assert!(!asks(Fact::GuardianConsent, aged(18.0)));
        assert!(!asks(Fact::GuardianConsent, json!({})), "an age that was not asked is none below it");
        assert!(open(Part::Agreement, aged(17.0)).contains(&Fact::GuardianConsent));
        assert!(!open(Part::Agreement, aged(18.0)).contains(&Fact::GuardianConsent));
    }

    #[test]
    fn months_since_a_birth_are_asked_of_whom_they_may_concern() {
        for (years, asked) in [(12.0, false), (13.0, true), (55.0, true), (56.0, false)] {
            assert_eq!(asks(Fact::Postpartum, json!({"client": {"age_years": years}})), asked, "{years}");
        }
        assert!(asks(Fact::Postpartum, json!({})));
        assert!(asks(Fact::Postpartum, json!({"client": {"age_years": 60}, "consultation": {"postpartum_months": 4}})), "answered");
        assert_eq!(open(Part::Health, json!({})), [Fact::ReactedBefore, Fact::Allergies, Fact::Scalp, Fact::Health]);
    }

    #[test]
    fn someone_who_reacted_before_is_not_asked_for_a_patch_test() {
        assert!(!asks(Fact::PatchTest, json!({"consultation": {"reacted_before": true}})));
        assert!(asks(Fact::PatchTest, json!({"consultation": {"reacted_before": false}})));
        assert!(asks(Fact::PatchTest, json!({})));
    }

    #[test]
    fn how_much_is_said_in_one_way() {
        let all = [Fact::Fullness, Fact::Added, Fact::EndsRound];
        let asked = |value: Value| all.map(|fact| asks(fact, value.clone()));
        assert_eq!(asked(json!({})), [true; 3]);
        assert_eq!(asked(json!({"consultation": {"fullness": "full"}})), [true, false, false]);
        assert_eq!(asked(json!({"consultation": {"added_g": 90}})), [false, true, false]);
        assert_eq!(open(Part::Wish, json!({"consultation": {"goal": "thickness"}})), [Fact::Fullness]);
        assert_eq!(open(Part::Wish, json!({"consultation": {"goal": "length", "added_g": 90}})), [Fact::WantedLength]);
    }

    #[test]
    fn what_follows_from_her_hair_is_asked_once_it_follows() {
        assert!(
            !asks(Fact::MeasuredBy, json!({"hair": {"strand": "fine"}})) && asks(Fact::MeasuredBy, json!({"hair": {"diameter_um": 60}}))
        );
        for (word, asked) in [("none", false), ("relaxed", false), ("coloured", true), ("bleached", true)] {
            assert_eq!(asks(Fact::Bleached, json!({"hair": {"processed": word}})), asked, "{word}");
        }
        let measured = json!({"hair": {"diameter_um": 60, "tied_circumference_mm": 80, "processed": "bleached"}});
        let left = open(Part::Hair, measured);
        assert!(!left.contains(&Fact::Strand) && !left.contains(&Fact::Density));
        assert!(left.contains(&Fact::MeasuredBy) && left.contains(&Fact::Bleached));
    }
}
