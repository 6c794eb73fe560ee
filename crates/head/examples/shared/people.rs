//! The size fitted to people whose calliper sizes are held back.

use head::{HairUnderTape, Measures, fit};
use measure::Length;
use std::time::Instant;

/// Signed errors of one size.
#[derive(Default)]
struct Errors(Vec<f64>);

impl Errors {
    fn line(&self, name: &str) -> String {
        if self.0.is_empty() {
            return String::new();
        }
        let mut sizes: Vec<f64> = self.0.iter().map(|e| e.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let n = sizes.len() as f64;
        let mean = sizes.iter().sum::<f64>() / n;
        let bias = self.0.iter().sum::<f64>() / n;
        format!("  {name}: mean {mean:.2} p95 {:.2} bias {bias:+.2}", sizes[(0.95 * n) as usize])
    }
}

/// Prints the errors over one file of people, with columns
/// `sex,circumference[,ear_to_ear_over_crown],length,breadth[,tragion_to_top]` in mm.
pub fn table(path: &str) {
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) => {
            eprintln!("{path}: {error}");
            return;
        }
    };
    let mut lines = text.lines();
    let names: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
    let column = |name: &str| names.iter().position(|n| *n == name);
    let number = |row: &[&str], name: &str| column(name).and_then(|k| row.get(k)?.parse::<f64>().ok());
    for (sex, hair) in [("F", HairUnderTape::Smooth), ("M", HairUnderTape::Parted), ("M", HairUnderTape::Smooth)] {
        for tapes in ["circumference", "circumference and over the top"] {
            let (mut length, mut breadth, mut height) = (Errors::default(), Errors::default(), Errors::default());
            let (mut questioned, mut refused, mut people) = (0, 0, 0);
            let started = Instant::now();
            for row in rows.iter().filter(|r| column("sex").and_then(|k| r.get(k)) == Some(&sex)) {
                let Some(around) = number(row, "circumference") else { continue };
                let mut measures = Measures::of_circumference(Length::mm(around));
                measures.hair_under_tape = hair;
                if tapes != "circumference" {
                    let Some(over) = number(row, "ear_to_ear_over_crown") else { continue };
                    measures.ear_to_ear_over_crown = Some(Length::mm(over));
                }
                people += 1;
                let Ok(fit) = fit(&measures) else {
                    refused += 1;
                    continue;
                };
                questioned += usize::from(!fit.warnings.is_empty());
                for (errors, found, name) in [
                    (&mut length, fit.length, "length"),
                    (&mut breadth, fit.breadth, "breadth"),
                    (&mut height, fit.tragion_to_top, "tragion_to_top"),
                ] {
                    if let Some(true_size) = number(row, name) {
                        errors.0.push(found.to_mm() - true_size);
                    }
                }
            }
            if people > 0 {
                let each = started.elapsed().as_secs_f64() * 1e6 / f64::from(people);
                println!("{path} {sex} {hair:?}, {people} people, {tapes}: {each:.0} us each, {questioned} questioned, {refused} refused");
                println!("{}{}{}", length.line("length"), breadth.line("breadth"), height.line("height"));
            }
        }
    }
}
