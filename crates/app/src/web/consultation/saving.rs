//! A part that was typed: kept as a draft from the first letter, and as facts when it is sent.

use super::agreeing::{sign, signature};
use super::part::{PartNotice, SIGNATURE, Sheet, draft_kept, hour, was_asked};
use super::talk::{Talk, fields_of};
use super::words::{not_asked_here, of_part};
use crate::web::AppState;
use crate::web::client::check::{self, Assessed};
use crate::web::client::fields;
use crate::web::client::form::{NOT_WHOLE, NOT_WHOLE_SAYS, Typed, Wrong, names_of};
use crate::web::client::view::anchor;
use crate::web::frame::acting::{act, told};
use crate::web::frame::page::{CHANGED_ELSEWHERE, Trouble};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Form, Json};
use desk::ClientId;
use measure::RuleBook;
use measure::text::counted;
use salon::client::{ClientFile, Fact};
use salon::consultation::{Part, applies};
use serde_json::{Value, json};

type Pairs = Vec<(String, String)>;

/// Keeps what is typed on a part; which of its questions apply now and which are open.
///
/// *Meaning*: nothing of her health is read for it: what was answered to the other parts is enough.
pub async fn draft(
    State(app): State<AppState>,
    Path((id, part)): Path<(String, String)>,
    Form(pairs): Form<Pairs>,
) -> Result<Response, Trouble> {
    let part = Part::from_word(&part).ok_or(Trouble::NoPage)?;
    let id: ClientId = id.parse()?;
    let book = app.salon.book_of(id).await?;
    let typed = Typed::posted(pairs);
    if !typed.is_whole() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, Json(json!({ "says": NOT_WHOLE }))).into_response());
    }
    let line = json!({"act": "draft keep", "client": id, "part": part.word(), "answers": typed.only(fields_of(part))});
    if let Err(faults) = act(&app, line).await? {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, Json(json!({ "says": told(&faults).join(" ") }))).into_response());
    }
    let house = crate::web::frame::house::house(&app.salon).await?.value;
    let (rules, currency) = (RuleBook::standard(), house.currency());
    let kept = Typed::of(&book.facts.file_on(desk::today(), None), currency);
    let file = kept.with_part_of(&typed, part).readable(currency);
    let open = part.open(&file, &rules);
    let names = |facts: &mut dyn Iterator<Item = Fact>| -> Vec<&str> {
        facts.filter_map(|fact| fields::of(fact).map(|field| field.name)).collect()
    };
    let now = hour(jiff::Timestamp::now().as_millisecond());
    let says = format!("{} {}", draft_kept(&now), not_asked_here(open.len()));
    let told = json!({
        "kept": now, "says": says.trim(),
        "asked": names(&mut part.facts().iter().copied().filter(|fact| applies(*fact, &file, &rules))),
        "open": names(&mut open.iter().copied()),
    });
    Ok(Json(told).into_response())
}

