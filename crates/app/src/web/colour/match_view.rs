//! What to take, as the reading's page says it: the advised mix in whole pieces,
//! the nearest single shades, and those that the reading cannot tell apart.

use super::mixes_view::{MixView, advised_by, in_words, largest_first, other_mixes, textured};
use super::words;
use crate::web::frame::swatch::{self, Swatch};
use craft::matching::{Match, Mix, Ring, Target};
use measure::text::{counted, fixed};
use std::collections::BTreeMap;

/// What to take.
pub struct MatchView {
    /// Whether the ring reaches her colour.
    pub reachable: bool,
    /// The answer in one line.
    pub says: String,
    /// Its parts.
    pub parts: Vec<PartView>,
    /// How near it comes.
    pub apart: String,
    /// Why a nearer mix is not advised.
    pub stripes: String,
    /// Why the advised mix is advised.
    pub advised_by: String,
    /// Mixes that are not advised, nearest first.
    pub mixes: Vec<MixView>,
    /// The nearest shades.
    pub nearest: Vec<NearView>,
    /// Shades the reading cannot tell apart, as one line.
    pub alike: String,
}

/// Pieces of one shade.
pub struct PartView {
    /// The shade.
    pub swatch: Swatch,
    /// Its pieces.
    pub pieces: String,
    /// What lies on the shelf.
    pub shelf: String,
}

/// One near shade.
pub struct NearView {
    /// The shade.
    pub swatch: Swatch,
    /// Its difference.
    pub de00: String,
    /// Its difference with texture forgiven.
    pub textured: String,
    /// The difference in words.
    pub says: &'static str,
    /// Whether the reading cannot tell it from the nearest.
    pub alike: bool,
}

/// The shade that a mix takes the most pieces of.
pub fn main_shade(mix: &Mix) -> Option<String> {
    mix.pieces.iter().max_by_key(|(_, count)| **count).map(|(code, _)| code.clone())
}

/// What to take of a ring, with what lies on the shelf.
pub fn matched(found: &Match, target: &Target, ring: &Ring, on_hand: &BTreeMap<String, u32>) -> MatchView {
    let set = found.taken();
    let parts = set.map(largest_first).unwrap_or_default();
    let alike = |code: &str| found.cannot_tell_apart.iter().any(|other| other == code);
    MatchView {
        reachable: found.reachable,
        says: set.map(in_words).unwrap_or_default(),
        parts: parts
            .iter()
            .map(|(code, count)| PartView {
                swatch: swatch::of(ring, code),
                pieces: counted(**count, "piece", "pieces"),
                shelf: match on_hand.get(*code) {
                    Some(held) => format!("{held} on the shelf"),
                    None => String::new(),
                },
            })
            .collect(),
        apart: set
            .map(|mix| {
                format!(
                    "Together {} from her ends: {}. With texture forgiven, {}.",
                    fixed(mix.de00, 1),
                    words::difference(mix.de00),
                    fixed(textured(target, mix), 1)
                )
            })
            .unwrap_or_default(),
        stripes: stripes(found),
        advised_by: advised_by(found),
        mixes: other_mixes(found, target),
        nearest: found
            .nearest
            .iter()
            .enumerate()
            .map(|(at, near)| NearView {
                swatch: swatch::of(ring, &near.code),
                de00: fixed(near.de00, 2),
                textured: fixed(near.de00_textured, 2),
                says: words::difference(near.de00),
                alike: alike(&near.code) || (at == 0 && !found.cannot_tell_apart.is_empty()),
            })
            .collect(),
        alike: match (found.nearest.first(), found.cannot_tell_apart.as_slice()) {
            (Some(first), [_, ..]) => format!(
                "This photo cannot tell {} from {}. Hold those swatches to her ends and trust your eye, or lay them beside her ends in a second photo.",
                first.code,
                found
                    .cannot_tell_apart
                    .iter()
                    .zip(&found.cannot_tell_apart_de00)
                    .map(|(code, apart)| format!("{code} ({} apart, {})", fixed(*apart, 1), words::difference(*apart)))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            _ => String::new(),
        },
    }
}

/// Why the mix that is nearest on paper is not the one advised.
fn stripes(found: &Match) -> String {
    match (&found.fewest, found.taken()) {
        (Some(nearer), Some(set)) if nearer.parts_apart_de00 > set.parts_apart_de00 && nearer.de00 < set.de00 => format!(
            "On paper {} come nearer, but the shades lie {} apart and would show as stripes.",
            in_words(nearer),
            fixed(nearer.parts_apart_de00, 0)
        ),
        _ => String::new(),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use colour::Lab;
    use craft::matching::{Shade, match_ring};
    use measure::RuleBook;

    /// Three shades of a ring, as pages show them.
    pub(in crate::web::colour) fn ring() -> Ring {
        let shade = |code: &str, lab: [f64; 3]| Shade {
            code: code.to_owned(),
            name: String::new(),
            lab_d65: Some(lab.into()),
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: None,
        };
        Ring { shades: vec![shade("S05", [29.5, 8.5, 18.5]), shade("S06", [35.5, 8.4, 21.0]), shade("S10", [65.0, 4.3, 19.8])] }
    }

    #[test]
    fn a_mix_is_said_in_whole_pieces_the_larger_part_first() {
        let target = Target::of(Lab::new(32.3, 8.5, 19.7));
        let found = match_ring(&target, &ring(), 20, &BTreeMap::new(), &RuleBook::standard()).unwrap();
        let set = found.taken().unwrap();
        let said = in_words(set);
        let (more, less) = if set.pieces["S05"] >= set.pieces["S06"] { ("S05", "S06") } else { ("S06", "S05") };
        assert_eq!(said, format!("{} pieces of {more} and {} of {less}", set.pieces[more], set.pieces[less]));
        assert_eq!(set.pieces.values().sum::<u32>(), 20);
    }
}
