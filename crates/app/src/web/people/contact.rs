//! How a client is reached: shown, changed, given out as a card.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::frame::acting::{act, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::visits::view::day_words;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use desk::contacts::card_of;
use desk::{CONTACT_WORDING, ClientId, Contact, Purpose};
use salon::book::ClientBook;
use serde::Deserialize;
use serde_json::{Value, json};

/// Lines that stand ready for numbers and addresses, over those that are kept.
const BLANK_LINES: usize = 1;

#[derive(Template)]
#[template(path = "people/contact.html")]
struct ContactPage {
    shell: Shell,
    client: String,
    name: String,
    seen: u64,
    phones: Vec<String>,
    emails: Vec<String>,
    birthday: String,
    note: String,
    agrees: bool,
    set_aside: bool,
    /// Since when she agrees.
    since: String,
    faults: Vec<String>,
    saved: bool,
}

fn lines(mut all: Vec<String>) -> Vec<String> {
    all.resize(all.len() + BLANK_LINES, String::new());
    all
}

/// What is kept, as a form holds it.
fn as_typed(book: &ClientBook) -> Typed {
    let mut pairs: Vec<(String, String)> = Vec::new();
    let mut pair = |name: &str, value: &str| pairs.push((name.to_owned(), value.to_owned()));
    book.contact.phones.iter().for_each(|phone| pair("phone", phone));
    book.contact.emails.iter().for_each(|email| pair("email", email));
    pair("birthday", &book.contact.birthday.map_or_else(String::new, |birthday| birthday.to_string()));
    pair("note", book.contact.note.as_deref().unwrap_or_default());
    pair("agrees", if book.consents.contains_key(&Purpose::Contact) { "yes" } else { "no" });
    Typed::posted(pairs)
}

async fn draw(app: &AppState, id: ClientId, typed: Option<&Typed>, faults: Vec<String>, saved: bool) -> Result<Response, Trouble> {
    let book = app.salon.book_of(id).await?;
    let house = house::house(&app.salon).await?.value;
    let kept = as_typed(&book);
    let typed = typed.unwrap_or(&kept);
    let filled = |name: &str| typed.all(name).iter().filter(|text| !text.trim().is_empty()).cloned().collect();
    let status = if faults.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let template = ContactPage {
        shell: Shell::clients("How she is reached", &house.name),
        client: id.to_string(),
        name: display_name(&book.label),
        seen: book.version,
        phones: lines(filled("phone")),
        emails: lines(filled("email")),
        birthday: typed.one("birthday").to_owned(),
        note: typed.one("note").to_owned(),
        agrees: typed.one("agrees") == "yes",
        set_aside: book.same.kept.is_some(),
        since: book.consents.get(&Purpose::Contact).map_or_else(String::new, |consent| day_words(consent.on)),
        faults,
        saved,
    };
    Ok(page(status, &template))
}

/// How the page was reached.
#[derive(Deserialize)]
pub struct ShowQuery {
    saved: Option<String>,
}

/// How she is reached.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>, Query(query): Query<ShowQuery>) -> Result<Response, Trouble> {
    draw(&app, id.parse()?, None, Vec::new(), query.saved.is_some()).await
}

/// Keeps how she is reached, and whether she agrees to be written to.
pub async fn keep(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let id: ClientId = id.parse()?;
    let book = app.salon.book_of(id).await?;
    let typed = Typed::posted(pairs);
    if !typed.is_whole() {
        return draw(&app, id, Some(&typed), vec!["The page had not come whole: nothing was saved. Save again.".to_owned()], false).await;
    }
    let mut contact = json!({"phones": typed.all("phone"), "emails": typed.all("email"), "note": typed.one("note")});
    if !typed.one("birthday").is_empty() {
        match typed.one("birthday").parse::<desk::Birthday>() {
            Ok(birthday) => contact["birthday"] = json!(birthday),
            Err(says) => return draw(&app, id, Some(&typed), vec![measure::text::sentence(&says)], false).await,
        }
    }
    let mut set = json!({"act": "contact set", "client": id, "contact": contact});
    if let Ok(seen) = typed.one("seen").parse::<u64>() {
        set["version"] = json!(seen);
    }
    let agrees = book.consents.contains_key(&Purpose::Contact);
    let consent: Option<Value> = match typed.one("agrees") {
        "yes" if !agrees => Some(json!({"act": "consent give", "client": id, "purpose": "contact", "wording": CONTACT_WORDING})),
        "no" if agrees => Some(json!({"act": "consent withdraw", "client": id, "purpose": "contact"})),
        _ => None,
    };
    for line in [Some(set), consent].into_iter().flatten() {
        if let Err(faults) = act(&app, line).await? {
            return draw(&app, id, Some(&typed), told(&faults), false).await;
        }
    }
    Ok(Redirect::to(&format!("/clients/{id}/contact?saved=yes")).into_response())
}

/// How she is reached, as a card for a telephone or an address book.
pub async fn as_card(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id: ClientId = id.parse()?;
    let book = app.salon.book_of(id).await?;
    let contact: &Contact = &book.contact;
    let headers =
        [(header::CONTENT_TYPE, "text/vcard; charset=utf-8"), (header::CONTENT_DISPOSITION, "attachment; filename=\"contact.vcf\"")];
    Ok((headers, card_of(&display_name(&book.label), contact, &id.to_string())).into_response())
}
