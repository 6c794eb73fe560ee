//! A sandwich's place in a plan, and what hangs there.

use super::map::{MapPair, PlanSide, SkinTriple};
use super::rim;
use crate::stock::StockLength;
use craft::combing::along_words;
use craft::coverage::Style;
use craft::piece::{Cut, Setting};
use craft::placement::{HeadPart, SiteId};
use craft::steps::SiteToSet;
use head::{Border, Panel};
use measure::{Grams, Length};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The piece that goes into a site: both halves of the sandwich are alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SitePiece {
    /// The shade's code on the ring.
    pub shade: String,
    /// The shade of the second piece of the sandwich, where it differs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under_shade: Option<String>,
    /// Length of the hair.
    #[serde(rename = "length_mm", with = "rim::mm")]
    pub length: Length,
    /// Mass of one piece as set (half of it for a cut piece).
    #[serde(rename = "mass_g", with = "rim::grams")]
    pub mass: Grams,
    /// Whole, or cut in half.
    pub cut: Cut,
}

/// One sandwich's place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SitePlan {
    /// Its name.
    pub site: SiteId,
    /// The row it stands in.
    pub row: u32,
    /// The section; nothing in plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub section: Option<HeadPart>,
    /// Distance of its middle from the line where its row starts: the middle at
    /// the back, the sectioning line at the sides.
    #[serde(rename = "from_line_mm", default, skip_serializing_if = "Option::is_none", with = "rim::mm_if_known")]
    pub from_line: Option<Length>,
    /// The panel it is drawn on; nothing in plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<Panel>,
    /// The client's own side.
    pub side: PlanSide,
    /// Distance of its middle along the parting from the midline, + to the
    /// client's right.
    #[serde(rename = "along_mm", with = "rim::mm")]
    pub along: Length,
    /// As its row's `parting_above_nape_mm`.
    #[serde(rename = "above_nape_mm", with = "rim::mm")]
    pub above_nape: Length,
    /// Width of the tab as set.
    #[serde(rename = "width_mm", with = "rim::mm")]
    pub width: Length,
    /// The piece.
    pub piece: SitePiece,
    /// One piece with a backing strip instead of two pieces.
    #[serde(rename = "single_sided", default, with = "rim::single_sided")]
    pub setting: Setting,
    /// Width of the slice of natural hair: narrower than the tab.
    #[serde(rename = "slice_width_mm", with = "rim::mm")]
    pub slice_width: Length,
    /// Thickness of the slice.
    #[serde(rename = "slice_mm", with = "rim::mm")]
    pub slice: Length,
    /// Hairs in the slice.
    pub hairs: f64,
    /// Mass that each hair of the slice carries.
    #[serde(rename = "load_mg_per_hair", with = "rim::milligrams")]
    pub load_per_hair: Grams,
    /// Traction index, 100 at its limit.
    pub traction_index: f64,
    /// How well the bond is hidden, by style, at its worst point.
    pub coverage: BTreeMap<Style, f64>,
    /// Gaps wider than would be overlooked between clumps of hair over the bond,
    /// by style: another reading of what shows; it decides nothing.
    #[serde(default)]
    pub gaps: BTreeMap<Style, f64>,
    /// Natural hair left free to the nearest hairline or ear.
    #[serde(rename = "clearance_mm", with = "rim::mm")]
    pub clearance: Length,
    /// What that nearest border is.
    #[serde(with = "rim::border")]
    pub clearance_to: Border,
    /// How far the true place may be off, one standard error.
    #[serde(rename = "sigma_mm", with = "rim::mm")]
    pub sigma: Length,
    /// Ids of the rules that put it there.
    pub why: Vec<String>,
    /// The same reasons in plain words with their numbers.
    pub because: Vec<String>,
    /// The slice's two ends on the skin, client's left end first.
    pub ends_mm: [SkinTriple; 2],
    /// The chance that its bond shows, in the style that hides it least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance_of_showing: Option<f64>,
    /// The slice's two ends on its panel (on the one sheet, in plans of before).
    pub map_mm: [MapPair; 2],
}

impl SitePlan {
    /// What hangs on its slice.
    #[must_use]
    pub fn hanging_mass(&self) -> Grams {
        self.piece.mass * f64::from(self.setting.pieces())
    }

    /// The shades of its pieces, the one over the slice first: two of a sandwich,
    /// one of a piece with a strip.
    pub fn shades(&self) -> impl Iterator<Item = &str> {
        let under = self.piece.under_shade.as_ref().unwrap_or(&self.piece.shade);
        [&self.piece.shade, under].into_iter().take(self.setting.pieces() as usize).map(String::as_str)
    }

    /// As the steps of the work need it.
    #[must_use]
    pub fn to_set(&self) -> SiteToSet {
        SiteToSet {
            site: self.site,
            row: self.row,
            side: self.side.words().to_owned(),
            section: self.section.unwrap_or(HeadPart::Back),
            from_line: self.from_line.unwrap_or(self.along.abs()),
            width: self.width,
            slice_width: self.slice_width,
            slice: self.slice,
            shade: match &self.piece.under_shade {
                Some(under) => format!("{} over {under}", self.piece.shade),
                None => self.piece.shade.clone(),
            },
            length: self.piece.length,
            half: self.piece.cut.is_half(),
            single_sided: self.setting == Setting::SingleSided,
        }
    }

    /// Where the middle of its tab is on its line: `30 mm from the middle`,
    /// `20 mm from the ear-to-ear line`; the side is said besides.
    #[must_use]
    pub fn along_words(&self) -> String {
        let section = self.section.unwrap_or(HeadPart::Back);
        along_words(section, self.from_line.unwrap_or(self.along))
    }
}

/// The hair that hangs of each shade, in half pieces.
#[must_use]
pub fn hanging_halves(sites: &[SitePlan]) -> BTreeMap<String, u32> {
    let mut halves: BTreeMap<String, u32> = BTreeMap::new();
    for site in sites {
        for shade in site.shades() {
            *halves.entry(shade.to_owned()).or_default() += site.piece.cut.half_pieces();
        }
    }
    halves
}

/// Whole pieces by shade and length; the halves of cut pieces come two out of one.
#[must_use]
pub fn whole_pieces(sites: &[SitePlan]) -> BTreeMap<(String, StockLength), u32> {
    let mut halves: BTreeMap<(String, StockLength), u32> = BTreeMap::new();
    for site in sites {
        let Some(length) = StockLength::mm(site.piece.length.to_mm()) else { continue };
        for shade in site.shades() {
            *halves.entry((shade.to_owned(), length)).or_default() += site.piece.cut.half_pieces();
        }
    }
    halves.into_iter().map(|(key, halves)| (key, halves.div_ceil(2))).collect()
}