/// A part that was sent: its answers become facts, or are shown again with what is wrong.
pub async fn save(
    State(app): State<AppState>,
    Path((id, part)): Path<(String, String)>,
    Form(pairs): Form<Pairs>,
) -> Result<Response, Trouble> {
    let part = Part::from_word(&part).ok_or(Trouble::NoPage)?;
    let talk = Talk::of(&app, &id).await?;
    let sent = Typed::posted(pairs);
    if !talk.may_ask(part) {
        return Ok(refuse(talk, part, PartNotice::of("stop", "Nothing was saved", "She has not agreed that her health answers are kept.")));
    }
    if !sent.is_whole() {
        return Ok(refuse(talk, part, PartNotice::of("stop", NOT_WHOLE, NOT_WHOLE_SAYS)));
    }
    let asked = was_asked(&sent, part);
    let names: Vec<String> = asked.iter().filter_map(|fact| fields::of(*fact)).flat_map(names_of).collect();
    let kept = talk.kept();
    let typed = kept.clone().with_answers_of(&sent, names.iter().map(String::as_str)).with_signature_of(&sent);
    let at = |place: &str| format!("/clients/{}/consultation/{place}", talk.id);
    if sent.one("then") == "sign" && talk.is_signed() {
        return Ok(Redirect::to(&at("agreement#signed")).into_response());
    }
    // Sent twice, a part is what it was made by the first.
    if sent.one("was") != kept.mark_of(part) && !typed.differing(&kept).is_empty() {
        keep_draft(&app, &talk, part, &typed).await?;
        return Ok(changed(talk, part, typed, &kept));
    }
    let signed = if sent.one("then") == "sign" { Some(signature(&sent)) } else { None };
    let file = match read(&talk, part, &typed) {
        Ok(file) if !matches!(signed, Some(Err(_))) => file,
        outcome => {
            let mut faults = outcome.err().unwrap_or_default();
            if let Some(Err(says)) = signed {
                faults.wrong.insert(SIGNATURE.to_owned(), says);
            }
            keep_draft(&app, &talk, part, &typed).await?;
            return Ok(wrong(talk, part, typed, faults));
        }
    };
    if let Err(says) = keep(&app, &talk, part, &file).await? {
        keep_draft(&app, &talk, part, &typed).await?;
        let sheet =
            Sheet { talk, part, typed, wrong: Wrong::new(), notice: Some(PartNotice::of("stop", "Not saved", says)), refused: true };
        return Ok(sheet.draw(StatusCode::UNPROCESSABLE_ENTITY));
    }
    if let Some(Ok(signature)) = signed {
        if let Err(says) = sign(&app, &talk, signature).await? {
            // Her answers are saved; what was wrong is the signature alone.
            let talk = Talk::of(&app, &id).await?;
            let typed = talk.kept().with_signature_of(&sent);
            let faults = Faults { wrong: Wrong::from([(SIGNATURE.to_owned(), says)]), elsewhere: Vec::new() };
            return Ok(wrong(talk, part, typed, faults));
        }
        return Ok(Redirect::to(&at("agreement#signed")).into_response());
    }
    let follows = part.open(&file, &RuleBook::standard()).iter().any(|fact| !asked.contains(fact));
    Ok(Redirect::to(&way_on(&talk, part, sent.one("then"), follows)).into_response())
}

/// Where a part leads once it is saved.
fn way_on(talk: &Talk, part: Part, then: &str, follows: bool) -> String {
    let at = |place: &str| format!("/clients/{}/consultation/{place}", talk.id);
    match then {
        // What is asked because of an answer is not passed over.
        "next" if follows => at(&format!("{}?follows=yes", part.word())),
        "next" => at(part.next().map_or("outcome", Part::word)),
        "back" => at(part.before().unwrap_or(part).word()),
        "outcome" => at("outcome"),
        other => at(Part::from_word(other).unwrap_or(part).word()),
    }
}

/// What is wrong with a part that was sent.
#[derive(Default)]
struct Faults {
    /// At its own questions.
    wrong: Wrong,
    /// With answers to other parts: where, its name, and what.
    elsewhere: Vec<(String, String, String)>,
}

/// The file that the answers make.
fn read(talk: &Talk, part: Part, typed: &Typed) -> Result<ClientFile, Faults> {
    let own = measure::Currency::new(typed.one("prices.currency")).or(talk.house.currency());
    let file = typed.file(own).map_err(|wrong| Faults { wrong, elsewhere: Vec::new() })?;
    let assessed: Assessed = check::assess(typed, &talk.house.complete(&file));
    if assessed.may_be_kept() {
        return Ok(file);
    }
    let mut faults = Faults::default();
    for (name, says) in assessed.wrong {
        let field = fields::named(&name);
        if fields_of(part).any(|field| field.name == name) {
            faults.wrong.insert(name, says);
            continue;
        }
        let label = field.map_or_else(|| name.clone(), |field| field.label().to_owned());
        let to = match field.and_then(|field| field.fact).and_then(Part::of) {
            Some(other) => format!("/clients/{}/consultation/{}#{}", talk.id, other.word(), anchor(&name)),
            None => format!("/clients/{}#{}", talk.id, anchor(&name)),
        };
        faults.elsewhere.push((to, label, says));
    }
    faults.elsewhere.extend(assessed.elsewhere.into_iter().map(|says| (format!("/clients/{}", talk.id), "Her facts".to_owned(), says)));
    Err(faults)
}

