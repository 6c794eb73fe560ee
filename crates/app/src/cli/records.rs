//! The records from the command line: acts, questions, backups, and their safety.

use super::rim;
use crate::error::{Exit, Failure};
use crate::settings;
use clap::Args;
use desk::acts::{ACTS, Ended};
use desk::{Opened, Passphrase, Place, RecoveryCode, Salon};
use serde_json::{Value, json};
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

/// Lines of acts.
#[derive(Debug, Args)]
pub struct ActArgs {
    #[command(flatten)]
    at: Where,
    /// Begin a salon in a missing or empty folder first, and print its recovery code.
    #[arg(long)]
    begin: bool,
    /// Write the new salon's recovery code into this file instead.
    #[arg(long, requires = "begin")]
    recovery_code_to: Option<PathBuf>,
    /// Tell every act with the keys it takes.
    #[arg(long)]
    list: bool,
    /// End at the first line that is not done.
    #[arg(long)]
    stop: bool,
    /// The lines: one JSON object each; - for standard input.
    #[arg(default_value = "-")]
    file: PathBuf,
}

/// Does acts, a line each.
///
/// *Errors*: exit 1 when one was refused, 2 when a line is no act, the records' own codes.
pub fn act(args: &ActArgs, as_json: bool) -> Result<(), Failure> {
    if args.list {
        return list(as_json);
    }
    let place = args.at.place()?;
    let lines = rim::lines(&args.file)?;
    wait(async {
        let salon = match &place {
            Place::Folder(folder) if args.begin && !Salon::is_in(folder) => begin(args, &place).await?,
            Place::Postgres { .. } if args.begin => begin(args, &place).await?,
            _ => args.at.open().await?,
        };
        let outcome = each(&salon, lines, args.stop).await;
        salon.close().await;
        outcome
    })
}

async fn begin(args: &ActArgs, place: &Place) -> Result<Salon, Failure> {
    let passphrase = args.at.passphrase()?;
    if let Some(path) = args.recovery_code_to.as_deref().filter(|path| path.exists()) {
        return Err(Failure::bad_input(format!("{} is there already: name a new file for the recovery code", path.display())));
    }
    let opened = Salon::begin(place, passphrase.as_ref()).await.map_err(refused)?;
    if let Some(code) = &opened.code {
        tell_code(code, args.recovery_code_to.as_deref())?;
    }
    Ok(opened.salon)
}

/// Each line is done and answered before the next is read: whoever writes them may wait for an answer.
async fn each(salon: &Salon, lines: impl Iterator<Item = Result<String, Failure>>, stop: bool) -> Result<(), Failure> {
    let mut worst: Option<Failure> = None;
    for (number, line) in lines.enumerate() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        let (answer, ended) = salon.act(&line).await;
        print(&answer)?;
        let says = |what: &str| format!("line {}: {what}", number + 1);
        let fault = match ended {
            Ended::Done => continue,
            Ended::Refused => Failure::cannot(says("refused; its answer says why")),
            Ended::NoAct => Failure::bad_input(says("no act; its answer says why")),
            Ended::Records(code) => Failure { exit: exit_of(code), message: says("the records said no; its answer says why") },
        };
        let ends = matches!(ended, Ended::Records(_)) || stop;
        if worst.as_ref().is_none_or(|worst| rank(fault.exit) > rank(worst.exit)) {
            worst = Some(fault);
        }
        if ends {
            break;
        }
    }
    worst.map_or(Ok(()), Err)
}

/// No act wins over refused; what the records say wins over both.
const fn rank(exit: Exit) -> u8 {
    match exit {
        Exit::CannotBeDone => 0,
        Exit::BadInput => 1,
        _ => 2,
    }
}

const fn exit_of(code: u8) -> Exit {
    match code {
        10 => Exit::NoSalon,
        11 => Exit::InUse,
        12 => Exit::WrongPassphrase,
        13 => Exit::Damaged,
        14 => Exit::Newer,
        _ => Exit::CannotBeDone,
    }
}

