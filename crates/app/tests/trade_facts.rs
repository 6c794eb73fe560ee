//! Facts of the trade as properties of every plan of the case book (common
//! practice, no published source), measured from the plan's own coordinates by
//! code that shares nothing with the planner but the arithmetic of vectors.

mod common;

use common::{plan_of, stories};
use measure::vector::{Vec3 as Point, distance, dot, sub};
use serde_json::Value;
use std::sync::OnceLock;

fn point(v: &Value) -> Point {
    let p = v.as_array().unwrap();
    [0, 1, 2].map(|i| p[i].as_f64().unwrap())
}

fn points(v: &Value) -> Vec<Point> {
    v.as_array().unwrap().iter().map(point).collect()
}

/// The straight distance from a point to a polyline: never more than the way over the skin.
fn straight(p: Point, line: &[Point]) -> f64 {
    line.windows(2)
        .map(|w| {
            let along = sub(w[1], w[0]);
            let t = (dot(sub(p, w[0]), along) / dot(along, along).max(1e-12)).clamp(0.0, 1.0);
            let foot = [0, 1, 2].map(|i| w[0][i] + t * along[i]);
            distance(p, foot)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Plans with something placed.
fn plans() -> Vec<(String, Value)> {
    static ALL: OnceLock<Vec<(String, Value)>> = OnceLock::new();
    let all = ALL.get_or_init(|| stories().into_iter().map(|story| (story.clone(), plan_of(&story))).collect()).clone();
    let placed: Vec<_> = all.into_iter().filter(|(_, plan)| !plan["sites"].as_array().unwrap().is_empty()).collect();
    assert!(placed.len() >= 4, "most stories can be placed");
    placed
}

fn sites(plan: &Value) -> &Vec<Value> {
    plan["sites"].as_array().unwrap()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

/// A chord is a little shorter than the way over the skin; the plan rounds to a tenth.
const CHORD: f64 = 1.0;

#[test]
fn t1_a_set_is_retaped_every_six_to_eight_weeks() {
    for (story, plan) in plans() {
        let due = number(&plan["retape"]["due"]);
        assert!((42.0..=56.0).contains(&due), "{story}: day {due}");
    }
}

/// Up and forward of the head's own frame: pitched 15 degrees, gaze level.
fn up_and_forward() -> (Point, Point) {
    let (sine, cosine) = 15.0_f64.to_radians().sin_cos();
    ([0.0, sine, cosine], [0.0, cosine, -sine])
}

/// What stands beyond the slice on either side: half of what the tab is wider.
fn beyond(site: &Value) -> f64 {
    (number(&site["width_mm"]) - number(&site["slice_width_mm"])) / 2.0
}

#[test]
fn t5_no_tab_crosses_the_middle_or_the_line_from_ear_to_ear() {
    let (_, forward) = up_and_forward();
    for (story, plan) in plans() {
        let line = points(&plan["landmarks_mm"]["ear_to_ear_line"]);
        let at: Vec<f64> = line.iter().map(|p| dot(*p, forward)).collect();
        let ear = at.iter().sum::<f64>() / at.len() as f64;
        assert!(at.iter().all(|f| (f - ear).abs() < 0.1), "{story}: the sectioning line lies in one plane");
        for site in sites(&plan) {
            let ends = points(&site["ends_mm"]);
            let name = &site["site"];
            match site["section"].as_str().unwrap() {
                "back" => {
                    // The tab reaches further than its slice: so far from the middle the slice must stay.
                    let clear = ends.iter().map(|p| p[0].abs()).fold(f64::INFINITY, f64::min);
                    assert!(ends[0][0] * ends[1][0] > 0.0 && clear > beyond(site) * 0.9, "{story} {name} crosses the middle");
                    assert!(ends.iter().all(|p| dot(*p, forward) < ear), "{story} {name} crosses the line from ear to ear");
                }
                side => {
                    assert!(ends.iter().all(|p| dot(*p, forward) > ear), "{story} {name} crosses the line from ear to ear");
                    assert!(ends.iter().all(|p| (p[0] < 0.0) == (side == "left")), "{story} {name} stands on the other side");
                }
            }
        }
    }
}

#[test]
fn t14_every_row_is_one_level_line_without_a_kink() {
    let (up, _) = up_and_forward();
    for (story, plan) in plans() {
        for row in plan["rows"].as_array().unwrap() {
            let levels: Vec<f64> =
                sites(&plan).iter().filter(|s| s["row"] == row["row"]).flat_map(|s| points(&s["ends_mm"])).map(|p| dot(p, up)).collect();
            let (low, high) = levels.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
            assert!(!levels.is_empty() && high - low < 0.05, "{story}: row {} is {} mm from level", row["name"], high - low);
        }
    }
}

#[test]
fn t6_the_first_parting_is_about_38_mm_up_when_hair_is_tied() {
    for (story, plan) in plans() {
        let up = sites(&plan).iter().any(|s| s["coverage"].as_object().unwrap().keys().any(|k| k.contains("ponytail") || k == "bun"));
        let lowest = plan["rows"].as_array().unwrap().iter().map(|r| number(&r["parting_above_nape_mm"])).fold(f64::INFINITY, f64::min);
        assert!(!up || lowest >= 38.0, "{story}: first parting at {lowest} mm");
        let nape = points(&plan["landmarks_mm"]["nape_hairline"]);
        for site in sites(&plan) {
            for end in points(&site["ends_mm"]) {
                let free = straight(end, &nape);
                assert!(!up || free >= 38.0 - 2.0 * CHORD, "{story} {}: {free} mm from the nape hairline", site["site"]);
            }
        }
    }
}

#[test]
fn t8_the_slice_is_10_mm_narrower_than_a_whole_tab_and_thin() {
    for (story, plan) in plans() {
        for site in sites(&plan) {
            let margin = number(&site["width_mm"]) - number(&site["slice_width_mm"]);
            let wanted = if site["piece"]["cut"] == "half" { 5.0 } else { 10.0 };
            assert!((margin - wanted).abs() < 0.11, "{story} {}: margin {margin}", site["site"]);
            let thick = number(&site["slice_mm"]);
            // Thin enough to see through, never above 6 mm, whatever the rows leave.
            assert!((1.0..=6.0).contains(&thick), "{story} {}: slice {thick} mm", site["site"]);
        }
    }
}

#[test]
fn t10_side_by_side_at_first_and_brick_from_there_on() {
    for (story, plan) in plans() {
        let back: Vec<&Value> = plan["rows"].as_array().unwrap().iter().filter(|r| r["section"] == "back").collect();
        for (at, row) in back.iter().enumerate() {
            // Over an empty stretch no gap can stand over a gap: rows 40 mm apart are none of each other's business.
            let below = at.checked_sub(1).map_or(0.0, |below| number(&back[below]["start"]["mm"]));
            if at >= 3 && number(&row["start"]["mm"]) - below < 40.0 {
                assert_eq!(row["setting"], "brick", "{story}: row {}", row["row"]);
            }
        }
        assert!(back.is_empty() || back[0]["setting"] == "side_by_side", "{story}");
    }
}

#[test]
fn t11_at_the_back_nothing_goes_higher_than_the_crown() {
    // The Frankfurt vertical of the head's frame: pitched 15 degrees forward.
    let up: Point = [0.0, 15.0_f64.to_radians().sin(), 15.0_f64.to_radians().cos()];
    for (story, plan) in plans() {
        let crown = dot(point(&plan["landmarks_mm"]["crown"]), up);
        for site in sites(&plan).iter().filter(|s| s["site"].as_str().unwrap().starts_with('B')) {
            for end in points(&site["ends_mm"]) {
                assert!(dot(end, up) <= crown + CHORD, "{story} {}", site["site"]);
            }
        }
    }
}

#[test]
fn t12_an_inch_is_kept_from_ears_and_from_the_hairline() {
    for (story, plan) in plans() {
        let marks = &plan["landmarks_mm"];
        let borders =
            ["left_ear", "right_ear", "front_hairline", "left_behind_ear", "right_behind_ear"].map(|name| (name, points(&marks[name])));
        for site in sites(&plan) {
            for end in points(&site["ends_mm"]) {
                for (name, line) in &borders {
                    let free = straight(end, line);
                    assert!(free >= 25.0 - CHORD, "{story} {}: {free} mm from {name}", site["site"]);
                }
            }
        }
    }
}

/// The chance that a bond shows at an optical depth, as the specification of
/// partings has it: P = 1 / (1 + 9 (depth / 3)^5); from one in two on nothing is set.
#[test]
fn a_bond_that_may_show_is_marked_and_one_more_likely_to_show_than_not_is_not_set() {
    for (story, plan) in plans() {
        let marked: Vec<&Value> =
            plan["cautions"].as_array().unwrap().iter().filter(|c| c["degree"] == "may_show").map(|c| &c["site"]).collect();
        for site in sites(&plan) {
            let least = site["coverage"].as_object().unwrap().values().map(number).fold(1.0, f64::min);
            let chance = |share: f64| 1.0 / (1.0 + 9.0 * (-(1.0 - share).max(1e-9).ln() / 3.0).powi(5));
            // Shares are told to a thousandth.
            assert!(chance(least + 0.001) < 0.5, "{story} {}: {least}", site["site"]);
            let is_marked = marked.contains(&&site["site"]);
            // Usual care marks from one in ten.
            assert!(is_marked || chance(least + 0.001) < 0.1, "{story} {}: {least} and not marked", site["site"]);
            assert!(!is_marked || chance(least - 0.001) > 0.1, "{story} {}: {least} and marked", site["site"]);
        }
    }
}

#[test]
fn tabs_of_a_row_never_overlap_and_rows_keep_their_height() {
    for (story, plan) in plans() {
        for a in sites(&plan) {
            let row = plan["rows"].as_array().unwrap().iter().find(|r| r["row"] == a["row"]).unwrap();
            assert_eq!(row["parting_above_nape_mm"], a["above_nape_mm"], "{story} {}", a["site"]);
            for b in sites(&plan).iter().filter(|b| b["row"] == a["row"] && b["site"] != a["site"]) {
                let apart = (number(&a["along_mm"]) - number(&b["along_mm"])).abs();
                let wide = (number(&a["width_mm"]) + number(&b["width_mm"])) / 2.0;
                assert!(apart >= wide - 0.11, "{story}: {} over {}", a["site"], b["site"]);
            }
        }
    }
}

#[test]
fn every_site_is_worked_once_from_the_nape_upward_and_then_the_sides() {
    for (story, plan) in plans() {
        let on_sheet: Vec<&str> = plan["steps"].as_array().unwrap().iter().filter_map(|s| s["site"].as_str()).collect();
        let on_map: Vec<&str> = sites(&plan).iter().map(|s| s["site"].as_str().unwrap()).collect();
        assert_eq!(on_sheet, on_map, "{story}");
        let back: Vec<f64> =
            sites(&plan).iter().filter(|s| s["site"].as_str().unwrap().starts_with('B')).map(|s| number(&s["above_nape_mm"])).collect();
        assert!(back.windows(2).all(|w| w[0] <= w[1]), "{story}");
        let first_side = on_map.iter().position(|s| !s.starts_with('B')).unwrap_or(on_map.len());
        assert!(on_map[first_side..].iter().all(|s| !s.starts_with('B')), "{story}: the back comes before the sides");
    }
}

#[test]
fn pieces_in_the_mix_are_those_on_the_head_and_those_bought() {
    for (story, plan) in plans() {
        let mix: f64 = plan["colour"]["mix"].as_object().unwrap().values().map(number).sum();
        assert!((mix - number(&plan["quantity"]["pieces"])).abs() < 0.5, "{story}");
        let (buy, from) = (&plan["buy"]["buy"], &plan["buy"]["from_stock"]);
        assert!(
            buy.as_array().is_some_and(|b| !b.is_empty()) || from.as_array().is_some_and(|b| !b.is_empty()),
            "{story}: nothing is bought or taken"
        );
    }
}
