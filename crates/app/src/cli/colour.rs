//! `colour find`, `colour read` and `colour match`.

use super::rim;
use crate::error::Failure;
use clap::{Args, Subcommand};
use colour::Lab;
use craft::matching::{MatchFault, ReadShade, Ring, RingAsRead, Target, match_ring};
use measure::RuleBook;
use salon::book::target_of;
use salon::stock::Order;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// What can be asked about a colour.
#[derive(Debug, Subcommand)]
pub enum ColourCommand {
    /// Where the 24-patch chart lies in a photograph.
    Find(FindArgs),
    /// Read the hair's colour from a photograph with the 24-patch chart.
    Read(ReadArgs),
    /// The nearest shades and mixes of a ring.
    Match(MatchArgs),
}

/// A photograph.
#[derive(Debug, Args)]
pub struct FindArgs {
    /// The photograph (JPEG, PNG or WebP), or - for standard input.
    photo: PathBuf,
    /// Of several charts the one at this place, in pixels of the upright picture: X,Y.
    #[arg(long, value_delimiter = ',', num_args = 1, value_name = "X,Y")]
    at: Vec<f64>,
}

/// A photograph and where to look in it.
#[derive(Debug, Args)]
pub struct ReadArgs {
    /// The photograph (JPEG, PNG or WebP), or - for standard input.
    photo: PathBuf,
    /// Where the chart and the hair are in it (JSON).
    #[arg(long)]
    marks: PathBuf,
    /// Swatches that lie beside the ends, to be ranked by their difference (JSON).
    #[arg(long)]
    swatches: Option<PathBuf>,
}

/// A colour and a ring.
#[derive(Debug, Args)]
pub struct MatchArgs {
    /// The ring's shades (JSON).
    #[arg(long)]
    ring: PathBuf,
    /// The ring as this phone read it, instead of its own colours (JSON).
    #[arg(long)]
    readings: Option<PathBuf>,
    /// Whole pieces to mix.
    #[arg(long)]
    pieces: u32,
    /// What lies on the shelf (JSON): of mixes that do as well the one that needs fewer
    /// bought pieces is advised, as on the page.
    #[arg(long)]
    stock: Option<PathBuf>,
    /// The ends' colour as L,a,b under D65.
    #[arg(
        long,
        value_delimiter = ',',
        num_args = 1,
        allow_hyphen_values = true,
        required_unless_present = "reading",
        conflicts_with = "reading"
    )]
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
        ColourCommand::Find(args) => find(&args),
        ColourCommand::Read(args) => read(&args),
        ColourCommand::Match(args) => matched(&args),
    }
}

/// What `colour find` prints.
#[derive(Serialize)]
struct Found {
    found: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    corners: Option<[[f64; 2]; 4]>,
    sure: f64,
    /// How many charts there are.
    charts: usize,
}

fn find(args: &FindArgs) -> Result<(), Failure> {
    let picture = photo::open_photo(&rim::read_bytes(&args.photo)?).map_err(|fault| bad_photo(&args.photo, &fault))?;
    let charts = reading::find_charts(&picture);
    let found = match args.at[..] {
        [] => charts.first(),
        [x, y] => {
            let (width, height) = picture.size();
            if !((0.0..=width as f64).contains(&x) && (0.0..=height as f64).contains(&y)) {
                return Err(Failure::bad_input(format!("--at {x},{y}: lies outside the photo, which is {width} wide and {height} high")));
            }
            charts.iter().find(|chart| chart.lies_under([x, y]))
        }
        _ => return Err(Failure::bad_input("--at: give two numbers, as --at 640,410".to_owned())),
    };
    let photo = rim::shown(&args.photo);
    match (charts.len(), found) {
        (0, _) => eprintln!("{photo}: no chart was found by itself; give its corners in a file of marks"),
        (_, None) => eprintln!("{photo}: no chart lies there; leave --at out to see the largest, or give its corners in a file of marks"),
        (2.., Some(_)) if args.at.is_empty() => {
            eprintln!("{photo}: there are {} charts; this is the largest, --at X,Y names another", charts.len())
        }
        _ => {}
    }
    let rounded = |v: f64| (v * 100.0).round() / 100.0;
    rim::print_json(&Found {
        found: found.is_some(),
        corners: found.map(|found| found.corners.map(|corner| corner.map(rounded))),
        sure: found.map_or(0.0, |found| rounded(found.sure)),
        charts: charts.len(),
    })
}

