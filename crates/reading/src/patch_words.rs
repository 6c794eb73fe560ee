//! The chart's patches in plain words: what they look like and where they lie.

use crate::words::Message;
use colour::chart::COLUMNS;
use measure::text::list;
use measure::words::Sentence;

/// What each patch looks like, row by row.
static LOOKS: [Message; 24] = [
    Message::LookBrown,
    Message::LookPalePink,
    Message::LookGreyBlue,
    Message::LookDullGreen,
    Message::LookLilac,
    Message::LookPaleTurquoise,
    Message::LookOrange,
    Message::LookDarkBlue,
    Message::LookCoralRed,
    Message::LookDarkPurple,
    Message::LookYellowGreen,
    Message::LookGoldenYellow,
    Message::LookDeepBlue,
    Message::LookGreen,
    Message::LookRed,
    Message::LookYellow,
    Message::LookPink,
    Message::LookTurquoiseBlue,
    Message::LookWhite,
    Message::LookLightestGrey,
    Message::LookLightGrey,
    Message::LookMiddleGrey,
    Message::LookDarkGrey,
    Message::LookBlack,
];

static PLACES: [Message; 6] = [Message::First, Message::Second, Message::Third, Message::Fourth, Message::Fifth, Message::Last];
static ROWS: [Message; 4] = [Message::First, Message::Second, Message::Third, Message::Last];

/// A patch of this number, counted along the rows from the brown one, in words:
/// "the brown patch, first in the first row".
///
/// ```
/// assert_eq!(reading::patch_in_words(14), "the red patch, third in the third row");
/// ```
#[must_use]
pub fn patch_in_words(index: usize) -> String {
    let (row, column) = ((index / COLUMNS).min(3), index % COLUMNS);
    Message::Patch { look: LOOKS[index.min(23)].says(), place: PLACES[column].says(), row: ROWS[row].says() }.into()
}

/// Several patches by their looks: "the brown, red and black patches".
///
/// ```
/// assert_eq!(reading::patch_list(&[0, 14, 23]), "the brown, red and black patches");
/// ```
#[must_use]
pub fn patch_list(indices: &[usize]) -> String {
    let looks: Vec<&str> = indices.iter().map(|i| LOOKS[(*i).min(23)].text()).collect();
    match looks.as_slice() {
        [] => Message::NoPatch.into(),
        [_] => patch_in_words(indices[0]),
        several => Message::Patches { looks: list(several) }.into(),
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
