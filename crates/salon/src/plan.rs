//! The plan: one document that answers the whole job, from verdict to aftercare.
//!
//! It is what the command line prints, what the pages and papers show, and what
//! is kept with the client. Lengths carry their unit in the key, so the fields
//! here are plain numbers. Everything is ordered as it is worked: nape upward,
//! then the sides.

mod map;

pub use map::{
    KeptFree, LandmarksPlan, MapPair, MapPlan, PanelPlan, PanelRow, PanelsPlan, PlanSide, ProfilePoint, RowEnd, RowPlan, RowStart,
    SkinTriple,
};

use crate::fault::Fault;
use crate::quote::Quote;
use crate::stock::Purchase;
use craft::aftercare::Sheet;
use craft::combing::along_words;
use craft::coverage::Style;
use craft::piece::Cut;
use craft::placement::{Degree, HeadPart};
use craft::steps::Step;
use craft::suitability::{Judgement, Limits};
use head::Panel;
use measure::Length;
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row_spacing_mm: Option<f64>,
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
    pub added_g: f64,
    /// Grams that the wish asks for on this way.
    pub wished_g: f64,
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
    pub above_nape_mm: f64,
    /// Distance of its middle along the parting from the midline, + to the client's right.
    pub along_mm: f64,
    /// Width of the tab as set.
    pub width_mm: f64,
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
    pub length_mm: f64,
    /// Breadth of the head.
    pub breadth_mm: f64,
    /// From the ear notch to the top.
    pub tragion_to_top_mm: f64,
    /// From the nape hairline to the crown along the skin.
    pub nape_to_crown_mm: f64,
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
    pub added_g: f64,
    /// Grams that the wish asked for, with the range it may lie in.
    pub wished_g: f64,
    /// The lower end of that range.
    pub wished_g_low: f64,
    /// The upper end of that range.
    pub wished_g_high: f64,
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
    /// `light`, `natural` or `full`.
    pub level: String,
    /// Grams of hair.
    pub added_g: f64,
    /// Whole pieces.
    pub pieces: u32,
    /// Circumference of the gathered ends after, at nine tenths of the length.
    pub ends_circumference_mm: f64,
}

impl SitePlan {
    /// Where the middle of its tab is on its line: `30 mm from the middle`,
    /// `20 mm from the ear-to-ear line`; the side is said besides.
    #[must_use]
    pub fn along_words(&self) -> String {
        let section = self.section.unwrap_or(HeadPart::Back);
        along_words(section, Length::mm(self.from_line_mm.unwrap_or(self.along_mm)))
    }
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
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for site in sites {
        let least = site.coverage.iter().min_by(|a, b| a.1.total_cmp(b.1));
        *counts.entry(least.map_or("", |(style, _)| style.as_str())).or_default() += 1;
    }
    let worn = |word: &str| match Style::from_word(word) {
        Some(Style::Down) => "with the hair down".to_owned(),
        Some(Style::HalfUp) => "in a half-up".to_owned(),
        Some(style) => style.words().to_owned(),
        None => "as she wears it".to_owned(),
    };
    if let [(style, _)] = counts.iter().collect::<Vec<_>>()[..] {
        return worn(style);
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
    pub length_mm: f64,
    /// Mass of one piece as set (half of it for a cut piece).
    pub mass_g: f64,
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
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_line_mm: Option<f64>,
    /// The panel it is drawn on; nothing in plans of before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<Panel>,
    /// The client's own side.
    pub side: PlanSide,
    /// Distance of its middle along the parting from the midline, + to the
    /// client's right.
    pub along_mm: f64,
    /// As its row's `parting_above_nape_mm`.
    pub above_nape_mm: f64,
    /// Width of the tab as set.
    pub width_mm: f64,
    /// The piece.
    pub piece: SitePiece,
    /// One piece with a backing strip instead of two pieces.
    #[serde(default)]
    pub single_sided: bool,
    /// Width of the slice of natural hair: narrower than the tab.
    pub slice_width_mm: f64,
    /// Thickness of the slice.
    pub slice_mm: f64,
    /// Hairs in the slice.
    pub hairs: f64,
    /// Mass that each hair of the slice carries.
    pub load_mg_per_hair: f64,
    /// Traction index, 100 at its limit.
    pub traction_index: f64,
    /// How well the bond is hidden, by style, at its worst point.
    pub coverage: BTreeMap<String, f64>,
    /// Gaps wider than would be overlooked between clumps of hair over the bond,
    /// by style: another reading of what shows; it decides nothing.
    #[serde(default)]
    pub gaps: BTreeMap<String, f64>,
    /// Natural hair left free to the nearest hairline or ear.
    pub clearance_mm: f64,
    /// What that nearest border is.
    pub clearance_to: String,
    /// How far the true place may be off, one standard error.
    pub sigma_mm: f64,
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
