//! People from a file: chosen, looked at, and only then added.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::colour::upload::{self, Sent};
use crate::web::frame::acting::{act, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::{Multipart, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::contacts::{self, Column, Contents, Entry, Like, MOST_PEOPLE, Person, Slashes};
use measure::text::counted;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// The most letters of a note that the preview shows.
const SHOWN_NOTE: usize = 120;

#[derive(Template)]
#[template(path = "people/import.html")]
struct ImportPage {
    shell: Shell,
    most: usize,
    added: Option<String>,
    faults: Vec<String>,
    preview: Option<Preview>,
}

struct Preview {
    /// The file as it was read, to be sent along.
    read: String,
    says: String,
    columns: Vec<ColumnView>,
    slashes: String,
    has_notes: bool,
    notes: bool,
    counts: String,
    lines: Vec<LineView>,
}

struct ColumnView {
    heading: String,
    example: String,
    options: Vec<(&'static str, &'static str, bool)>,
}

struct LineView {
    at: usize,
    line: usize,
    name: String,
    reached: Vec<String>,
    left_out: Vec<String>,
    /// Whether there is anybody to add.
    is_read: bool,
    says: String,
    /// The client whom she is like: which, and what she is called.
    like: Option<(String, String)>,
    taken: bool,
}

/// A file as it was read, sent along with every answer until it is added.
#[derive(Serialize, Deserialize)]
struct Carried {
    contents: Contents,
    says: Option<String>,
}

async fn draw(
    app: &AppState,
    status: StatusCode,
    preview: Option<Preview>,
    faults: Vec<String>,
    added: Option<String>,
) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let shell = Shell::clients("Clients from a file", &house.name);
    Ok(page(status, &ImportPage { shell, most: MOST_PEOPLE, added, faults, preview }))
}

/// How the page was reached.
#[derive(Deserialize)]
pub struct StartQuery {
    added: Option<u32>,
}

/// A file is to be chosen.
pub async fn start(State(app): State<AppState>, Query(query): Query<StartQuery>) -> Result<Response, Trouble> {
    let added = query.added.map(|count| counted(count, "person of the file is a client now.", "people of the file are clients now."));
    draw(&app, StatusCode::OK, None, Vec::new(), added).await
}

/// What was sent: the file, or what was read of it before.
fn carried(sent: &Sent) -> Result<Carried, String> {
    if !sent.file.is_empty() {
        return contacts::read(&sent.file).map(|(contents, says)| Carried { contents, says });
    }
    match sent.typed.one("read") {
        "" => Err("Choose a file first.".to_owned()),
        read => serde_json::from_str(read).map_err(|_| "The file did not arrive whole: choose it again.".to_owned()),
    }
}

/// What each column holds, as it was chosen; by its heading where nothing fits the table.
fn columns_of(contents: &Contents, typed: &Typed) -> Vec<Column> {
    let Contents::Table(table) = contents else { return Vec::new() };
    let chosen: Option<Vec<Column>> = typed.all("column").iter().map(|word| Column::from_word(word)).collect();
    chosen.filter(|chosen| chosen.len() == table.headings.len()).unwrap_or_else(|| table.columns())
}

fn entries_of(contents: &Contents, typed: &Typed) -> Vec<Entry> {
    let slashes = match typed.one("slashes") {
        "day" => Some(Slashes::DayFirst),
        "month" => Some(Slashes::MonthFirst),
        _ => None,
    };
    contents.entries(&columns_of(contents, typed), slashes)
}

fn reached(person: &Person) -> Vec<String> {
    let contact = &person.contact;
    let mut reached = [contact.phones.clone(), contact.emails.clone()].concat();
    reached.extend(contact.birthday.map(|birthday| format!("born {birthday}")));
    if let Some(note) = &contact.note {
        let shown: String = note.chars().take(SHOWN_NOTE).collect();
        reached.push(if shown.len() < note.len() { format!("note: {shown}…") } else { format!("note: {shown}") });
    }
    reached
}

/// The preview of what was read; `again` where it was looked at before and chosen from.
async fn preview_of(app: &AppState, carried: Carried, typed: &Typed, again: bool) -> Result<Preview, Trouble> {
    let entries = entries_of(&carried.contents, typed);
    let alike = app.salon.alike(&entries).await?;
    let notes = typed.one("notes") == "yes";
    let chosen: BTreeSet<&str> = typed.all("take").iter().map(String::as_str).collect();
    let line = |(at, (entry, like)): (usize, (&Entry, Like))| {
        let (name, reached, says) = match &entry.person {
            Ok(person) => (person.name.clone(), reached(person), "will be added".to_owned()),
            Err(why) => (String::new(), Vec::new(), format!("cannot be read: {why}")),
        };
        let (says, like, is_new) = match like {
            Like::Nobody => (says, None, entry.person.is_ok()),
            Like::Client { id, label } => ("looks like".to_owned(), Some((id.to_string(), display_name(&label))), false),
            Like::Line(line) => (format!("looks like line {line} of this file"), None, false),
        };
        let taken = if again { chosen.contains(at.to_string().as_str()) } else { is_new };
        LineView { at, line: entry.line, name, reached, left_out: entry.notes.clone(), is_read: entry.person.is_ok(), says, like, taken }
    };
    let lines: Vec<LineView> = entries.iter().zip(alike).enumerate().map(line).collect();
    let unread = lines.iter().filter(|line| !line.is_read).count();
    let new = lines.iter().filter(|line| line.is_read && line.says == "will be added").count();
    let columns = columns_of(&carried.contents, typed);
    let column = |table: &contacts::Table, at: usize| ColumnView {
        heading: table.headings[at].clone(),
        example: table.example(at).chars().take(40).collect(),
        options: Column::ALL.iter().map(|(column, word, says)| (*word, *says, *column == columns[at])).collect(),
    };
    let columns = match &carried.contents {
        Contents::Table(table) => (0..table.headings.len()).map(|at| column(table, at)).collect(),
        Contents::Cards(_) => Vec::new(),
    };
    Ok(Preview {
        says: carried.says.clone().unwrap_or_default(),
        read: serde_json::to_string(&carried).map_err(|cause| Trouble::Ours(cause.to_string()))?,
        columns,
        slashes: typed.one("slashes").to_owned(),
        has_notes: entries.iter().any(|entry| entry.person.as_ref().is_ok_and(|person| person.contact.note.is_some())),
        notes,
        counts: format!("{new} new, {} like somebody who is there, {unread} not to be read", lines.len() - new - unread),
        lines,
    })
}

/// Shows what a file holds. Nothing is written.
pub async fn preview(State(app): State<AppState>, form: Multipart) -> Result<Response, Trouble> {
    let sent = match upload::take(form).await {
        Ok(sent) => sent,
        Err((status, says)) => return draw(&app, status, None, vec![says], None).await,
    };
    match carried(&sent) {
        Ok(carried) => {
            let preview = preview_of(&app, carried, &sent.typed, false).await?;
            draw(&app, StatusCode::OK, Some(preview), Vec::new(), None).await
        }
        Err(says) => draw(&app, StatusCode::UNPROCESSABLE_ENTITY, None, vec![says], None).await,
    }
}

/// Adds those who were chosen, each by the act `client add`.
pub async fn keep(State(app): State<AppState>, form: Multipart) -> Result<Response, Trouble> {
    let sent = match upload::take(form).await {
        Ok(sent) => sent,
        Err((status, says)) => return draw(&app, status, None, vec![says], None).await,
    };
    let carried = match carried(&sent) {
        Ok(carried) => carried,
        Err(says) => return draw(&app, StatusCode::UNPROCESSABLE_ENTITY, None, vec![says], None).await,
    };
    let entries = entries_of(&carried.contents, &sent.typed);
    let chosen: BTreeSet<usize> = sent.typed.all("take").iter().filter_map(|at| at.parse().ok()).collect();
    let notes = sent.typed.one("notes") == "yes";
    let (mut there, mut faults) = (0_u32, Vec::new());
    for at in chosen {
        let Some(Entry { line, person: Ok(person), .. }) = entries.get(at) else { continue };
        let person = if notes { person.clone() } else { person.clone().without_note() };
        match act(&app, person.line()).await? {
            Ok(_) => there += 1,
            // The same was said of her under the same key before: she is there.
            Err(said) if said.iter().all(|fault| fault.rule == "key") => there += 1,
            Err(said) => faults.extend(told(&said).into_iter().map(|said| format!("Line {line}: {said}"))),
        }
    }
    if there > 0 && faults.is_empty() {
        return Ok(Redirect::to(&format!("/clients/import?added={there}")).into_response());
    }
    if faults.is_empty() {
        faults.push("Nobody was added: choose who is to be.".to_owned());
    }
    let preview = preview_of(&app, carried, &sent.typed, true).await?;
    draw(&app, StatusCode::UNPROCESSABLE_ENTITY, Some(preview), faults, None).await
}
