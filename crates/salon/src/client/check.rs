//! Every fault of a client's file at once, or the facts it states.

use super::facts::{Avoid, ClientFacts, ColourAsked, Fullness, HeadFacts, LastSite, PieceFacts, Prices, Wish};
use super::file::{ClientFile, ColourSection, ConsultationSection, HairSection, HeadSection, PiecesSection, PricesSection, nearest_key};
use crate::fault::Fault;
use craft::hair::{self, HairFacts, MeasuredBy};
use craft::placement::Care;
use craft::suitability::Answers;
use craft::suitability::answers::{Goal, HotTools, Part, Style, TiesUp};
use craft::suitability::patch::{Look, PatchLog, Reading};
use craft::suitability::plausible as usual;
use head::{CrownMark, HairUnderTape, Marks, Measures, Side, TapedParting, Zone};
use measure::{Currency, Days, Density, Grams, Length, Money, Rule, RuleBook};
use serde::Deserialize;
use serde::de::IntoDeserializer;
use serde::de::value::Error as WordError;

impl ClientFile {
    /// Turns the file into facts.
    ///
    /// *Errors*: everything that is wrong, all at once, each with its place and
    /// cure. Head measures that no head has are left to [`head::fit`], which
    /// knows heads; here they need only be numbers above zero.
    pub fn check(&self) -> Result<ClientFacts, Vec<Fault>> {
        let mut check = Check::default();
        let facts = check.facts(self);
        match facts {
            Some(mut facts) if check.faults.is_empty() => {
                facts.warnings = check.warnings;
                Ok(facts)
            }
            _ => Err(check.faults),
        }
    }
}

impl HeadSection {
    /// The tape measures of a file that holds a head and nothing else.
    ///
    /// *Errors*: everything that is no measure, all at once; whether a head has
    /// such measures [`head::fit`] knows.
    pub fn measures(&self) -> Result<Measures, Vec<Fault>> {
        let mut check = Check::default();
        match check.head(self) {
            Some(facts) if check.faults.is_empty() => Ok(facts.measures),
            _ => Err(check.faults),
        }
    }

    /// What else was seen or taped on the head.
    ///
    /// *Errors*: everything that no head has, all at once.
    pub fn marks(&self) -> Result<Marks, Vec<Fault>> {
        let mut check = Check::default();
        let marks = check.marks(self);
        if check.faults.is_empty() { Ok(marks) } else { Err(check.faults) }
    }
}

/// The hair words of a client's file, by key, in the order they are offered.
#[must_use]
pub fn words_of(key: &str) -> &'static [&'static str] {
    match key {
        "goal" => Goal::WORDS,
        "fullness" => &["light", "natural", "full"],
        "styles" => Style::WORDS,
        "part" => Part::WORDS,
        "ties_up" => TiesUp::WORDS,
        "hot_tools" => HotTools::WORDS,
        "strand" => &["fine", "medium", "coarse"],
        "measured_by" => &["optical", "calliper", "weighed"],
        "texture" => &["straight", "wavy", "curly", "coily"],
        "oil" => &["dry", "normal", "oily"],
        "processed" => &["none", "coloured", "bleached", "relaxed"],
        "ends" => &["blunt", "soft"],
        "hair_under_tape" => &["parted", "smooth", "full", "none"],
        "care" => &["careful", "usual", "bold"],
        "side" => &["left", "centre", "right"],
        "zone" => &["nape", "occipital", "crown", "parietal", "temple", "frontal"],
        "seen" => &["clear", "reacted"],
        _ => &[],
    }
}

#[derive(Default)]
struct Check {
    faults: Vec<Fault>,
    warnings: Vec<String>,
}

impl Check {
    fn fault(&mut self, place: &str, what: impl Into<String>, rule: &str, cure: impl Into<String>) {
        self.faults.push(Fault::new(what, place, rule, cure));
    }

    fn warn(&mut self, words: impl Into<String>) {
        self.warnings.push(words.into());
    }

