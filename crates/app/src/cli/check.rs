//! `check …`: one engine on numbers you bring, nothing else.

use super::rim;
use crate::cells;
use crate::error::Failure;
use clap::{Args, Subcommand};
use colour::Lab;
use serde_json::json;
use std::path::PathBuf;

/// The engines that can be tried.
#[derive(Debug, Subcommand)]
pub enum CheckCommand {
    /// CIEDE2000 for rows of L1,a1,b1,L2,a2,b2.
    ColourDifference {
        /// The CSV file, or - for standard input.
        pairs: PathBuf,
    },
    /// Distances along a surface from a vertex or a curve of vertices.
    Geodesic(GeodesicArgs),
    /// Hair over a bond on a sphere or a spheroid.
    Coverage {
        /// The case, or - for standard input.
        case: PathBuf,
    },
    /// The placement search on a layout instance.
    Layout {
        /// The instance, or - for standard input.
        instance: PathBuf,
        /// Where the search starts.
        #[arg(long, default_value_t = 1)]
        seed: u64,
    },
    /// Weibull maximum likelihood from spans of wear.
    Wear {
        /// The CSV file of lower,upper in days, or - for standard input.
        events: PathBuf,
    },
    /// Which packs to buy at least cost; the same as `buy --json`.
    Buy {
        /// The order, or - for standard input.
        order: PathBuf,
    },
}

/// Where distances are measured from.
#[derive(Debug, Args)]
pub struct GeodesicArgs {
    /// The surface as OBJ, or - for standard input.
    mesh: PathBuf,
    /// Vertices to measure from, counted from 0.
    #[arg(long, value_delimiter = ',', required_unless_present = "curve", conflicts_with = "curve")]
    from: Vec<usize>,
    /// A polyline of vertices to measure from, counted from 0.
    #[arg(long, value_delimiter = ',')]
    curve: Vec<usize>,
}

/// Runs one engine.
///
/// *Errors*: the input cannot be read or does not have the shape that the engine takes.
pub fn run(command: CheckCommand, json: bool) -> Result<(), Failure> {
    match command {
        CheckCommand::ColourDifference { pairs } => colour_difference(&rim::read_text(&pairs)?, &rim::shown(&pairs), json),
        CheckCommand::Geodesic(args) => geodesic(&args),
        CheckCommand::Coverage { case } => {
            let case = rim::read_json(&case)?;
            let answer = craft::coverage::check_coverage(&case).map_err(|e| Failure::bad_input(e.to_string()))?;
            rim::print_json(&answer)
        }
        CheckCommand::Layout { instance, seed } => layout(&instance, seed),
        CheckCommand::Wear { events } => wear(&rim::read_text(&events)?, &rim::shown(&events)),
        CheckCommand::Buy { order } => super::buy::least_cost(&order),
    }
}

fn geodesic(args: &GeodesicArgs) -> Result<(), Failure> {
    let text = rim::read_text(&args.mesh)?;
    let distances = head::check_geodesic(&text, &args.from, &args.curve)
        .map_err(|fault| Failure::bad_input(format!("{}: {fault}", rim::shown(&args.mesh))))?;
    rim::print(&format!("{}\n", json!({ "distances": distances })))
}

fn layout(instance: &std::path::Path, seed: u64) -> Result<(), Failure> {
    let instance = rim::read_json(instance)?;
    let before = cpu_nanoseconds();
    let answer = craft::placement::check_layout(&instance, seed).map_err(|e| Failure::bad_input(e.to_string()))?;
    let spent = cpu_nanoseconds().saturating_sub(before);
    let mut document =
        serde_json::to_value(&answer).map_err(|error| Failure::cannot(format!("the answer cannot be written as JSON ({error})")))?;
    document["cpu_ms"] = json!(spent as f64 / 1e6);
    rim::print_json(&document)
}

