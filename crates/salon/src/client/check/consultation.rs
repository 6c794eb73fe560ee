//! What she wishes and answered.

use super::{Check, named};
use crate::client::facts::{Fullness, Wish};
use crate::client::file::ConsultationSection;
use craft::hair::HairFacts;
use craft::placement::Care;
use craft::suitability::answers::{Goal, HotTools, Part, Style, TiesUp};
use craft::suitability::patch_test::{Look, PatchLog, SkinReading};
use craft::suitability::{Answers, plausible as usual};
use measure::{Days, Grams, Length};

impl Check {
    pub(super) fn wish(&mut self, section: &ConsultationSection, own: Option<Length>) -> Option<Wish> {
        let goal = self.word("consultation.goal", "goal", section.goal.as_ref(), Goal::from_word);
        if section.goal.is_none() {
            let cure = "Write goal = \"thickness\", \"length\" or \"both\".";
            self.fault("consultation.goal", "what she wants is missing", "goal-needed", cure);
        }
        let wanted = self.length("consultation.wanted_length_mm", section.wanted_length_mm, &usual::HAIR_LENGTH);
        self.wanted_length(goal, wanted, own);
        let fullness = self.fullness(section);
        let styles = self.styles(section.styles.as_ref());
        let part = self.word("consultation.part", "part", section.part.as_ref(), Part::from_word);
        if section.part.is_none() {
            self.warn("consultation.part is missing: a centre part is assumed.");
        }
        let care = self.word("consultation.care", "care", section.care.as_ref(), named::<Care>).unwrap_or_default();
        Some(Wish { goal: goal?, wanted_length: wanted, fullness, styles, part: part.unwrap_or(Part::Centre), care })
    }

    pub(super) fn wanted_length(&mut self, goal: Option<Goal>, wanted: Option<Length>, own: Option<Length>) {
        let longer = matches!(goal, Some(Goal::Length | Goal::Both));
        match (longer, wanted, own) {
            (true, Some(wanted), Some(own)) if own >= wanted => {
                let what = format!("she wants {:.0} mm, and her own hair is already {:.0} mm long", wanted.to_mm(), own.to_mm());
                let cure = "Write a longer wanted length, or goal = \"thickness\" when only thickness is wanted.";
                self.fault("consultation.wanted_length_mm", what, "wish-contradiction", cure);
            }
            (true, None, _) => {
                self.warn("consultation.wanted_length_mm is missing: the longest pieces on sale are assumed.");
            }
            (false, Some(_), _) if goal.is_some() => {
                self.warn("consultation.wanted_length_mm is not used: the goal is thickness.");
            }
            _ => {}
        }
    }

    pub(super) fn fullness(&mut self, section: &ConsultationSection) -> Fullness {
        let place = "consultation.fullness";
        let said = usize::from(section.fullness.is_some())
            + usize::from(section.added_g.is_some())
            + usize::from(section.ends_circumference_mm.is_some());
        if said > 1 {
            let what = "the fullness is said in more than one way";
            let cure = "Keep one of fullness, added_g and ends_circumference_mm.";
            self.fault(place, what, "wish-contradiction", cure);
        }
        if said == 0 {
            self.warn("consultation.fullness is missing: natural is assumed.");
        }
        let added = self.number("consultation.added_g", section.added_g, &usual::ADDED_MASS);
        let ends = self.length("consultation.ends_circumference_mm", section.ends_circumference_mm, &usual::TIED);
        let word = self.word(place, "fullness", section.fullness.as_ref(), |word| match word {
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
        let place = "consultation.styles";
        let Some(words) = words else {
            self.warn("consultation.styles is missing: worn down is assumed.");
            return vec![Style::Down];
        };
        if words.is_empty() {
            let cure = "Name at least one style she wears, as in styles = [\"down\"].";
            self.fault(place, "the list of styles is empty", "styles-needed", cure);
        }
        let mut styles = Vec::new();
        for word in words {
            if let Some(style) = self.word(place, "styles", Some(word), Style::from_word)
                && !styles.contains(&style)
            {
                styles.push(style);
            }
        }
        styles
    }

    pub(super) fn answers(&mut self, section: &ConsultationSection, hair: &HairFacts, styles: Vec<Style>) -> Answers {
        let sport = self.whole("consultation.sport_per_week", section.sport_per_week, &usual::SPORT);
        let postpartum = self.number("consultation.postpartum_months", section.postpartum_months, &usual::POSTPARTUM);
        let bleached = self.number("consultation.bleached_days_ago", section.bleached_days_ago, &usual::BLEACHED);
        let returns = self.number("consultation.returns_weeks", section.returns_weeks, &usual::RETURNS);
        let ties_up = self.word("consultation.ties_up", "ties_up", section.ties_up.as_ref(), TiesUp::from_word);
        let hot = self.word("consultation.hot_tools", "hot_tools", section.hot_tools.as_ref(), HotTools::from_word);
        let tied_styles = styles.iter().any(|style| *style != Style::Down);
        if ties_up == Some(TiesUp::Never) && tied_styles {
            self.warn("She never ties her hair up, and wears a style that is tied: the plan hides the bonds in that style too.");
        }
        if section.had_extensions == Some(false) && section.reacted_before == Some(true) {
            self.warn("She reacted before, though she never wore extensions: ask her to what. The reaction counts.");
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
            let place = format!("consultation.patch_test[{at}]");
            let after = self.number(&format!("{place}.after_hours"), look.after_hours, &usual::PATCH_HOURS);
            let seen = self.word(&format!("{place}.seen"), "seen", look.seen.as_ref(), named::<SkinReading>);
            if look.after_hours.is_none() || look.seen.is_none() {
                let cure = "Write { after_hours = 48, seen = \"clear\" } for each look.";
                self.fault(&place, "a look at the patch test is not complete", "patch-first-reading", cure);
            }
            if let (Some(hours), Some(seen)) = (after, seen) {
                log.looks.push(Look { after: Days::hours(hours), seen });
            }
        }
        Some(log)
    }
}