    /// A number inside the range of a rule of plausibility.
    fn number(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<f64> {
        let value = value?;
        let (low, high) = rule.range;
        if (low..=high).contains(&value) {
            return Some(value);
        }
        let what = if value.is_finite() {
            format!("{value} {} is outside {low} to {high} {}", rule.unit, rule.unit)
        } else {
            "this is no number".into()
        };
        let cure = slip_of_unit(value, rule).unwrap_or_else(|| format!("Measure or read it again and write it in {}.", rule.unit));
        self.fault(place, what, rule.id, cure);
        None
    }

    fn whole(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<u32> {
        let value = self.number(place, value, rule)?;
        if value.fract() == 0.0 {
            return Some(value as u32);
        }
        self.fault(place, format!("{value} is not a whole number"), rule.id, "Write a whole number.");
        None
    }

    /// A length in millimetres, inside the range of a rule.
    fn length(&mut self, place: &str, value: Option<f64>, rule: &Rule) -> Option<Length> {
        self.number(place, value, rule).map(Length::mm)
    }

    /// One of the words of a list.
    fn word<T>(&mut self, place: &str, key: &str, word: Option<&String>, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let word = word?;
        if let Some(value) = read(word) {
            return Some(value);
        }
        let known = words_of(key);
        let list = known.join(", ");
        let near = nearest_key(word, known).map_or_else(String::new, |near| format!("Did you mean \"{near}\"? "));
        self.fault(place, format!("\"{word}\" is no answer here"), "word-known", format!("{near}Write one of: {list}."));
        None
    }

    fn facts(&mut self, file: &ClientFile) -> Option<ClientFacts> {
        let consultation = file.consultation.clone().unwrap_or_default();
        let client = file.client.clone().unwrap_or_default();
        let hair_section = file.hair.clone().unwrap_or_default();
        let hair = self.hair(&hair_section);
        let wish = self.wish(&consultation, hair.own_length);
        let styles = wish.as_ref().map(|wish| wish.styles.clone()).unwrap_or_default();
        let mut answers = self.answers(&consultation, &hair, styles);
        answers.age_years = self.whole("client.age_years", client.age_years, &usual::AGE);
        let head = self.head(&file.head.clone().unwrap_or_default());
        let colour = self.colour(&file.colour.clone().unwrap_or_default());
        let pieces = self.pieces(&file.pieces.clone().unwrap_or_default());
        let prices = self.prices(&file.prices.clone().unwrap_or_default());
        let budget = self.budget(consultation.budget_minor, prices.currency);
        let last_sites = self.last_sites(file);
        Some(ClientFacts {
            name: client.name.map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()),
            answers,
            wish: wish?,
            hair,
            head: head?,
            colour: colour?,
            pieces,
            last_sites,
            prices,
            budget,
            warnings: Vec::new(),
        })
    }

    fn wish(&mut self, section: &ConsultationSection, own: Option<Length>) -> Option<Wish> {
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

    fn wanted_length(&mut self, goal: Option<Goal>, wanted: Option<Length>, own: Option<Length>) {
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

    fn fullness(&mut self, section: &ConsultationSection) -> Fullness {
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

    fn styles(&mut self, words: Option<&Vec<String>>) -> Vec<Style> {
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

    fn answers(&mut self, section: &ConsultationSection, hair: &HairFacts, styles: Vec<Style>) -> Answers {
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

    fn patch_test(&mut self, section: &ConsultationSection) -> Option<PatchLog> {
        let looks = section.patch_test.as_ref()?;
        let mut log = PatchLog::default();
        for (at, look) in looks.iter().enumerate() {
            let place = format!("consultation.patch_test[{at}]");
            let after = self.number(&format!("{place}.after_hours"), look.after_hours, &usual::PATCH_HOURS);
            let seen = self.word(&format!("{place}.seen"), "seen", look.seen.as_ref(), named::<Reading>);
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

    fn hair(&mut self, section: &HairSection) -> HairFacts {
        let density = self.number("hair.density_per_cm2", section.density_per_cm2, &usual::DENSITY);
        let tied = self.length("hair.tied_circumference_mm", section.tied_circumference_mm, &usual::TIED);
        let width = self.number("hair.diameter_um", section.diameter_um, &usual::DIAMETER).map(Length::um);
        let by = self.word("hair.measured_by", "measured_by", section.measured_by.as_ref(), named::<MeasuredBy>);
        let strand = self.word("hair.strand", "strand", section.strand.as_ref(), named::<hair::Strand>);
        if section.density_per_cm2.is_none() && section.tied_circumference_mm.is_none() {
            let cure = "Count a square centimetre (density_per_cm2) or measure her tied hair (tied_circumference_mm).";
            self.fault("hair.density_per_cm2", "how much hair she has is missing", "hair-needed", cure);
        }
        if section.diameter_um.is_some() && section.measured_by.is_none() {
            let what = "a strand was measured, and how is missing";
            let cure = "Write measured_by = \"optical\", \"calliper\" or \"weighed\": the same strand reads differently.";
            self.fault("hair.measured_by", what, "strand-method", cure);
        }
        if section.measured_by.is_some() && section.diameter_um.is_none() {
            let cure = "Write diameter_um, or leave measured_by out.";
            self.fault("hair.diameter_um", "how a strand was measured is said, and not what was read", "strand-method", cure);
        }
        if section.strand.is_none() && section.diameter_um.is_none() {
            self.warn("hair.strand is missing: the usual strand with a wide range is assumed.");
        }
        if section.own_length_mm.is_none() {
            self.warn("hair.own_length_mm is missing: measure it, a sandwich needs hair to hide it.");
        }
        let own_length = self.length("hair.own_length_mm", section.own_length_mm, &usual::HAIR_LENGTH);
        let facts = HairFacts {
            density: density.map(Density::per_cm2),
            tied_circumference: tied,
            strand,
            diameter: width.zip(by),
            own_length,
            texture: self.word("hair.texture", "texture", section.texture.as_ref(), named::<hair::Texture>),
            oil: self.word("hair.oil", "oil", section.oil.as_ref(), named::<hair::Oil>),
            processed: self.word("hair.processed", "processed", section.processed.as_ref(), named::<hair::Processed>),
            ends: self.word("hair.ends", "ends", section.ends.as_ref(), named::<hair::Ends>),
        };
        if section.processed.is_none() {
            self.warn("hair.processed is missing: heat is kept as low as for bleached hair.");
        }
        self.amount_of_hair(&facts);
        facts
    }

    /// A count and a tied tail that tell of hair several times apart cannot
    /// both be right: one was likely read in another unit.
    fn amount_of_hair(&mut self, facts: &HairFacts) {
        let book = RuleBook::standard();
        if let Some(density) = facts.density {
            let counted = density.to_per_cm2();
            let (least, most) = (book.value(&hair::DENSITY_LEAST), book.value(&hair::DENSITY_MOST));
            if counted < least || counted > most {
                self.warn(format!("hair.density_per_cm2 = {counted:.0} is rarely seen: count it once more."));
            }
        }
        if let (Some((diameter, _)), Some(strand)) = (facts.diameter, facts.strand)
            && hair::Strand::of_diameter(diameter) != strand
        {
            self.warn("hair.strand and hair.diameter_um disagree: the measured diameter is used.");
        }
        let (Some(density), Some(tied)) = (facts.density, facts.tied_circumference) else { return };
        let diameter = facts.diameter.map_or(Length::um(book.value(&hair::DIAMETER_START)), |(d, _)| d);
        let in_tail = hair::strands_in_tail(tied, diameter, book.value(&hair::PACKING));
        let counted = density.to_per_cm2() * book.value(&hair::SCALP_AREA);
        let apart = (in_tail / counted).max(counted / in_tail);
        if apart > book.value(&usual::AMOUNTS_APART) {
            let what = format!(
                "{:.0} to the cm2 and {:.0} mm round when tied tell of hair {apart:.0} times apart",
                density.to_per_cm2(),
                tied.to_mm()
            );
            let cure = "Measure both again (the tail tightly tied, in millimetres), or keep the one that is sure.";
            self.fault("hair.tied_circumference_mm", what, usual::AMOUNTS_APART.id, cure);
        }
    }

    fn head(&mut self, section: &HeadSection) -> Option<HeadFacts> {
        let mut measured = |key: &str, value: Option<f64>| {
            let value = value?;
            if value.is_finite() && value > 0.0 {
                return Some(Length::mm(value));
            }
            let place = format!("head.{key}");
            self.fault(&place, format!("{value} is no length"), "head-measure", "Measure again, in millimetres.");
            None
        };
        let circumference = measured("circumference_mm", section.circumference_mm);
        let over_crown = measured("ear_to_ear_over_crown_mm", section.ear_to_ear_over_crown_mm);
        let front = measured("front_hairline_to_tape_mm", section.front_hairline_to_tape_mm);
        let back = measured("tape_to_nape_hairline_mm", section.tape_to_nape_hairline_mm);
        let behind = measured("ear_to_ear_behind_mm", section.ear_to_ear_behind_mm);
        let length = measured("length_mm", section.length_mm);
        let breadth = measured("breadth_mm", section.breadth_mm);
        if section.circumference_mm.is_none() {
            let cure = "Measure round the head above the brows and the widest point of the back.";
            self.fault("head.circumference_mm", "the size of her head is missing", "head-needed", cure);
        }
        let under = self.word("head.hair_under_tape", "hair_under_tape", section.hair_under_tape.as_ref(), named::<HairUnderTape>);
        let marks = self.marks(section);
        let avoid = self.avoid(section);
        Some(HeadFacts {
            measures: Measures {
                circumference: circumference?,
                ear_to_ear_over_crown: over_crown,
                front_hairline_to_tape: front,
                tape_to_nape_hairline: back,
                ear_to_ear_behind: behind,
                length,
                breadth,
                hair_under_tape: under.unwrap_or_default(),
                unusual_reason: section.unusual_reason.clone(),
            },
            marks,
            avoid,
        })
    }

    fn marks(&mut self, section: &HeadSection) -> Marks {
        let behind = self.length("head.crown_behind_tape_mm", section.crown_behind_tape_mm, &usual::CROWN_BEHIND_TAPE);
        let aside = self.length("head.crown_to_right_mm", section.crown_to_right_mm, &usual::CROWN_ASIDE);
        if section.crown_to_right_mm.is_some() && section.crown_behind_tape_mm.is_none() {
            let cure = "Measure along the middle from the ear-to-ear tape to the whorl, and write crown_behind_tape_mm.";
            self.fault("head.crown_behind_tape_mm", "the crown is said to lie aside, and not how far back", "marks-complete", cure);
        }
        let mut taped_partings = Vec::new();
        for (at, entry) in section.taped_partings.iter().flatten().enumerate() {
            let place = format!("head.taped_partings[{at}]");
            let above = self.length(&format!("{place}.above_nape_mm"), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let length = self.length(&format!("{place}.length_mm"), entry.length_mm, &usual::PARTING_LENGTH);
            if entry.above_nape_mm.is_none() || entry.length_mm.is_none() {
                let cure = "Write { above_nape_mm = 60, length_mm = 240 } for each parting.";
                self.fault(&place, "a taped parting is not complete", "marks-complete", cure);
            }
            if let (Some(above_nape), Some(length)) = (above, length) {
                let tilt = self.length(&format!("{place}.tilt_mm"), entry.tilt_mm, &usual::PARTING_TILT);
                taped_partings.push(TapedParting { above_nape, length, tilt });
            }
        }
        Marks {
            nape_hairline_below_occiput: self.length(
                "head.nape_hairline_below_occiput_mm",
                section.nape_hairline_below_occiput_mm,
                &usual::NAPE_BELOW_OCCIPUT,
            ),
            crown: behind.map(|behind_tape| CrownMark { behind_tape, to_the_right: aside.unwrap_or(Length::ZERO) }),
            front_peak: self.length("head.front_peak_mm", section.front_peak_mm, &usual::FRONT_PEAK),
            temple_recession: self.length("head.temple_recession_mm", section.temple_recession_mm, &usual::RECESSION),
            nape_half_width: self.length("head.nape_half_width_mm", section.nape_half_width_mm, &usual::NAPE_HALF_WIDTH),
            nape_corner_rise: self.length("head.nape_corner_rise_mm", section.nape_corner_rise_mm, &usual::NAPE_CORNER_RISE),
            behind_ear_bare: self.length("head.behind_ear_bare_mm", section.behind_ear_bare_mm, &usual::BEHIND_EAR_BARE),
            temple_hairline: self.length("head.temple_hairline_mm", section.temple_hairline_mm, &usual::TEMPLE_HAIRLINE),
            ear_line_back: self.length("head.ear_line_back_mm", section.ear_line_back_mm, &usual::EAR_LINE_BACK),
            taped_partings,
        }
    }

    fn avoid(&mut self, section: &HeadSection) -> Vec<Avoid> {
        let mut places = Vec::new();
        for (at, entry) in section.avoid.iter().flatten().enumerate() {
            let place = format!("head.avoid[{at}]");
            let side = self.word(&format!("{place}.side"), "side", entry.side.as_ref(), named::<Side>);
            let zone = self.word(&format!("{place}.zone"), "zone", entry.zone.as_ref(), |word| {
                if word == "temple" { Some(Zone::Temporal) } else { named::<Zone>(word) }
            });
            if entry.side.is_none() || entry.zone.is_none() {
                let cure = "Write { side = \"left\", zone = \"temple\", reason = \"cowlick\" }.";
                self.fault(&place, "a place to keep free needs a side and a zone", "avoid-complete", cure);
            }
            if let (Some(side), Some(zone)) = (side, zone) {
                places.push(Avoid { side, zone, reason: entry.reason.clone().unwrap_or_default() });
            }
        }
        places
    }

    fn colour(&mut self, section: &ColourSection) -> Option<ColourAsked> {
        let said = usize::from(section.lab_d65.is_some()) + usize::from(section.shade.is_some()) + usize::from(section.photo.is_some());
        if said != 1 {
            let what = if said == 0 { "the colour of her ends is missing" } else { "the colour is said in more than one way" };
            let cure = "Keep exactly one of lab_d65 = [L, a, b], shade = \"…\" and photo = \"…\" with marks = \"…\".";
            self.fault("colour", what, "colour-once", cure);
        }
        if section.photo.is_some() && section.marks.is_none() {
            let cure = "Write marks = \"marks.json\": where the chart and the hair are in the photo.";
            self.fault("colour.marks", "the photo has no marks", "photo-marks", cure);
        }
        if section.marks.is_some() && section.photo.is_none() {
            let cure = "Write photo = \"…\", or leave marks out.";
            self.fault("colour.photo", "marks are given without a photo", "photo-marks", cure);
        }
        if said != 1 {
            return None;
        }
        if let Some(lab) = &section.lab_d65 {
            return self.lab(lab);
        }
        if let Some(shade) = &section.shade {
            let code = shade.trim();
            if code.is_empty() {
                self.fault("colour.shade", "the shade is empty", "colour-once", "Write the code of a shade of the ring.");
                return None;
            }
            return Some(ColourAsked::Shade(code.to_owned()));
        }
        let (photo, marks) = (section.photo.clone()?, section.marks.clone()?);
        Some(ColourAsked::Photo { photo, marks })
    }

    fn lab(&mut self, lab: &[f64]) -> Option<ColourAsked> {
        let sane = match *lab {
            [l, a, b] if (0.0..=100.0).contains(&l) && a.abs() <= 128.0 && b.abs() <= 128.0 => Some([l, a, b]),
            _ => None,
        };
        if sane.is_none() {
            let what = format!("{lab:?} is no colour: three numbers, lightness 0 to 100, the others within 128 of zero");
            self.fault("colour.lab_d65", what, "colour-range", "Write lab_d65 = [L, a, b] as the instrument shows it.");
        }
        sane.map(ColourAsked::LabD65)
    }

    fn pieces(&mut self, section: &PiecesSection) -> PieceFacts {
        let mut lengths: Vec<Length> = Vec::new();
        if section.lengths_mm.as_ref().is_some_and(Vec::is_empty) {
            let cure = "List the lengths on sale, or leave the key out.";
            self.fault("pieces.lengths_mm", "the list of lengths is empty", "piece-length", cure);
        }
        for (at, &value) in section.lengths_mm.iter().flatten().enumerate() {
            let place = format!("pieces.lengths_mm[{at}]");
            if let Some(length) = self.length(&place, Some(value), &usual::PIECE_LENGTH)
                && !lengths.contains(&length)
            {
                lengths.push(length);
            }
        }
        lengths.sort_by(|one, other| one.to_mm().total_cmp(&other.to_mm()));
        for (key, value) in [("ring", &section.ring), ("stock", &section.stock)] {
            if value.as_ref().is_some_and(|path| path.trim().is_empty()) {
                let place = format!("pieces.{key}");
                self.fault(&place, "the file name is empty", "file-named", "Write the file's name, or leave the key out.");
            }
        }
        PieceFacts {
            tab_width: self.length("pieces.tab_width_mm", section.tab_width_mm, &usual::TAB_WIDTH),
            tab_height: self.length("pieces.tab_height_mm", section.tab_height_mm, &usual::TAB_HEIGHT),
            mass: self.number("pieces.mass_g", section.mass_g, &usual::PIECE_MASS).map(Grams::g),
            lengths,
            ring: section.ring.clone(),
            stock: section.stock.clone(),
            single_sided: section.single_sided,
            tab_across_middle: section.tab_across_middle.unwrap_or(false),
        }
    }

    fn prices(&mut self, section: &PricesSection) -> Prices {
        let currency = section.currency.as_ref().and_then(|code| {
            let currency = Currency::new(code);
            if currency.is_none() {
                let what = format!("\"{code}\" is no currency");
                self.fault("prices.currency", what, "currency", "Write its three capital letters, as in \"EUR\".");
            }
            currency
        });
        let mut amount = |key: &str, minor: Option<i64>| {
            let minor = minor?;
            let place = format!("prices.{key}");
            if minor < 0 {
                self.fault(&place, format!("{minor} is less than nothing"), "price", "Write an amount of zero or more.");
                return None;
            }
            if section.currency.is_none() {
                let cure = "Write currency = \"EUR\" (or another) in [prices].";
                self.fault(&place, "an amount stands without a currency", "currency", cure);
            }
            currency.map(|currency| Money::minor(minor, currency))
        };
        let hour = amount("hour_minor", section.hour_minor);
        let tape_tab = amount("tape_tab_minor", section.tape_tab_minor);
        Prices { currency, hour, tape_tab }
    }

    fn budget(&mut self, minor: Option<i64>, currency: Option<Currency>) -> Option<Money> {
        let minor = minor?;
        let place = "consultation.budget_minor";
        if minor <= 0 {
            self.fault(place, format!("a budget of {minor} buys nothing"), "price", "Write it in minor units, or leave it out.");
            return None;
        }
        if currency.is_none() && self.faults.iter().all(|fault| fault.place != "prices.currency") {
            self.fault(place, "the budget has no currency", "currency", "Write currency = \"EUR\" (or another) in [prices].");
        }
        currency.map(|currency| Money::minor(minor, currency))
    }

    fn last_sites(&mut self, file: &ClientFile) -> Vec<LastSite> {
        let mut sites = Vec::new();
        let entries = file.last_visit.as_ref().and_then(|visit| visit.sites.as_ref());
        for (at, entry) in entries.into_iter().flatten().enumerate() {
            let place = format!("last_visit.sites[{at}]");
            let above = self.length(&format!("{place}.above_nape_mm"), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let along = self.length(&format!("{place}.along_mm"), entry.along_mm, &usual::ALONG);
            let width = self.length(&format!("{place}.width_mm"), entry.width_mm, &usual::TAB_WIDTH);
            if entry.above_nape_mm.is_none() || entry.along_mm.is_none() || entry.width_mm.is_none() {
                let cure = "Write { above_nape_mm = …, along_mm = …, width_mm = … }.";
                self.fault(&place, "a slice of the last visit is not complete", "last-visit-complete", cure);
            }
            if let (Some(above_nape), Some(along), Some(width)) = (above, along, width) {
                sites.push(LastSite { above_nape, along, width });
            }
        }
        sites
    }
}

/// The value of a type that is written as one of its words.
fn named<T: for<'de> Deserialize<'de>>(word: &str) -> Option<T> {
    T::deserialize(IntoDeserializer::<WordError>::into_deserializer(word)).ok()
}

/// What was likely meant when a number is right in another unit.
fn slip_of_unit(value: f64, rule: &Rule) -> Option<String> {
    if rule.unit != "mm" || !value.is_finite() || value <= 0.0 {
        return None;
    }
    let (low, high) = rule.range;
    let units = [("centimetres", 10.0), ("inches", 25.4), ("micrometres", 0.001)];
    // A slip is likely only when the value is right in that unit.
    let (unit, factor) = units.into_iter().find(|(_, factor)| (low..=high).contains(&(value * factor)))?;
    Some(format!("Did you read {unit}? In millimetres it is {:.0}.", value * factor))
}