/// Time that this thread has spent on a processor, as the system counts it;
/// where it does not say, time since the start of the program.
fn cpu_nanoseconds() -> u64 {
    use std::sync::OnceLock;
    use std::time::Instant;
    static START: OnceLock<Instant> = OnceLock::new();
    let start = *START.get_or_init(Instant::now);
    std::fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|text| text.split_whitespace().next()?.parse().ok())
        .unwrap_or_else(|| u64::try_from(start.elapsed().as_nanos()).unwrap_or(u64::MAX))
}

/// A row's numbers, or where the row is not what it should be.
fn numbers(line: &str, place: &str, wanted: usize, says: &str) -> Result<Vec<f64>, Failure> {
    let fields: Vec<&str> = line.split(',').map(str::trim).collect();
    if fields.len() < wanted {
        return Err(Failure::bad_input(format!("{place}: {} values where {says} are wanted", fields.len())));
    }
    fields[..wanted]
        .iter()
        .map(|field| {
            field
                .parse::<f64>()
                .ok()
                .filter(|value| value.is_finite())
                .ok_or_else(|| Failure::bad_input(format!("{place}: \"{field}\" is no number: write {says}")))
        })
        .collect()
}

/// Whether a first line names its columns instead of holding numbers.
fn names_columns(line: &str) -> bool {
    line.split(',').next().is_some_and(|first| {
        let first = first.trim();
        first.starts_with(|c: char| c.is_alphabetic() || c == '"') && first.parse::<f64>().is_err()
    })
}

fn colour_difference(text: &str, name: &str, json: bool) -> Result<(), Failure> {
    const SAYS: &str = "L1,a1,b1,L2,a2,b2";
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()).peekable();
    let mut out = String::with_capacity(text.len() + text.len() / 4);
    if let Some((_, first)) = lines.next_if(|(_, line)| names_columns(line)) {
        out.push_str(&as_cells(first));
        out.push_str(",de00\n");
    }
    let mut rows = Vec::new();
    let mut pairs = Vec::new();
    for (number, line) in lines {
        let v = numbers(line, &format!("{name}, line {}", number + 1), 6, SAYS)?;
        pairs.push([Lab { l: v[0], a: v[1], b: v[2] }, Lab { l: v[3], a: v[4], b: v[5] }]);
        rows.push(line);
    }
    if rows.is_empty() {
        return Err(Failure::bad_input(format!("{name} holds no pairs: write rows of {SAYS}")));
    }
    let differences = colour::ciede2000_batch(&pairs);
    if json {
        return rim::print_json(&serde_json::json!({ "de00": differences }));
    }
    for (row, difference) in rows.iter().zip(differences) {
        use std::fmt::Write;
        // Writing into a string cannot fail.
        let _ = writeln!(out, "{},{difference:.10}", as_cells(row));
    }
    rim::print(&out)
}

/// A row as it may be opened in a spreadsheet: its numbers as they are, and no
/// text that would be reckoned.
fn as_cells(row: &str) -> String {
    if !row.contains(['=', '+', '-', '@', '\t', '\r']) {
        return row.to_owned();
    }
    row.split(',').map(cells::defused_as_written).collect::<Vec<_>>().join(",")
}

fn wear(text: &str, name: &str) -> Result<(), Failure> {
    const SAYS: &str = "lower,upper in days (upper empty: still holding)";
    let mut spans = Vec::new();
    for (number, line) in text.lines().enumerate() {
        if line.trim().is_empty() || (spans.is_empty() && names_columns(line)) {
            continue;
        }
        let place = format!("{name}, line {}", number + 1);
        let lower = numbers(line, &place, 1, SAYS)?[0];
        let upper = match line.split(',').nth(1).map(str::trim) {
            None | Some("") => None,
            Some(_) => Some(numbers(line, &place, 2, SAYS)?[1]),
        };
        spans.push((lower, upper));
    }
    let answer = craft::wear::check_wear(&spans).map_err(|fault| Failure::bad_input(format!("{name}: {fault}")))?;
    rim::print_json(&answer)
}
