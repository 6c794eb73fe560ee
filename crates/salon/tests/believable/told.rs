//! What a plan tells of its sites, told again from their places alone.

use super::means::{Means, pull};
use super::seen::View;
use super::{Complaint, number};
use craft::load::Pull;
use head::SkinPoint;
use serde_json::Value;

/// The plan rounds shares to thousandths, and this looks along the level line
/// that it cut itself.
const SHARE: f64 = 0.004;
/// Where a part ends, hair falls off it on the one side and round its end on
/// the other, and what is hidden leaps there: an end of a slice so near to it
/// may be told of either side, mm.
const SEAM: f64 = 0.02;
/// A hundredth of hairs and loads, and what rounding takes.
const HUNDREDTH: f64 = 0.02;
/// What lies closer than this to where a region begins may count as either, mm.
const BESIDE: f64 = 6.0;

/// What is told otherwise than it is found.
pub fn complaints(view: &mut View) -> Result<Vec<Complaint>, Complaint> {
    let means = Means::of(view, 0.0)?;
    let mut found = Vec::new();
    for at in 0..view.sites.len() {
        let site = view.sites[at].clone();
        let name = &site.name;
        let line = view.line(site.level);
        let moved = |aside: f64| site.slice.map(|s| SkinPoint(line.at(s + aside)));
        for flow in &means.flows {
            let hidden_at = |aside: f64| {
                let [from, to] = moved(aside);
                flow.worst_over_bond((from, to)).coverage
            };
            let hidden = hidden_at(0.0);
            let told = site.told["coverage"][flow.style().word()].as_f64().unwrap_or(f64::NAN);
            let close = |share: f64| (told - share).abs() <= SHARE;
            if !close(hidden) && !close(hidden_at(-SEAM)) && !close(hidden_at(SEAM)) {
                found.push(Complaint::new("told", format!("{name}: told {told} hidden worn {}, found {hidden:.3}", flow.style().word())));
            }
        }
        // Zones change from place to place: the middle and to either side of it.
        let zones = [-BESIDE, 0.0, BESIDE].map(|aside| means.head.zone(SkinPoint(line.at(site.middle() + aside))));
        let (long, thick) = (number(&site.told, "slice_width_mm", name)?, number(&site.told, "slice_mm", name)?);
        let hairs = number(&site.told, "hairs", name)?;
        let counted = zones.map(|zone| means.hair.density_in(zone).value.to_per_mm2() * long * thick);
        if !counted.iter().any(|count| (hairs / count - 1.0).abs() < HUNDREDTH + 0.05 / thick) {
            found.push(Complaint::new("told", format!("{name}: told {hairs} hairs in its slice, found {:.0}", counted[1])));
        }
        let pieces = if site.told["single_sided"].as_bool() == Some(true) { 1.0 } else { 2.0 };
        let hangs = pieces * number(&site.told["piece"], "mass_g", name)? * 1000.0;
        let load = number(&site.told, "load_mg_per_hair", name)?;
        let borne = zones.map(|zone| {
            // Drawn across the growth a strand feels 1.3 times, against it 1.6 times the weight (our choice).
            let times = match pull(&means.styles, zone) {
                Pull::WithGrowth => 1.0,
                Pull::Across => 1.3,
                Pull::Against => 1.6,
            };
            times * hangs / hairs.max(1.0)
        });
        if !borne.iter().any(|mg| (load / mg - 1.0).abs() < HUNDREDTH) {
            found.push(Complaint::new("told", format!("{name}: told {load} mg on a hair, found {:.1}", borne[1])));
        }
    }
    found.extend(ways(&view.trial.plan));
    Ok(found)
}

/// The levers that a way on may pull.
const LEVERS: [&str; 5] = ["lighter_piece", "single_sided", "bolder", "lighter_wish", "other_length"];

/// The ways on, where the plan lists any, have the shape that is promised.
fn ways(plan: &Value) -> Vec<Complaint> {
    let mut found = Vec::new();
    for way in plan["ways"].as_array().into_iter().flatten() {
        let levers: Vec<&str> = way["levers"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        let known = |lever: &&str| LEVERS.contains(lever) || lever.starts_with("without_");
        let numbers = ["added_g", "pieces", "sandwiches"].iter().all(|key| way[*key].is_number());
        if levers.is_empty() || levers.len() > 2 || !levers.iter().all(known) || !numbers {
            found.push(Complaint::new("ways", format!("{way}")));
        }
    }
    found
}
