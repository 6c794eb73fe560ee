//! What a client's file comes to once it is checked: typed, in the domain's terms.

use craft::hair::HairFacts;
use craft::placement::Care;
use craft::suitability::Answers;
use craft::suitability::answers::{Goal, Part, Style};
use head::{Marks, Measures, Side, Zone};
use measure::{Currency, Grams, Length, Money};
use serde::{Deserialize, Serialize};

/// A client, checked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClientFacts {
    /// Her name, for the papers only: no rule ever sees it.
    pub name: Option<String>,
    /// What the rules of suitability hear.
    pub answers: Answers,
    /// What she wants.
    pub wish: Wish,
    /// Her hair.
    pub hair: HairFacts,
    /// Her head.
    pub head: HeadFacts,
    /// The colour of her ends.
    pub colour: ColourAsked,
    /// The pieces the salon works with.
    pub pieces: PieceFacts,
    /// Where slices were at the last visit.
    pub last_sites: Vec<LastSite>,
    /// What the salon asks.
    pub prices: Prices,
    /// The most she wants to spend.
    pub budget: Option<Money>,
    /// What is missing and widens the ranges, and what looks unlikely.
    pub warnings: Vec<String>,
}

/// What she wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wish {
    /// Thickness, length or both.
    pub goal: Goal,
    /// The length she wants, from the nape, when length matters and was said.
    pub wanted_length: Option<Length>,
    /// How full.
    pub fullness: Fullness,
    /// The styles she wears, each once, in the order answered.
    pub styles: Vec<Style>,
    /// Where she parts her hair.
    pub part: Part,
    /// How much is dared.
    #[serde(default)]
    pub care: Care,
}

/// How full she wants it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fullness {
    /// A little more.
    Light,
    /// As if it were all her own.
    Natural,
    /// Plenty.
    Full,
    /// So many grams.
    Added(Grams),
    /// Gathered ends that measure so much round.
    EndsCircumference(Length),
}

/// Her head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeadFacts {
    /// The tape measures.
    pub measures: Measures,
    /// What was seen or taped on it besides.
    pub marks: Marks,
    /// Places to keep free.
    pub avoid: Vec<Avoid>,
}

/// A place to keep free.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Avoid {
    /// Her own side.
    pub side: Side,
    /// The region.
    pub zone: Zone,
    /// Why.
    pub reason: String,
}

/// The colour of her ends, as it was said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ColourAsked {
    /// CIELAB under D65: lightness, red-green, yellow-blue.
    LabD65([f64; 3]),
    /// A shade of the ring, by its code.
    Shade(String),
    /// A photo with its marks; both are paths relative to the client's file.
    Photo {
        /// The photo.
        photo: String,
        /// Where the chart and the hair are in it.
        marks: String,
    },
}

/// The pieces the salon works with; what is missing is the trade's usual.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PieceFacts {
    /// Width of the tab.
    pub tab_width: Option<Length>,
    /// Height of the tab.
    pub tab_height: Option<Length>,
    /// Mass of one piece.
    pub mass: Option<Grams>,
    /// The lengths on sale, shortest first, each once.
    pub lengths: Vec<Length>,
    /// The ring's file, relative to the client's file.
    pub ring: Option<String>,
    /// The stock's file, relative to the client's file.
    pub stock: Option<String>,
    /// One piece with a backing strip to a slice, or two; nothing leaves it to
    /// the program.
    #[serde(default)]
    pub single_sided: Option<bool>,
    /// Whether a tab may lie across the middle at the back.
    #[serde(default)]
    pub tab_across_middle: bool,
}

/// A slice of the last visit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LastSite {
    /// Where its parting started on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Its middle along the parting from the midline, + to her right.
    pub along: Length,
    /// Its width.
    pub width: Length,
}

/// What the salon asks.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Prices {
    /// The currency of every amount.
    pub currency: Option<Currency>,
    /// One hour of work.
    pub hour: Option<Money>,
    /// One new tape tab.
    pub tape_tab: Option<Money>,
}
