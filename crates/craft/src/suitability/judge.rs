//! From the answers to the verdict.

use super::answers::{Answers, HotTools, Oil, Processed, Strand, Style, TiesUp};
use super::book::{self, Change, ConsultationRule, Effect};
use super::irons::{self, Celsius, Fineness, HairForHeat, Moisture};
use super::patch_test::{self, PatchStatus};
use super::words::{self, Question};
use crate::words::Message;
use measure::text::{millimetres, number, whole};
use measure::words::Sentence;
use measure::{Days, Density, Grade, Grams, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// What the consultation comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Nothing answered stands against it.
    GoAhead,
    /// It can be done, and the plan keeps to the limits.
    GoAheadWithinLimits,
    /// Not now.
    NotToday,
    /// Not before the person named has looked at it.
    Refer,
}

impl Verdict {
    /// Whether a plan may be made.
    #[must_use]
    pub const fn allows_a_plan(self) -> bool {
        matches!(self, Self::GoAhead | Self::GoAheadWithinLimits)
    }

    /// The verdict in plain words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::GoAhead => Message::VerdictGoAhead.text(),
            Self::GoAheadWithinLimits => Message::VerdictWithinLimits.text(),
            Self::NotToday => Message::VerdictNotToday.text(),
            Self::Refer => Message::VerdictRefer.text(),
        }
    }
}

/// A rule that an answer met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Met {
    /// The rule's name.
    pub rule: String,
    /// What it says.
    pub says: String,
    /// What was answered.
    pub because: String,
    /// Why the rule stands.
    pub reason: String,
    /// What follows.
    pub effect: Effect,
    /// Who to see, or what to do first; empty when nothing is stopped.
    pub next: String,
    /// How well it is founded, in words.
    pub grade: String,
    /// A key of SOURCES.bib; empty when there is none.
    pub source: String,
}

/// Whether a patch test is owed, and when it is read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PatchNeed {
    /// The first reading, in hours after it is set.
    pub first_reading_hours: f64,
    /// The second reading, in hours after it is set.
    pub second_reading_hours: f64,
    /// The last question, in days after it is set.
    pub late_question_days: f64,
}

/// What the plan and the work keep to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Every clearance is multiplied by this, at least 1.
    pub clearance_factor: f64,
    /// What a slice may bear is multiplied by this, at most 1; chemical services
    /// come on top of it, where the load is reckoned.
    pub load_factor: f64,
    /// The heaviest sandwich, where there is a ceiling.
    #[serde(rename = "max_sandwich_g")]
    pub max_sandwich: Option<Grams>,
    /// The lightest pieces on sale are asked for.
    pub lighter_pieces: bool,
    /// Pieces go only where her hair is dense.
    pub dense_places_only: bool,
    /// Tapes come out no later than this.
    #[serde(rename = "wear_cap_days")]
    pub wear_cap: Days,
    /// The bonds are looked at early, this long after the fitting.
    #[serde(rename = "early_look_days")]
    pub early_look: Option<Days>,
    /// The hottest iron on her dry hair.
    #[serde(rename = "iron_max_degc")]
    pub iron_max: Celsius,
    /// The iron that may be tapped on a bond; nothing means none.
    #[serde(rename = "bond_iron_max_degc")]
    pub bond_iron: Option<Celsius>,
    /// No remover, cleaner or care with limonene or scent.
    pub no_limonene: bool,
    /// No latex.
    pub no_latex: bool,
    /// No nickel against the skin.
    pub no_nickel: bool,
    /// Moving air and the least volatile remover.
    pub moving_air: bool,
    /// The patch test that is owed before the day.
    pub patch_test: Option<PatchNeed>,
    /// She signs before her hair is touched.
    pub consent_open: bool,
    /// A guardian signs before her hair is touched.
    pub guardian_signs: bool,
}

/// The verdict with everything it rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// What it comes to.
    pub verdict: Verdict,
    /// One sentence for the top of the page.
    pub says: String,
    /// Every rule met, the gravest first.
    pub rules_met: Vec<Met>,
    /// What the plan and the work keep to.
    pub limits: Limits,
    /// Questions that were not answered and are asked before the hair is touched.
    pub unanswered: Vec<String>,
}

