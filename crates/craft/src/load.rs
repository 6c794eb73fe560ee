//! What a slice of natural hair bears: how thick it may and must be, and how
//! near its limits it comes.
//!
//! Legend: `rho` strands per area; `d` strand diameter; `w` tab width; `m`
//! margin; `t` slice thickness; `N = rho (w - m) t` strands in the slice;
//! `M` hanging mass; `h` distance of the bond from the scalp;
//! `c = 1 - exp(-rho d t)` share of the tape's view that hair takes;
//! `A = (m + (w - m)(1 - c)) / w` share of the tab where adhesive meets adhesive.
//!
//! Too thin a slice carries too much per strand; too thick a one keeps the two
//! tabs apart. Between the two lies the window. No dose-response figure for
//! long-lasting traction was found anywhere: the limits are our choice, set so
//! that ordinary practice passes, and the index ranks places on one head. It is
//! no medical limit, and its honest error is about 25 points either way.

mod borne;
mod case;
mod judged;
mod proposal;
mod rules;

use borne::thinnest_where;
pub use borne::{contact, hairs, see_through, traction};
pub use case::{Band, Pull, SliceCase, Traction, end_share, limit_share};
pub use judged::{Limit, Slice, Window, judge_slice, window};
pub use proposal::Proposal;
use proposal::proposals;
pub use rules::*;

use crate::words::Message;
use measure::text::fixed;
use measure::{Length, RuleBook};

/// No thickness satisfies every limit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", no_slice(.window))]
pub struct NoSlice {
    /// The window turned inside out; its `least_by` and `most_by` bind.
    pub window: Window,
    /// What would open it, each tried and found to work.
    pub proposals: Vec<Proposal>,
}

fn no_slice(window: &Window) -> Message {
    let (least_by, most_by) = (window.least_by.words().to_owned(), window.most_by.words().to_owned());
    let most = fixed(window.most.to_mm(), 1);
    if window.least.is_finite() {
        Message::NoSlice { least_by, least: fixed(window.least.to_mm(), 1), most_by, most }
    } else {
        Message::NoSliceHoldsEnough { least_by, most_by, most }
    }
}

/// Chooses how thick the slice is to be.
///
/// *Meaning*: the middle of the window, to a tenth of a millimetre, so that the
/// comb may err either way; thicker, still inside the window, where that brings
/// the traction index out of amber. Where no thickness keeps the load under what
/// is marked, the thickest is taken, and its `strain` says so.
///
/// *Errors*: even the thickest slice carries more than anyone sets; says which
/// limits bind and what would open it.
///
/// ```
/// use craft::hair::{Hair, HairFacts};
/// use craft::load::{SliceCase, choose_slice};
/// use craft::piece::{Piece, Setting, Tab};
/// use head::Zone;
/// use measure::{Area, Grams, Length, RuleBook};
/// let book = RuleBook::standard();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// let case = SliceCase::new(&hair, Zone::Occipital, &piece, Setting::Sandwich, &book);
/// let slice = choose_slice(&case, &book).unwrap();
/// assert!(slice.window.least <= slice.thickness && slice.thickness <= slice.window.most);
/// ```
pub fn choose_slice(case: &SliceCase, book: &RuleBook) -> Result<Slice, NoSlice> {
    let window = window(case, book);
    let most = window.most;
    if window.least > most || !window.least.is_finite() {
        let slice = judge_slice(case, most, book);
        if slice.strain_end <= 1.0 {
            return Ok(slice);
        }
        return Err(NoSlice { window, proposals: proposals(case, book) });
    }
    let amber = book.value(&INDEX_AMBER);
    let middle = (window.least + most) / 2.0;
    let calm = thinnest_where(|t| traction(case, t, book).index.value < amber);
    let wanted = middle.max(calm).min(most);
    let rounded = Length::mm((wanted.to_mm() * 10.0).round() / 10.0);
    Ok(judge_slice(case, rounded.max(window.least).min(most), book))
}
