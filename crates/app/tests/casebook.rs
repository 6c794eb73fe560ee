//! The stories of the case book against what each was reviewed to come to.
//!
//! After a change that is meant: `UPDATE_CASEBOOK=1 cargo test -p app --test casebook`,
//! then read the difference.

mod common;

use common::{casebook, plan_of, stories};
use serde_json::Value;
use std::fmt::Write;

/// A plan told so that a person can review it.
fn summary(plan: &Value) -> String {
    let mut out = String::new();
    let text = |v: &Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    let mut line = |s: String| writeln!(out, "{s}").unwrap();
    line(format!("verdict: {}", text(&plan["verdict"]["verdict"])));
    for met in plan["verdict"]["rules_met"].as_array().unwrap() {
        line(format!("  rule {}: {}", text(&met["rule"]), text(&met["because"])));
    }
    let quantity = &plan["quantity"];
    line(format!(
        "hair: {} g of {} wished, {} pieces, {} sandwiches",
        quantity["added_g"], quantity["wished_g"], quantity["pieces"], quantity["sandwiches"]
    ));
    line(format!("mix: {} (dE00 {})", plan["colour"]["mix"], plan["colour"]["mix_de00"]));
    for row in plan["rows"].as_array().unwrap() {
        let sites: Vec<&Value> = plan["sites"].as_array().unwrap().iter().filter(|s| s["row"] == row["row"]).collect();
        line(format!(
            "row {} {} ({}) starts {} mm up the {}, ends {} mm from {}",
            row["row"],
            text(&row["name"]),
            text(&row["setting"]),
            row["start"]["mm"],
            text(&row["start"]["on"]),
            row["end"]["mm"],
            text(&row["end"]["from"])
        ));
        for s in sites {
            let under = s["piece"].get("under_shade").map_or_else(String::new, |u| format!("+{}", text(u)));
            line(format!(
                "  {} {} mm from the line, along {} {} {}{under} {} mm, slice {} mm, {} hairs, {} mg a hair",
                text(&s["site"]),
                s["from_line_mm"],
                s["along_mm"],
                text(&s["piece"]["cut"]),
                text(&s["piece"]["shade"]),
                s["piece"]["length_mm"],
                s["slice_mm"],
                s["hairs"],
                s["load_mg_per_hair"]
            ));
        }
    }
    line(format!("buy: {}", plan["buy"]["buy"]));
    line(format!("quote: total {}, per week {}", plan["quote"]["total_minor"], plan["quote"]["per_week_minor"]));
    line(format!("re-tape: {} in {}", plan["retape"]["due"], plan["retape"]["window"]));
    for caution in plan["cautions"].as_array().unwrap() {
        line(format!("{} {}: {}", text(&caution["degree"]), text(&caution["site"]), text(&caution["what"])));
    }
    for fault in plan["faults"].as_array().unwrap() {
        line(format!("fault {}: {}", text(&fault["rule"]), text(&fault["what"])));
    }
    out
}

#[test]
fn every_story_comes_to_what_was_reviewed() {
    let stories = stories();
    assert!(stories.len() >= 6, "the case book holds six stories");
    let mut wrong = Vec::new();
    for story in stories {
        let told = summary(&plan_of(&story));
        let kept = casebook().join(&story).join("expected.txt");
        if std::env::var_os("UPDATE_CASEBOOK").is_some() {
            std::fs::write(&kept, &told).unwrap();
        } else if std::fs::read_to_string(&kept).unwrap_or_default() != told {
            wrong.push(format!("{story}:\n{told}"));
        }
    }
    assert!(wrong.is_empty(), "not as reviewed:\n{}", wrong.join("\n"));
}