/// Goes through every rule with these answers.
///
/// ```
/// use craft::suitability::{Answers, Verdict, judge};
/// let answers = Answers { scalp: Some(vec!["sore".to_owned()]), ..Answers::default() };
/// let judged = judge(&answers, &measure::RuleBook::standard());
/// assert!(matches!(judged.verdict, Verdict::NotToday | Verdict::Refer));
/// ```
#[must_use]
pub fn judge(answers: &Answers, book: &RuleBook) -> Judgement {
    let mut hearing = Hearing { answers, book, met: Vec::new(), unanswered: Vec::new() };
    hearing.agreement();
    hearing.history();
    hearing.own_words();
    hearing.body();
    hearing.hair();
    hearing.life();
    hearing.close()
}

/// Where on the head a strand was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PullSite {
    /// At the forehead.
    Front,
    /// Anywhere else.
    Elsewhere,
}

/// Whether a mean strand diameter lies below what healthy women measured.
///
/// *Meaning*: an observation to pass on, never a finding.
/// *Source*: Rakowska and others 2009; key `rakowska2009`.
///
/// ```
/// use craft::suitability::{PullSite, strand_thinner_than_usual};
/// use measure::{Length, RuleBook};
/// let thin = |um| strand_thinner_than_usual(Length::um(um), PullSite::Front, &RuleBook::standard());
/// assert!(thin(20.0) && !thin(80.0));
/// ```
#[must_use]
pub fn strand_thinner_than_usual(mean: Length, site: PullSite, book: &RuleBook) -> bool {
    let rule: &Rule = match site {
        PullSite::Front => &super::USUAL_STRAND_FRONT,
        PullSite::Elsewhere => &super::USUAL_STRAND_ELSEWHERE,
    };
    mean.to_um() < book.value(rule)
}

/// Whether a gentle pull brought more hairs than is usual.
///
/// *Meaning*: an observation to write down, never a finding.
/// *Source*: McDonald and others 2017; key `mcdonald2017`.
///
/// ```
/// let book = measure::RuleBook::standard();
/// use craft::suitability::more_hairs_than_usual;
/// assert!(!more_hairs_than_usual(0, &book) && more_hairs_than_usual(20, &book));
/// ```
#[must_use]
pub fn more_hairs_than_usual(hairs: u32, book: &RuleBook) -> bool {
    f64::from(hairs) > book.value(&super::PULL_USUAL)
}

struct Hearing<'a> {
    answers: &'a Answers,
    book: &'a RuleBook,
    met: Vec<(&'static ConsultationRule, String)>,
    unanswered: Vec<String>,
}

