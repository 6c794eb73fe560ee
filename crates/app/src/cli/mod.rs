//! The command line: its words, and where each goes. A contract: shapes and
//! exit codes are exact.

mod buy;
mod check;
mod colour;
mod head;
mod plan;
mod records;
mod rim;
mod salon;

use crate::error::Failure;
use clap::{Parser, Subcommand};
use std::ffi::OsString;

/// Plan, place and keep a set of tape-in extensions.
#[derive(Debug, Parser)]
#[command(name = "strandwright", version, about, long_about = None, disable_help_subcommand = true)]
struct Line {
    #[command(subcommand)]
    command: Command,
    /// Print exactly one JSON document; commands that print one anyway take no notice.
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Open an invented salon to look around in; nothing is left behind.
    Demo(salon::DemoArgs),
    /// Serve the salon's own records to the browser of this machine.
    Serve(salon::ServeArgs),
    /// Plan one client's set from a file of facts.
    Plan(plan::PlanArgs),
    /// Read a colour from a photograph; match it to the shades of a ring.
    #[command(subcommand)]
    Colour(colour::ColourCommand),
    /// The scalp from tape measures.
    #[command(subcommand)]
    Head(head::HeadCommand),
    /// Which packs to buy at least cost.
    Buy(buy::BuyArgs),
    /// Do acts on the records: one line of JSON each.
    Act(records::ActArgs),
    /// Ask the records one question; one JSON document answers.
    Show(records::ShowArgs),
    /// Write one archive of all records.
    Backup(records::BackupArgs),
    /// Look whether an archive can be restored.
    Verify(records::VerifyArgs),
    /// Put an archive back into an empty place.
    Restore(records::RestoreArgs),
    /// Write everything as open files.
    Export(records::ExportArgs),
    /// Read an export into an empty place.
    Import(records::ImportArgs),
    /// Erase a client.
    Erase(records::EraseArgs),
    /// Make a new recovery code and end the old one.
    RecoveryCode(records::CodeArgs),
    /// Set, change or take away the passphrase.
    Passphrase(records::PassphraseArgs),
    /// Look whether every event is as it was written.
    Audit(records::AuditArgs),
    /// Say what is wrong with the records and what to do.
    Doctor(records::DoctorArgs),
    /// Run one engine on numbers you bring, to check it against an outside reference.
    #[command(subcommand)]
    Check(check::CheckCommand),
}

/// Runs the command that the arguments name.
///
/// *Errors*: a [`Failure`] with the sentence for standard error and the exit code.
pub fn run(arguments: impl Iterator<Item = OsString>) -> Result<(), Failure> {
    let line = match Line::try_parse_from(arguments) {
        Ok(line) => line,
        Err(told) if !told.use_stderr() => {
            rim::print(&told.to_string())?;
            return Ok(());
        }
        Err(wrong) => return Err(Failure::bad_input(wrong.to_string().trim_end().to_owned())),
    };
    match line.command {
        Command::Demo(_) | Command::Serve(_) if line.json => Err(Failure::bad_input("demo and serve print no data: leave out --json")),
        Command::Demo(args) => salon::demo(args),
        Command::Serve(args) => salon::serve(args),
        Command::Plan(args) => plan::run(&args, line.json),
        Command::Colour(command) => colour::run(command),
        Command::Head(command) => head::run(command),
        Command::Act(args) => records::act(&args, line.json),
        Command::Show(args) => records::show(&args),
        Command::Backup(args) => records::backup(&args, line.json),
        Command::Verify(args) => records::verify(&args, line.json),
        Command::Restore(args) => records::restore(&args, line.json),
        Command::Export(args) => records::export(&args, line.json),
        Command::Import(args) => records::import(&args, line.json),
        Command::Erase(args) => records::erase(&args, line.json),
        Command::RecoveryCode(args) => records::recovery_code(&args),
        Command::Passphrase(args) => records::passphrase(&args),
        Command::Audit(args) => records::audit(&args, line.json),
        Command::Doctor(args) => records::doctor(&args, line.json),
        Command::Buy(args) => buy::run(&args, line.json),
        Command::Check(command) => check::run(command, line.json),
    }
}
