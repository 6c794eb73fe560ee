//! The map in three panels as a reader finds it: level lines, true lengths,
//! every site where a tape finds it, names that can be read.

use crate::head_map_svg;
use crate::map::pen::WIDTH;
use crate::tests::{attribute, example, said, sheet_pages, sites_of};
use craft::placement::HeadPart;
use measure::Length;
use roxmltree::{Document, Node};
use salon::plan::{Plan, PlanSide, SiteId};

/// Where a panel's millimetres fall on the drawing, as its group says.
struct OnPage {
    scale: f64,
    origin: [f64; 2],
}

fn panel<'a>(document: &'a Document<'a>, word: &str) -> (Node<'a, 'a>, OnPage) {
    let group = document.descendants().find(|n| n.attribute("data-panel") == Some(word)).unwrap();
    let (x, y) = group.attribute("data-origin").unwrap().split_once(' ').unwrap();
    (group, OnPage { scale: attribute(group, "data-scale"), origin: [x.parse().unwrap(), y.parse().unwrap()] })
}

/// The corners of a path that only moves and draws lines.
fn corners(d: &str) -> Vec<[f64; 2]> {
    d.split(['M', 'L', 'Z'])
        .filter(|part| !part.is_empty())
        .map(|part| {
            let (x, y) = part.trim().split_once(' ').unwrap();
            [x.parse().unwrap(), y.parse().unwrap()]
        })
        .collect()
}

fn placed(node: Node<'_, '_>) -> [f64; 2] {
    let inside = node.attribute("transform").unwrap().strip_prefix("translate(").unwrap().strip_suffix(')').unwrap();
    let (x, y) = inside.split_once(' ').unwrap();
    [x.parse().unwrap(), y.parse().unwrap()]
}

/// The scale bars say 50 mm, and are as long as that on their panels.
#[test]
fn the_scale_bars_are_true() {
    let svg = head_map_svg(&example::plan());
    let document = Document::parse(&svg).unwrap();
    for (id, word) in [("scale-back", "back"), ("scale-sides", "left")] {
        let bar = document.descendants().find(|n| n.attribute("id") == Some(id)).unwrap().attribute("d").unwrap();
        let (from, to) = bar.split('M').nth(2).unwrap().split_once('H').unwrap();
        let length = to.parse::<f64>().unwrap() - from.split_once(' ').unwrap().0.parse::<f64>().unwrap();
        assert!((length - 50.0 * panel(&document, word).1.scale).abs() < 0.02, "{id}: {length}");
    }
}

/// Rows are level on the sheet within a tenth of a millimetre, as high as they
/// start, and as long as on the head.
#[test]
fn rows_are_straight_level_and_as_long_as_on_the_head() {
    let plan = example::plan();
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    let mut seen = 0;
    for word in ["back", "left", "right"] {
        let (group, on) = panel(&document, word);
        for line in group.descendants().filter(|n| n.attribute("class") == Some("row-line")) {
            let row = plan.rows.iter().find(|row| Some(row.row.to_string().as_str()) == line.attribute("data-row")).unwrap();
            let ends = corners(line.attribute("d").unwrap());
            let height = on.origin[1] - on.scale * row.start.unwrap().up.to_mm();
            assert!(ends.iter().all(|end| (end[1] - height).abs() < 0.1), "{}: {ends:?}, wanted {height}", row.name);
            let length = (ends[1][0] - ends[0][0]).abs();
            // A side's line is drawn to the hairline that its panel shows.
            let wanted = on.scale * row.length.to_mm();
            assert!(
                if word == "back" { (length - wanted).abs() < 0.03 } else { length < wanted + 0.03 && length > 0.8 * wanted },
                "{}: {length}",
                row.name
            );
            seen += 1;
        }
    }
    assert_eq!(seen, plan.rows.len());
}

/// A tab lies under its row where a tape reads it, as wide as it is, on the
/// client's own side.
#[test]
fn tabs_are_to_scale_where_a_tape_finds_them() {
    let plan = example::plan();
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    for word in ["back", "left", "right"] {
        let (group, on) = panel(&document, word);
        for node in group.descendants().filter(|n| n.attribute("class") == Some("site")) {
            let site = plan.sites.iter().find(|site| node.attribute("data-site") == Some(site.site.to_string().as_str())).unwrap();
            let tab = node.descendants().find(|n| n.has_tag_name("rect")).unwrap();
            assert!((attribute(tab, "width") - on.scale * site.width.to_mm()).abs() < 0.03, "{}", site.site);
            let [x, y] = placed(node);
            let sign = if site.side == PlanSide::Left { -1.0 } else { 1.0 };
            assert!((x - on.origin[0] - sign * on.scale * site.from_line.unwrap().to_mm()).abs() < 0.02, "{}", site.site);
            let row = plan.rows.iter().find(|row| row.row == site.row).unwrap();
            assert!((y - on.origin[1] + on.scale * row.start.unwrap().up.to_mm()).abs() < 0.1, "{}", site.site);
        }
    }
}

