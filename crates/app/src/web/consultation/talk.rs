//! A consultation as it stands: what is kept of her, what was typed, and what stands round every part.

use super::words::{field_of, not_asked, of_part};
use crate::web::AppState;
use crate::web::client::fields::Field;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::frame::house;
use crate::web::frame::page::Trouble;
use craft::suitability::{Effect, Verdict};
use desk::{ClientId, Draft, Heard, House};
use measure::text::{capital, sentence};
use measure::{Currency, RuleBook};
use salon::book::Purpose;
use salon::client::ClientFile;
use salon::consultation::Part;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// The most rules that stand beside a part.
const MOST_LINES: usize = 4;

/// A consultation as it stands.
pub struct Talk {
    pub id: ClientId,
    pub heard: Heard,
    pub house: House,
    /// What was typed and differs from what is kept.
    pub drafts: BTreeMap<Part, Draft>,
}

/// One part in the line of parts.
pub struct Step {
    pub word: &'static str,
    pub name: &'static str,
    /// How far it is asked.
    pub says: String,
    /// `here`, `whole`, `open` or `waits`.
    pub state: &'static str,
}

/// What the answers come to so far.
pub struct SoFar {
    pub tone: &'static str,
    pub verdict: String,
    /// The gravest of the rules that spoke.
    pub lines: Vec<SoFarLine>,
    /// How many more did.
    pub more: usize,
}

/// One rule that spoke.
pub struct SoFarLine {
    pub effect: &'static str,
    pub says: String,
    pub because: String,
}

impl Talk {
    /// The consultation of a client.
    pub async fn of(app: &AppState, id: &str) -> Result<Self, Trouble> {
        let id: ClientId = id.parse()?;
        let heard = app.salon.heard(id).await?;
        let house = house::house(&app.salon).await?.value;
        let mut talk = Self { id, heard, house, drafts: BTreeMap::new() };
        let kept = talk.kept();
        for part in Part::ALL {
            let Some(draft) = app.salon.draft(id, &talk.heard.book, part).await? else { continue };
            let typed = kept.clone().with_part_of(&Typed::drafted(draft.answers.clone()), part);
            if !typed.differing(&kept).is_empty() {
                talk.drafts.insert(part, draft);
            }
        }
        Ok(talk)
    }

    /// Her answers as they are kept.
    pub fn kept(&self) -> Typed {
        Typed::of(&self.heard.file, self.house.currency())
    }

    /// Her answers with what was typed on a part and is not saved.
    pub fn typed(&self, part: Part) -> Typed {
        match self.drafts.get(&part) {
            Some(draft) => self.kept().with_part_of(&Typed::drafted(draft.answers.clone()), part),
            None => self.kept(),
        }
    }

    /// Her name, or what stands for it.
    pub fn name(&self) -> String {
        display_name(&self.heard.book.label)
    }

    /// Whether a part may be asked.
    pub fn may_ask(&self, part: Part) -> bool {
        part != Part::Health || self.heard.book.consents.contains_key(&Purpose::Health)
    }

    /// Whether her agreement to the work is signed.
    pub fn is_signed(&self) -> bool {
        self.heard.book.consents.get(&Purpose::Work).is_some_and(|given| given.signed.is_some())
    }

    /// The line of parts; `here` is the one that is open.
    pub fn steps(&self, here: Option<Part>) -> Vec<Step> {
        let step = |part: Part| {
            let open = part.open(&self.heard.file, &RuleBook::standard()).len();
            let (state, says) = match (here == Some(part), self.may_ask(part), self.drafts.contains_key(&part)) {
                (true, ..) => ("here", "this part".to_owned()),
                (_, false, _) => ("waits", "waits for her consent".to_owned()),
                (_, _, true) => ("open", "not saved yet".to_owned()),
                _ => (if open == 0 { "whole" } else { "open" }, not_asked(open)),
            };
            Step { word: part.word(), name: of_part(part).0, says, state }
        };
        Part::ALL.into_iter().map(step).collect()
    }

    /// What the answers that are kept come to.
    pub fn so_far(&self) -> SoFar {
        let judged = &self.heard.judged;
        let told = |effect: Effect| effect >= Effect::Limit;
        let line = |met: &craft::suitability::Met| SoFarLine {
            effect: met.effect.words(),
            says: sentence(&met.says),
            because: met.because.replace('_', " "),
        };
        let spoke = || judged.rules_met.iter().filter(|met| told(met.effect));
        SoFar {
            tone: tone(judged.verdict),
            verdict: capital(judged.verdict.words()),
            lines: spoke().take(MOST_LINES).map(line).collect(),
            more: spoke().count().saturating_sub(MOST_LINES),
        }
    }
}

/// How a verdict looks: `go`, `limits` or `halt`.
pub const fn tone(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::GoAhead => "go",
        Verdict::GoAheadWithinLimits => "limits",
        Verdict::NotToday | Verdict::Refer => "halt",
    }
}

/// A part's fields.
pub fn fields_of(part: Part) -> impl Iterator<Item = &'static Field> {
    part.facts().iter().filter_map(|fact| field_of(*fact))
}

impl Typed {
    /// These answers with those to a part's questions as they stand in `other`.
    #[must_use]
    pub fn with_part_of(self, other: &Self, part: Part) -> Self {
        let names: Vec<String> = fields_of(part).flat_map(crate::web::client::form::names_of).collect();
        self.with_answers_of(other, names.iter().map(String::as_str))
    }

    /// A mark of the answers to a part's questions: another where one of them is another.
    pub fn mark_of(&self, part: Part) -> String {
        let mut hasher = DefaultHasher::new();
        self.only(fields_of(part)).hash(&mut hasher);
        format!("{:016x}", hasher.finish())
    }

    /// The file that these answers make, without those that cannot be read.
    pub fn readable(&self, currency: Option<Currency>) -> ClientFile {
        match self.file(currency) {
            Ok(file) => file,
            Err(wrong) => {
                let names: Vec<String> = wrong
                    .keys()
                    .filter_map(|name| crate::web::client::fields::named(name))
                    .flat_map(crate::web::client::form::names_of)
                    .collect();
                let nothing = Self::default();
                self.clone().with_answers_of(&nothing, names.iter().map(String::as_str)).file(currency).unwrap_or_default()
            }
        }
    }
}
