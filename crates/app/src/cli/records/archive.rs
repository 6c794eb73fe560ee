//! Archives and open files: written, tried, and read back.

use super::{Where, refused, tell, tell_code, wait, with_salon};
use crate::cli::rim;
use crate::error::Failure;
use crate::settings;
use clap::Args;
use desk::{RecoveryCode, Salon};
use serde_json::json;
use std::path::{Path, PathBuf};

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
