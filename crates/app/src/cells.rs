//! Texts in the cells of a table that a spreadsheet may open: none is a formula.
//!
//! *Source*: key `owaspcsv`: cells that begin with = + - @, a tab or a carriage
//! return are reckoned; an apostrophe before them keeps them texts.

/// Whether a spreadsheet would reckon a text, or the same text with apostrophes before it.
fn is_reckoned(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(['=', '+', '-', '@', '\t', '\r'])
}

/// A text as it may stand in a cell.
#[must_use]
pub fn defused(text: &str) -> String {
    if is_reckoned(text) { format!("'{text}") } else { text.to_owned() }
}

/// A text as it was before [`defused`].
#[must_use]
pub fn restored(text: &str) -> String {
    text.strip_prefix('\'').filter(|_| is_reckoned(text)).unwrap_or(text).to_owned()
}

/// A cell of a row as it was written, quoted or not; a number stays a number.
#[must_use]
pub fn defused_as_written(cell: &str) -> String {
    if cell.trim().parse::<f64>().is_ok() {
        return cell.to_owned();
    }
    match cell.strip_prefix('"') {
        Some(quoted) if is_reckoned(quoted) => format!("\"'{quoted}"),
        Some(_) => cell.to_owned(),
        None => defused(cell),
    }
}
