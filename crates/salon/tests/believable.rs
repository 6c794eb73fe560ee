//! What makes a plan believable, judged from outside on random ordinary clients.

#[path = "believable/mod.rs"]
mod believable;

use believable::clients::{Shelf, anyone};
use believable::panel::PANEL;
use believable::seen::View;
use believable::{Complaint, Trial, facts, mirror, open, try_on};

/// Clients to a row of the panel; the benchmark tries ten times as many.
const TO_A_ROW: u64 = 20;
/// Clients of every kind; the benchmark tries twenty times as many.
const ANYONE: u64 = 50;
/// As many complaints as anybody reads.
const TOLD: usize = 40;

/// Everything that is wrong with a plan seen from outside.
fn seen_from_outside(trial: &Trial) -> Vec<Complaint> {
    let mut found = match View::of(trial) {
        Ok(mut view) => {
            let mut found = facts::complaints(&mut view);
            found.extend(open::complaints(&mut view).unwrap_or_else(|complaint| vec![complaint]));
            found
        }
        Err(complaint) => vec![complaint],
    };
    found.extend(mirror::complaints(trial).unwrap_or_else(|complaint| vec![complaint]));
    found
}

fn refuse(all: &[(String, Complaint)], of: u64) {
    let lines: Vec<String> = all.iter().take(TOLD).map(|(name, complaint)| format!("{name}: {complaint}")).collect();
    assert!(all.is_empty(), "{} complaints about {of} plans:\n{}", all.len(), lines.join("\n"));
}

fn panel_row(at: usize) {
    let shelf = Shelf::new();
    let row = &PANEL[at];
    let mut all = Vec::new();
    for seed in 1..=TO_A_ROW {
        let trial = try_on(row.client(seed), &shelf);
        for complaint in row.complaints(&trial).into_iter().chain(seen_from_outside(&trial)) {
            all.push((trial.client.name.clone(), complaint));
        }
    }
    refuse(&all, TO_A_ROW);
}

#[test]
fn fine_hair_gets_a_set_for_thickness() {
    panel_row(0);
}

#[test]
fn fine_hair_gets_a_set_for_length_and_thickness() {
    panel_row(1);
}

#[test]
fn fine_and_few_hairs_get_a_small_set() {
    panel_row(2);
}

#[test]
fn fine_hair_worn_half_up_gets_a_set() {
    panel_row(3);
}

#[test]
fn fine_hair_in_a_high_ponytail_daily_gets_a_set() {
    panel_row(4);
}

#[test]
fn medium_hair_gets_a_full_head() {
    panel_row(5);
}

#[test]
fn medium_hair_gets_a_full_wish() {
    panel_row(6);
}

#[test]
fn coarse_hair_gets_a_full_wish() {
    panel_row(7);
}

#[test]
fn bleached_hair_gets_a_set() {
    panel_row(8);
}

#[test]
fn the_facts_of_the_trade_hold_for_anyone() {
    let shelf = Shelf::new();
    let mut all = Vec::new();
    for seed in 1..=ANYONE {
        let trial = try_on(anyone(seed), &shelf);
        all.extend(seen_from_outside(&trial).into_iter().map(|complaint| (trial.client.name.clone(), complaint)));
    }
    refuse(&all, ANYONE);
}
