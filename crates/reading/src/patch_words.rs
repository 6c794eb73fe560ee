//! The chart's patches in plain words: what they look like and where they lie.

use colour::chart::COLUMNS;
use measure::text::list;

/// What each patch looks like, row by row.
const LOOKS: [&str; 24] = [
    "brown",
    "pale pink",
    "grey-blue",
    "dull green",
    "lilac",
    "pale turquoise",
    "orange",
    "dark blue",
    "coral red",
    "dark purple",
    "yellow-green",
    "golden yellow",
    "deep blue",
    "green",
    "red",
    "yellow",
    "pink",
    "turquoise blue",
    "white",
    "lightest grey",
    "light grey",
    "middle grey",
    "dark grey",
    "black",
];

const PLACES: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "last"];
const ROWS: [&str; 4] = ["first", "second", "third", "last"];

/// A patch of this number, counted along the rows from the brown one, in words:
/// "the brown patch, first in the first row".
///
/// ```
/// assert_eq!(reading::patch_in_words(14), "the red patch, third in the third row");
/// ```
#[must_use]
pub fn patch_in_words(index: usize) -> String {
    let (row, column) = ((index / COLUMNS).min(3), index % COLUMNS);
    format!("the {} patch, {} in the {} row", LOOKS[index.min(23)], PLACES[column], ROWS[row])
}

/// Several patches by their looks: "the brown, red and black patches".
///
/// ```
/// assert_eq!(reading::patch_list(&[0, 14, 23]), "the brown, red and black patches");
/// ```
#[must_use]
pub fn patch_list(indices: &[usize]) -> String {
    let looks: Vec<&str> = indices.iter().map(|i| LOOKS[(*i).min(23)]).collect();
    match looks.as_slice() {
        [] => "no patch".to_owned(),
        [_] => patch_in_words(indices[0]),
        several => format!("the {} patches", list(several)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patches_are_named_by_look_and_place() {
        assert_eq!(patch_in_words(0), "the brown patch, first in the first row");
        assert_eq!(patch_in_words(23), "the black patch, last in the last row");
        assert_eq!(patch_list(&[0, 14, 23]), "the brown, red and black patches");
        assert_eq!(patch_list(&[18]), "the white patch, first in the last row");
    }
}
