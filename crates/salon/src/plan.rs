//! The plan: one document that answers the whole job, from verdict to aftercare.
//!
//! It is what the command line prints, what the pages and papers show, and what
//! is kept with the client. Quantities are types here; as a document their unit
//! stands in the key (`rim`). They are kept as sharp as a tape or a comb reads
//! them, so that a plan says the same when it is opened again. Everything is ordered as it is worked: nape upward,
//! then the sides.

mod map;
pub(crate) mod rim;

pub use map::{
    EndMark, KeptFree, LandmarksPlan, MapPair, MapPlan, PanelPlan, PanelRow, PanelsPlan, PlanSide, ProfilePoint, RowEnd, RowPlan, RowStart,
    RowZone, SkinTriple, StartLine,
};
pub use rim::border_words;

use crate::fault::Fault;
use crate::quote::Quote;
use crate::stock::{Purchase, StockLength};
use craft::aftercare::Sheet;
use craft::combing::along_words;
use craft::coverage::Style;
use craft::piece::{Cut, Setting};
use craft::placement::{Degree, HeadPart};
use craft::quantity::Level;
use craft::steps::Step;
use craft::suitability::{Judgement, Limits};
use head::{Border, Panel};
use measure::{Grams, Length};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The whole plan of one client's set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Whether she can wear tapes, and every rule that an answer met.
    pub verdict: Judgement,
    /// The colour of her ends and the shades that come nearest.
    pub colour: ColourPlan,
    /// How much hair.
    pub quantity: QuantityPlan,
    /// The rows, as they are worked.
    pub rows: Vec<RowPlan>,
    /// The sites, as they are worked.
    pub sites: Vec<SitePlan>,
    /// The sites that stood already or were moved by hand; nothing when the planner chose all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_by_hand: Option<SetByHand>,
    /// Other layouts, nearly as good and genuinely different, without shades.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<OtherLayout>,
    /// What to buy; nothing when no stock and no packs were given.
    pub buy: Option<Purchase>,
    /// What it costs; nothing when no prices were given.
    pub quote: Option<Quote>,
    /// The run sheet.
    pub steps: Vec<Step>,
    /// When it is due again; nothing when nothing was placed.
    pub retape: Option<RetapePlan>,
    /// What the client is told.
    pub aftercare: Option<Sheet>,
    /// What cannot be done or is not as wished, each with its cure.
    pub faults: Vec<Fault>,
    /// What the models mark, site by site; none of it forbids a site.
    #[serde(default)]
    pub cautions: Vec<CautionPlan>,
    /// How far apart the rows of the back are combed; nothing in plans of before.
    #[serde(rename = "row_spacing_mm", default, skip_serializing_if = "Option::is_none", with = "rim::mm_if_known")]
    pub row_spacing: Option<Length>,
    /// What would give more, where the plan stops short of the wish.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ways: Vec<WayPlan>,
    /// What the plan and the work keep to.
    pub limits: Limits,
    /// What was missing or looks unlikely, in plain words.
    pub warnings: Vec<String>,
    /// The scalp as fitted.
    pub head: HeadPlan,
    /// Her hair as reckoned.
    pub hair: HairPlan,
    /// Lines of the one-sheet map of plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub map: Option<MapPlan>,
    /// The map's three panels; nothing in plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panels: Option<PanelsPlan>,
    /// The landmarks on the skin.
    pub landmarks_mm: LandmarksPlan,
    /// Where the search started.
    pub seed: u64,
}

/// What a model marks at a site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CautionPlan {
    /// The site's name; empty when it is said of the whole plan.
    pub site: String,
    /// What to look at, in a sentence.
    pub what: String,
    /// The id of the rule behind it.
    pub rule: String,
    /// `watch`, `heavy` or `may_show`.
    pub degree: Degree,
}

