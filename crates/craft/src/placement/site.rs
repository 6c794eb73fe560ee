//! What is asked of the planner and what it answers.

use super::care::{Care, Caution, Floor};
use super::scalp::{Hiding, Scalp};
use super::site_id::SiteId;
use crate::coverage::{Floors, Style};
use crate::hair::Hair;
use crate::load::Slice;
use crate::piece::{Cut, Piece, Setting};
use crate::placement::HeadPart;
use crate::words::Message;
use head::{Border, Side, SkinPoint, Zone};
use measure::text::millimetres;
use measure::words::Sentence;
use measure::{Grams, Length, RuleBook};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A place to be left alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Avoid {
    /// On which of the client's sides; `Centre` means on both.
    pub side: Side,
    /// The region.
    pub zone: Zone,
    /// Why, in the technician's words.
    pub reason: String,
}

/// What the layout keeps to.
///
/// ```
/// use craft::coverage::{Style, TiesUp, floors};
/// use craft::placement::LayoutLimits;
/// let book = measure::RuleBook::standard();
/// let limits = LayoutLimits::of(floors(&[Style::Down], TiesUp::Sometimes, &book), &book);
/// assert!(limits.avoid.is_empty() && limits.load_share == 1.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LayoutLimits {
    /// Clearances that nothing falls below.
    pub floors: Floors,
    /// Clearances that are wished for; a site nearer is marked.
    pub wished: Floors,
    /// Places to be left alone.
    pub avoid: Vec<Avoid>,
    /// What of the load limits the consultation leaves before a slice is
    /// marked; 1 is all.
    pub load_share: f64,
    /// How much is dared.
    pub care: Care,
    /// The heaviest sandwich allowed.
    pub heaviest: Option<Grams>,
    /// Only where her hair is dense.
    pub dense_places_only: bool,
    /// Whether pieces may be cut in half.
    pub halves: bool,
    /// Whether a tab may lie across the middle at the back.
    pub across_middle: bool,
    /// Whether each side section must carry, where a floor does not forbid it.
    pub sides: bool,
    /// The least distance between rows; the usual one keeps them apart.
    pub row_spacing: Length,
}

impl LayoutLimits {
    /// The floors and nothing more, at usual care.
    #[must_use]
    pub fn of(floors: Floors, rules: &RuleBook) -> Self {
        Self {
            floors,
            wished: floors,
            avoid: Vec::new(),
            load_share: 1.0,
            care: Care::Usual,
            heaviest: None,
            dense_places_only: false,
            halves: true,
            across_middle: rules.value(&super::rules::ACROSS_MIDDLE) >= 0.5,
            sides: false,
            row_spacing: Length::mm(rules.value(&super::rules::ROW_SPACING_LEAST)),
        }
    }
}

/// Where a slice was at an earlier visit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Anchor {
    /// Where its parting started on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Distance of its middle from the midline, + to the client's right.
    pub along: Length,
    /// Its width.
    pub width: Length,
}

/// Whether the two sides of the head are to look alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Symmetry {
    /// Mirrored wherever both sides take a piece.
    #[default]
    Mirrored,
    /// Each side as it comes.
    Free,
}

/// Everything a placement rests on.
pub struct Request<'a> {
    /// The head.
    pub scalp: &'a dyn Scalp,
    /// The hair.
    pub hair: &'a Hair,
    /// The styles she wears.
    pub styles: Vec<&'a dyn Hiding>,
    /// The whole pieces on the shelf: one for each width of tab (and mass).
    pub pieces: Vec<Piece>,
    /// Two pieces to a slice, or one.
    pub setting: Setting,
    /// What is wished for, sandwiches already placed included.
    pub wish: Grams,
    /// What the layout keeps to.
    pub limits: LayoutLimits,
    /// The slices of earlier visits, the last visit first.
    pub earlier: Vec<Vec<Anchor>>,
    /// Sandwiches already in: they stay where they are.
    pub placed: Vec<Placed>,
    /// Places that were passed over at the chair: nothing is set in the hair
    /// of their slices.
    pub left_out: Vec<Placed>,
    /// Whether the sides are to look alike.
    pub symmetry: Symmetry,
    /// The values in force.
    pub rules: &'a RuleBook,
    /// Decides between layouts of equal worth.
    pub seed: u64,
}

impl<'a> Request<'a> {
    /// A first set of sandwiches of one piece: both sides alike, nothing in from before,
    /// nothing passed over.
    ///
    /// ```
    /// # mod client { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/client.rs")); }
    /// let client = client::Client::new();
    /// let request = client.request(30.0);
    /// assert!(request.placed.is_empty() && request.wish.to_g() == 30.0);
    /// ```
    #[must_use]
    pub fn first(
        scalp: &'a dyn Scalp,
        hair: &'a Hair,
        styles: &'a [impl Hiding],
        piece: Piece,
        wish: Grams,
        limits: LayoutLimits,
        rules: &'a RuleBook,
    ) -> Self {
        Self {
            scalp,
            hair,
            styles: styles.iter().map(|style| style as &dyn Hiding).collect(),
            pieces: vec![piece],
            setting: Setting::Sandwich,
            wish,
            limits,
            earlier: Vec::new(),
            placed: Vec::new(),
            left_out: Vec::new(),
            symmetry: Symmetry::Mirrored,
            rules,
            seed: 1,
        }
    }
}

/// A sandwich that is in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Where its parting starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Distance of its middle from the midline, + to the client's right.
    pub along: Length,
    /// The piece, as cut.
    pub piece: Piece,
}

