//! The table of sites, row by row in working order, and the count of shades.

use crate::map::pen::letters;
use crate::shade::Shade;
use crate::words::one_line;
use craft::piece::Setting;
use craft::placement::{Degree, RowSetting};
use measure::Length;
use measure::text::{capital, counted, millimetres, number};
use salon::plan::{Plan, PlanSide, RowPlan, SitePlan, border_words, whole_pieces};
use salon::stock::StockLength;
use serde::Serialize;

/// One row of the table with its sites.
#[derive(Debug, Serialize)]
pub(crate) struct RowLines {
    /// `Row 3`.
    name: String,
    /// Where it lies and how it is set.
    says: String,
    sites: Vec<SiteLine>,
}

/// One site, every cell as it is printed.
#[derive(Debug, Serialize)]
pub(crate) struct SiteLine {
    site: String,
    side: String,
    along: String,
    /// What it is measured from.
    from: String,
    marks: String,
    shade: String,
    length: String,
    cut: String,
    slice: String,
    hairs: String,
}

/// The rows with their sites, in the order in which they are worked. A site
/// whose row is not listed comes last under a row of its own number, so that
/// none is ever left out.
pub(crate) fn rows(plan: &Plan, shades: &[Shade]) -> Vec<RowLines> {
    let (rows, sites) = (&plan.rows, &plan.sites);
    let mut lines: Vec<RowLines> = rows
        .iter()
        .map(|row| RowLines { name: row.called(), says: row_says(row), sites: in_row(plan, row.row, shades) })
        .filter(|row| !row.sites.is_empty())
        .collect();
    let mut missing: Vec<u32> = sites.iter().map(|s| s.row).filter(|n| rows.iter().all(|row| row.row != *n)).collect();
    missing.dedup();
    for row in missing {
        let height = sites.iter().find(|s| s.row == row).map_or(Length::mm(f64::NAN), |s| s.above_nape);
        lines.push(RowLines {
            name: format!("Row {row}"),
            says: format!("parting {} from the nape hairline", millimetres(height)),
            sites: in_row(plan, row, shades),
        });
    }
    lines
}

fn in_row(plan: &Plan, row: u32, shades: &[Shade]) -> Vec<SiteLine> {
    plan.sites.iter().filter(|site| site.row == row).map(|site| site_line(plan, site, shades)).collect()
}

fn row_says(row: &RowPlan) -> String {
    if row.section.is_some() {
        let setting = if row.setting == RowSetting::Brick { "in brick".to_owned() } else { row.setting.words().to_owned() };
        return format!("{}; {setting}", row.combed());
    }
    format!("{}: {}, {}", row.zone.word(), row.combed(), row.setting.words())
}

fn site_line(plan: &Plan, site: &SitePlan, shades: &[Shade]) -> SiteLine {
    let piece = &site.piece;
    let (along, from) = along(site);
    let code = match &piece.under_shade {
        Some(under) if *under != piece.shade => format!("{} over {}", one_line(&piece.shade), one_line(under)),
        _ => one_line(&piece.shade),
    };
    SiteLine {
        site: site.site.to_string(),
        side: capital(site.side.words()),
        along,
        from,
        marks: marks(plan, site),
        shade: format!("{}: {code}", letters(site, shades)),
        length: number(piece.length.to_mm(), 0),
        cut: match (piece.cut.is_half(), site.setting == Setting::SingleSided) {
            (true, true) => "half, with a strip",
            (true, false) => "half",
            (false, true) => "whole, with a strip",
            (false, false) => "whole",
        }
        .to_owned(),
        slice: format!("{} × {}", number(site.slice.to_mm(), 1), number(site.slice_width.to_mm(), 0)),
        hairs: number(site.hairs, 0),
    }
}

