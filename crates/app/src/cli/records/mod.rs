//! The records from the command line: where they are and what opens them, and one
//! question of them; acts, archives and safety stand in files of their own.

mod acts;
mod archive;
mod safety;

pub use acts::{ActArgs, act};
pub use archive::{BackupArgs, ExportArgs, ImportArgs, RestoreArgs, VerifyArgs, backup, export, import, restore, verify};
pub use safety::{AuditArgs, CodeArgs, DoctorArgs, EraseArgs, PassphraseArgs, audit, doctor, erase, passphrase, recovery_code};

use super::rim;
use crate::error::Failure;
use crate::settings;
use clap::Args;
use desk::show::Which;
use desk::{Opened, Passphrase, Place, RecoveryCode, Salon};
use serde_json::Value;
use std::future::Future;
use std::path::{Path, PathBuf};

/// Where the records are and what opens them.
#[derive(Debug, Args)]
pub struct Where {
    /// The salon's folder, or postgres://…/name?salon=…; the user's own data folder when not named.
    #[arg(long)]
    data: Option<String>,
    /// A file whose first line is the passphrase; otherwise the environment's STRANDWRIGHT_PASSPHRASE is used.
    #[arg(long)]
    passphrase_file: Option<PathBuf>,
}

impl Where {
    fn place(&self) -> Result<Place, Failure> {
        settings::place(self.data.as_deref())
    }

    fn passphrase(&self) -> Result<Option<Passphrase>, Failure> {
        let text = match &self.passphrase_file {
            Some(file) => Some(rim::read_text(file)?.lines().next().unwrap_or("").to_owned()),
            None => settings::passphrase()?,
        };
        text.map(Passphrase::new).transpose().map_err(|fault| refused(fault.into()))
    }

    async fn open(&self) -> Result<Salon, Failure> {
        let place = self.place()?;
        let Opened { salon, code, set_aside } = Salon::open(&place, self.passphrase()?.as_ref()).await.map_err(refused)?;
        if let (Some(code), Some(aside)) = (code, set_aside) {
            eprintln!("The records became a book; what was there before is set aside, whole, in {}.", aside.display());
            tell_code(&code, None)?;
        }
        Ok(salon)
    }
}

fn refused(fault: desk::DeskFault) -> Failure {
    crate::web::failure(fault)
}

fn wait<T>(work: impl Future<Output = Result<T, Failure>>) -> Result<T, Failure> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::cannot(format!("the program cannot start its workers ({error})")))?
        .block_on(work)
}

/// Runs something on an open salon and closes it whatever comes of it.
fn with_salon<T, F: Future<Output = Result<T, Failure>>>(at: &Where, work: impl FnOnce(std::sync::Arc<Salon>) -> F) -> Result<T, Failure> {
    wait(async {
        let salon = std::sync::Arc::new(at.open().await?);
        let outcome = work(salon.clone()).await;
        salon.close().await;
        outcome
    })
}

fn tell_code(code: &RecoveryCode, to: Option<&Path>) -> Result<(), Failure> {
    match to {
        Some(path) => rim::write_private(path, format!("{}\n", code.printed().as_str()).as_bytes()),
        None => {
            eprintln!(
                "The recovery code, shown this once and kept nowhere: write it down and keep it away from this machine.\n{}",
                code.printed().as_str()
            );
            Ok(())
        }
    }
}

fn print(value: &Value) -> Result<(), Failure> {
    rim::print(&format!("{value}\n"))
}

/// One question.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// What is asked: client, clients, piece, pieces, shelf, due, diary, day-book, checks.
    what: String,
    /// Whose or which, where the question asks for one.
    id: Option<String>,
    #[command(flatten)]
    at: Where,
    /// The salon's day, as 2026-03-02.
    #[arg(long)]
    on: Option<String>,
    /// The first day of a day book.
    #[arg(long)]
    from: Option<String>,
    /// The last day of a day book; the first one when not said.
    #[arg(long)]
    to: Option<String>,
    /// The diary as a calendar file, all that is to come.
    #[arg(long)]
    ics: bool,
    /// What the name holds.
    #[arg(long)]
    search: Option<String>,
    /// Whose pieces.
    #[arg(long, conflicts_with_all = ["shelf", "retired"])]
    client: Option<String>,
    /// Pieces on the shelf.
    #[arg(long, conflicts_with = "retired")]
    shelf: bool,
    /// Pieces that were put aside for good.
    #[arg(long)]
    retired: bool,
}

/// Answers one question.
///
/// *Errors*: nothing has this id; a check that does not hold; the records' own codes.
pub fn show(args: &ShowArgs) -> Result<(), Failure> {
    let day = |said: &Option<String>, otherwise: salon::book::Day| match said {
        Some(day) => day.parse().map_err(|fault: salon::book::NoDay| Failure::bad_input(fault.to_string())),
        None => Ok(otherwise),
    };
    let on = day(&args.on, desk::today())?;
    let from = day(&args.from, on)?;
    let to = day(&args.to, from)?;
    if !desk::show::QUESTIONS.iter().any(|question| question.split(' ').next() == Some(args.what.as_str())) {
        return Err(Failure::bad_input(format!("{:?} is no question: ask one of {}", args.what, desk::show::QUESTIONS.join(", "))));
    }
    if args.ics && args.what != "diary" {
        return Err(Failure::bad_input("only the diary is a calendar: show diary --ics"));
    }
    with_salon(&args.at, |salon| async move {
        if args.ics {
            return rim::print(&salon.diary_calendar().await.map_err(refused)?);
        }
        let answer = match args.what.as_str() {
            "client" => {
                let id = args.id.as_deref().ok_or_else(|| Failure::bad_input("say whose: show client ID"))?;
                let id = id.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?;
                salon.show_client(id, on).await
            }
            "piece" => {
                let id = args.id.as_deref().ok_or_else(|| Failure::bad_input("say which: show piece ID"))?;
                let id = id.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?;
                salon.show_piece(id, on).await
            }
            "pieces" => {
                let which = match (&args.client, args.shelf, args.retired) {
                    (Some(id), ..) => Which::Of(id.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?),
                    (None, true, _) => Which::OnShelf,
                    (None, false, true) => Which::Retired,
                    (None, false, false) => Which::All,
                };
                salon.show_pieces(which, on).await
            }
            "clients" => salon.show_clients(args.search.as_deref().unwrap_or("")).await,
            "shelf" => salon.show_shelf().await,
            "packs" => salon.show_packs().await,
            "pack" => {
                let number = args.id.as_deref().and_then(|number| number.parse().ok());
                let number = number.ok_or_else(|| Failure::bad_input("say which: show pack NUMBER, as `show packs` tells them"))?;
                salon.show_pack(number).await
            }
            "due" => salon.show_due(on).await,
            "diary" => salon.show_diary(on).await,
            "day-book" => salon.show_day_book(from, to).await,
            _ => salon.show_checks().await,
        }
        .map_err(refused)?;
        print(&answer)?;
        let broken = answer["checks"].as_array().is_some_and(|checks| checks.iter().any(|check| check["holds"] == false));
        if broken { Err(Failure::cannot("a check does not hold: run `audit`, then `doctor`")) } else { Ok(()) }
    })
}

fn tell(value: &Value, as_json: bool, says: impl FnOnce(&Value) -> String) -> Result<(), Failure> {
    if as_json { print(value) } else { rim::print(&format!("{}\n", says(value))) }
}
