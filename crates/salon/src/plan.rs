//! The plan: one document that answers the whole job, from verdict to aftercare.
//!
//! It is what the command line prints, what the pages and papers show, and what
//! is kept with the client. Quantities are types here; as a document their unit
//! stands in the key (`rim`). They are kept as sharp as a tape or a comb reads
//! them, so that a plan says the same when it is opened again. Everything is ordered as it is worked: nape upward,
//! then the sides.

mod hers;
mod lever;
mod map;
pub(crate) mod rim;
mod site;

pub use craft::placement::SiteId;
pub use hers::{OwnHair, OwnPieces};
pub use lever::{Lever, NoLever};
pub use map::{
    EndMark, KeptFree, LandmarksPlan, MapPair, MapPlan, PanelPlan, PanelRow, PanelsPlan, PlanSide, ProfilePoint, RowEnd, RowPlan, RowStart,
    RowZone, SkinTriple, StartLine,
};
pub use rim::{border_words, combed};
pub use site::{SitePiece, SitePlan, hanging_halves, whole_pieces};

use crate::fault::Fault;
use crate::quote::Quote;
use crate::stock::{Need, Purchase};
use craft::aftercare::Sheet;
use craft::coverage::Style;
use craft::piece::Cut;
use craft::placement::Degree;
use craft::placement::site_id::if_one;
use craft::quantity::Level;
use craft::steps::Step;
use craft::suitability::{Judgement, Limits};
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
    /// Whole pieces of her own that go back in: of these nothing is bought.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub again: Vec<Need>,
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
    /// The site; none when it is said of the whole plan.
    #[serde(with = "if_one")]
    pub site: Option<SiteId>,
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
    /// What is changed.
    pub levers: Vec<Lever>,
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
    pub sites: Vec<SiteId>,
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
    /// The difference of the mix from the ends, as its pieces hang: half a piece counts half.
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

impl Plan {
    /// What the models mark, summed up: `3 of 24 bonds may show in a half-up`,
    /// `5 slices carry more than usual for such hair`; the gravest first.
    #[must_use]
    pub fn caution_summary(&self) -> Vec<String> {
        let marked = |degree: Degree| {
            let sites = self.sites.iter().filter(move |site| self.degree_at(site.site, degree));
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
            .filter(|site| !self.degree_at(site.site, Degree::MayShow) && !self.degree_at(site.site, Degree::Heavy));
        match watched.count() {
            0 => {}
            1 => lines.push("1 place more to keep an eye on".to_owned()),
            many => lines.push(format!("{many} places more to keep an eye on")),
        }
        let whole = self.cautions.iter().filter(|caution| caution.site.is_none());
        lines.extend(whole.map(|caution| caution.what.trim_end_matches('.').to_owned()));
        lines
    }

    /// Whether a site is marked so.
    #[must_use]
    pub fn degree_at(&self, site: SiteId, degree: Degree) -> bool {
        self.cautions.iter().any(|caution| caution.site == Some(site) && caution.degree == degree)
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
