//! What she agrees to on these pages: that health answers are kept, and the work, which she signs.

use super::part::{PartNotice, Sheet};
use super::talk::Talk;
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::acting::{act, told};
use crate::web::frame::page::Trouble;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use salon::book::{Purpose, Wording};
use salon::consultation::Part;
use serde_json::{Value, json};

/// She agrees that her health answers are kept, or takes it back.
pub async fn of_health(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let talk = Talk::of(&app, &id).await?;
    let typed = Typed::posted(pairs);
    let here = format!("/clients/{}/consultation/{}", talk.id, Part::Health.word());
    let line = match typed.one("answer") {
        "yes" => json!({"act": "consent give", "client": talk.id, "purpose": "health", "wording": desk::HEALTH_WORDING}),
        "no" if talk.may_ask(Part::Health) && typed.one("sure").is_empty() => {
            let mut sheet = Sheet::standing(talk, Part::Health);
            let says = "Tick that her answers are to be destroyed, then take the consent back.";
            sheet.notice = Some(PartNotice::of("stop", "Nothing was taken back", says));
            return Ok(sheet.draw(StatusCode::UNPROCESSABLE_ENTITY));
        }
        "no" if talk.may_ask(Part::Health) => json!({"act": "consent withdraw", "client": talk.id, "purpose": "health"}),
        // She does not agree: nothing is asked, and the talk goes on.
        "no" => return Ok(Redirect::to(&format!("/clients/{}/consultation/{}", talk.id, Part::Agreement.word())).into_response()),
        _ => {
            let mut sheet = Sheet::standing(talk, Part::Health);
            sheet.notice = Some(PartNotice::of("stop", "Nothing was noted", "Say whether she agrees."));
            return Ok(sheet.draw(StatusCode::UNPROCESSABLE_ENTITY));
        }
    };
    match act(&app, line).await? {
        Ok(_) => Ok(Redirect::to(&here).into_response()),
        Err(faults) => {
            let mut sheet = Sheet::standing(talk, Part::Health);
            sheet.notice = Some(PartNotice::of("stop", "Nothing was noted", told(&faults).join(" ")));
            Ok(sheet.draw(StatusCode::UNPROCESSABLE_ENTITY))
        }
    }
}

/// The signature that was drawn or typed, as an act takes it; what is wrong with it.
pub fn signature(typed: &Typed) -> Result<Value, String> {
    let (drawn, name) = (typed.one("signature.drawn"), typed.one("signature.name"));
    if typed.one("consultation.consent") == "false" {
        return Err("She answered above that she does not agree: change that answer first, or do not sign.".to_owned());
    }
    match (drawn.is_empty(), name.is_empty()) {
        (false, _) => serde_json::from_str::<Value>(drawn)
            .map(|drawn| json!({ "drawn": drawn }))
            .map_err(|_| "What was drawn did not come whole: clear the pad and sign again.".to_owned()),
        (true, false) if typed.one("signature.stands").is_empty() => {
            Err("Tick that her typed name stands for her signature, or sign on the pad.".to_owned())
        }
        (true, false) => Ok(json!({ "typed": name })),
        (true, true) => Err("There is no signature yet: sign on the pad, or type the name and tick that it stands for it.".to_owned()),
    }
}

/// Keeps her signature for the work; what is wrong with it.
pub async fn sign(app: &AppState, talk: &Talk, signature: Value) -> Result<Result<(), String>, Trouble> {
    let Some(wording) = Wording::now(Purpose::Work) else { return Err(Trouble::Ours("no wording".to_owned())) };
    let line = json!({"act": "consent give", "client": talk.id, "purpose": "work", "wording": wording.version, "signature": signature});
    Ok(act(app, line).await?.map(|_| ()).map_err(|faults| told(&faults).join(" ")))
}
