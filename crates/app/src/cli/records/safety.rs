//! What keeps the records safe: erasing, codes and passphrases, and looking after them.

use super::{Where, refused, tell, tell_code, with_salon};
use crate::cli::rim;
use crate::error::Failure;
use clap::Args;
use desk::Passphrase;
use serde_json::{Value, json};
use std::path::PathBuf;

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
    /// Where several records are hers: `all` of them, or `this` one alone.
    #[arg(long, value_parser = ["all", "this"])]
    records: Option<String>,
}

/// Erases a client.
///
/// *Errors*: nothing has this id; the records' own codes.
pub fn erase(args: &EraseArgs, as_json: bool) -> Result<(), Failure> {
    let id = args.client.parse().map_err(|fault: salon::book::NoId| Failure::cannot(fault.to_string()))?;
    let which = args.records.as_deref().and_then(desk::WhichRecords::from_word);
    let done = with_salon(&args.at, |salon| async move {
        let world = salon.world_now().await.map_err(refused)?;
        let (_, kept) = salon.erase_client(id, which, &args.reason, &world, None).await.map_err(refused)?;
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
