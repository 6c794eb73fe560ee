//! What her visits show of her own: how fast her hair grows, how long bonds hold.

use super::words::{BondFound, Step};
use craft::growth::{GrownOut, Growth, growth_of, usual_growth};
use craft::wear::Wear;
use measure::{Days, Estimate, Length, RuleBook};
use serde::{Deserialize, Serialize};

/// The shortest wear that says something of growth, in days: [`growth_of`] refuses less.
const LEAST_DAYS: u32 = 7;

/// What was seen of her hair and bonds, over all visits.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Observed {
    /// What had grown, mm, over how many days: one of each visit, the mean of its sites.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    grown: Vec<(f64, u32)>,
    /// Bonds that held to the day they came out: days and how many.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    held: Vec<(u32, u32)>,
    /// Bonds that were found slipped or gone by then.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    slipped: Vec<(u32, u32)>,
}

fn add(counts: &mut Vec<(u32, u32)>, days: u32) {
    match counts.iter_mut().find(|(at, _)| *at == days) {
        Some((_, count)) => *count += 1,
        None => counts.push((days, 1)),
    }
}

impl Observed {
    /// Takes in what a visit showed.
    pub(super) fn learn<'a>(&mut self, steps: impl Iterator<Item = &'a Step>) {
        let mut grown: Vec<(f64, u32)> = Vec::new();
        for step in steps {
            match step {
                Step::TakenOut { found, days, .. } if *days > 0 => {
                    add(if *found == BondFound::Held { &mut self.held } else { &mut self.slipped }, *days);
                }
                Step::Regrown { mm, days, .. } if *days >= LEAST_DAYS => grown.push((*mm, *days)),
                _ => {}
            }
        }
        if let Some(longest) = grown.iter().map(|(_, days)| *days).max() {
            let rate = grown.iter().map(|(mm, days)| mm / f64::from(*days)).sum::<f64>() / grown.len() as f64;
            self.grown.push((rate * f64::from(longest), longest));
        }
    }

    /// Her growth; that of people at large where nothing of hers was measured.
    #[must_use]
    pub fn growth(&self, book: &RuleBook) -> Estimate<Growth> {
        let measures: Vec<GrownOut> = self.growth_measures();
        growth_of(&measures, book).unwrap_or_else(|_| usual_growth(book))
    }

    /// What had grown, one measure of each visit.
    #[must_use]
    pub fn growth_measures(&self) -> Vec<GrownOut> {
        self.grown
            .iter()
            .map(|(mm, days)| GrownOut { set: Length::ZERO, found: Length::mm(*mm), worn: Days::days(f64::from(*days)) })
            .collect()
    }

    /// Her bonds of every visit.
    #[must_use]
    pub fn bonds(&self) -> Vec<Wear> {
        let many = |(days, count): &(u32, u32), of: fn(Days) -> Wear| {
            std::iter::repeat_n(of(Days::days(f64::from(*days))), *count as usize).collect::<Vec<_>>()
        };
        let held = self.held.iter().flat_map(|counted| many(counted, Wear::Holding));
        let slipped = self.slipped.iter().flat_map(|counted| many(counted, |days| Wear::SlippedBetween(Days::days(0.0), days)));
        held.chain(slipped).collect()
    }

    /// How much it rests on: visits at which growth was measured, and bonds looked at.
    #[must_use]
    pub fn rests_on(&self) -> (usize, u32) {
        (self.grown.len(), self.held.iter().chain(&self.slipped).map(|(_, count)| count).sum())
    }
}
