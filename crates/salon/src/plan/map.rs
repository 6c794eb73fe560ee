//! A plan's head as it is drawn: rows, outline, panels and landmarks.

use super::rim;
use craft::combing::CombedLine;
use craft::coverage::Style;
use craft::placement::{HeadPart, RowSetting};
use craft::steps::RowToSet;
use head::{Panel, Zone};
use measure::Length;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Two coordinates on the flat map, mm: x towards the client's right, y up from
/// the nape hairline.
pub type MapPair = [f64; 2];

/// Three coordinates on the skin, mm, in the head's own frame.
pub type SkinTriple = [f64; 3];

/// The client's own side, or the midline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanSide {
    /// The client's left.
    Left,
    /// On the midline.
    Centre,
    /// The client's right.
    Right,
}

impl PlanSide {
    /// The words on a map or a run sheet, never a bare "left".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Left => "client's left",
            Self::Centre => "middle",
            Self::Right => "client's right",
        }
    }
}

/// Circumference of the gathered hair at one distance from the scalp.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ProfilePoint {
    /// Distance along the hair from the nape.
    #[serde(rename = "at_mm", with = "rim::mm")]
    pub at: Length,
    /// Circumference of her own hair there.
    #[serde(rename = "before_mm", with = "rim::mm")]
    pub before: Length,
    /// Circumference with the pieces in.
    #[serde(rename = "after_mm", with = "rim::mm")]
    pub after: Length,
}

/// The line that a row starts on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StartLine {
    /// Down the middle: rows of the back.
    Midline,
    /// From ear to ear: rows of the sides.
    EarToEarLine,
}

/// The place of the ear from which a row's end is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EndMark {
    /// Its top: rows of the back.
    EarTop,
    /// Its front edge: rows of the sides.
    EarFront,
}

/// The part of the head that a row is told of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RowZone {
    /// Below the occipital bone.
    Nape,
    /// Above it.
    Back,
    /// About the crown.
    Crown,
    /// Before the line from ear to ear.
    Side,
}

impl RowZone {
    /// The zone of a row of a section.
    #[must_use]
    pub const fn of(part: HeadPart, zone: Zone) -> Self {
        match (part, zone) {
            (HeadPart::Left | HeadPart::Right, _) => Self::Side,
            (HeadPart::Back, Zone::Nape) => Self::Nape,
            (HeadPart::Back, Zone::Crown) => Self::Crown,
            (HeadPart::Back, _) => Self::Back,
        }
    }

    /// Its word on map and sheet.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nape => "nape",
            Self::Back => "back",
            Self::Crown => "crown",
            Self::Side => "side",
        }
    }
}

/// Where a row starts, as a tape reads it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RowStart {
    /// The line it starts on.
    pub on: StartLine,
    /// Up that line: from the middle of the nape hairline, or from the top of the ear.
    #[serde(rename = "mm", with = "rim::mm")]
    pub up: Length,
}

/// Where a row ends, as a tape reads it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RowEnd {
    /// The place it is read from.
    pub from: EndMark,
    /// Above (+) or below (-) the top of the ear; at the sides the way from the
    /// front edge of the ear to where the row meets the hairline.
    #[serde(rename = "mm", with = "rim::mm")]
    pub away: Length,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RowPlan {
    /// Counted in the order of work.
    pub row: u32,
    /// Its name on map and sheet, as `B3` or `L1`; plans of before have none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The section; nothing in plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub section: Option<HeadPart>,
    /// Where it starts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<RowStart>,
    /// Where it ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end: Option<RowEnd>,
    /// Whether a row of the back ends at the hair's edge behind the ear.
    #[serde(default)]
    pub ends_behind_ear: bool,
    /// The part of the head it lies in.
    pub zone: RowZone,
    /// Up the middle from the nape hairline to where the parting starts; for a
    /// row of the sides, to the parting of the same level. In plans of before:
    /// its distance from the nearest nape hairline.
    #[serde(rename = "parting_above_nape_mm", with = "rim::mm")]
    pub parting_above_nape: Length,
    /// Where it crosses the midline: what a tape reads that runs straight up
    /// from the middle of the nape hairline. Plans of before may not say.
    #[serde(rename = "up_midline_mm", default, skip_serializing_if = "Option::is_none", with = "rim::mm_if_known")]
    pub up_midline: Option<Length>,
    /// Length of the row within its section.
    #[serde(rename = "length_mm", with = "rim::mm")]
    pub length: Length,
    /// Whether it stands side by side with the row below or in brick.
    pub setting: RowSetting,
}

impl RowPlan {
    /// Where to start combing, up the midline.
    #[must_use]
    pub fn up_the_middle(&self) -> Length {
        self.up_midline.unwrap_or(self.parting_above_nape)
    }

    /// Its line as it is combed. A row of a plan of before is read as one of the
    /// back whose end is not known.
    #[must_use]
    pub fn line(&self) -> CombedLine {
        let number = self.name.trim_start_matches(|c: char| !c.is_ascii_digit()).parse().unwrap_or(self.row);
        // At a side the way to the hairline is at least the ear's own breadth: 0 was not read.
        let read = |end: &RowEnd| end.from == EndMark::EarTop || end.away > Length::ZERO;
        CombedLine {
            section: self.section.unwrap_or(HeadPart::Back),
            number,
            start: self.start.map_or_else(|| self.up_the_middle(), |start| start.up),
            end: self.end.filter(read).map(|end| end.away),
            ends_behind_ear: self.ends_behind_ear,
        }
    }

