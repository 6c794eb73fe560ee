//! Prints what plans come to for random ordinary clients, and what does not hold.
//!
//! `cargo run --release -p salon --example bench_panel -- [CLIENTS TO A ROW] [ANYONE]`
//! For every row of the panel (200 clients unless told): sandwiches, the share
//! of the wish that is met, how many plans do not hold, and their tidiness; then
//! the same facts of the trade on 1 000 clients of every kind. Each complaint is
//! counted by its check and the first few are told in full; the facts of their
//! clients go into the folder that KEEP names, to be planned again by hand.

#[path = "../tests/believable/mod.rs"]
mod believable;

use believable::clients::{Client, Shelf, anyone};
use believable::neat::Neat;
use believable::panel::{Figures, PANEL, PanelRow};
use believable::seen::View;
use believable::{Complaint, facts, mirror, on_every_processor, open, told, try_on};
use std::collections::BTreeMap;
use std::time::Instant;

/// Complaints of one check that are told in full.
const TOLD: usize = 4;

/// What one client's plan comes to.
struct Answer {
    name: String,
    file: serde_json::Value,
    figures: Option<Figures>,
    neat: Neat,
    sides: usize,
    single: bool,
    complaints: Vec<Complaint>,
    /// Whether it falls short, and whether the strictest search finds a place.
    short: bool,
    hardly_open: Option<String>,
    ms: f64,
}

fn answer(client: Client, row: Option<&PanelRow>, shelf: &Shelf) -> Answer {
    let (name, file) = (client.name.clone(), client.file.clone());
    let start = Instant::now();
    let trial = try_on(client, shelf);
    let ms = start.elapsed().as_secs_f64() * 1e3;
    let mut complaints = row.map_or_else(Vec::new, |row| row.complaints(&trial));
    let mut neat = Neat::default();
    let (mut short, mut hardly_open) = (false, None);
    let figures = Figures::of(&trial.plan).ok();
    match View::of(&trial) {
        Ok(mut view) => {
            complaints.extend(facts::complaints(&mut view));
            complaints.extend(open::complaints(&mut view).unwrap_or_else(|complaint| vec![complaint]));
            complaints.extend(told::complaints(&mut view).unwrap_or_else(|complaint| vec![complaint]));
            neat = Neat::of(&view);
            let at_once = if trial.client.is_mirrored() { 2.0 } else { 1.0 };
            if let Some(figures) = figures.filter(|figures| figures.short() >= at_once * figures.smallest) {
                short = true;
                let found = open::search(&mut view, figures.short() / at_once, open::HARDLY).unwrap_or_default();
                hardly_open = found.first().map(|open| format!("{:.1} g short, {open}", figures.short()));
            }
        }
        Err(complaint) => complaints.push(complaint),
    }
    complaints.extend(mirror::complaints(&trial).unwrap_or_else(|complaint| vec![complaint]));
    let sites = trial.plan["sites"].as_array().cloned().unwrap_or_default();
    let sides = sites.iter().filter(|site| site["section"] == "left" || site["section"] == "right").count();
    let single = sites.iter().any(|site| site["single_sided"] == true);
    Answer { name, file, figures, neat, sides, single, complaints, short, hardly_open, ms }
}

/// Least, a tenth of the way up, median, and most.
fn spread(mut all: Vec<f64>, digits: usize) -> String {
    all.sort_by(f64::total_cmp);
    let at = |share: f64| all.get(((all.len() as f64 - 1.0) * share).round() as usize).copied().unwrap_or(f64::NAN);
    format!("{:.digits$} / {:.digits$} / {:.digits$} / {:.digits$}", at(0.0), at(0.1), at(0.5), at(1.0))
}

fn tell(title: &str, answers: &[Answer]) {
    let of = |value: &dyn Fn(&Figures) -> f64| answers.iter().filter_map(|a| a.figures.as_ref()).map(value).collect::<Vec<_>>();
    let fails = answers.iter().filter(|a| !a.complaints.is_empty()).count();
    println!("== {title}: {} clients, {fails} do not hold", answers.len());
    println!("   sandwiches (least / 10 % / median / most): {}", spread(of(&|f| f.sandwiches), 1));
    println!("   share of the wish met, %: {}; grams wished: {}", spread(of(&|f| 100.0 * f.met()), 0), spread(of(&|f| f.wished), 0));
    println!(
        "   before the ears: {}; one piece with a strip: {} plans; made in {} ms",
        spread(answers.iter().map(|a| a.sides as f64).collect(), 0),
        answers.iter().filter(|a| a.single).count(),
        spread(answers.iter().map(|a| a.ms).collect(), 0)
    );
    println!("   {}", answers.iter().fold(Neat::default(), |sum, a| sum.and(a.neat)));
    let hardly: Vec<&Answer> = answers.iter().filter(|a| a.hardly_open.is_some()).collect();
    println!(
        "   short of the wish: {}; of them with a place open that has nothing to spare: {}",
        answers.iter().filter(|a| a.short).count(),
        hardly.len()
    );
    for a in hardly.iter().take(TOLD) {
        println!("      {}: {}", a.name, a.hardly_open.as_deref().unwrap_or(""));
    }
    let mut by_check: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for a in answers {
        for complaint in &a.complaints {
            by_check.entry(complaint.of).or_default().push(format!("{}: {}", a.name, complaint.says));
        }
    }
    if let Some(folder) = std::env::var_os("KEEP").map(std::path::PathBuf::from) {
        for a in answers.iter().filter(|a| !a.complaints.is_empty()) {
            let kept = toml::to_string(&a.file).map_err(|fault| fault.to_string());
            let path = folder.join(format!("{}.toml", a.name.replace([' ', ','], "-")));
            if let Err(fault) = kept.and_then(|text| std::fs::write(&path, text).map_err(|fault| fault.to_string())) {
                eprintln!("{}: {fault}", path.display());
            }
        }
    }
    for (check, all) in by_check {
        println!("   {check}: {} complaints", all.len());
        for line in all.iter().take(TOLD) {
            println!("      {line}");
        }
    }
}

fn main() {
    let mut counts =
        std::env::args().skip(1).map(|word| word.parse::<usize>().expect("give whole numbers: clients to a row, clients of every kind"));
    let to_a_row = counts.next().unwrap_or(200);
    let of_every_kind = counts.next().unwrap_or(1000);
    let shelf = Shelf::new();
    for row in &PANEL {
        let answers = on_every_processor(to_a_row, |at| answer(row.client(at as u64 + 1), Some(row), &shelf));
        tell(row.name, &answers);
    }
    let answers = on_every_processor(of_every_kind, |at| answer(anyone(at as u64 + 1), None, &shelf));
    tell("anyone", &answers);
}
