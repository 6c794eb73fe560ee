//! What follows from the consultation: the rules that spoke, the letter to take along, her copy.

use super::consents::given_words;
use super::talk::{Step, Talk, fields_of, tone};
use super::words::{answer, of_part};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use craft::suitability::book::rule_named;
use craft::suitability::{Effect, Met};
use measure::text::{capital, sentence};
use paper::{Agreed, AskedPart, ConsultationPaper, Consulted, Heading};
use salon::book::Wording;
use salon::client::ClientFile;
use salon::consultation::{Part, applies};

#[derive(Template)]
#[template(path = "consultation/outcome.html")]
struct OutcomePage {
    shell: Shell,
    id: String,
    name: String,
    steps: Vec<Step>,
    tone: &'static str,
    verdict: String,
    says: String,
    rules: Vec<RuleView>,
    unanswered: Vec<String>,
    /// Parts that were typed and not saved: their word and their name.
    unsaved: Vec<(&'static str, &'static str)>,
    /// The rules that refer, for the letter.
    refers: Vec<(String, String)>,
    signed: bool,
    may_plan: bool,
    copy_says: &'static str,
}

/// A rule that spoke.
struct RuleView {
    effect: &'static str,
    tone: &'static str,
    says: String,
    because: String,
    reason: String,
    changes: Vec<&'static str>,
    next: String,
    grade: String,
    source: String,
}

fn rule_view(met: &Met) -> RuleView {
    RuleView {
        effect: met.effect.words(),
        tone: match met.effect {
            Effect::Note => "go",
            Effect::Limit => "limits",
            Effect::NotToday | Effect::Refer => "halt",
        },
        says: sentence(&met.says),
        because: met.because.replace('_', " "),
        reason: sentence(&met.reason),
        changes: rule_named(&met.rule).map_or(&[][..], |rule| rule.changes).iter().map(|change| change.words()).collect(),
        next: if met.effect == Effect::Refer { format!("To see first: {}", met.next) } else { met.next.clone() },
        grade: met.grade.clone(),
        source: source(&met.source),
    }
}

/// A source as it is cited: who, what, when; of a rule of our own choice nothing.
fn source(key: &str) -> String {
    const ALL: &str = include_str!("../../../../../SOURCES.bib");
    let Some(entry) = (!key.is_empty())
        .then(|| ALL.split("\n@").find(|entry| entry.split_once('{').is_some_and(|(_, rest)| rest.starts_with(&format!("{key},")))))
        .flatten()
    else {
        return key.to_owned();
    };
    let value = |name: &str| {
        let (_, rest) = entry.split_once(&format!("{name} = {{"))?;
        rest.split_once('}').map(|(value, _)| value.trim().to_owned())
    };
    let who = value("author").map(|all| {
        let mut names = all.split(" and ").map(|name| name.split(',').next().unwrap_or(name).trim().to_owned());
        let first = names.next().unwrap_or_default();
        if names.next().is_some() { format!("{first} and others") } else { first }
    });
    [who, value("year"), value("title")].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What follows.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    Ok(draw(&Talk::of(&app, &id).await?))
}

fn draw(talk: &Talk) -> Response {
    let judged = &talk.heard.judged;
    let template = OutcomePage {
        shell: Shell::clients("Consultation", &talk.house.name),
        id: talk.id.to_string(),
        name: talk.name(),
        steps: talk.steps(None),
        tone: tone(judged.verdict),
        verdict: capital(judged.verdict.words()),
        says: judged.says.clone(),
        rules: judged.rules_met.iter().map(rule_view).collect(),
        unanswered: judged.unanswered.clone(),
        unsaved: talk.drafts.keys().map(|part| (part.word(), of_part(*part).0)).collect(),
        refers: judged
            .rules_met
            .iter()
            .filter(|met| met.effect == Effect::Refer)
            .map(|met| (met.rule.clone(), met.because.replace('_', " ")))
            .collect(),
        signed: talk.is_signed(),
        may_plan: judged.verdict.allows_a_plan(),
        copy_says: paper::COPY.says,
    };
    page(StatusCode::OK, &template)
}

/// The letter, with those answers that she takes along.
pub async fn letter(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let talk = Talk::of(&app, &id).await?;
    if !talk.heard.judged.rules_met.iter().any(|met| met.effect == Effect::Refer) {
        return Err(Trouble::NoPage);
    }
    let carried = Typed::posted(pairs).all("with").to_vec();
    set(&app, talk, &paper::LETTER, carried).await
}

/// Her copy.
pub async fn copy(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let talk = Talk::of(&app, &id).await?;
    set(&app, talk, &paper::COPY, Vec::new()).await
}

async fn set(app: &AppState, talk: Talk, paper: &'static ConsultationPaper, carried: Vec<String>) -> Result<Response, Trouble> {
    let mut agreed = Vec::new();
    for given in talk.heard.book.consents.values() {
        let wording = Wording::of(&given.wording);
        let signature = match &given.signed {
            Some(signed) => app.salon.drawn(signed).await?,
            None => None,
        };
        agreed.push(Agreed {
            title: wording.map_or_else(|| format!("Words {}", given.wording), |wording| wording.title.to_owned()),
            says: wording.map(|wording| wording.says.iter().map(|says| (*says).to_owned()).collect()).unwrap_or_default(),
            how: given_words(given),
            signature,
        });
    }
    let asked = Part::ALL.into_iter().map(|part| asked_part(part, &talk.kept(), &talk.heard.file)).collect();
    let heading = Heading {
        salon: Some(talk.house.name.clone()).filter(|name| !name.is_empty()),
        client: Some(talk.heard.book.label.clone()).filter(|name| !name.is_empty()),
        date: Some(jiff::ZonedDateTime::now().date()),
    };
    let of = Consulted { judged: talk.heard.judged, asked, agreed, carried };
    let bytes = tokio::task::spawn_blocking(move || paper.pdf(&of, &heading, &crate::web::fonts()))
        .await
        .map_err(|error| Trouble::Ours(error.to_string()))?
        .map_err(|fault| Trouble::Ours(fault.to_string()))?;
    let disposition = format!("attachment; filename=\"{}\"", paper.file);
    Ok(([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, disposition)], bytes).into_response())
}

/// A part's questions with their answers, as she reads them.
fn asked_part(part: Part, kept: &Typed, file: &ClientFile) -> AskedPart {
    let rules = measure::RuleBook::standard();
    let asked = fields_of(part).filter(|field| field.fact.is_some_and(|fact| applies(fact, file, &rules)));
    let answers = asked.map(|field| (field.label().to_owned(), answer(field, kept))).collect();
    AskedPart { name: of_part(part).1.to_owned(), answers }
}

#[cfg(test)]
mod tests {
    use super::*;
    use craft::suitability::CONSULTATION;

    #[test]
    fn every_rule_with_a_source_cites_it_in_words() {
        for rule in CONSULTATION.iter().filter(|rule| !rule.source.is_empty()) {
            let told = source(rule.source);
            assert!(told.contains(' ') && told.len() > 20, "{}: {told}", rule.id);
        }
        assert_eq!(source("billero2018").split(',').next(), Some("Billero and others"));
        assert_eq!(source(""), "");
    }
}