/// So many millimetres, and from where.
fn along(site: &SitePlan) -> (String, String) {
    let words = match (site.section, site.side) {
        (None, PlanSide::Centre) if site.along.abs().to_mm() < 0.5 => "0 mm from the midline".to_owned(),
        (None, _) => format!("{} from the midline", millimetres(site.along.abs())),
        (Some(_), _) => site.along_words(),
    };
    match words.split_once(" mm ") {
        Some((mm, from)) => (mm.to_owned(), format!("mm {from}")),
        None => ("0".to_owned(), words),
    }
}

/// What the models mark at a site, as the map draws it.
fn marks(plan: &Plan, site: &SitePlan) -> String {
    let words = [(Degree::MayShow, "may show"), (Degree::Heavy, "carries much"), (Degree::Watch, "watch")];
    words.into_iter().filter(|(degree, _)| plan.degree_at(site.site, *degree)).map(|(_, says)| says).collect::<Vec<_>>().join(", ")
}

/// One line of the count of shades: letter, shade, length, sandwiches, pieces.
pub(crate) fn shade_lines(sites: &[SitePlan], shades: &[Shade]) -> Vec<[String; 5]> {
    let whole = whole_pieces(sites);
    let mut lines = Vec::new();
    for shade in shades {
        let of_shade = whole.iter().filter(|((code, _), _)| *code == shade.code);
        for ((_, length), pieces) in of_shade {
            let uses =
                |s: &&SitePlan| s.shades().any(|code| code == shade.code) && StockLength::mm(s.piece.length.to_mm()) == Some(*length);
            let with: Vec<&SitePlan> = sites.iter().filter(uses).collect();
            let cut = with.iter().filter(|s| s.piece.cut.is_half()).count();
            let of_them = if cut == 0 { String::new() } else { format!(", {cut} cut in half") };
            let name = if shade.name.is_empty() || shade.name == shade.code {
                one_line(&shade.code)
            } else {
                format!("{}, {}", one_line(&shade.code), shade.name)
            };
            lines.push([shade.letter.clone(), name, millimetres(length.length()), format!("{}{of_them}", with.len()), pieces.to_string()]);
        }
    }
    lines
}

/// What stands under the table: how exact its numbers are.
pub(crate) fn notes(sites: &[SitePlan]) -> Vec<String> {
    let sigmas = sites.iter().map(|s| s.sigma.to_mm()).filter(|s| s.is_finite());
    let (low, high) = (sigmas.clone().fold(f64::INFINITY, f64::min), sigmas.fold(0.0, f64::max));
    let mut notes = Vec::new();
    if high > 0.0 {
        let spread = if number(low, 0) == number(high, 0) {
            millimetres(Length::mm(high))
        } else {
            format!("{} to {}", number(low, 0), millimetres(Length::mm(high)))
        };
        notes.push(format!(
            "The places are reckoned from her tape measures: on the head each may lie about {spread} off (one standard error), \
             twice that now and then. Where it does, keep the distance from hairline and ear first."
        ));
    }
    if let Some(tightest) =
        sites.iter().filter(|s| s.clearance.to_mm().is_finite()).min_by(|a, b| a.clearance.to_mm().total_cmp(&b.clearance.to_mm()))
    {
        notes.push(format!(
            "Closest to a border: {}, {} from {}.",
            tightest.site,
            millimetres(tightest.clearance),
            border_words(tightest.clearance_to)
        ));
    }
    if sites.iter().any(|site| site.setting == Setting::SingleSided) {
        notes.push("With a strip: one piece over the slice and a bare backing strip under it, for less weight.".to_owned());
    }
    notes.push(
        "Slices are given as thickness and width in mm; both ends of the tab stay bare, adhesive on adhesive. \
         Hairs in a slice follow from her density and are an estimate."
            .to_owned(),
    );
    notes
}

/// `8 rows, 31 sandwiches`.
pub(crate) fn summary(rows: &[RowPlan], sites: &[SitePlan]) -> String {
    format!("{}, {}", counted(rows.len(), "row", "rows"), counted(sites.len(), "sandwich", "sandwiches"))
}
