//! Acts, a line of JSON each.

use super::{Where, print, refused, tell_code, wait};
use crate::cli::rim;
use crate::error::{Exit, Failure};
use clap::Args;
use desk::acts::{ACTS, Ended};
use desk::{Place, Salon};
use serde_json::{Value, json};
use std::path::PathBuf;

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
            Ended::Records(code) => Failure { exit: Exit::of(code), message: says("the records said no; its answer says why") },
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

fn list(as_json: bool) -> Result<(), Failure> {
    if as_json {
        let acts: serde_json::Map<String, Value> = ACTS.iter().map(|(name, keys)| ((*name).to_owned(), json!(keys))).collect();
        return print(&json!({ "acts": acts }));
    }
    let text: String = ACTS.iter().map(|(name, keys)| format!("{name}: {}\n", keys.join(", "))).collect();
    rim::print(&text)
}