fn list(as_json: bool) -> Result<(), Failure> {
    if as_json {
        let acts: serde_json::Map<String, Value> = ACTS.iter().map(|(name, keys)| ((*name).to_owned(), json!(keys))).collect();
        return print(&json!({ "acts": acts }));
    }
    let text: String = ACTS.iter().map(|(name, keys)| format!("{name}: {}\n", keys.join(", "))).collect();
    rim::print(&text)
}

/// One question.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// What is asked: client, clients, shelf, due, checks.
    what: String,
    /// Whose or which, where the question asks for one.
    id: Option<String>,
    #[command(flatten)]
    at: Where,
    /// The salon's day, as 2026-03-02.
    #[arg(long)]
    on: Option<String>,
    /// What the name holds.
    #[arg(long)]
    search: Option<String>,
}

/// Answers one question.
///
/// *Errors*: nothing has this id; a check that does not hold; the records' own codes.
pub fn show(args: &ShowArgs) -> Result<(), Failure> {
    let on = match &args.on {
        Some(day) => day.parse().map_err(|fault: salon::book::NoDay| Failure::bad_input(fault.to_string()))?,
        None => desk::today(),
    };
    if !["client", "clients", "shelf", "due", "checks"].contains(&args.what.as_str()) {
        return Err(Failure::bad_input(format!("{:?} is no question: ask one of {}", args.what, desk::show::QUESTIONS.join(", "))));
    }
    with_salon(&args.at, |salon| async move {
        let answer = match args.what.as_str() {
            "client" => {
                let id = args.id.as_deref().ok_or_else(|| Failure::bad_input("say whose: show client ID"))?;
                let id = id.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?;
                salon.show_client(id, on).await
            }
            "clients" => salon.show_clients(args.search.as_deref().unwrap_or("")).await,
            "shelf" => salon.show_shelf().await,
            "due" => salon.show_due(on).await,
            _ => salon.show_checks().await,
        }
        .map_err(refused)?;
        print(&answer)?;
        let broken = answer["checks"].as_array().is_some_and(|checks| checks.iter().any(|check| check["holds"] == false));
        if broken { Err(Failure::cannot("a check does not hold: run `audit`, then `doctor`")) } else { Ok(()) }
    })
}

/// A backup.
#[derive(Debug, Args)]
pub struct BackupArgs {
    #[command(flatten)]
    at: Where,
    /// The archive to write.
    #[arg(long)]
    to: PathBuf,
}

/// Writes one archive and reads it back.
///
/// *Errors*: the file exists; the disk refuses; the records' own codes.
pub fn backup(args: &BackupArgs, as_json: bool) -> Result<(), Failure> {
    let done = with_salon(&args.at, |salon| async move { salon.backup(&args.to).await.map_err(refused) })?;
    tell(&done, as_json, |v| {
        format!("{} events and {} files are in {}, read back and compared.", v["events"], v["blobs"], args.to.display())
    })
}

/// What an archive is opened with.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// The archive.
    file: PathBuf,
    /// A file that holds the recovery code.
    #[arg(long)]
    recovery_code_file: PathBuf,
}

fn code_in(file: &Path) -> Result<RecoveryCode, Failure> {
    rim::read_text(file)?.parse().map_err(|fault: <RecoveryCode as std::str::FromStr>::Err| refused(fault.into()))
}

/// Restores an archive into a scratch place and compares.
///
/// *Errors*: the archive is not whole; the code is not its code.
pub fn verify(args: &VerifyArgs, as_json: bool) -> Result<(), Failure> {
    let code = code_in(&args.recovery_code_file)?;
    let done = wait(async { Salon::verify(&args.file, &code).await.map_err(refused) })?;
    tell(&done, as_json, |v| format!("The archive is whole: {} events, {} files.", v["events"], v["blobs"]))
}

/// Where an archive goes back to.
#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The archive.
    file: PathBuf,
    /// A missing or empty folder, or an empty database.
    #[arg(long)]
    data: String,
    /// A file that holds the recovery code.
    #[arg(long)]
    recovery_code_file: PathBuf,
    /// A file whose first line is the new passphrase; none: none.
    #[arg(long)]
    passphrase_file: Option<PathBuf>,
    /// Restore although the list of clients erased since is not there; that is recorded.
    #[arg(long)]
    without_erasures: bool,
}

