//! Labels: their codes read back by a reader that shares nothing with the writer (the
//! crate `rqrr`), and their sheets.

use paper::{Fonts, LABELS_ON_A_SHEET, Label, code_svg, labels};
use proptest::prelude::*;

/// Pixels to a module.
const SCALE: usize = 4;

/// A code's drawing as pixels: its side in pixels, and whether each is dark.
fn pixels(svg: &str) -> (usize, Vec<bool>) {
    let document = roxmltree::Document::parse(svg).unwrap();
    let side: usize = document.root_element().attribute("viewBox").unwrap().split(' ').nth(3).unwrap().parse().unwrap();
    let mut dark = vec![false; (side * SCALE).pow(2)];
    let path = document.descendants().find(|node| node.attribute("fill") == Some("#000")).unwrap();
    for run in path.attribute("d").unwrap().split('M').skip(1) {
        let (from, long) = run.split_once('h').unwrap();
        let (x, y) = from.split_once(' ').unwrap();
        let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
        let long: usize = long.split_once('v').unwrap().0.parse().unwrap();
        for at_y in y * SCALE..(y + 1) * SCALE {
            dark[at_y * side * SCALE..][x * SCALE..(x + long) * SCALE].fill(true);
        }
    }
    (side * SCALE, dark)
}

fn read(svg: &str) -> String {
    let (side, dark) = pixels(svg);
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| if dark[y * side + x] { 0 } else { 255 });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "{svg}");
    grids[0].decode().unwrap().1
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn a_code_says_what_it_was_given(text in "http://[a-z0-9.]{4,20}:[0-9]{4}/(shelf/packs/[0-9]{1,7}|clients/[0-9a-f-]{36}/visits)") {
        prop_assert_eq!(read(&code_svg(&text).unwrap()), text);
    }
}

#[test]
fn a_code_says_other_letters_too() {
    for text in ["x", "Zoë’s pieces – lot Ł-7", "日本語"] {
        assert_eq!(read(&code_svg(text).unwrap()), text);
    }
}

#[test]
fn what_no_code_holds_is_said() {
    let fault = code_svg(&"x".repeat(5000)).unwrap_err();
    assert_eq!(fault.to_string(), "a text of 5000 characters does not go into a 2-D code: shorten it");
}

#[test]
fn a_begun_sheet_is_gone_on_with_and_the_next_begun_after_24() {
    let label = Label {
        heading: "S07 500 mm".into(),
        lines: vec!["Lot T-0116".into(), "20 pieces 🙂".into()],
        code: "http://127.0.0.1:8686/shelf/packs/7".into(),
    };
    let pages = |count: usize, used| {
        let pdf = labels(&vec![label.clone(); count], used, Some("Wren & Daughters"), &Fonts::default()).unwrap();
        pdf.windows(b"/Type/Page".len() + 1).filter(|at| at.starts_with(b"/Type/Page") && at[10] != b's').count()
    };
    assert_eq!(pages(1, 0), 1);
    assert_eq!(pages(LABELS_ON_A_SHEET, 0), 1);
    assert_eq!(pages(LABELS_ON_A_SHEET, 1), 2);
    assert_eq!(pages(3, LABELS_ON_A_SHEET - 3), 1);
    assert_eq!(pages(3, LABELS_ON_A_SHEET - 2), 2);
}
