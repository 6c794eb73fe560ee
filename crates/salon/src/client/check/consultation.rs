//! What she wishes and answered.

use super::{Check, named};
use crate::client::Fact;
use crate::client::facts::{Fullness, Wish};
use crate::client::file::ConsultationSection;
use crate::fault::Place;
use crate::words::Message;
use craft::hair::HairFacts;
use craft::placement::Care;
use craft::suitability::answers::{Goal, HotTools, Part, Style, TiesUp};
use craft::suitability::patch_test::{Look, PatchLog, SkinReading};
use craft::suitability::{Answers, plausible as usual};
use measure::text::millimetres;
use measure::{Days, Grams, Length};

impl Check {
    pub(super) fn wish(&mut self, section: &ConsultationSection, own: Option<Length>) -> Option<Wish> {
        let goal = self.word(Fact::Goal, section.goal.as_ref(), Goal::from_word);
        if section.goal.is_none() {
            self.fault(Fact::Goal, &Message::GoalMissing, "goal-needed");
        }
        let wanted = self.length(Fact::WantedLength, section.wanted_length_mm, &usual::HAIR_LENGTH);
        self.wanted_length(goal, wanted, own);
        let fullness = self.fullness(section);
        let styles = self.styles(section.styles.as_ref());
        let part = self.word(Fact::Parting, section.part.as_ref(), Part::from_word);
        if section.part.is_none() {
            self.warn(&Message::PartOpen);
        }
        let care = self.word(Fact::Care, section.care.as_ref(), named::<Care>).unwrap_or_default();
        Some(Wish { goal: goal?, wanted_length: wanted, fullness, styles, part: part.unwrap_or(Part::Centre), care })
    }

    pub(super) fn wanted_length(&mut self, goal: Option<Goal>, wanted: Option<Length>, own: Option<Length>) {
        let longer = matches!(goal, Some(Goal::Length | Goal::Both));
        match (longer, wanted, own) {
            (true, Some(wanted), Some(own)) if own >= wanted => {
                let message = Message::WishAlreadyLong { wanted: millimetres(wanted), own: millimetres(own) };
                self.fault(Fact::WantedLength, &message, "wish-contradiction");
            }
            (true, None, _) => {
                self.warn(&Message::WantedLengthOpen);
            }
            (false, Some(_), _) if goal.is_some() => {
                self.warn(&Message::WantedLengthUnused);
            }
            _ => {}
        }
    }

    pub(super) fn fullness(&mut self, section: &ConsultationSection) -> Fullness {
        let said = usize::from(section.fullness.is_some())
            + usize::from(section.added_g.is_some())
            + usize::from(section.ends_circumference_mm.is_some());
        if said > 1 {
            self.fault(Fact::Fullness, &Message::FullnessTwice, "wish-contradiction");
        }
        if said == 0 {
            self.warn(&Message::FullnessOpen);
        }
        let added = self.number(Fact::Added, section.added_g, &usual::ADDED_MASS);
        let ends = self.length(Fact::EndsRound, section.ends_circumference_mm, &usual::TIED);
        let word = self.word(Fact::Fullness, section.fullness.as_ref(), |word| match word {
            "light" => Some(Fullness::Light),
            "natural" => Some(Fullness::Natural),
            "full" => Some(Fullness::Full),
            _ => None,
        });
        match (added, ends) {
            (Some(grams), _) => Fullness::Added(Grams::g(grams)),
            (None, Some(round)) => Fullness::EndsCircumference(round),
            (None, None) => word.unwrap_or(Fullness::Natural),
        }
    }

    pub(super) fn styles(&mut self, words: Option<&Vec<String>>) -> Vec<Style> {
        let Some(words) = words else {
            self.warn(&Message::StylesOpen);
            return vec![Style::Down];
        };
        if words.is_empty() {
            self.fault(Fact::Styles, &Message::StylesEmpty, "styles-needed");
        }
        let mut styles = Vec::new();
        for word in words {
            if let Some(style) = self.word(Fact::Styles, Some(word), Style::from_word)
                && !styles.contains(&style)
            {
                styles.push(style);
            }
        }
        styles
    }

    pub(super) fn answers(&mut self, section: &ConsultationSection, hair: &HairFacts, styles: Vec<Style>) -> Answers {
        let sport = self.whole(Fact::Sport, section.sport_per_week, &usual::SPORT);
        let postpartum = self.number(Fact::Postpartum, section.postpartum_months, &usual::POSTPARTUM);
        let bleached = self.number(Fact::Bleached, section.bleached_days_ago, &usual::BLEACHED);
        let returns = self.number(Fact::Returns, section.returns_weeks, &usual::RETURNS);
        let ties_up = self.word(Fact::TiesUp, section.ties_up.as_ref(), TiesUp::from_word);
        let hot = self.word(Fact::HotTools, section.hot_tools.as_ref(), HotTools::from_word);
        let tied_styles = styles.iter().any(|style| *style != Style::Down);
        if ties_up == Some(TiesUp::Never) && tied_styles {
            self.warn(&Message::TiedAndNever);
        }
        if section.had_extensions == Some(false) && section.reacted_before == Some(true) {
            self.warn(&Message::ReactedAndNeverWorn);
        }
        Answers {
            age_years: None,
            consent: section.consent,
            guardian_consent: section.guardian_consent,
            had_extensions: section.had_extensions,
            reacted_before: section.reacted_before,
            allergies: section.allergies.clone(),
            scalp: section.scalp.clone(),
            health: section.health.clone(),
            postpartum_months: postpartum,
            returns_every: returns.map(Days::weeks),
            since_bleach: bleached.map(Days::days),
            patch_test: self.patch_test(section),
            styles,
            ties_up,
            sport_per_week: sport,
            swims: section.swims,
            hot_tools: hot,
            density: hair.density,
            tied_circumference: hair.tied_circumference,
            strand: hair.strand,
            diameter: hair.diameter.map(|(diameter, _)| diameter),
            own_length: hair.own_length,
            texture: hair.texture,
            oil: hair.oil,
            processed: hair.processed,
            ends: hair.ends,
        }
    }

    pub(super) fn patch_test(&mut self, section: &ConsultationSection) -> Option<PatchLog> {
        let looks = section.patch_test.as_ref()?;
        let mut log = PatchLog::default();
        for (at, look) in looks.iter().enumerate() {
            let after = self.number(Place::Answer(Fact::PatchHours, at), look.after_hours, &usual::PATCH_HOURS);
            let seen = self.word(Place::Answer(Fact::PatchSeen, at), look.seen.as_ref(), named::<SkinReading>);
            if look.after_hours.is_none() || look.seen.is_none() {
                self.fault(Place::Line(Fact::PatchTest, at), &Message::PatchLookIncomplete, "patch-first-reading");
            }
            if let (Some(hours), Some(seen)) = (after, seen) {
                log.looks.push(Look { after: Days::hours(hours), seen });
            }
        }
        Some(log)
    }
}