impl Hearing<'_> {
    fn meet(&mut self, rule: &'static ConsultationRule, because: impl Into<String>) {
        let because = because.into();
        match self.met.iter_mut().find(|(known, _)| known.id == rule.id) {
            Some((_, reasons)) if !reasons.contains(&because) => {
                reasons.push_str("; ");
                reasons.push_str(&because);
            }
            Some(_) => {}
            None => self.met.push((rule, because)),
        }
    }

    fn value(&self, rule: &Rule) -> f64 {
        self.book.value(rule)
    }

    fn agreement(&mut self) {
        let age = self.answers.age_years;
        let minor = age.is_some_and(|years| f64::from(years) < self.value(&super::OF_AGE));
        match self.answers.consent {
            Some(false) => self.meet(&book::CONSENT_REFUSED, Message::BecauseConsentRefused),
            None => self.meet(&book::CONSENT_OPEN, Message::BecauseConsentOpen),
            Some(true) => {}
        }
        let Some(years) = age else {
            self.unanswered.push(Message::OpenAge.into());
            return;
        };
        let age = || Message::BecauseAge { years: years.to_string() };
        if f64::from(years) < self.value(&super::CHILD_BELOW) {
            self.meet(&book::CHILD, age());
        } else if minor {
            if self.answers.guardian_consent == Some(false) {
                self.meet(&book::GUARDIAN_REFUSED, Message::BecauseGuardianRefused { years: years.to_string() });
            } else {
                self.meet(&book::GUARDIAN, age());
            }
        } else if f64::from(years) >= self.value(&super::BEARS_LESS_FROM) {
            self.meet(&book::AGE_35, age());
        }
    }

    fn history(&mut self) {
        match self.answers.reacted_before {
            Some(true) => self.meet(&book::REACTED, Message::BecauseReacted),
            Some(false) => {}
            None => {
                self.meet(&book::REACTED_UNKNOWN, Message::BecauseReactionOpen);
                self.unanswered.push(Message::OpenReaction.into());
            }
        }
        let patch = self.answers.patch_test.as_ref().map(|log| log.status(self.book));
        match patch {
            Some(PatchStatus::Reacted) => self.meet(&book::PATCH_REACTED, Message::BecausePatchSeen),
            Some(PatchStatus::Waiting) => self.meet(&book::PATCH_OPEN, Message::BecausePatchUnread),
            Some(PatchStatus::Incomplete) => self.meet(&book::PATCH_OPEN, Message::BecausePatchHalfRead),
            Some(PatchStatus::Clear | PatchStatus::ClearLateQuestionOpen) | None => {}
        }
        match (self.answers.had_extensions, patch) {
            (_, Some(_)) => {}
            (Some(true), None) => self.meet(&book::WORN_BEFORE, Message::BecauseWornBefore),
            (Some(false), None) => self.meet(&book::FIRST_TIME, Message::BecauseNeverWorn),
            (None, None) => self.meet(&book::FIRST_TIME, Message::BecauseWornOpen),
        }
    }

    fn own_words(&mut self) {
        let asked = [
            (Question::Allergies, self.answers.allergies.clone(), Message::OpenAllergies),
            (Question::Scalp, self.answers.scalp.clone(), Message::OpenScalp),
            (Question::Health, self.answers.health.clone(), Message::OpenHealth),
        ];
        for (question, answered, open) in asked {
            match answered {
                None => self.unanswered.push(open.into()),
                Some(said) => {
                    for word in said {
                        if let Some(rule) = words::rule_for(question, &word) {
                            self.meet(rule, in_her_words(question, word.trim()));
                        }
                    }
                }
            }
        }
    }

    fn body(&mut self) {
        let Some(months) = self.answers.postpartum_months else { return };
        let because = Message::BecauseBirth { months: months.to_string() }.to_string();
        if months < self.value(&super::POSTPARTUM_WAIT) {
            self.meet(&book::POSTPARTUM, because);
        } else if months <= self.value(&super::POSTPARTUM_CARE) {
            self.meet(&book::POSTPARTUM_LATE, because);
        }
    }

    fn hair(&mut self) {
        let answers = self.answers;
        if let Some(own) = answers.own_length {
            let because = Message::BecauseOwnLength { length: millimetres(own) };
            if own.to_mm() < self.value(&super::OWN_LENGTH_LEAST) {
                self.meet(&book::OWN_TOO_SHORT, because);
            } else if own.to_mm() < self.value(&super::OWN_LENGTH_EASY) {
                self.meet(&book::OWN_SHORT, because);
            }
        }
        self.thickness();
        if matches!(answers.processed, Some(Processed::Bleached | Processed::Relaxed)) {
            let relaxed = answers.processed == Some(Processed::Relaxed);
            self.meet(&book::PROCESSED, if relaxed { Message::BecauseRelaxed } else { Message::BecauseBleached });
        }
        if let Some(since) = answers.since_bleach
            && since.to_days() < self.value(&super::BLEACH_WAIT)
        {
            self.meet(&book::BLEACHED_LATELY, Message::BecauseLightened { days: whole(since.to_days()) });
        }
        if answers.oil == Some(Oil::Oily) {
            self.meet(&book::OILY, Message::BecauseOily);
        }
        if answers.ends == Some(super::answers::Ends::Blunt) {
            self.meet(&book::BLUNT_ENDS, Message::BecauseBlunt);
        }
    }

    fn thickness(&mut self) {
        let answers = self.answers;
        let fine_because = self.fine().then(|| match answers.diameter {
            Some(d) => strand_measured(d),
            None => Message::BecauseStrandFine.to_string(),
        });
        if let Some(because) = &fine_because {
            self.meet(&book::FINE, because.clone());
        }
        let sparse_because = match (answers.density, answers.tied_circumference) {
            (Some(density), _) if density.to_per_cm2() < self.value(&super::SPARSE_BELOW) => Some(counted(density).to_string()),
            (None, Some(round)) if round.to_mm() < self.value(&super::TIED_LOW_BELOW) => {
                Some(Message::BecauseTied { round: millimetres(round) }.to_string())
            }
            _ => None,
        };
        let very_fine = match answers.diameter {
            Some(d) => d.to_um() < self.value(&super::VERY_FINE_BELOW),
            None => answers.strand == Some(Strand::Fine),
        };
        if let (true, Some(because), Some(fine)) = (very_fine, sparse_because, fine_because) {
            self.meet(&book::FINE_AND_SPARSE, together(&[fine, because]));
        }
        if let Some(density) = answers.density
            && density.to_per_cm2() < self.value(&super::TOO_SPARSE_BELOW)
        {
            self.meet(&book::SPARSE_FOR_ANYTHING, counted(density));
        }
        if let Some(mean) = answers.diameter
            && strand_thinner_than_usual(mean, PullSite::Elsewhere, self.book)
        {
            self.meet(&book::THIN_STRANDS, strand_measured(mean));
        }
    }

    fn fine(&self) -> bool {
        match self.answers.diameter {
            Some(d) => d.to_um() < self.value(&super::FINE_BELOW),
            None => self.answers.strand == Some(Strand::Fine),
        }
    }

    fn life(&mut self) {
        let answers = self.answers;
        let high = answers.styles.iter().any(|style| matches!(style, Style::HighPonytail | Style::Bun));
        if answers.ties_up == Some(TiesUp::Often) {
            self.meet(&book::TIED_OFTEN, Message::BecauseTiedOften);
        } else if high && answers.ties_up != Some(TiesUp::Never) {
            self.meet(&book::TIED_OFTEN, Message::BecauseTiedHigh);
        }
        if let Some(every) = answers.returns_every
            && every.to_weeks() > self.value(&super::RETURNS_LATEST)
        {
            self.meet(&book::CANNOT_RETURN, Message::BecauseReturns { weeks: number(every.to_weeks(), 0) });
        }
        if answers.swims == Some(true) {
            self.meet(&book::SWIMS, Message::BecauseSwims);
        }
        if let Some(times) = answers.sport_per_week
            && f64::from(times) >= self.value(&super::SPORT_OFTEN)
        {
            self.meet(&book::SPORT, Message::BecauseSport { times: times.to_string() });
        }
        if matches!(answers.hot_tools, Some(HotTools::Weekly | HotTools::Daily)) {
            let word = answers.hot_tools.map_or("", HotTools::word);
            self.meet(&book::HOT_TOOLS, Message::BecauseHotTools { often: word.to_owned() });
        }
    }

    fn close(mut self) -> Judgement {
        if !self.unanswered.is_empty() {
            let open = together(&self.unanswered);
            self.meet(&book::UNANSWERED, Message::BecauseUnanswered { questions: open });
        }
        let limits = self.limits();
        let gravest = self.met.iter().map(|(rule, _)| rule.effect).max().unwrap_or(Effect::Note);
        let verdict = match gravest {
            Effect::Note => Verdict::GoAhead,
            Effect::Limit => Verdict::GoAheadWithinLimits,
            Effect::NotToday => Verdict::NotToday,
            Effect::Refer => Verdict::Refer,
        };
        // A stable sort: the gravest first, otherwise in the order of the talk.
        self.met.sort_by_key(|(rule, _)| std::cmp::Reverse(rule.effect));
        let says = summary(verdict, &self.met);
        let rules_met = self.met.into_iter().map(|(rule, because)| met(rule, because)).collect();
        Judgement { verdict, says, rules_met, limits, unanswered: self.unanswered }
    }

    fn limits(&self) -> Limits {
        let asked = |change: Change| self.met.iter().any(|(rule, _)| rule.changes.contains(&change));
        let more = self.value(&super::CLEARANCE_MORE);
        let less = self.value(&super::BEARS_LESS);
        let clearance = [Change::ClearanceForFineHair, Change::ClearanceForTiedHair];
        // Age and earlier loss are one allowance for hair that gives way sooner;
        // chemical services are reckoned where the load is (`craft::load`).
        let bears_less = asked(Change::BearsLess);
        let hair = self.hair_for_heat();
        // Damp hair gets no iron at all; this is the cap for the same hair dry.
        let iron_max = irons::iron_cap(hair, self.book).unwrap_or(Celsius::deg(0.0));
        // A test on someone who reacted before is itself a risk, and someone
        // who is sent on is tested by whoever she is sent to.
        let may_test = !self.met.iter().any(|(rule, _)| rule.effect == Effect::Refer);
        Limits {
            clearance_factor: clearance.into_iter().filter(|c| asked(*c)).map(|_| more).product(),
            load_factor: if bears_less { less } else { 1.0 },
            max_sandwich: asked(Change::LighterPieces).then(|| Grams::g(self.value(&super::LIGHT_SANDWICH))),
            lighter_pieces: asked(Change::LighterPieces),
            dense_places_only: asked(Change::DensePlacesOnly),
            wear_cap: Days::days(self.value(&super::WEAR_CAP)),
            early_look: asked(Change::EarlyLook).then(|| Days::days(self.value(&super::EARLY_LOOK))),
            iron_max,
            bond_iron: irons::bond_iron(self.answers.oil, hair, self.book),
            no_limonene: asked(Change::LimoneneFree),
            no_latex: asked(Change::LatexFree),
            no_nickel: asked(Change::NickelFree),
            moving_air: asked(Change::Ventilate),
            patch_test: (asked(Change::PatchTest) && may_test).then(|| PatchNeed {
                first_reading_hours: self.value(&patch_test::FIRST_READING),
                second_reading_hours: self.value(&patch_test::SECOND_READING),
                late_question_days: self.value(&patch_test::LATE_QUESTION),
            }),
            consent_open: asked(Change::Consent),
            guardian_signs: asked(Change::Guardian),
        }
    }

    fn hair_for_heat(&self) -> HairForHeat {
        let known_sturdy = self.answers.diameter.is_some() || self.answers.strand.is_some();
        let fineness = if self.fine() || !known_sturdy { Fineness::Fine } else { Fineness::NotFine };
        HairForHeat { processed: self.answers.processed, fineness, moisture: Moisture::Dry }
    }
}

