//! Sentences of the floors below as the plan's page says them: without what only the
//! table of the rules needs.

/// A sentence without what only the rules' own table needs: the number of a
/// fact of the trade, as in "(T12)", and the name of a rule, as in "(load-slice-most)".
pub fn without_fact(says: &str) -> String {
    let mut rest = says;
    let mut out = String::new();
    while let Some(at) = rest.find(" (") {
        let inside = &rest[at + 2..];
        let close = inside.find(')').unwrap_or(0);
        if is_of_the_rules(&inside[..close]) {
            out.push_str(&rest[..at]);
            rest = &inside[close + 1..];
        } else {
            out.push_str(&rest[..at + 2]);
            rest = inside;
        }
    }
    out + rest
}

/// Whether a word is the number of a fact or the name of a rule.
fn is_of_the_rules(word: &str) -> bool {
    let fact = word.strip_prefix('T').is_some_and(|digits| !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit()));
    let parts = ["load", "place", "worth", "coverage", "piece", "quantity", "growth", "retape"];
    let rule =
        word.split_once('-').is_some_and(|(first, _)| parts.contains(&first)) && word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    fact || rule
}

/// A sentence without the words that already stand above it.
pub fn without<'a>(says: &'a str, words: &str) -> &'a str {
    let begins = says.get(..words.len()).is_some_and(|start| start.eq_ignore_ascii_case(words));
    if begins { says[words.len()..].trim_start_matches([':', '.', ',', ' ']) } else { says }
}
