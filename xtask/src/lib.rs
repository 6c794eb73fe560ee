//! The plan of the house kept by a test, and the documents generated from the code.

pub mod docs;
pub mod leaning;

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
    page.push_str(
        "\n## Floors and cautions\n\n\
         Every limit on a place is one of two kinds. A *floor* is a fact of the trade, published evidence or the\n\
         technician's own setting: it keeps places free, and only a person passes it, with a reason. A *caution* is a\n\
         model's figure: it costs points and marks the site, and keeps nothing free.\n\n\
         | limit | kind | why |\n|---|---|---|\n",
    );
    for limit in craft::placement::LIMITS {
        let kind = if limit.is_floor { "floor" } else { "caution" };
        let _ = writeln!(page, "| `{}` | {kind} | {} |", limit.rule, limit.why);
    }
    page
}