impl Placed {
    /// Where its tab begins and ends, along.
    #[must_use]
    pub fn tab(&self) -> (Length, Length) {
        let half = self.piece.tab.width / 2.0;
        (self.along - half, self.along + half)
    }
}

/// Why a site is where it is: a rule and what it came to here.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// The rule's id.
    pub rule: &'static str,
    /// What it came to, with its numbers.
    pub says: String,
}

/// What is wrong, where, by which rule, and what would mend it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fault {
    /// What is wrong.
    pub what: String,
    /// Where.
    #[serde(rename = "where")]
    pub place: String,
    /// The rule's id.
    pub rule: &'static str,
    /// What would mend it.
    pub cure: String,
}

/// The set as a whole, where a fault lies nowhere else.
pub const WHOLE_HEAD: &str = "whole head";

/// A place on the skin by its two ways from the middle of the nape hairline.
pub fn place_of(above_nape: Length, along: Length) -> Message {
    Message::PlaceUpAndAlong { up: millimetres(above_nape), along: millimetres(along) }
}

impl Fault {
    /// A fault that a message says, with its cure.
    pub(crate) fn of(message: &Message, place: impl Into<String>, rule: &'static str) -> Self {
        Self { what: message.to_string(), place: place.into(), rule, cure: message.cure() }
    }

    /// That a floor keeps a place free.
    pub(crate) fn of_floor(floor: Floor, place: impl Into<String>) -> Self {
        Self { what: floor.says().to_owned(), place: place.into(), rule: floor.rule(), cure: floor.cure().to_owned() }
    }
}

/// How a row is set against the row below.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RowSetting {
    /// Piece over piece.
    SideBySide,
    /// No piece over a piece.
    Brick,
}

impl RowSetting {
    /// Its words on map, sheet and page.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::SideBySide => Message::SettingSideBySide.text(),
            Self::Brick => Message::SettingBrick.text(),
        }
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its number, in the order of work.
    pub row: u32,
    /// Its number within its section, from the lowest.
    pub in_section: u32,
    /// The section.
    pub part: HeadPart,
    /// The region of its middle.
    pub zone: Zone,
    /// Where its parting starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// How far above the top of the ear it meets the sectioning line; less than
    /// nothing below the ear's top.
    pub up_ear_line: Option<Length>,
    /// How far the parting runs to the sectioning line, from the middle.
    pub section_at: Length,
    /// Whether a row of the back ends at the hair's edge behind the ear.
    pub ends_behind_ear: bool,
    /// Length of its parting within its section.
    pub length: Length,
    /// Side by side, or in brick.
    pub setting: RowSetting,
    /// How many sandwiches it holds.
    pub sites: usize,
}

/// One sandwich's place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Site {
    /// Its name in this plan.
    pub id: SiteId,
    /// Its row.
    pub row: u32,
    /// The section.
    pub part: HeadPart,
    /// Distance of its middle from the line where its row starts: the middle at
    /// the back, the sectioning line at the sides.
    pub from_line: Length,
    /// The client's side of its middle.
    pub side: Side,
    /// The region of its middle.
    pub zone: Zone,
    /// Distance of its middle from the midline, + to the client's right.
    pub along: Length,
    /// Where its parting starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// The piece, as cut.
    #[serde(skip)]
    pub piece: Piece,
    /// Whole or half.
    pub cut: Cut,
    /// The slice: thickness, strands, load.
    pub slice: Slice,
    /// Share of the bond hidden in every style, at its worst point.
    pub coverage: BTreeMap<Style, f64>,
    /// The chance that the bond shows, in the style that hides it least.
    pub chance: f64,
    /// What to look at.
    pub cautions: Vec<Caution>,
    /// Gaps between clumps of hair that would be seen over the bond, in every style: the rival reading; it decides nothing.
    pub gaps: BTreeMap<Style, f64>,
    /// Natural hair left free to the nearest border.
    pub clearance: Length,
    /// That border.
    pub clearance_to: Border,
    /// One standard error of the place.
    pub sigma: Length,
    /// The two ends of the slice on the skin, the client's left first.
    pub ends: [SkinPoint; 2],
    /// Whether it was in before this plan.
    pub already_in: bool,
    /// Points, by the worth term that costs them.
    pub points: BTreeMap<&'static str, f64>,
    /// Why it is here.
    pub why: Vec<Reason>,
}

/// A layout of the whole head.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Placement {
    /// The rows in the order of work.
    pub rows: Vec<Row>,
    /// The sites in the order of work: nape upward, then the sides.
    pub sites: Vec<Site>,
    /// What could not be had, and what to know.
    pub faults: Vec<Fault>,
    /// What to look at, site by site.
    pub cautions: Vec<Caution>,
    /// Hair short of the wish.
    pub short: Grams,
    /// Points of the whole layout; less is better.
    pub points: f64,
    /// The least distance between two of its rows, the usual one at most.
    pub row_spacing: Length,
    /// Other layouts, nearly as good and genuinely different.
    pub runners_up: Vec<Layout>,
}

/// Where the sandwiches of a layout are, without the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The sandwiches.
    pub sites: Vec<Placed>,
    /// Points of the layout, on the same scale as the plan's.
    pub points: f64,
}

impl Serialize for Layout {
    /// As `{"points":…, "sites":[{"above_nape":…, "along":…, "width":…}]}`.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct At {
            above_nape: Length,
            along: Length,
            width: Length,
        }
        #[derive(Serialize)]
        struct All {
            points: f64,
            sites: Vec<At>,
        }
        let at = |p: &Placed| At { above_nape: p.above_nape, along: p.along, width: p.piece.tab.width };
        All { points: self.points, sites: self.sites.iter().map(at).collect() }.serialize(serializer)
    }
}
