//! Refuse on facts, warn on models: the two kinds of limit.
//!
//! A [`Floor`] rests on a fact of the trade, on published evidence, or on what
//! the technician set herself: it keeps a place free, and only a person passes
//! it, with a reason. A [`Caution`] comes from a model whose figures are our
//! choice: it costs points, marks the site and is summed up; it keeps nobody
//! from a place. Only what is beyond anything that anyone does (a bond more
//! likely than not to show, a load of 1.6 times the caution) is a floor of its
//! own.

use super::rules::{
    ACROSS_MIDDLE, BOW, BRICK_OFFSET, CARE_BOLD_LOAD, CARE_BOLD_SHOWS, CARE_CAREFUL_LOAD, CARE_CAREFUL_SHOWS, CARE_USUAL_SHOWS, DENSE_FROM,
    PLAIN_ROWS, REST_VISITS, ROW_SPACING, ROW_SPACING_LEAST, SECTION_LEVELS, TAB_GAP, TOP_FREE, WORTH_REST,
};
use super::site_id::{SiteId, if_one};
use crate::coverage::{CROWN_CEILING, EAR_FLOOR, FINE_OR_TIED, NAPE_FLOOR, SHOWING_END, SIDE_FLOOR, THRESHOLD};
use crate::load::{
    COLOURED_FACTOR, CONTACT, EDGE_REGION_FACTOR, INDEX_RED, LOAD_END, PROCESSED_FACTOR, SLICE_LEAST, SLICE_MOST, STATIC_LIMIT, TUG_LIMIT,
};
use crate::words::Message;
use head::Border;
use measure::RuleBook;
use measure::words::Sentence;
use serde::{Deserialize, Serialize};

/// How much is dared: what is marked, and how much a slice is given to carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Care {
    /// For hair or a client that nothing is risked with.
    Careful,
    /// As most sets are made.
    #[default]
    Usual,
    /// For hair that is known to bear it.
    Bold,
}

impl Care {
    /// Every care, the most careful first.
    pub const ALL: [Self; 3] = [Self::Careful, Self::Usual, Self::Bold];

    /// The word of files and forms.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Careful => "careful",
            Self::Usual => "usual",
            Self::Bold => "bold",
        }
    }

    /// From which chance of showing a bond is marked.
    #[must_use]
    pub fn marked_from(self, book: &RuleBook) -> f64 {
        book.value(match self {
            Self::Careful => &CARE_CAREFUL_SHOWS,
            Self::Usual => &CARE_USUAL_SHOWS,
            Self::Bold => &CARE_BOLD_SHOWS,
        }) / 100.0
    }

    /// How many times the load of usual care a slice is given.
    #[must_use]
    pub fn load(self, book: &RuleBook) -> f64 {
        match self {
            Self::Careful => book.value(&CARE_CAREFUL_LOAD),
            Self::Usual => 1.0,
            Self::Bold => book.value(&CARE_BOLD_LOAD),
        }
    }

    /// The next bolder care; none beyond bold.
    #[must_use]
    pub const fn bolder(self) -> Option<Self> {
        match self {
            Self::Careful => Some(Self::Usual),
            Self::Usual => Some(Self::Bold),
            Self::Bold => None,
        }
    }
}

/// What keeps a place free.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Floor {
    /// No hair grows there.
    BareSkin,
    /// The technician keeps it free.
    KeptFree,
    /// It was passed over at the chair.
    PassedOver,
    /// Too near a border of the hair.
    Border(Border),
    /// Higher than the crown.
    Crown,
    /// Before the ears, above the horseshoe line.
    Top,
    /// Her hair is not dense there, and only dense places may carry.
    Sparse,
    /// The tab would lie over a section line.
    SectionLine,
    /// The parting bends too much under the tab.
    Bow,
    /// Too near its neighbour in the row, or across the section line.
    TabGap,
    /// Too near another row.
    RowSpacing,
    /// Over a piece of the row below.
    Brick,
    /// The hair must rest.
    Rest,
    /// The bond is more likely than not to show.
    Shows,
    /// The slice would carry more than anyone sets.
    TooHeavy,
}

impl Floor {
    /// The id of the rule behind it.
    #[must_use]
    pub const fn rule(self) -> &'static str {
        match self {
            Self::BareSkin => BARE_SKIN,
            Self::KeptFree | Self::PassedOver => AVOID,
            Self::Border(Border::NapeHairline) => NAPE_FLOOR.id,
            Self::Border(Border::LeftEar | Border::RightEar) => EAR_FLOOR.id,
            Self::Border(_) => SIDE_FLOOR.id,
            Self::Crown => CROWN_CEILING.id,
            Self::Top => TOP_FREE.id,
            Self::Sparse => DENSE_FROM.id,
            Self::SectionLine => ACROSS_MIDDLE.id,
            Self::Bow => BOW.id,
            Self::TabGap => TAB_GAP.id,
            Self::RowSpacing => ROW_SPACING_LEAST.id,
            Self::Brick => BRICK_OFFSET.id,
            Self::Rest => REST_VISITS.id,
            Self::Shows => SHOWING_END.id,
            Self::TooHeavy => LOAD_END.id,
        }
    }

    const fn message(self) -> Message {
        match self {
            Self::BareSkin => Message::FloorBareSkin,
            Self::KeptFree => Message::FloorKeptFree,
            Self::PassedOver => Message::FloorPassedOver,
            Self::Border(Border::NapeHairline) => Message::FloorNearNape,
            Self::Border(Border::FrontHairline) => Message::FloorNearFace,
            Self::Border(Border::LeftEar | Border::RightEar) => Message::FloorNearEar,
            Self::Border(Border::BehindLeftEar | Border::BehindRightEar) => Message::FloorNearBehindEar,
            Self::Crown => Message::FloorCrown,
            Self::Top => Message::FloorTop,
            Self::Sparse => Message::FloorSparse,
            Self::SectionLine => Message::FloorSectionLine,
            Self::Bow => Message::FloorBow,
            Self::TabGap => Message::FloorTabGap,
            Self::RowSpacing => Message::FloorRowSpacing,
            Self::Brick => Message::FloorBrick,
            Self::Rest => Message::FloorRest,
            Self::Shows => Message::FloorShows,
            Self::TooHeavy => Message::FloorTooHeavy,
        }
    }

    /// What is wrong with the place, in a sentence.
    #[must_use]
    pub fn says(self) -> &'static str {
        self.message().text()
    }

    /// What would open the place.
    #[must_use]
    pub fn cure(self) -> &'static str {
        self.message().text_of_cure()
    }
}