/// What she answered in her own words.
fn in_her_words(question: Question, answer: &str) -> Message {
    let answer = answer.to_owned();
    match question {
        Question::Allergies => Message::BecauseAllergy { answer },
        Question::Scalp => Message::BecauseScalp { answer },
        Question::Health => Message::BecauseHealth { answer },
    }
}

fn strand_measured(diameter: Length) -> String {
    Message::BecauseStrand { micrometres: number(diameter.to_um(), 0) }.to_string()
}

fn counted(density: Density) -> Message {
    Message::BecauseDensity { density: number(density.to_per_cm2(), 0) }
}

/// Several things that were answered, as they stand beside one rule.
fn together(answered: &[String]) -> String {
    answered.join("; ")
}

fn met(rule: &ConsultationRule, because: String) -> Met {
    let grade: Grade = rule.grade;
    Met {
        rule: rule.id.into(),
        says: rule.says().into(),
        because,
        reason: rule.reason().into(),
        effect: rule.effect,
        next: rule.next().into(),
        grade: grade.words().into(),
        source: rule.source.into(),
    }
}

fn summary(verdict: Verdict, met: &[(&'static ConsultationRule, String)]) -> String {
    let first = met.first();
    match (verdict, first) {
        (Verdict::GoAhead, _) | (_, None) => Message::GoAhead.into(),
        (Verdict::GoAheadWithinLimits, _) => {
            let count = met.iter().filter(|(rule, _)| rule.effect == Effect::Limit).count();
            if count == 1 { Message::GoAheadWithinLimit.into() } else { Message::GoAheadWithinLimits.into() }
        }
        (Verdict::NotToday, Some((rule, because))) => {
            Message::NotToday { says: rule.says().to_owned(), because: because.clone(), next: rule.next().to_owned() }.into()
        }
        (Verdict::Refer, Some((rule, because))) => {
            Message::Refer { says: rule.says().to_owned(), because: because.clone(), next: rule.next().to_owned() }.into()
        }
    }
}
