//! Her own pieces, where a plan puts them back.

use crate::stock::StockLength;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Pieces of hers of one shade and length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnPieces {
    /// The shade.
    pub shade: String,
    /// The length of the hair, as it was bought.
    pub length_mm: StockLength,
    /// How much, in half pieces.
    pub halves: u32,
}

/// Her own pieces, in her hair or out of it, that a set can be made of again.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnHair {
    /// Those that go back, by shade and length.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub again: Vec<OwnPieces>,
    /// Pieces that were worn as often as a set is worn, so that new hair is reckoned for them.
    #[serde(default)]
    pub worn_out: u32,
}

impl OwnHair {
    /// Takes from what is needed, in whole pieces by shade and length, what is hers already;
    /// what of it goes back, in whole pieces.
    ///
    /// *Meaning*: two halves of hers serve for a whole piece that was to be cut; an odd one serves for none.
    pub fn serve(&self, needs: &mut BTreeMap<(String, StockLength), u32>) -> Vec<(String, StockLength, u32)> {
        let mut served = Vec::new();
        for own in &self.again {
            let Some(need) = needs.get_mut(&(own.shade.clone(), own.length_mm)) else { continue };
            let pieces = (own.halves / 2).min(*need);
            if pieces > 0 {
                *need -= pieces;
                served.push((own.shade.clone(), own.length_mm, pieces));
            }
        }
        needs.retain(|_, need| *need > 0);
        served
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn two_halves_serve_for_a_piece_and_an_odd_one_for_none() {
        let length = |mm| StockLength::mm(mm).unwrap();
        let own = |shade: &str, mm, halves| OwnPieces { shade: shade.to_owned(), length_mm: length(mm), halves };
        let hers =
            OwnHair { again: vec![own("S05", 500.0, 7), own("S06", 500.0, 40), own("S07", 450.0, 1), own("S09", 500.0, 8)], worn_out: 2 };
        let key = |shade: &str, mm| (shade.to_owned(), length(mm));
        let mut needs = BTreeMap::from([(key("S05", 500.0), 10), (key("S06", 500.0), 12), (key("S07", 450.0), 4), (key("S07", 500.0), 4)]);
        let served = hers.serve(&mut needs);
        assert_eq!(served, [("S05".to_owned(), length(500.0), 3), ("S06".to_owned(), length(500.0), 12)]);
        assert_eq!(needs, BTreeMap::from([(key("S05", 500.0), 7), (key("S07", 450.0), 4), (key("S07", 500.0), 4)]));
    }
}
