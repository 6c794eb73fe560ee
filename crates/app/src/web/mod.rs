//! The local web application: the same use cases as the command line, in the
//! browser of the tablet beside the chair.

mod client;
mod colour;
mod consultation;
mod day;
mod demo;
mod frame;
mod measuring;
mod money;
mod people;
mod plan;
mod records;
mod settings;
mod shelf;
mod state;
#[cfg(test)]
mod tests;
mod visits;

pub use demo::demo;
pub use frame::assets::fonts;
pub use state::AppState;

use crate::error::{Exit, Failure};
use crate::logbook::Logbook;
use crate::settings::{ServeSettings, check_listen};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use desk::{DeskFault, Opened, Passphrase, Place, Protection, Salon};
use frame::routes::Pages;
use frame::{assets, guard, page, serving};
use std::fs::Permissions;
use std::net::SocketAddr;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::time::Duration;
use tokio::net::TcpListener;
use tower_http::CompressionLevel;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::{RequestBodyTimeoutLayer, TimeoutLayer};

/// The largest form or file that is taken in.
const MOST_BYTES: usize = 2 * 1024 * 1024;
/// How long an answer may take.
const LONGEST_ANSWER: Duration = Duration::from_secs(60);
/// How long closing the records may take; what was acknowledged is on the disk before.
const LONGEST_CLOSING: Duration = Duration::from_secs(1);

/// Serves the salon's own records until the program is asked to stop.
///
/// *Meaning*: a salon is begun when the folder is missing or empty. `ready` is
/// told the address once pages can be opened.
///
/// *Errors*: the records cannot be opened (their own exit codes), the address
/// is open to others or taken.
pub async fn serve(settings: ServeSettings, ready: impl FnOnce(&str)) -> Result<(), Failure> {
    check_listen(settings.listen)?;
    check_assets()?;
    let passphrase = settings.passphrase.map(Passphrase::new).transpose().map_err(|fault| failure(fault.into()))?;
    let Opened { salon, code, set_aside } = Salon::open_or_begin(&settings.place, passphrase.as_ref()).await.map_err(failure)?;
    if let Some(aside) = &set_aside {
        eprintln!("The records became a book; what was there before is set aside, whole, in {}.", aside.display());
    }
    if let Some(code) = &code {
        if set_aside.is_none() {
            eprintln!("A new salon was begun in {}.", settings.place);
        }
        eprintln!(
            "Its recovery code, shown this once and kept nowhere: write it down and keep it away from this machine. It opens the salon and its backups when all else is lost.\n\n    {}\n",
            code.printed().as_str()
        );
        if salon.protection() == Protection::FileOnly {
            eprintln!(
                "It is encrypted, but its key lies beside it: whoever can read that folder can read the salon. \
                 To lock a new salon with a passphrase, name a file that holds it in STRANDWRIGHT_PASSPHRASE_FILE before the first start."
            );
        }
    }
    match &settings.place {
        Place::Folder(folder) => keep_log(folder)?,
        Place::Postgres { .. } => Logbook::on_terminal().keep(),
    }
    let listener = listen(settings.listen).await?;
    run(listener, salon, ready, |_| async {}).await
}

/// Serves an open salon until the program is asked to stop, then closes it.
async fn run<F: Future<Output = ()> + Send + 'static>(
    listener: TcpListener,
    salon: Salon,
    ready: impl FnOnce(&str),
    beside: impl FnOnce(AppState) -> F,
) -> Result<(), Failure> {
    let address = listener.local_addr().map_err(|error| Failure::cannot(format!("the address cannot be read ({error})")))?;
    let app = AppState::of(salon);
    let stop = stop_signal()?;
    ready(&format!("http://{address}"));
    tracing::info!("serving began");
    let beside = tokio::spawn(beside(app.clone()));
    serving::serve(listener, router(app.clone(), address), stop).await;
    beside.abort();
    // Wait for it, so that it lets go of the salon.
    let _ = beside.await;
    if tokio::time::timeout(LONGEST_CLOSING, app.salon.close()).await.is_err() {
        tracing::warn!("the records did not close in time; they are whole all the same");
    }
    tracing::info!("serving ended");
    Ok(())
}