/// Restores an archive.
///
/// *Errors*: the place is not empty; the archive, the code or the list is not right.
pub fn restore(args: &RestoreArgs, as_json: bool) -> Result<(), Failure> {
    let place = settings::place(Some(&args.data))?;
    let code = code_in(&args.recovery_code_file)?;
    let at = Where { data: Some(args.data.clone()), passphrase_file: args.passphrase_file.clone() };
    let passphrase = at.passphrase()?;
    let done =
        wait(async { Salon::restore(&args.file, &place, &code, passphrase.as_ref(), args.without_erasures).await.map_err(refused) })?;
    tell(&done, as_json, |v| format!("Restored {} events and {} files into {place}.", v["events"], v["blobs"]))
}

/// Where open files go.
#[derive(Debug, Args)]
pub struct ExportArgs {
    #[command(flatten)]
    at: Where,
    /// A missing or empty folder.
    #[arg(long)]
    out: PathBuf,
}

/// Writes everything as open files.
///
/// *Errors*: the folder holds something; the disk refuses; the records' own codes.
pub fn export(args: &ExportArgs, as_json: bool) -> Result<(), Failure> {
    let files = with_salon(&args.at, |salon| async move { salon.export(&args.out).await.map_err(refused) })?;
    tell(&json!({"ok": true, "files": files}), as_json, |v| {
        format!("{} files are in {}. They are not encrypted: keep them where nobody else reads.", v["files"], args.out.display())
    })
}

/// Where open files come from.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// The folder of an export.
    from: PathBuf,
    #[command(flatten)]
    at: Where,
    /// Write the new salon's recovery code into this file instead of the terminal.
    #[arg(long)]
    recovery_code_to: Option<PathBuf>,
}

/// Reads an export into an empty place.
///
/// *Errors*: the place holds something; a file is not as it was written.
pub fn import(args: &ImportArgs, as_json: bool) -> Result<(), Failure> {
    let (place, passphrase) = (args.at.place()?, args.at.passphrase()?);
    wait(async {
        let opened = Salon::import(&args.from, &place, passphrase.as_ref()).await.map_err(refused)?;
        let told = match &opened.code {
            Some(code) => tell_code(code, args.recovery_code_to.as_deref()),
            None => Ok(()),
        };
        opened.salon.close().await;
        told
    })?;
    tell(&json!({"ok": true}), as_json, |_| format!("Everything in {} is in {place} now.", args.from.display()))
}

/// A client to be erased.
#[derive(Debug, Args)]
pub struct EraseArgs {
    /// Her number.
    client: String,
    #[command(flatten)]
    at: Where,
    /// Why.
    #[arg(long, default_value = "she asked for it")]
    reason: String,
}

