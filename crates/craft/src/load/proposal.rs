//! What would open a window that is shut.

use super::case::{Pull, SliceCase};
use super::judged::{judge_slice, window};
use crate::piece::{Cut, Piece, Setting};
use measure::{Grams, RuleBook};
use serde::{Deserialize, Serialize};

/// What would open the window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proposal {
    /// Pieces of at most this mass each (as a whole piece).
    LighterPieces(Grams),
    /// The piece cut in half.
    HalfPieces,
    /// One piece and a backing strip in place of a sandwich.
    SingleSided,
    /// Fewer styles that draw this hair against its growth.
    FewerStyles,
}

fn is_open(case: &SliceCase, book: &RuleBook) -> bool {
    judge_slice(case, window(case, book).most, book).strain_end <= 1.0
}

/// Every change that opens the window, each tried.
pub(super) fn proposals(case: &SliceCase, book: &RuleBook) -> Vec<Proposal> {
    let mut found = Vec::new();
    if let Some(mass) = lighter(case, book) {
        found.push(Proposal::LighterPieces(mass));
    }
    if case.piece.cut == Cut::Full && is_open(&SliceCase { piece: case.piece.half(), ..*case }, book) {
        found.push(Proposal::HalfPieces);
    }
    if case.setting == Setting::Sandwich && is_open(&SliceCase { setting: Setting::SingleSided, ..*case }, book) {
        found.push(Proposal::SingleSided);
    }
    if case.pull != Pull::WithGrowth && is_open(&case.drawn(Pull::WithGrowth), book) {
        found.push(Proposal::FewerStyles);
    }
    found
}

/// The heaviest whole piece that opens the window, down to a tenth of a gram;
/// none when even half a gram is too much.
fn lighter(case: &SliceCase, book: &RuleBook) -> Option<Grams> {
    let as_cut = match case.piece.cut {
        Cut::Full => 1.0,
        Cut::Half => 0.5,
    };
    let tenths = (case.piece.mass.to_g() / as_cut * 10.0).floor() as u32;
    (5..=tenths)
        .rev()
        .map(|tenth| Grams::g(f64::from(tenth) / 10.0))
        .find(|mass| is_open(&SliceCase { piece: Piece { mass: *mass * as_cut, ..case.piece }, ..*case }, book))
}