/// What `--swatches` holds.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Swatches {
    swatches: Vec<reading::Swatch>,
}

fn bad_photo(photo: &Path, fault: &photo::PhotoFault) -> Failure {
    Failure::bad_input(format!("{}: {fault}", rim::shown(photo)))
}

fn read(args: &ReadArgs) -> Result<(), Failure> {
    let marks: reading::Marks = rim::read_json(&args.marks)?;
    let swatches: Option<Swatches> = args.swatches.as_deref().map(rim::read_json).transpose()?;
    let bytes = rim::read_bytes(&args.photo)?;
    let Some(Swatches { swatches }) = swatches else {
        return rim::print_json(&photo::read_photo(&bytes, &marks).map_err(|fault| bad_photo(&args.photo, &fault))?);
    };
    let picture = photo::open_photo(&bytes).map_err(|fault| bad_photo(&args.photo, &fault))?;
    let beside = reading::read_beside(&picture, &marks, &swatches).map_err(|fault| bad_photo(&args.photo, &fault.into()))?;
    for unread in &beside.unread {
        eprintln!("{}: {}", unread.code, unread.why);
    }
    rim::print_json(&beside)
}

/// What `--readings` holds.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RingReadings {
    readings: Vec<RingReading>,
}

/// One shade as a phone read it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RingReading {
    code: String,
    reading: reading::Reading,
}

/// The ring's shades in the colours that a phone read them as; shades that it did not
/// read fall out, and are named.
fn as_read(ring: &Ring, path: &Path) -> Result<RingAsRead, Failure> {
    let RingReadings { readings } = rim::read_json(path)?;
    if let Some(stray) = readings.iter().find(|read| ring.shades.iter().all(|shade| shade.code != read.code)) {
        return Err(Failure::bad_input(format!("{}: {} is no shade of the ring: check its code", rim::shown(path), stray.code)));
    }
    let read = |one: &RingReading| ReadShade {
        code: one.code.clone(),
        lab_d65: one.reading.lab_d65,
        uncertainty_de00: one.reading.uncertainty_de00,
    };
    let found = ring.as_read(&readings.iter().map(read).collect::<Vec<_>>(), "photo");
    if !found.unread.is_empty() {
        eprintln!("not read by this phone, and left out: {}", found.unread.join(", "));
    }
    Ok(found)
}

fn matched(args: &MatchArgs) -> Result<(), Failure> {
    let ring: Ring = rim::read_json(&args.ring)?;
    let read = args.readings.as_deref().map(|path| as_read(&ring, path)).transpose()?;
    let mut target = match &args.reading {
        Some(path) => target_of(&rim::read_json(path)?),
        None => {
            let &[l, a, b] = args.lab.as_slice() else {
                return Err(Failure::bad_input("--lab takes three numbers, as in --lab 32.0,8.0,19.0"));
            };
            Target::of(Lab { l, a, b })
        }
    };
    if let Some(read) = &read {
        target.uncertainty_de00 = read.sure_with(target.uncertainty_de00);
    }
    let ring = read.map_or(ring, |read| read.ring);
    let place = |fault: &MatchFault| match (fault, &args.reading) {
        (MatchFault::Ring(_), _) => rim::shown(&args.ring),
        (MatchFault::Pieces(_), _) => "--pieces".to_owned(),
        (MatchFault::Colour(_), Some(reading)) => rim::shown(reading),
        (MatchFault::Colour(_), None) => "--lab".to_owned(),
    };
    let stock: Option<Order> = args.stock.as_deref().map(rim::read_json).transpose()?;
    let answer = match_ring(&target, &ring, args.pieces, &stock.as_ref().map(Order::by_shade).unwrap_or_default(), &RuleBook::standard())
        .map_err(|fault| Failure::bad_input(format!("{}: {fault}", place(&fault))))?;
    rim::print_json(&answer)
}