/// A way on from a plan that stops short: what to change, and what it gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WayPlan {
    /// What is changed: `lighter_piece`, `single_sided`, `closer_rows`, `halves`,
    /// `bolder`, `without_<style>`, `lighter_wish`, `other_length`, `wish_of_<grams>_g`.
    pub levers: Vec<String>,
    /// What is changed, in words, with its numbers.
    pub says: String,
    /// Grams of hair in all.
    #[serde(rename = "added_g", with = "rim::grams")]
    pub added: Grams,
    /// Grams that the wish asks for on this way.
    #[serde(rename = "wished_g", with = "rim::grams")]
    pub wished: Grams,
    /// Whole pieces.
    pub pieces: u32,
    /// Sandwiches on the head.
    pub sandwiches: u32,
    /// What it costs, where prices are known.
    pub total_minor: Option<i64>,
    /// How many sites are marked.
    pub cautions: u32,
}

/// Another layout of the same wish.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OtherLayout {
    /// How many more points it costs than the plan's; less is better.
    pub points_more: f64,
    /// Its sandwiches.
    pub sites: Vec<OtherSite>,
}

/// Where a sandwich of another layout would stand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OtherSite {
    /// Distance of the parting from the nape hairline, along the skin.
    #[serde(rename = "above_nape_mm", with = "rim::mm")]
    pub above_nape: Length,
    /// Distance of its middle along the parting from the midline, + to the client's right.
    #[serde(rename = "along_mm", with = "rim::mm")]
    pub along: Length,
    /// Width of the tab as set.
    #[serde(rename = "width_mm", with = "rim::mm")]
    pub width: Length,
    /// Whole, or cut in half.
    pub cut: Cut,
}

/// Sites that the technician set herself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetByHand {
    /// Their names.
    pub sites: Vec<String>,
    /// Why they may pass a limit, in her words; nothing when they pass none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// The colour of the ends and how the ring meets it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ColourPlan {
    /// The ends' colour under D65, where it is known as numbers.
    pub lab_d65: Option<[f64; 3]>,
    /// How sure the reading is; nothing when the colour was given, not read.
    pub uncertainty_de00: Option<f64>,
    /// Whether the ring reaches the ends' colour; nothing when there is no ring.
    pub reachable: Option<bool>,
    /// The nearest shades with their CIEDE2000 difference.
    pub nearest: Vec<NearShade>,
    /// The mix as set: whole pieces of each shade.
    pub mix: BTreeMap<String, u32>,
    /// The mix's difference from the ends.
    pub mix_de00: Option<f64>,
    /// Colours of the shades in the mix, for drawing.
    pub shades_lab_d65: BTreeMap<String, [f64; 3]>,
    /// Names of the shades in the mix.
    pub shade_names: BTreeMap<String, String>,
    /// What to know about the match, in plain words.
    pub notes: Vec<String>,
}

/// A shade near the ends' colour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NearShade {
    /// The shade's code.
    pub code: String,
    /// CIEDE2000, 1:1:1.
    pub de00: f64,
}

/// The scalp as fitted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HeadPlan {
    /// Length of the head.
    #[serde(rename = "length_mm", with = "rim::mm")]
    pub length: Length,
    /// Breadth of the head.
    #[serde(rename = "breadth_mm", with = "rim::mm")]
    pub breadth: Length,
    /// From the ear notch to the top.
    #[serde(rename = "tragion_to_top_mm", with = "rim::mm")]
    pub tragion_to_top: Length,
    /// From the nape hairline to the crown along the skin.
    #[serde(rename = "nape_to_crown_mm", with = "rim::mm")]
    pub nape_to_crown: Length,
}

/// Her hair as reckoned, each number with its range.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HairPlan {
    /// Hairs on a square centimetre, head's mean: value, low, high.
    pub density_per_cm2: [f64; 3],
    /// Strand diameter: value, low, high.
    pub diameter_um: [f64; 3],
    /// Strands on the whole head: value, low, high.
    pub strands: [f64; 3],
}

/// How much hair the wish takes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct QuantityPlan {
    /// Grams of hair that the placed pieces add.
    #[serde(rename = "added_g", with = "rim::grams")]
    pub added: Grams,
    /// Grams that the wish asked for, with the range it may lie in.
    #[serde(rename = "wished_g", with = "rim::grams")]
    pub wished: Grams,
    /// The lower end of that range.
    #[serde(rename = "wished_g_low", with = "rim::grams")]
    pub wished_low: Grams,
    /// The upper end of that range.
    #[serde(rename = "wished_g_high", with = "rim::grams")]
    pub wished_high: Grams,
    /// Whole pieces; a piece cut in half counts once.
    pub pieces: u32,
    /// Sandwiches on the head.
    pub sandwiches: u32,
    /// Thickness along the length, before and after.
    pub profile: Vec<ProfilePoint>,
    /// The three levels of the wish side by side.
    pub levels: Vec<LevelPlan>,
    /// What the numbers rest on, in plain words.
    pub notes: Vec<String>,
}

