//! Every place, row by row: where a sandwich sits, what it is made of, and why it
//! is there.

use super::map;
use super::words::without_fact;
use crate::web::client::fields::style_name;
use crate::web::frame::swatch;
use craft::coverage::Style;
use craft::piece::Setting;
use measure::text::{capital, millimetres, number, sentence};
use salon::plan::{Plan, RowPlan, SitePlan, border_words};
use std::collections::BTreeMap;

/// A row with its sites.
pub struct RowView {
    /// Its number in the order of work.
    pub row: u32,
    /// What it is called.
    pub title: String,
    /// How it is set.
    pub says: String,
    /// How its line is found.
    pub parting: String,
    /// Its sites.
    pub sites: Vec<SiteView>,
}

/// A site.
pub struct SiteView {
    /// Its name.
    pub site: String,
    /// Where along the parting.
    pub place: String,
    /// The shade and length.
    pub piece: String,
    /// The shades' swatches.
    pub swatches: Vec<String>,
    /// Its numbers.
    pub facts: Vec<(&'static str, String)>,
    /// How well it is hidden, by style: words, share, bar width of a hundred.
    pub hidden: Vec<(String, String, String)>,
    /// Why it is there.
    pub because: Vec<String>,
    /// What the models mark.
    pub cautions: Vec<String>,
}

/// The rows in the order of work, each with its sites.
pub fn rows(plan: &Plan) -> Vec<RowView> {
    plan.rows.iter().map(|row| row_view(plan, row)).collect()
}

fn row_view(plan: &Plan, row: &RowPlan) -> RowView {
    let sites: Vec<SiteView> = plan.sites.iter().filter(|site| site.row == row.row).map(|site| site_view(plan, site)).collect();
    RowView { row: row.row, title: row.called(), says: capital(row.setting.words()), parting: capital(&row.combed()), sites }
}

fn site_view(plan: &Plan, site: &SitePlan) -> SiteView {
    let piece = &site.piece;
    let fill = |code: &String| swatch::of_plan(plan, code);
    let under = piece.under_shade.as_ref().filter(|under| **under != piece.shade);
    let shades = under.map_or_else(|| piece.shade.clone(), |under| format!("{} over {under}", piece.shade));
    let cut = if piece.cut.is_half() { ", cut in half" } else { "" };
    let single = if site.setting == Setting::SingleSided { ", single-sided" } else { "" };
    SiteView {
        site: site.site.to_string(),
        place: map::from_line(site),
        piece: format!("{shades} · {}{cut}{single}", millimetres(piece.length)),
        swatches: std::iter::once(fill(&piece.shade)).chain(under.map(fill)).collect(),
        facts: vec![
            ("Slice", format!("{} wide, {} mm thick", millimetres(site.slice_width), number(site.slice.to_mm(), 1))),
            ("Tab", millimetres(site.width)),
            ("One piece", format!("{} g", number(piece.mass.to_g(), 2))),
            ("Hairs in the slice", number(site.hairs, 0)),
            ("Each hair carries", format!("{} mg", number(site.load_per_hair.to_mg(), 1))),
            ("Pull, 100 at the limit", number(site.traction_index, 0)),
            ("Hair left free", format!("{} to {}", millimetres(site.clearance), border_words(site.clearance_to))),
            ("Gaps one would see over it", number(site.gaps.values().copied().fold(0.0, f64::max), 1)),
            ("True place within", format!("± {} mm", number(site.sigma.to_mm(), 1))),
        ],
        hidden: hidden(&site.coverage),
        because: site.because.iter().map(|because| sentence(&without_fact(because))).collect(),
        cautions: plan.cautions.iter().filter(|caution| caution.site == Some(site.site)).map(|caution| sentence(&caution.what)).collect(),
    }
}

fn hidden(coverage: &BTreeMap<Style, f64>) -> Vec<(String, String, String)> {
    coverage
        .iter()
        .map(|(style, share)| {
            let percent = (share * 100.0).clamp(0.0, 100.0);
            (style_name(style.word()), format!("{} %", number(percent, 0)), number(percent, 1))
        })
        .collect()
}
