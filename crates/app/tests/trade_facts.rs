//! Facts of the trade as properties of every plan of the case book (common
//! practice, no published source), measured from the plan's own coordinates by
//! code that shares nothing with the planner.

mod common;

use common::{plan_of, stories};
use serde_json::Value;

type Point = [f64; 3];

fn point(v: &Value) -> Point {
    let p = v.as_array().unwrap();
    [0, 1, 2].map(|i| p[i].as_f64().unwrap())
}

fn points(v: &Value) -> Vec<Point> {
    v.as_array().unwrap().iter().map(point).collect()
}

fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The straight distance from a point to a polyline: never more than the way over the skin.
fn straight(p: Point, line: &[Point]) -> f64 {
    line.windows(2)
        .map(|w| {
            let along = minus(w[1], w[0]);
            let t = (dot(minus(p, w[0]), along) / dot(along, along).max(1e-12)).clamp(0.0, 1.0);
            let foot = [0, 1, 2].map(|i| w[0][i] + t * along[i]);
            dot(minus(p, foot), minus(p, foot)).sqrt()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Plans with something placed.
fn plans() -> Vec<(String, Value)> {
    let all: Vec<(String, Value)> = stories().into_iter().map(|story| (story.clone(), plan_of(&story))).collect();
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
            assert!((1.0..=4.5).contains(&thick), "{story} {}: slice {thick} mm", site["site"]);
        }
    }
}

#[test]
fn t10_side_by_side_at_first_and_brick_from_there_on() {
    for (story, plan) in plans() {
        let back: Vec<&Value> = plan["rows"].as_array().unwrap().iter().filter(|r| r["zone"] != "side").collect();
        for (at, row) in back.iter().enumerate() {
            if at >= 3 {
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
        let borders = ["left_ear", "right_ear", "front_hairline"].map(|name| (name, points(&marks[name])));
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

#[test]
fn no_bond_shows_in_any_style_she_wears() {
    for (story, plan) in plans() {
        for site in sites(&plan) {
            for (style, share) in site["coverage"].as_object().unwrap() {
                assert!(number(share) >= 0.949, "{story} {} {style}: {share}", site["site"]);
            }
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
        let back: Vec<f64> = sites(&plan).iter().filter(|s| s["site"].as_str().unwrap().starts_with('B')).map(|s| number(&s["above_nape_mm"])).collect();
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
        assert!(buy.as_array().is_some_and(|b| !b.is_empty()) || from.as_array().is_some_and(|b| !b.is_empty()), "{story}: nothing is bought or taken");
    }
}
