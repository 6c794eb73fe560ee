//! `colour read` and `colour match`.

use super::rim;
use crate::error::Failure;
use clap::{Args, Subcommand};
use colour::Lab;
use craft::matching::{MatchFault, Ring, Target, Tone, match_ring};
use measure::RuleBook;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What can be asked about a colour.
#[derive(Debug, Subcommand)]
pub enum ColourCommand {
    /// Read the hair's colour from a photograph with the 24-patch chart.
    Read(ReadArgs),
    /// The nearest shades and mixes of a ring.
    Match(MatchArgs),
}

/// A photograph and where to look in it.
#[derive(Debug, Args)]
pub struct ReadArgs {
    /// The photograph (JPEG, PNG or WebP), or - for standard input.
    photo: PathBuf,
    /// Where the chart and the hair are in it (JSON).
    #[arg(long)]
    marks: PathBuf,
}

/// A colour and a ring.
#[derive(Debug, Args)]
pub struct MatchArgs {
    /// The ring's shades (JSON).
    #[arg(long)]
    ring: PathBuf,
    /// Whole pieces to mix.
    #[arg(long)]
    pieces: u32,
    /// The ends' colour as L,a,b under D65.
    #[arg(long, value_delimiter = ',', num_args = 1, allow_hyphen_values = true, required_unless_present = "reading", conflicts_with = "reading")]
    lab: Vec<f64>,
    /// What `colour read` printed.
    #[arg(long)]
    reading: Option<PathBuf>,
}

/// Runs the command.
///
/// *Errors*: a file cannot be read, or holds no colour.
pub fn run(command: ColourCommand) -> Result<(), Failure> {
    match command {
        ColourCommand::Read(args) => {
            let marks: reading::Marks = rim::read_json(&args.marks)?;
            let bytes = rim::read_bytes(&args.photo)?;
            let reading = photo::read_photo(&bytes, &marks)
                .map_err(|fault| Failure::bad_input(format!("{}: {fault}", rim::shown(&args.photo))))?;
            rim::print_json(&reading)
        }
        ColourCommand::Match(args) => matched(&args),
    }
}

fn matched(args: &MatchArgs) -> Result<(), Failure> {
    let ring: Ring = rim::read_json(&args.ring)?;
    let target = match &args.reading {
        Some(path) => target_of(&rim::read_json(path)?),
        None => {
            let &[l, a, b] = args.lab.as_slice() else {
                return Err(Failure::bad_input("--lab takes three numbers, as in --lab 32.0,8.0,19.0"));
            };
            Target::of(Lab { l, a, b })
        }
    };
    let place = |fault: &MatchFault| match (fault, &args.reading) {
        (MatchFault::Ring(_), _) => rim::shown(&args.ring),
        (MatchFault::Pieces(_), _) => "--pieces".to_owned(),
        (MatchFault::Colour(_), Some(reading)) => rim::shown(reading),
        (MatchFault::Colour(_), None) => "--lab".to_owned(),
    };
    let answer = match_ring(&target, &ring, args.pieces, &BTreeMap::new(), &RuleBook::standard())
        .map_err(|fault| Failure::bad_input(format!("{}: {fault}", place(&fault))))?;
    rim::print_json(&answer)
}

/// What a photo's reading asks of the ring.
pub fn target_of(reading: &reading::Reading) -> Target {
    Target {
        lab_d65: reading.lab_d65,
        uncertainty_de00: reading.uncertainty_de00,
        tones: reading.tones.iter().map(|tone| Tone { share: tone.share, lab_d65: tone.lab_d65 }).collect(),
        spectrum: None,
    }
}