    /// As the steps of the work need it.
    #[must_use]
    pub fn to_set(&self) -> RowToSet {
        RowToSet { row: self.row, line: self.line(), brick: self.setting == RowSetting::Brick }
    }

    /// What it is called: `Row 4`, `Left line 2`.
    #[must_use]
    pub fn called(&self) -> String {
        self.line().called()
    }

    /// How it is combed: `start 102 mm up the middle, comb straight to 17 mm
    /// above the top of each ear`. In plans of before, by its height.
    #[must_use]
    pub fn combed(&self) -> String {
        if self.section.is_some() {
            return self.line().combed();
        }
        format!(
            "{:.0} mm up the midline, from there {:.0} mm from the nape hairline all along",
            self.up_the_middle().to_mm(),
            self.parting_above_nape.to_mm()
        )
    }
}

/// Lines of the head map that are not sites.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MapPlan {
    /// The nape hairline, left to right.
    pub nape_hairline: Vec<MapPair>,
    /// The front hairline, left to right.
    pub front_hairline: Vec<MapPair>,
    /// Outline of the client's left ear.
    pub left_ear: Vec<MapPair>,
    /// Outline of the client's right ear.
    pub right_ear: Vec<MapPair>,
    /// The middle line, from the nape up.
    pub midline: Vec<MapPair>,
    /// The line from ear to ear.
    pub ear_to_ear: Vec<MapPair>,
    /// The crown.
    pub crown: MapPair,
    /// Where the tape ties the hair, by style.
    pub ties: BTreeMap<Style, MapPair>,
    /// The partings of the rows, in their order.
    pub partings: Vec<Vec<MapPair>>,
    /// Regions kept free, as closed outlines with their reason.
    pub kept_free: Vec<KeptFree>,
    /// What the map bends, in plain words.
    pub distortion: String,
}

/// The three panels of the map.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PanelsPlan {
    /// The back, as one stands behind the client.
    pub back: PanelPlan,
    /// The client's left side.
    pub left: PanelPlan,
    /// The client's right side.
    pub right: PanelPlan,
}

impl PanelsPlan {
    /// One of them.
    #[must_use]
    pub const fn get(&self, panel: Panel) -> &PanelPlan {
        match panel {
            Panel::Back => &self.back,
            Panel::Left => &self.left,
            Panel::Right => &self.right,
        }
    }
}

/// One panel of the map: x to the client's right, y upward, mm at full size; at
/// the back from the middle of the nape hairline, at a side from the top of the ear.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PanelPlan {
    /// The edge of its skin, closed.
    pub edge: Vec<MapPair>,
    /// The line its rows start from, upward.
    pub axis: Vec<MapPair>,
    /// The ears seen in it, closed.
    pub ears: Vec<Vec<MapPair>>,
    /// The crown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crown: Option<MapPair>,
    /// Where hair is tied, by style, on the middle of the back.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub ties: BTreeMap<Style, MapPair>,
    /// The height from which only the shape is shown, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape_only_from: Option<f64>,
    /// The lines of its rows, by the row's number.
    pub rows: Vec<PanelRow>,
    /// Regions kept free.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kept_free: Vec<KeptFree>,
}

/// The line of a row on its panel, left to right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PanelRow {
    /// The row's number.
    pub row: u32,
    /// Its line.
    pub line: Vec<MapPair>,
}

/// A region where nothing goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptFree {
    /// Why.
    pub reason: String,
    /// A closed outline on the map.
    pub outline: Vec<MapPair>,
}

/// The landmarks on the skin.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LandmarksPlan {
    /// The level nape hairline, from its left corner to its right.
    pub nape_hairline: Vec<SkinTriple>,
    /// The hairline behind the client's left ear, from the nape's corner up.
    #[serde(default)]
    pub left_behind_ear: Vec<SkinTriple>,
    /// The hairline behind the client's right ear, from the nape's corner up.
    #[serde(default)]
    pub right_behind_ear: Vec<SkinTriple>,
    /// The sectioning line, from the top of the left ear over to the right.
    #[serde(default)]
    pub ear_to_ear_line: Vec<SkinTriple>,
    /// The tops of the ear roots, the client's left first.
    #[serde(default)]
    pub ear_tops: Vec<SkinTriple>,
    /// The front hairline, client's left to right.
    pub front_hairline: Vec<SkinTriple>,
    /// Outline of the client's left ear.
    pub left_ear: Vec<SkinTriple>,
    /// Outline of the client's right ear.
    pub right_ear: Vec<SkinTriple>,
    /// The crown.
    pub crown: SkinTriple,
    /// Where a low ponytail is tied.
    pub tied_low: SkinTriple,
    /// Where a middle ponytail is tied.
    pub tied_mid: SkinTriple,
    /// Where a high ponytail is tied.
    pub tied_high: SkinTriple,
}
