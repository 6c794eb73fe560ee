//! The plan of the house kept by a test, and the documents generated from the code.

use std::fmt::Write;

/// The page that lists every rule, as Markdown.
#[must_use]
pub fn rules_page() -> String {
    let mut page = String::from(
        "# The rules\n\n\
         Every number that the program takes from the trade, from a publication or from our own\n\
         judgement. This page is generated from the code: `cargo run -p xtask -- rules > docs/rules.md`.\n\
         A grade of \"our choice\" means what it says: nobody published that number. Source keys are\n\
         those of SOURCES.bib.\n\n\
         | rule | says | value | may be set | grade | source |\n|---|---|---|---|---|---|\n",
    );
    for rule in craft::all_rules() {
        let (low, high) = rule.range;
        let unit = rule.unit;
        let _ = writeln!(
            page,
            "| `{}` | {} | {} {unit} | {} to {} | {} | {} |",
            rule.id,
            rule.says,
            rule.value,
            low,
            high,
            rule.grade.words(),
            rule.source,
        );
    }
    page
}
