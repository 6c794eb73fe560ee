//! The mixes of a match as its page shows them: why one is advised, and why the others are not.

use colour::{Weights, ciede2000_weighted};
use craft::matching::{FEWER_SHADES, Match, Mix, PARTS_APART, Target};
use measure::text::{counted, fixed, list};
use std::collections::BTreeMap;

/// A mix that is not advised.
pub struct MixView {
    /// In words.
    pub says: String,
    /// Its difference.
    pub de00: String,
    /// With texture forgiven.
    pub textured: String,
    /// Why it is not advised although it may be nearer.
    pub why_not: String,
}

/// Why the advised mix is advised.
pub fn advised_by(found: &Match) -> String {
    let Some(set) = found.taken() else { return String::new() };
    let mut by_tone: BTreeMap<&str, u32> = BTreeMap::new();
    for tone in &found.by_tone {
        *by_tone.entry(tone.code.as_str()).or_default() += tone.pieces;
    }
    by_tone.retain(|_, pieces| *pieces > 0);
    if !by_tone.is_empty()
        && by_tone.len() == set.pieces.len()
        && set.pieces.iter().all(|(code, pieces)| by_tone.get(code.as_str()) == Some(pieces))
    {
        return "Advised is what stands for her tones one by one.".to_owned();
    }
    if found.advised.is_none() {
        return "Of mixes that show no stripes none comes near; what stands above is the nearest there is.".to_owned();
    }
    format!(
        "Advised is the mix of fewest shades among those that come within {} of the best and show no stripes; of several, the one that leaves least to buy.",
        fixed(FEWER_SHADES.value, 1)
    )
}

/// The mixes that are not advised, each with why where it seems the better one.
pub fn other_mixes(found: &Match, target: &Target) -> Vec<MixView> {
    let set = found.taken();
    let why_not = |mix: &Mix| {
        let Some(set) = set else { return String::new() };
        if mix.parts_apart_de00 > PARTS_APART.value.max(set.parts_apart_de00) {
            format!("Its shades lie {} apart and would show as stripes.", fixed(mix.parts_apart_de00, 0))
        } else if mix.de00 < set.de00 && mix.pieces.len() > set.pieces.len() {
            format!("Nearer by {}, with more shades to buy and to lay.", fixed(set.de00 - mix.de00, 2))
        } else if mix.de00 < set.de00 {
            format!("Nearer by {}, which nobody sees.", fixed(set.de00 - mix.de00, 2))
        } else {
            String::new()
        }
    };
    found
        .mixes
        .iter()
        .filter(|mix| set.is_none_or(|set| set.pieces != mix.pieces))
        .map(|mix| MixView {
            says: in_words(mix),
            de00: fixed(mix.de00, 2),
            textured: fixed(textured(target, mix), 2),
            why_not: why_not(mix),
        })
        .collect()
}

/// The parts of a mix, the most pieces first.
pub fn largest_first(mix: &Mix) -> Vec<(&String, &u32)> {
    let mut parts: Vec<(&String, &u32)> = mix.pieces.iter().collect();
    parts.sort_by(|p, q| q.1.cmp(p.1).then_with(|| p.0.cmp(q.0)));
    parts
}

/// A mix in words, the most pieces first.
pub fn in_words(mix: &Mix) -> String {
    let said: Vec<String> = largest_first(mix)
        .iter()
        .enumerate()
        .map(
            |(at, (code, count))| {
                if at == 0 { format!("{} of {code}", counted(**count, "piece", "pieces")) } else { format!("{count} of {code}") }
            },
        )
        .collect();
    list(&said)
}

/// How far a mix is from her ends, with texture forgiven.
pub fn textured(target: &Target, mix: &Mix) -> f64 {
    ciede2000_weighted(target.lab_d65, mix.lab_d65, Weights::TEXTURED)
}
