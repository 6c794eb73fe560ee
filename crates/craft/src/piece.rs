//! The pieces: a weft of hair on an adhesive tab, whole or cut in half, and how
//! they are set.

use crate::hair::{Taper, strand_mass};
use crate::words::Message;
use measure::{Area, Grade, Grams, Length, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// How much narrower the slice is than a tab of 40 mm.
pub const MARGIN: Rule = Rule {
    id: "piece-margin",
    says: "The slice is 10 mm narrower than a tab of 40 mm, so that both ends stay bare, adhesive on adhesive; a narrower tab keeps the same share (T8).",
    value: 10.0,
    range: (6.0, 16.0),
    unit: "mm",
    grade: Grade::CommonPractice,
    source: "",
};
/// Share of the length that every strand of a piece reaches.
pub const PIECE_FULL_TO: Rule = Rule {
    id: "piece-full-to",
    says: "Every strand of a piece reaches 0.7 of its length.",
    value: 0.7,
    range: (0.4, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};
/// Share of strands of a piece that reach its end.
pub const PIECE_END_SHARE: Rule = Rule {
    id: "piece-end-share",
    says: "0.4 of the strands of a piece reach its very end.",
    value: 0.4,
    range: (0.1, 1.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// The tab's width when nobody said.
pub const USUAL_WIDTH: Rule = usual("piece-usual-width", "A tab is about 40 mm wide when nothing else is said.", 40.0, (8.0, 80.0), "mm");
/// The tab's height when nobody said.
pub const USUAL_HEIGHT: Rule = usual("piece-usual-height", "A tab is about 9 mm tall when nothing else is said.", 9.0, (3.0, 25.0), "mm");
/// A piece's mass when nobody said.
pub const USUAL_MASS: Rule = usual("piece-usual-mass", "A piece weighs about 2.5 g when nothing else is said.", 2.5, (0.2, 10.0), "g");
/// A piece's length when nothing else decides.
pub const USUAL_LENGTH: Rule = usual(
    "piece-usual-length",
    "A piece is 450 mm long when neither her own hair nor the shelf says otherwise.",
    450.0,
    (250.0, 700.0),
    "mm",
);

const fn usual(id: &'static str, says: &'static str, value: f64, range: (f64, f64), unit: &'static str) -> Rule {
    Rule { id, says, value, range, unit, grade: Grade::CommonPractice, source: "" }
}

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&MARGIN, &PIECE_FULL_TO, &PIECE_END_SHARE, &USUAL_WIDTH, &USUAL_HEIGHT, &USUAL_MASS, &USUAL_LENGTH];

/// The width of tab that the trade's margin is told for.
const TOLD_FOR: Length = Length::mm(40.0);

/// The adhesive strip at the top of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tab {
    /// Along the parting.
    pub width: Length,
    /// Across it, down the hair.
    pub height: Length,
}

impl Tab {
    /// The area of one tab.
    #[must_use]
    pub fn area(&self) -> Area {
        self.width * self.height
    }

    /// How much narrower the slice is than this tab, both ends together.
    #[must_use]
    pub fn margin(&self, book: &RuleBook) -> Length {
        self.width * (book.value(&MARGIN) / TOLD_FOR.to_mm())
    }

    /// Length of the slice along the parting.
    #[must_use]
    pub fn slice_length(&self, book: &RuleBook) -> Length {
        self.width - self.margin(book)
    }
}

/// Whole, or cut in half down the middle of the tab.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cut {
    /// As bought.
    #[default]
    Full,
    /// One of its halves.
    Half,
}

impl Cut {
    /// Whether it is one of the halves.
    #[must_use]
    pub const fn is_half(self) -> bool {
        matches!(self, Self::Half)
    }

    /// How much of a piece it is, in halves of one.
    #[must_use]
    pub const fn half_pieces(self) -> u32 {
        match self {
            Self::Full => 2,
            Self::Half => 1,
        }
    }
}

/// How a slice is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Setting {
    /// Two pieces, tab on tab, the slice between them.
    #[default]
    Sandwich,
    /// One piece and a backing strip.
    SingleSided,
}

