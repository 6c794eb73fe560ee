//! Which piece goes into which site, so that the mix is even at every scale and
//! the lengths fall in layers.

use measure::{Grade, Length, Rule, RuleBook};
use std::collections::BTreeMap;

/// How much shorter the topmost and foremost pieces are than those at the nape.
pub const LAYER_DROP: Rule = Rule {
    id: "layer-drop",
    says: "Pieces at the crown and the sides are up to this much shorter than at the nape, so that the set falls in layers.",
    value: 50.0,
    range: (0.0, 200.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};

/// How much longer than wanted a piece may be before the next shorter length on the shelf is taken.
pub const LENGTH_SLACK: Rule = Rule {
    id: "length-slack",
    says: "A length on the shelf may fall short of the wanted one by this much and still be taken; the rest is cutting.",
    value: 20.0,
    range: (0.0, 60.0),
    unit: "mm",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&LAYER_DROP, &LENGTH_SLACK];

/// Where a sandwich stands, as far as spreading shades cares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// The row, counted from the nape.
    pub row: u32,
    /// Distance along the parting from the midline, + to the client's right.
    pub along: Length,
    /// Pieces that the sandwich takes from the packs: 2 whole ones, or 1 that is
    /// cut in half for both tabs.
    pub pieces: u32,
}

/// Spreads whole pieces of several shades over the spots.
///
/// *Meaning*: `mix` gives each shade's count; the answer gives, for every spot in
/// the order given, the mix's index of the upper and of the under piece. When the
/// counts do not add up to what the spots take they are used as shares. Worked
/// from the nape upward and from the middle outward, each piece is of the shade
/// that is furthest behind its share so far, with a preference against the shade
/// that the nearest sandwich of the row below shows; so any row, and any run of
/// neighbours, holds nearly the whole mix.
///
/// ```
/// use craft::spread::{Spot, spread};
/// use measure::Length;
/// let spot = |row, mm| Spot { row, along: Length::mm(mm), pieces: 2 };
/// // Two sandwiches, two pieces of each of two shades.
/// let shades = spread(&[spot(1, 0.0), spot(2, 0.0)], &[2, 2]);
/// assert_eq!(shades.iter().flatten().filter(|shade| **shade == 0).count(), 2);
/// ```
#[must_use]
pub fn spread(spots: &[Spot], mix: &[u32]) -> Vec<[usize; 2]> {
    let total: u32 = mix.iter().sum();
    if total == 0 || mix.is_empty() {
        return vec![[0, 0]; spots.len()];
    }
    let shares: Vec<f64> = mix.iter().map(|&n| f64::from(n) / f64::from(total)).collect();
    let mut order: Vec<usize> = (0..spots.len()).collect();
    order.sort_by(|&a, &b| {
        let key = |i: usize| (spots[i].row, spots[i].along.abs().to_mm(), spots[i].along.to_mm());
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut used = vec![0.0; mix.len()];
    let mut out = vec![[0, 0]; spots.len()];
    let mut given = 0.0;
    let mut shown: BTreeMap<u32, Vec<(f64, usize)>> = BTreeMap::new();
    for &i in &order {
        let spot = spots[i];
        let below = nearest_below(&shown, spot);
        let takes: &[f64] = if spot.pieces >= 2 { &[1.0, 1.0] } else { &[1.0] };
        for (slot, amount) in takes.iter().enumerate() {
            given += amount;
            let best = (0..mix.len())
                .max_by(|&a, &b| {
                    let behind = |s: usize| {
                        let same_as_below = slot == 0 && below == Some(s) && mix.len() > 1;
                        given * shares[s] - used[s] - if same_as_below { 0.5 * shares[s] } else { 0.0 }
                    };
                    behind(a).total_cmp(&behind(b)).then(b.cmp(&a))
                })
                .unwrap_or(0);
            used[best] += amount;
            out[i][slot] = best;
        }
        if takes.len() == 1 {
            out[i][1] = out[i][0];
        }
        shown.entry(spot.row).or_default().push((spot.along.to_mm(), out[i][0]));
    }
    out
}

/// The upper shade of the nearest sandwich in the row below.
fn nearest_below(shown: &BTreeMap<u32, Vec<(f64, usize)>>, spot: Spot) -> Option<usize> {
    let row = shown.get(&spot.row.checked_sub(1)?)?;
    row.iter().min_by(|a, b| (a.0 - spot.along.to_mm()).abs().total_cmp(&(b.0 - spot.along.to_mm()).abs())).map(|&(_, shade)| shade)
}

/// The length from the shelf for a piece that stands this share of the way from
/// the nape (0) to the crown or the front (1).
///
/// *Errors*: none when the shelf is empty: the wanted length itself.
///
/// ```
/// use craft::spread::length_for;
/// use measure::{Length, RuleBook};
/// let shelf = [400.0, 500.0].map(Length::mm);
/// assert_eq!(length_for(Length::mm(500.0), 0.0, &shelf, &RuleBook::standard()).to_mm(), 500.0);
/// ```
#[must_use]
pub fn length_for(wanted: Length, rise: f64, shelf: &[Length], book: &RuleBook) -> Length {
    let drop = Length::mm(book.value(&LAYER_DROP)) * rise.clamp(0.0, 1.0);
    let least = wanted - drop - Length::mm(book.value(&LENGTH_SLACK));
    let longest = shelf.iter().copied().reduce(Length::max);
    shelf.iter().copied().filter(|&l| l >= least).reduce(Length::min).or(longest).unwrap_or(wanted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grid(rows: u32, per_row: u32) -> Vec<Spot> {
        (0..rows)
            .flat_map(|row| {
                (0..per_row).map(move |i| Spot {
                    row: row + 1,
                    along: Length::mm(45.0 * (f64::from(i) - f64::from(per_row - 1) / 2.0)),
                    pieces: 2,
                })
            })
            .collect()
    }

    proptest! {
        #[test]
        fn every_piece_of_the_mix_is_used_and_any_start_holds_its_share(
            rows in 1u32..7, per_row in 1u32..7, first in 0u32..100
        ) {
            let spots = grid(rows, per_row);
            let pieces = 2 * rows * per_row;
            let a = first * pieces / 100;
            let mix = [a, pieces - a];
            let out = spread(&spots, &mix);
            let used = out.iter().flatten().filter(|&&s| s == 0).count() as u32;
            prop_assert_eq!(used, a);
            // Rows are worked in order here, so every prefix of whole rows is near its share.
            for n in 1..=rows {
                let held = out[..(n * per_row) as usize].iter().flatten().filter(|&&s| s == 0).count() as f64;
                let share = f64::from(2 * n * per_row) * f64::from(a) / f64::from(pieces);
                prop_assert!((held - share).abs() <= 1.5, "{held} against {share}");
            }
        }
    }

    #[test]
    fn lengths_fall_in_layers_and_the_shelf_decides() {
        let shelf = [350.0, 450.0, 500.0, 550.0].map(Length::mm);
        let book = RuleBook::standard();
        assert_eq!(length_for(Length::mm(550.0), 0.0, &shelf, &book), Length::mm(550.0));
        assert_eq!(length_for(Length::mm(550.0), 1.0, &shelf, &book), Length::mm(500.0));
        assert_eq!(length_for(Length::mm(700.0), 0.0, &shelf, &book), Length::mm(550.0), "the longest there is");
        assert_eq!(length_for(Length::mm(480.0), 0.0, &[], &book), Length::mm(480.0));
    }
}