/// Puts a part's answers in force, in the place of its draft; what is said where they are refused.
async fn keep(app: &AppState, talk: &Talk, part: Part, file: &ClientFile) -> Result<Result<(), String>, Trouble> {
    let label = file.client.as_ref().and_then(|client| client.name.clone()).unwrap_or_default();
    let line = json!({
        "act": "client change", "client": talk.id, "facts": file, "label": label, "part": part.word(), "version": talk.heard.book.version,
    });
    Ok(act(app, line).await?.map(|_: Value| ()).map_err(|faults| told(&faults).join(" ")))
}

/// What could not be saved is a draft still.
async fn keep_draft(app: &AppState, talk: &Talk, part: Part, typed: &Typed) -> Result<(), Trouble> {
    let line = json!({"act": "draft keep", "client": talk.id, "part": part.word(), "answers": typed.only(fields_of(part))});
    // Where even that is refused, what was typed stands on the page that answers.
    let _ = act(app, line).await?;
    Ok(())
}

fn refuse(talk: Talk, part: Part, notice: PartNotice) -> Response {
    let mut sheet = Sheet::standing(talk, part);
    (sheet.notice, sheet.refused) = (Some(notice), true);
    sheet.draw(StatusCode::UNPROCESSABLE_ENTITY)
}

fn wrong(talk: Talk, part: Part, typed: Typed, faults: Faults) -> Response {
    let said = faults.wrong.iter().map(|(name, says)| {
        let label = fields::named(name).map_or("Her signature", |field| field.label());
        (format!("#{}", anchor(name)), label.to_owned(), says.clone())
    });
    let lines: Vec<(String, String, String)> = said.chain(faults.elsewhere).collect();
    let title = match lines.len() {
        1 => "One answer cannot be right".to_owned(),
        many => format!("{} cannot be right", counted(many, "answer", "answers")),
    };
    let notice =
        PartNotice { tone: "stop", title, says: "Nothing of this part was saved yet, and nothing typed is lost.".to_owned(), lines };
    Sheet { talk, part, typed, wrong: faults.wrong, notice: Some(notice), refused: true }.draw(StatusCode::UNPROCESSABLE_ENTITY)
}

/// Somebody else saved this part while it was open.
fn changed(talk: Talk, part: Part, typed: Typed, kept: &Typed) -> Response {
    let differing = typed.differing(kept).into_iter().map(|(label, theirs)| {
        let theirs = if theirs.is_empty() { "left open".to_owned() } else { theirs };
        (String::new(), label.to_owned(), format!("Theirs: {theirs}"))
    });
    let notice = PartNotice {
        tone: "care",
        title: CHANGED_ELSEWHERE.to_owned(),
        says: format!(
            "Somebody saved “{}” while it was open here. Yours stands below and is not saved; going on now replaces theirs with yours.",
            of_part(part).0
        ),
        lines: differing.collect(),
    };
    Sheet { talk, part, typed, wrong: Wrong::new(), notice: Some(notice), refused: true }.draw(StatusCode::CONFLICT)
}

impl Typed {
    /// These answers with the signature as it was sent.
    fn with_signature_of(self, sent: &Self) -> Self {
        ["signature.drawn", "signature.name", "signature.stands"].into_iter().fold(self, |typed, name| typed.with(name, sent.one(name)))
    }
}