impl Setting {
    /// Pieces that hang on one slice.
    #[must_use]
    pub const fn pieces(self) -> u32 {
        match self {
            Self::Sandwich => 2,
            Self::SingleSided => 1,
        }
    }
}

/// One piece as it is set.
///
/// ```
/// use craft::piece::{Piece, Setting, Tab};
/// use measure::{Grams, Length};
/// let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
/// let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
/// assert_eq!(piece.hanging_mass(Setting::Sandwich).to_g(), 5.0);
/// assert_eq!(piece.half().tab.width.to_mm(), 20.0);
/// assert!(Piece::new(tab, Grams::g(-1.0), Length::mm(500.0)).is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Its tab, as cut.
    pub tab: Tab,
    /// Its mass, as cut.
    pub mass: Grams,
    /// The length of its hair.
    pub length: Length,
    /// Whole or half.
    pub cut: Cut,
}

/// What no piece is.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PieceFault {
    /// Width of the tab.
    #[error("{}", Message::TabWidthOutside { width: (.0).to_string() })]
    Width(f64),
    /// Height of the tab.
    #[error("{}", Message::TabHeightOutside { height: (.0).to_string() })]
    Height(f64),
    /// Mass.
    #[error("{}", Message::PieceMassOutside { mass: (.0).to_string() })]
    Mass(f64),
    /// Length.
    #[error("{}", Message::PieceLengthOutside { length: (.0).to_string() })]
    Length(f64),
}

impl Piece {
    /// A whole piece as it is bought.
    ///
    /// *Errors*: every measure that no piece has, all at once.
    pub fn new(tab: Tab, mass: Grams, length: Length) -> Result<Self, Vec<PieceFault>> {
        let mut faults = Vec::new();
        if !(8.0..=80.0).contains(&tab.width.to_mm()) {
            faults.push(PieceFault::Width(tab.width.to_mm()));
        }
        if !(3.0..=25.0).contains(&tab.height.to_mm()) {
            faults.push(PieceFault::Height(tab.height.to_mm()));
        }
        if !(0.2..=10.0).contains(&mass.to_g()) {
            faults.push(PieceFault::Mass(mass.to_g()));
        }
        if !(100.0..=1200.0).contains(&length.to_mm()) {
            faults.push(PieceFault::Length(length.to_mm()));
        }
        if faults.is_empty() { Ok(Self { tab, mass, length, cut: Cut::Full }) } else { Err(faults) }
    }

    /// The same piece cut in half; a half is not cut again.
    #[must_use]
    pub fn half(&self) -> Self {
        match self.cut {
            Cut::Half => *self,
            Cut::Full => {
                Self { tab: Tab { width: self.tab.width / 2.0, height: self.tab.height }, mass: self.mass / 2.0, cut: Cut::Half, ..*self }
            }
        }
    }

    /// The piece as cut.
    #[must_use]
    pub fn as_cut(&self, cut: Cut) -> Self {
        match cut {
            Cut::Full => *self,
            Cut::Half => self.half(),
        }
    }

    /// What hangs on one slice. The adhesive and a backing strip weigh under a
    /// tenth of a gram and are left out.
    #[must_use]
    pub fn hanging_mass(&self, setting: Setting) -> Grams {
        self.mass * f64::from(setting.pieces())
    }

    /// Strands of a diameter in this piece, when they thin out as `taper` says.
    #[must_use]
    pub fn strands(&self, diameter: Length, taper: Taper, book: &RuleBook) -> f64 {
        self.mass / strand_mass(diameter, self.length * taper.mean(), book)
    }
}

/// How the strands of a piece thin out towards its ends.
///
/// ```
/// let book = measure::RuleBook::standard();
/// assert!(craft::piece::piece_taper(&book).mean() < 1.0);
/// ```
#[must_use]
pub fn piece_taper(book: &RuleBook) -> Taper {
    Taper { full_to: book.value(&PIECE_FULL_TO), end_share: book.value(&PIECE_END_SHARE) }
}