/// The id under which a technician's own keep-out is named.
pub const AVOID: &str = "limits-avoid";
/// The id under which skin without hair is named.
pub const BARE_SKIN: &str = "limits-bare-skin";

/// How much a caution weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Degree {
    /// Look at it.
    Watch,
    /// The slice carries more than usual for such hair.
    Heavy,
    /// The bond may show.
    MayShow,
}

/// A model's word about a site; it keeps nobody from setting it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Caution {
    /// The site; none when it is said of the whole plan.
    #[serde(serialize_with = "if_one::serialize")]
    pub site: Option<SiteId>,
    /// What to look at, in a sentence.
    pub what: String,
    /// The rule's id.
    pub rule: &'static str,
    /// How much it weighs.
    pub degree: Degree,
}

/// Which kind of limit a rule is, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// The rule's id.
    pub rule: &'static str,
    /// Whether it keeps places free.
    pub is_floor: bool,
    /// Why it is the one and not the other.
    pub why: &'static str,
}

const fn floor(rule: &'static str, why: &'static str) -> Kind {
    Kind { rule, is_floor: true, why }
}

const fn caution(rule: &'static str, why: &'static str) -> Kind {
    Kind { rule, is_floor: false, why }
}

/// Every limit on a place, with its kind.
pub const LIMITS: &[Kind] = &[
    floor(NAPE_FLOOR.id, "A fact of the trade (T6)."),
    floor(EAR_FLOOR.id, "A fact of the trade (T12)."),
    floor(SIDE_FLOOR.id, "A fact of the trade (T12)."),
    caution(FINE_OR_TIED.id, "T12 asks for more and does not say how much: the factor is our choice."),
    floor(CROWN_CEILING.id, "A fact of the trade (T11)."),
    floor(TOP_FREE.id, "Common practice, and the technician's own setting."),
    floor(ACROSS_MIDDLE.id, "The four sections are a fact of the trade (T5); across the middle is the technician's own setting."),
    floor(BOW.id, "Partings are clean straight lines (T14)."),
    floor(TAB_GAP.id, "Two tabs cannot lie on one another; the width of the gap is the technician's own setting."),
    floor(SECTION_LEVELS.id, "The same gap, across the line from ear to ear."),
    caution(ROW_SPACING.id, "How far apart rows are combed as a rule is our choice: closer rows cost points."),
    floor(ROW_SPACING_LEAST.id, "Closer rows leave no hair between them; nobody combs them."),
    floor(PLAIN_ROWS.id, "A fact of the trade (T10)."),
    floor(BRICK_OFFSET.id, "A fact of the trade (T10); how far is our choice and the technician's own setting."),
    floor(REST_VISITS.id, "Hair that carried twice rests: common practice, and the technician's own setting."),
    caution(WORTH_REST.id, "After one visit hair rests where the layout allows; where not, the site is marked."),
    floor(DENSE_FROM.id, "Set by the consultation where strands measure thin or hair became thinner (published evidence)."),
    floor(AVOID, "The technician's own setting."),
    caution(THRESHOLD.id, "The depth of hair over a bond is a model, its threshold our choice: it ranks, and marks what may show."),
    floor(SHOWING_END.id, "Beyond what anyone does: more likely than not to show."),
    caution(STATIC_LIMIT.id, "No dose-response figure for lasting pull was found: the limit is our choice."),
    caution(TUG_LIMIT.id, "The force is published, but tug and stiffness are our choice: together a model's figure."),
    caution(INDEX_RED.id, "The traction index ranks places; it is no medical limit."),
    caution(COLOURED_FACTOR.id, "Our choice: it moves where a slice is marked, not where it is not set."),
    caution(EDGE_REGION_FACTOR.id, "Our choice: it moves where a slice is marked, not where it is not set."),
    floor(PROCESSED_FACTOR.id, "Pull on bleached or relaxed hair was found with three times the odds of harm: it moves both mark and end."),
    floor(LOAD_END.id, "Beyond what anyone does."),
    floor(SLICE_LEAST.id, "Common practice: thinner slices are not taken."),
    floor(SLICE_MOST.id, "Beyond what anyone takes."),
    caution(CONTACT.id, "A model of how adhesive meets adhesive; T8 asks for a slice that can be seen through."),
];