/// The example is alike on both sides, so its map is its own mirror image.
#[test]
fn the_map_of_a_mirror_image_is_its_mirror_image() {
    let svg = head_map_svg(&example::plan());
    let document = Document::parse(&svg).unwrap();
    let spots: Vec<[f64; 2]> = sites_of(&document).into_iter().map(placed).collect();
    for [x, y] in &spots {
        let other = WIDTH - x;
        assert!(spots.iter().any(|[a, b]| (a - other).abs() < 0.021 && (b - y).abs() < 0.021), "nothing mirrors {x} {y}");
    }
}

/// What a name covers on the page: its place, and about its width.
fn covered(node: Node<'_, '_>) -> [[f64; 2]; 2] {
    let [left, top] = placed(node.parent().unwrap());
    let (x, y, size) = (left + attribute(node, "x"), top + attribute(node, "y"), attribute(node, "font-size"));
    let half = crate::words::width_em(node.text().unwrap()) * size / 2.0;
    [[x - half, y - 0.72 * size], [x + half, y]]
}

fn names_apart(plan: &Plan) {
    let svg = head_map_svg(plan);
    let document = Document::parse(&svg).unwrap();
    let names: Vec<_> = sites_of(&document).into_iter().map(|n| n.children().find(|c| c.has_tag_name("text")).unwrap()).collect();
    assert_eq!(names.len(), plan.sites.len());
    let boxes: Vec<_> = names.iter().map(|n| covered(*n)).collect();
    for i in 0..boxes.len() {
        for j in i + 1..boxes.len() {
            let meet = (0..2).all(|k| boxes[i][0][k] < boxes[j][1][k] && boxes[j][0][k] < boxes[i][1][k]);
            assert!(!meet, "{:?} lies on {:?}", names[i].text(), names[j].text());
        }
    }
}

#[test]
fn names_of_neighbouring_sites_never_overlap() {
    names_apart(&example::plan());
    // Rows as close as they are ever combed, every site a half beside the next, two shades in each.
    let mut plan = example::plan();
    let mut sites = Vec::new();
    for row in plan.rows.iter_mut().filter(|row| row.section == Some(HeadPart::Back)) {
        let start = 42.0 + 12.0 * f64::from(row.row - 1);
        row.start.as_mut().unwrap().up = Length::mm(start);
        let line = plan.panels.as_mut().unwrap().back.rows.iter_mut().find(|line| line.row == row.row).unwrap();
        line.line.iter_mut().for_each(|p| p[1] = start);
        for k in 0..6 {
            let along = 12.5 + 25.0 * f64::from(k % 3);
            let mut site = plan.sites[0].clone();
            site.site = SiteId::of(HeadPart::Back, row.row + 10, k + 10);
            (site.row, site.width, site.from_line) = (row.row, Length::mm(20.0), Some(Length::mm(along)));
            site.along = Length::mm(if k < 3 { -along } else { along });
            site.piece.under_shade = Some("S02".to_owned());
            sites.push(site);
        }
    }
    plan.sites = sites;
    names_apart(&plan);
}

/// Marks stand where they are due and nowhere else, each in the legend.
#[test]
fn what_the_models_mark_is_drawn_at_its_site_and_told() {
    let mut plan = example::plan();
    plan.set_by_hand = Some(salon::plan::SetByHand { sites: vec![SiteId::of(HeadPart::Back, 2, 1)], reason: None });
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    for (class, site) in [("may-show", "B7.1"), ("heavy", "B1.1"), ("standing", "B2.1")] {
        let marked = sites_of(&document).into_iter().filter(|n| n.descendants().any(|m| m.attribute("class") == Some(class)));
        assert_eq!(marked.filter_map(|n| n.attribute("data-site")).collect::<Vec<_>>(), [site], "{class}");
    }
    let texts: Vec<&str> = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    let show = format!("may show: 1 of {}", plan.sites.len());
    for wanted in [show.as_str(), "carries more than usual: 1", "already in, or set by hand"] {
        assert!(texts.contains(&wanted), "{wanted}: {texts:?}");
    }
    let typed = said(&sheet_pages(&plan));
    let show = format!("1 of {} bonds may show in a high ponytail.", plan.sites.len());
    assert!(typed.contains(&show) && typed.contains("1 slice carries more than usual for such hair."), "{typed}");
    plan.cautions.clear();
    let clean = head_map_svg(&plan);
    assert!(!clean.contains("may show") && !clean.contains("class=\"heavy\""));
}

/// A plan of before has no panels: it is drawn on one sheet, as it was.
#[test]
fn a_plan_of_before_is_drawn_as_it_was() {
    let plan = example::plan_of_before();
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    assert_eq!(sites_of(&document).len(), plan.sites.len());
    let texts: Vec<&str> = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    for wanted in [
        "left ear",
        "right ear",
        "midline",
        "ear to ear",
        "nape hairline (0 mm)",
        "front hairline",
        "50 mm on the head",
        "25 mm are kept free from the ear",
    ] {
        assert!(texts.contains(&wanted), "{wanted}");
    }
    for row in &plan.rows {
        for reading in [row.parting_above_nape.to_mm(), row.up_the_middle().to_mm()] {
            assert!(texts.contains(&format!("{} · {reading} mm", row.row).as_str()), "row {}", row.row);
        }
    }
    let typed = said(&sheet_pages(&plan));
    assert!(typed.contains("up the midline, from there") && typed.contains("mm from the midline"));
}