/// One level of the wish: lighter, as asked, fuller.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LevelPlan {
    /// Which.
    pub level: Level,
    /// Grams of hair.
    #[serde(rename = "added_g", with = "rim::grams")]
    pub added: Grams,
    /// Whole pieces.
    pub pieces: u32,
    /// Circumference of the gathered ends after, at nine tenths of the length.
    #[serde(rename = "ends_circumference_mm", with = "rim::mm")]
    pub ends_circumference: Length,
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

    /// Where the middle of its tab is on its line: `30 mm from the middle`,
    /// `20 mm from the ear-to-ear line`; the side is said besides.
    #[must_use]
    pub fn along_words(&self) -> String {
        let section = self.section.unwrap_or(HeadPart::Back);
        along_words(section, self.from_line.unwrap_or(self.along))
    }
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

impl Plan {
    /// What the models mark, summed up: `3 of 24 bonds may show in a half-up`,
    /// `5 slices carry more than usual for such hair`; the gravest first.
    #[must_use]
    pub fn caution_summary(&self) -> Vec<String> {
        let marked = |degree: Degree| {
            let sites = self.sites.iter().filter(move |site| self.degree_at(&site.site, degree));
            sites.collect::<Vec<_>>()
        };
        let mut lines = Vec::new();
        let (show, heavy) = (marked(Degree::MayShow), marked(Degree::Heavy));
        if !show.is_empty() {
            lines.push(format!("{} of {} bonds may show {}", show.len(), self.sites.len(), shown_in(&show)));
        }
        match heavy.len() {
            0 => {}
            1 => lines.push("1 slice carries more than usual for such hair".to_owned()),
            many => lines.push(format!("{many} slices carry more than usual for such hair")),
        }
        let watched = marked(Degree::Watch)
            .into_iter()
            .filter(|site| !self.degree_at(&site.site, Degree::MayShow) && !self.degree_at(&site.site, Degree::Heavy));
        match watched.count() {
            0 => {}
            1 => lines.push("1 place more to keep an eye on".to_owned()),
            many => lines.push(format!("{many} places more to keep an eye on")),
        }
        let whole = self.cautions.iter().filter(|caution| caution.site.is_empty());
        lines.extend(whole.map(|caution| caution.what.trim_end_matches('.').to_owned()));
        lines
    }

    /// Whether a site is marked so.
    #[must_use]
    pub fn degree_at(&self, site: &str, degree: Degree) -> bool {
        self.cautions.iter().any(|caution| caution.site == site && caution.degree == degree)
    }
}

/// The styles in which bonds may show: of each bond that which hides it least.
fn shown_in(sites: &[&SitePlan]) -> String {
    let mut counts: BTreeMap<Option<Style>, usize> = BTreeMap::new();
    for site in sites {
        let least = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1));
        *counts.entry(least.map(|(style, _)| *style)).or_default() += 1;
    }
    let worn = |style: Option<Style>| match style {
        Some(Style::Down) => "with the hair down".to_owned(),
        Some(Style::HalfUp) => "in a half-up".to_owned(),
        Some(style) => style.words().to_owned(),
        None => "as she wears it".to_owned(),
    };
    if let [(style, _)] = counts.iter().collect::<Vec<_>>()[..] {
        return worn(*style);
    }
    counts.into_iter().map(|(style, count)| format!("{} ({count})", worn(style))).collect::<Vec<_>>().join(", ")
}

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
    /// Its name, as `B1.1`.
    pub site: String,
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

/// When the set is due.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RetapePlan {
    /// Days after it goes in.
    pub due: u32,
    /// First and last day of the window.
    pub window: [u32; 2],
    /// What sets the day, in plain words.
    pub because: Vec<String>,
}