/// Erases a client.
///
/// *Errors*: nothing has this id; the records' own codes.
pub fn erase(args: &EraseArgs, as_json: bool) -> Result<(), Failure> {
    let id = args.client.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?;
    let done = with_salon(&args.at, |salon| async move {
        let world = salon.world_now().await.map_err(refused)?;
        let (_, kept) = salon.erase_client(id, &args.reason, &world, None).await.map_err(refused)?;
        Ok(json!({"erased": args.client, "kept": kept}))
    })?;
    tell(&done, as_json, |v| {
        let kept: Vec<&str> = v["kept"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        format!("Erased. What stays: {}.", kept.join("; "))
    })
}

/// A new recovery code.
#[derive(Debug, Args)]
pub struct CodeArgs {
    #[command(flatten)]
    at: Where,
    /// Write it into this file instead of the terminal.
    #[arg(long)]
    recovery_code_to: Option<PathBuf>,
}

/// Makes a new recovery code and ends the old one.
///
/// *Errors*: the passphrase; the records' own codes.
pub fn recovery_code(args: &CodeArgs) -> Result<(), Failure> {
    let passphrase = args.at.passphrase()?;
    if let Some(path) = args.recovery_code_to.as_deref().filter(|path| path.exists()) {
        return Err(Failure::bad_input(format!("{} is there already: name a new file for the recovery code", path.display())));
    }
    with_salon(&args.at, |salon| async move {
        let code = salon.renew_recovery_code(passphrase.as_ref()).await.map_err(refused)?;
        tell_code(&code, args.recovery_code_to.as_deref())
    })?;
    rim::print("The old code opens only the archives made before: make a backup now.\n")
}

/// A passphrase to be set, changed or taken away.
#[derive(Debug, Args)]
pub struct PassphraseArgs {
    #[command(flatten)]
    at: Where,
    /// A file whose first line is the new passphrase.
    #[arg(long, required_unless_present = "remove", conflicts_with = "remove")]
    new_passphrase_file: Option<PathBuf>,
    /// Take the passphrase away: whoever can read the folder can read the salon then.
    #[arg(long)]
    remove: bool,
}

/// Sets, changes or takes away the passphrase.
///
/// *Errors*: the passphrase of now; the records' own codes.
pub fn passphrase(args: &PassphraseArgs) -> Result<(), Failure> {
    let now = args.at.passphrase()?;
    let to = match &args.new_passphrase_file {
        Some(file) => {
            let line = rim::read_text(file)?.lines().next().unwrap_or("").to_owned();
            Some(Passphrase::new(line).map_err(|fault| refused(fault.into()))?)
        }
        None => None,
    };
    with_salon(&args.at, |salon| async move { salon.change_passphrase(now.as_ref(), to.as_ref()).await.map_err(refused) })?;
    rim::print(if args.remove {
        "The passphrase is gone: the key lies open in the folder now.\n"
    } else {
        "The new passphrase is in force.\n"
    })
}

/// The records and nothing else.
#[derive(Debug, Args)]
pub struct AuditArgs {
    #[command(flatten)]
    at: Where,
}

/// Walks the chain.
///
/// *Errors*: exit 13 with the first altered row.
pub fn audit(args: &AuditArgs, as_json: bool) -> Result<(), Failure> {
    let done = with_salon(&args.at, |salon| async move { salon.audit().await.map_err(refused) })?;
    tell(&done, as_json, |v| {
        format!("All {} events are as they were written; the chain ends in {}.", v["events"], v["head"].as_str().unwrap_or(""))
    })
}

/// What to look after.
#[derive(Debug, Args)]
pub struct DoctorArgs {
    #[command(flatten)]
    at: Where,
    /// Make every list that is derived from the events anew.
    #[arg(long)]
    rebuild: bool,
}

/// Says in plain words what is wrong and what to do.
///
/// *Errors*: something is wrong; the records' own codes.
pub fn doctor(args: &DoctorArgs, as_json: bool) -> Result<(), Failure> {
    let done = with_salon(&args.at, |salon| async move {
        let rebuilt = if args.rebuild { Some(salon.rebuild_views().await.map_err(refused)?) } else { None };
        let mut found = salon.show_checks().await.map_err(refused)?;
        found["rebuilt_rows"] = json!(rebuilt);
        found["protection"] = json!(if salon.protection() == desk::Protection::Passphrase { "passphrase" } else { "file" });
        Ok(found)
    })?;
    let wrong: Vec<String> = done["checks"]
        .as_array()
        .into_iter()
        .flatten()
        .filter(|check| check["holds"] == false)
        .filter_map(|check| check["says"].as_str().map(str::to_owned))
        .collect();
    tell(&done, as_json, |_| {
        if wrong.is_empty() { "Nothing is wrong.".to_owned() } else { format!("This does not hold: {}.", wrong.join("; ")) }
    })?;
    match wrong.is_empty() {
        true => Ok(()),
        false => Err(Failure::cannot(
            "a check does not hold: `doctor --rebuild` makes the lists anew; if `audit` names a row, restore the latest backup elsewhere",
        )),
    }
}

fn tell(value: &Value, as_json: bool, says: impl FnOnce(&Value) -> String) -> Result<(), Failure> {
    if as_json { print(value) } else { rim::print(&format!("{}\n", says(value))) }
}
