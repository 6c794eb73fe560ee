//! The records, for the owner: whether they are backed up, and erasing a client.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::{ClientId, Place, Protection, RecordsNow, WhichRecords};
use measure::text::sentence;
use std::path::PathBuf;

/// Days after which a backup is old.
const OLD_AFTER_DAYS: i64 = 7;

#[derive(Template)]
#[template(path = "records/records.html")]
struct RecordsPage {
    shell: Shell,
    place: String,
    locked: bool,
    events: u64,
    head: String,
    erased: usize,
    /// The last backup in one sentence, and whether it is none or old.
    backup: String,
    wanting: bool,
    /// What was typed, and what came of it.
    folder: String,
    notice: Option<(&'static str, String)>,
}

fn last(now: &RecordsNow) -> (String, bool) {
    let Some(backup) = now.backup else {
        return ("No backup was made yet: when this machine is lost, everything in it is.".to_owned(), true);
    };
    let days = desk::today().days_since(backup.on);
    let since = match backup.since {
        0 => "nothing was added since".to_owned(),
        1 => "one change came since".to_owned(),
        count => format!("{count} changes came since"),
    };
    let old = days > OLD_AFTER_DAYS && backup.since > 0;
    let told = format!("The last backup was made on {} and read back; {since}.", moment(backup.at_ms));
    (if old { format!("{told} That is {days} days ago.") } else { told }, old)
}

async fn draw(app: &AppState, status: StatusCode, folder: String, notice: Option<(&'static str, String)>) -> Result<Response, Trouble> {
    let now = app.salon.records().await?;
    let house = house::house(&app.salon).await?.value;
    let (backup, wanting) = last(&now);
    let template = RecordsPage {
        shell: Shell::settings("The records", &house.name),
        place: app.salon.place().to_string(),
        locked: app.salon.protection() == Protection::Passphrase,
        events: now.events,
        head: now.head,
        erased: now.erased,
        backup,
        wanting,
        folder,
        notice,
    };
    Ok(page(status, &template))
}

/// How the records stand.
pub async fn show(State(app): State<AppState>) -> Result<Response, Trouble> {
    draw(&app, StatusCode::OK, String::new(), None).await
}

/// Writes a backup into a folder that the owner names.
pub async fn back_up(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs).one("folder").to_owned();
    let folder = PathBuf::from(&typed);
    let refuse = |says: &str| draw(&app, StatusCode::UNPROCESSABLE_ENTITY, typed.clone(), Some(("stop", says.to_owned())));
    if typed.is_empty() || !folder.is_absolute() || !folder.is_dir() {
        return refuse("That is no folder of this machine: name one that is there, from its first letter, such as that of another disk.")
            .await;
    }
    if let Place::Folder(own) = app.salon.place()
        && folder.canonicalize().is_ok_and(|folder| own.canonicalize().is_ok_and(|own| folder.starts_with(own)))
    {
        return refuse("That folder lies in the salon’s own: a backup there is lost with it. Name one on another disk.").await;
    }
    let day = desk::today();
    let free = (1..1000).map(|n| folder.join(format!("strandwright-{day}-{n}.age"))).find(|path| !path.exists());
    let Some(file) = free else { return refuse("That folder holds too many backups of today: name another.").await };
    match app.salon.backup(&file).await {
        Ok(done) => {
            let says = format!(
                "{} events and {} files are in {}, read back and compared. The recovery code opens it.",
                done["events"],
                done["blobs"],
                file.display()
            );
            draw(&app, StatusCode::OK, typed, Some(("good", says))).await
        }
        Err(fault) => {
            tracing::error!(%fault, "a backup could not be written");
            draw(&app, StatusCode::INTERNAL_SERVER_ERROR, typed, Some(("stop", sentence(&fault.to_string())))).await
        }
    }
}

#[derive(Template)]
#[template(path = "records/erase.html")]
struct ErasePage {
    shell: Shell,
    id: String,
    name: String,
    /// The other records of hers: which, what she is called there, whether it is the kept one.
    others: Vec<(String, String, bool)>,
    records: String,
    reason: String,
    wrong: &'static str,
}

async fn ask(app: &AppState, id: ClientId, status: StatusCode, typed: &Typed, wrong: &'static str) -> Result<Response, Trouble> {
    let client = app.salon.client(id).await?;
    let house = house::house(&app.salon).await?.value;
    let shell = Shell::clients("Erase a client", &house.name);
    let others = app.salon.other_records(id).await?;
    let template = ErasePage {
        shell,
        id: id.to_string(),
        name: display_name(&client.label),
        others: others.into_iter().map(|other| (other.id.to_string(), display_name(&other.label), other.kept)).collect(),
        records: typed.one("records").to_owned(),
        reason: reason_of(typed),
        wrong,
    };
    Ok(page(status, &template))
}

fn reason_of(typed: &Typed) -> String {
    typed.one("reason").chars().filter(|c| !c.is_control()).take(200).collect()
}

/// What erasing a client means, before it is done.
pub async fn ask_to_erase(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    ask(&app, id.parse()?, StatusCode::OK, &Typed::default(), "").await
}

/// Erases a client; there is no way back.
pub async fn erase(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let id: ClientId = id.parse()?;
    let reason = reason_of(&typed);
    let which = WhichRecords::from_word(typed.one("records"));
    if typed.one("sure") != "yes" {
        return ask(&app, id, StatusCode::UNPROCESSABLE_ENTITY, &typed, "Nothing was erased: say that you are sure.").await;
    }
    if reason.is_empty() {
        return ask(&app, id, StatusCode::UNPROCESSABLE_ENTITY, &typed, "Nothing was erased: say why; it is what stays.").await;
    }
    if which.is_none() && !app.salon.other_records(id).await?.is_empty() {
        return ask(&app, id, StatusCode::UNPROCESSABLE_ENTITY, &typed, "Nothing was erased: say which of her records go.").await;
    }
    let world = app.salon.world_now().await?;
    match app.salon.erase_client(id, which, &reason, &world, None).await {
        Ok(_) => Ok(Redirect::to("/settings/records").into_response()),
        Err(fault) => Err(fault.into()),
    }
}