/// Begins the log beside the records, and makes what older versions of the
/// program left open there the owner's alone.
fn keep_log(folder: &Path) -> Result<(), Failure> {
    let log = Logbook::beside(folder, true).map_err(|error| {
        Failure::cannot(format!("the log in {} cannot be written ({error}): check the folder and the space left", folder.display()))
    })?;
    log.keep();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let ours = entry.file_name().to_string_lossy().starts_with("book.");
        let Some(found) = entry.metadata().ok().filter(|found| ours && found.is_file()) else { continue };
        let mode = found.permissions().mode();
        if mode & 0o077 != 0 && std::fs::set_permissions(entry.path(), Permissions::from_mode(mode & 0o700)).is_err() {
            tracing::warn!("a file of the records can be read by others and could not be closed to them");
        }
    }
    Ok(())
}

/// Every page by its address.
fn pages() -> Pages {
    Pages::new()
        .route("/", get(|| async { Redirect::to("/clients") }))
        .route("/mark.svg", get(assets::mark))
        .route("/assets/{*name}", get(assets::serve))
        .merge(client::routes())
        .merge(people::routes())
        .merge(consultation::routes())
        .merge(measuring::routes())
        .merge(colour::routes())
        .merge(plan::routes())
        .merge(visits::routes())
        .merge(shelf::routes())
        .merge(day::routes())
        .merge(money::routes())
        .merge(settings::routes())
        .merge(records::routes())
}

/// Every page, behind the guard.
fn router(app: AppState, address: SocketAddr) -> Router {
    pages()
        .into_router()
        .fallback(|| async { page::Trouble::NoPage })
        .with_state(app)
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(RequestBodyTimeoutLayer::new(serving::BODY_GOES_ON_WITHIN))
        // It is read on this machine or across the room: quick beats small.
        .layer(CompressionLayer::new().quality(CompressionLevel::Fastest))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST_ANSWER))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(axum::middleware::from_fn_with_state(guard::Hosts::of(address), guard::stand))
}

fn panicked(_: Box<dyn std::any::Any + Send + 'static>) -> Response {
    page::Trouble::Ours("a handler panicked".to_owned()).into_response()
}

fn check_assets() -> Result<(), Failure> {
    if assets::are_there() {
        return Ok(());
    }
    Err(Failure::cannot("this program was built without its pages' script and styles: run `make web`, then build it again"))
}

async fn listen(address: SocketAddr) -> Result<TcpListener, Failure> {
    TcpListener::bind(address).await.map_err(|error| {
        Failure::cannot(format!(
            "{address} cannot be listened on ({error}): is the program already running there? Otherwise choose another with --listen 127.0.0.1:PORT"
        ))
    })
}

/// Ends when the program is asked to stop: Ctrl-C, or an end asked for by the system.
fn stop_signal() -> Result<impl Future<Output = ()>, Failure> {
    use tokio::signal::unix::{SignalKind, signal};
    let heard = |kind| signal(kind).map_err(|error| Failure::cannot(format!("signals cannot be heard ({error})")));
    let (mut interrupt, mut terminate, mut hangup) =
        (heard(SignalKind::interrupt())?, heard(SignalKind::terminate())?, heard(SignalKind::hangup())?);
    Ok(async move {
        tokio::select! { _ = interrupt.recv() => {}, _ = terminate.recv() => {}, _ = hangup.recv() => {} }
    })
}

/// A fault of the records as the process ends with it.
pub fn failure(fault: DeskFault) -> Failure {
    Failure { exit: Exit::of(fault.exit_code()), message: fault.to_string() }
}
