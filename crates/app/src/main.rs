//! Strandwright: from a client's answers to a finished set, and a year of keeping it.
//!
//! This is the rim: the command line and the local web application. No number
//! of the trade appears here; the floors below decide, this one shows and keeps.

mod cells;
mod cli;
mod error;
mod logbook;
mod settings;
mod web;

use std::process::ExitCode;

fn main() -> ExitCode {
    match cli::run(std::env::args_os()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(failure.exit.code())
        }
    }
}
