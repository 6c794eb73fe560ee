//! `plan`: the main job without records.

use super::rim;
use crate::error::Failure;
use clap::Args;
use desk::{self, PlanInput};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use salon::client::{ClientFile, ColourSection};
use std::path::{Path, PathBuf};

/// A client's facts and where the papers go.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The client's facts (TOML), or - for standard input.
    client: PathBuf,
    /// Write plan.json, the head map, the papers, the calendar file and the scalp into this folder.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Where the search for places starts.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The day the set goes in, as 2026-03-02.
    #[arg(long)]
    date: Option<Date>,
}

/// Makes the plan and shows or writes it; with `json` as one document.
///
/// *Errors*: bad input (exit 2); or she cannot wear tapes, or nothing can be placed (exit 1).
pub fn run(args: &PlanArgs, json: bool) -> Result<(), Failure> {
    let input = read_input(&args.client, args.seed)?;
    let name = rim::shown(&args.client);
    let mut planned = desk::plan(&input).map_err(|faults| rim::bad_facts(&name, &faults))?;
    planned.plan.ways = desk::ways(&input, &planned.plan).map_err(|faults| rim::bad_facts(&name, &faults))?;
    let refused = planned.refusal();
    if let Some(folder) = &args.out {
        let unset = |fault| Failure::cannot(format!("the papers cannot be set: {fault}"));
        let mut files = desk::files(&planned, &input, args.date, &crate::web::fonts()).map_err(unset)?;
        // No records tell when the day was noted, and the same facts give the same bytes on any day.
        let written =
            args.date.and_then(|day| day.to_zoned_datetime(TimeZone::UTC).ok()).map_or(Timestamp::UNIX_EPOCH, |day| day.timestamp());
        let entry = paper::Entry::without_records(&desk::made_for(&input.client).map_err(unset)?, written);
        files.extend(desk::calendar(&planned.plan, args.date, &entry).map(|calendar| (desk::CALENDAR_FILE.to_owned(), calendar)));
        rim::write_files(folder, &files)?;
    }
    if json {
        rim::print_json(&planned.plan)?;
    } else {
        rim::print(&desk::in_words(&planned.plan))?;
        if let Some(folder) = &args.out {
            eprintln!("Written to {}.", folder.display());
        }
    }
    match refused {
        Some(reason) => Err(Failure::cannot(reason)),
        None => Ok(()),
    }
}

/// The client's facts with the files they name, relative to the client's own.
fn read_input(path: &Path, seed: u64) -> Result<PlanInput, Failure> {
    let client: ClientFile = rim::from_toml(&rim::read_text(path)?, &rim::shown(path))?;
    let folder = if path == Path::new("-") { Path::new("") } else { path.parent().unwrap_or(Path::new("")) };
    let pieces = client.pieces.clone().unwrap_or_default();
    let ring = pieces.ring.as_deref().map(|file| rim::read_json(&folder.join(file))).transpose()?;
    let shelf = pieces.stock.as_deref().map(|file| rim::read_json(&folder.join(file))).transpose()?;
    let reading = match client.colour.clone().unwrap_or_default() {
        ColourSection { photo: Some(photo), marks: Some(marks), .. } => Some(read_photo(&folder.join(photo), &folder.join(marks))?),
        _ => None,
    };
    Ok(PlanInput {
        client,
        ring,
        shelf,
        reading,
        observed: salon::book::visit::Observed::default(),
        hers: salon::plan::OwnHair::default(),
        seed,
        state: salon::make::head_model::DecidedLayout::default(),
        rules: measure::RuleBook::standard(),
    })
}

fn read_photo(photo: &Path, marks: &Path) -> Result<reading::Reading, Failure> {
    let marks: reading::Marks = rim::read_json(marks)?;
    photo::read_photo(&rim::read_bytes(photo)?, &marks).map_err(|fault| Failure::bad_input(format!("{}: {fault}", rim::shown(photo))))
}
