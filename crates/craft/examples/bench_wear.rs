//! Speed of the wear curve: run with `--release`.
//!
//! Prints the time of one maximum-likelihood fit of spans read as
//! `lower,upper` (a CSV file as first argument, or spans drawn here), and of
//! the belief over a salon's heads.

use craft::hair::Oil;
use craft::wear::{HeadWear, Wear, check_wear, slip};
use measure::real::{exp, ln};
use measure::{Days, RuleBook};
use std::time::Instant;

fn main() {
    let spans = match std::env::args().nth(1).map(std::fs::read_to_string) {
        Some(Ok(text)) => read(&text),
        Some(Err(fault)) => return eprintln!("the file cannot be read: {fault}"),
        None => drawn(2000),
    };
    let started = Instant::now();
    match check_wear(&spans) {
        Ok(fit) => println!(
            "{} spans: shape {:.7}, scale {:.6} days, log likelihood {:.6}; {:.2} ms",
            spans.len(),
            fit.shape,
            fit.scale_days,
            fit.log_likelihood,
            started.elapsed().as_secs_f64() * 1e3
        ),
        Err(fault) => println!("{fault}"),
    }
    let heads: Vec<HeadWear> = drawn(40 * 200).chunks(40).map(|chunk| HeadWear { oil: Oil::Normal, bonds: looks(chunk) }).collect();
    let started = Instant::now();
    match slip(&HeadWear::default(), &heads, &RuleBook::standard()) {
        Ok(curve) => println!(
            "{} heads of 40 bonds: nine in ten hold to day {:.1}; {:.1} ms",
            heads.len(),
            curve.day_when(0.9).value.to_days(),
            started.elapsed().as_secs_f64() * 1e3
        ),
        Err(fault) => println!("{fault}"),
    }
}

fn read(text: &str) -> Vec<(f64, Option<f64>)> {
    text.lines()
        .filter_map(|line| {
            let mut fields = line.split(',').map(str::trim);
            let lower = fields.next()?.parse().ok()?;
            Some((lower, fields.next().and_then(|field| field.parse().ok())))
        })
        .collect()
}

/// Lives of shape 2.5 and scale 120 days, looked at weekly up to day 49.
fn drawn(count: usize) -> Vec<(f64, Option<f64>)> {
    let mut state = 0x51ab_0f5e_77d2_9c31_u64;
    (0..count)
        .map(|i| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let chance = ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
            let life = 120.0 * exp(ln(-ln(chance)) / 2.5);
            match (life, i % 3) {
                (life, _) if life > 49.0 => (49.0, None),
                (life, 0) => (life, Some(life)),
                (life, _) => (7.0 * (life / 7.0).floor(), Some(7.0 * (life / 7.0).floor() + 7.0)),
            }
        })
        .collect()
}

fn looks(spans: &[(f64, Option<f64>)]) -> Vec<Wear> {
    spans
        .iter()
        .map(|&(lower, upper)| match upper {
            None => Wear::Holding(Days::days(lower)),
            Some(upper) if upper == lower => Wear::Slipped(Days::days(lower)),
            Some(upper) => Wear::SlippedBetween(Days::days(lower), Days::days(upper)),
        })
        .collect()
}
