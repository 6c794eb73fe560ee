//! The papers as a reader finds them: what stands on them, where, and that no
//! text whatever breaks them.

#[path = "../tests/support/mod.rs"]
pub(crate) mod example;

use crate::heading::Heading;
use crate::shade::of_plan as shades;
use crate::{Fonts, PAPERS, aftercare, head_map_svg, quote, sheet, typeset};
use measure::Length;
use roxmltree::{Document, Node};
use salon::plan::Plan;
use typst::layout::{Frame, FrameItem, Point, Transform};
use typst_layout::PagedDocument;

fn heading() -> Heading {
    Heading {
        salon: Some("Salon Lindenhof".to_owned()),
        client: Some("Ada Fairweather".to_owned()),
        date: Some(jiff::civil::date(2026, 3, 2)),
    }
}

/// A run of text on a page.
#[derive(Debug, Clone)]
struct Run {
    page: usize,
    at: [f64; 2],
    size: f64,
    text: String,
}

fn runs(document: &PagedDocument) -> Vec<Run> {
    fn walk(frame: &Frame, page: usize, to_page: Transform, runs: &mut Vec<Run>) {
        for (at, item) in frame.items() {
            match item {
                FrameItem::Group(group) => {
                    let inside = to_page.pre_concat(Transform::translate(at.x, at.y)).pre_concat(group.transform);
                    walk(&group.frame, page, inside, runs);
                }
                FrameItem::Text(text) => {
                    let Point { x, y } = at.transform(to_page);
                    runs.push(Run { page, at: [x.to_pt(), y.to_pt()], size: text.size.to_pt(), text: text.text.to_string() });
                }
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    for (page, set) in document.pages().iter().enumerate() {
        walk(&set.frame, page, Transform::identity(), &mut found);
    }
    found
}

pub(crate) fn sheet_pages(plan: &Plan) -> PagedDocument {
    let content = sheet::run_sheet(plan, &heading(), &shades(plan));
    set(sheet::PAPER.template, &content, Some(head_map_svg(plan)))
}

fn set(template: &'static str, content: &impl serde::Serialize, drawing: Option<String>) -> PagedDocument {
    let data = crate::paper::filled(content).unwrap();
    typeset::pages(&typeset::Copy { template, data, drawing, fonts: &Fonts::default(), date: None }).unwrap()
}

pub(crate) fn said(document: &PagedDocument) -> String {
    // Lines end in a space that no sentence has.
    let text = runs(document).into_iter().map(|run| run.text).collect::<Vec<_>>().join(" ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(crate) fn sites_of<'a>(svg: &'a Document<'a>) -> Vec<Node<'a, 'a>> {
    svg.descendants().filter(|node| node.attribute("class") == Some("site")).collect()
}

pub(crate) fn attribute(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

#[test]
fn every_site_stands_on_the_map_once_with_its_shades() {
    let plan = example::plan();
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    let drawn = sites_of(&document);
    assert_eq!(drawn.len(), plan.sites.len());
    for site in &plan.sites {
        let with_name: Vec<_> = drawn.iter().filter(|node| node.attribute("data-site") == Some(site.site.to_string().as_str())).collect();
        let [node] = with_name[..] else { panic!("{} stands {} times", site.site, with_name.len()) };
        let label = node.children().find(|child| child.has_tag_name("text")).unwrap().text().unwrap();
        let letter = |code: &str| shades(&plan).iter().find(|shade| shade.code == code).unwrap().letter.clone();
        let wanted = match &site.piece.under_shade {
            Some(under) => format!("{} {}/{}", site.site, letter(&site.piece.shade), letter(under)),
            None => format!("{} {}", site.site, letter(&site.piece.shade)),
        };
        assert_eq!(label, wanted);
    }
}

#[test]
fn the_map_names_its_landmarks_heights_and_reasons_and_can_be_heard() {
    let plan = example::plan();
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    for id in root.attribute("aria-labelledby").unwrap().split(' ') {
        assert!(root.children().any(|child| child.attribute("id") == Some(id)), "{id}");
    }
    let texts: Vec<&str> = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    for wanted in [
        "◀ client’s left",
        "client’s right ▶",
        "Left side",
        "Right side",
        "crown",
        "nothing set here,",
        "nape hairline, 0 mm",
        "top: left free",
        "50 mm, back",
        "50 mm, sides",
        "an old scar",
        "4 · 102 mm",
        "4 · 17 mm above",
        "2 · 23 mm below",
        "2 · 45 mm",
        "77 mm",
    ] {
        assert!(texts.contains(&wanted), "{wanted}: {texts:?}");
    }
    assert!(texts.iter().any(|line| line.contains("only the shape is shown")));
    for row in &plan.rows {
        let wanted = format!("{} · {} mm", row.line().number, row.start.unwrap().up.to_mm());
        assert!(texts.contains(&wanted.as_str()), "{wanted}");
    }
    let sizes = document.descendants().filter(|n| n.has_tag_name("text")).map(|n| attribute(n, "font-size"));
    // 8 pt is 2.82 mm: the least that is read at arm's length (our choice).
    assert!(sizes.fold(f64::INFINITY, f64::min) >= 2.82);
}

/// Two shades never look alike in black and white: no two share letter and
/// pattern, and the legend shows each.
#[test]
fn shades_are_told_apart_without_colour() {
    let plan = example::plan();
    let shades = shades(&plan);
    for (i, a) in shades.iter().enumerate() {
        for b in &shades[i + 1..] {
            assert!(a.letter != b.letter && a.pattern != b.pattern);
        }
    }
    let svg = head_map_svg(&plan);
    for shade in shades {
        assert!(svg.contains(&format!(">{}</text>", shade.letter)), "{}", shade.letter);
    }
}

/// Whoever holds the sheet alone can find each site: on one line of the table
/// stand its name, side, distance, shade, length, cut; above it the height.
#[test]
fn every_site_is_found_from_one_line_of_the_run_sheet() {
    let plan = example::plan();
    let runs = runs(&sheet_pages(&plan));
    for site in &plan.sites {
        let named: Vec<&Run> = runs.iter().filter(|run| run.text == site.site.to_string() && (run.size - 12.0).abs() < 0.01).collect();
        let [name] = named[..] else { panic!("{} stands {} times", site.site, named.len()) };
        let mut line: Vec<&Run> = runs.iter().filter(|r| r.page == name.page && (r.at[1] - name.at[1]).abs() < 8.0).collect();
        line.sort_by(|a, b| a.at[0].total_cmp(&b.at[0]));
        let cells = line.iter().map(|run| run.text.as_str()).collect::<Vec<_>>().join("|");
        let side = measure::text::capital(site.side.words()).replace('\'', "’");
        let along = format!("|{}|", measure::text::number(site.from_line.unwrap().to_mm(), 0));
        let cut = if site.piece.cut.is_half() { "half" } else { "whole" };
        for wanted in [side.as_str(), &along, &site.piece.shade, &site.piece.length.to_mm().to_string(), cut, "2.6", "from the"] {
            assert!(cells.replace('\'', "’").contains(wanted), "{}: {wanted} not in {cells}", site.site);
        }
        // The nearest band above it on its page is its own row's, with the height.
        let band = runs
            .iter()
            .filter(|r| {
                r.page == name.page
                    && r.at[1] < name.at[1]
                    && (r.text.starts_with("Row ") || r.text.contains(" line "))
                    && (r.size - 13.0).abs() < 0.01
            })
            .max_by(|a, b| a.at[1].total_cmp(&b.at[1]))
            .unwrap();
        let row = plan.rows.iter().find(|row| row.row == site.row).unwrap();
        assert_eq!(band.text, row.called());
        // Its sentence may run over two lines.
        let says = runs.iter().filter(|r| r.page == band.page && (-3.0..22.0).contains(&(r.at[1] - band.at[1])));
        let says = says.map(|r| r.text.trim()).collect::<Vec<_>>().join(" ");
        let start = format!("start {} mm up the", row.start.unwrap().up.to_mm());
        assert!(says.contains(&start), "{start} not in {says}");
    }
}

#[test]
fn pages_are_numbered_and_the_steps_keep_their_order_and_cautions() {
    let plan = example::plan();
    let document = sheet_pages(&plan);
    let all = runs(&document);
    let count = document.pages().len();
    for page in 0..count {
        let wanted = format!("page {} of {count}", page + 1);
        let printed: String = all.iter().filter(|run| run.page == page).map(|run| run.text.as_str()).collect();
        assert!(printed.contains(&wanted), "{wanted}");
    }
    let text = said(&document);
    let whole: Vec<_> = plan.steps.iter().filter(|step| step.site.is_none()).collect();
    let mut from = 0;
    for step in whole {
        let at = text[from..].find(step.what.as_str()).unwrap_or_else(|| panic!("{} is missing or out of order", step.what));
        from += at;
    }
    for caution in plan.steps.iter().filter_map(|step| step.caution.as_ref()) {
        let first = caution.split(' ').take(4).collect::<Vec<_>>().join(" ");
        assert!(text.contains(&first), "{caution}");
    }
    assert!(text.contains(plan.verdict.verdict.words().split_once(' ').unwrap().1));
}

#[test]
fn a_budget_that_does_not_reach_is_said_with_what_it_reaches() {
    let mut plan = example::plan();
    let set_quote = |plan: &Plan| said(&set(quote::PAPER.template, &quote::quote_sheet(plan, &heading()), None));
    let short = set_quote(&plan);
    let reached = plan.quote.as_ref().unwrap().sandwiches_within_budget.unwrap();
    assert!(short.contains("The budget does not reach") && short.contains(&format!("{reached} sandwiches of the {}", plan.sites.len())));
    for line in &plan.quote.as_ref().unwrap().lines {
        assert!(short.contains(&line.what), "{}", line.what);
    }
    assert!(short.contains(&plan.quote.as_ref().unwrap().total().to_string()));
    if let Some(quote) = plan.quote.as_mut() {
        quote.short_minor = None;
    }
    assert!(!set_quote(&plan).contains("does not reach"));
    plan.quote = None;
    assert!(set_quote(&plan).contains("No prices were given"));
}

#[test]
fn the_aftercare_sheet_is_one_page_with_every_line_and_the_date() {
    let plan = example::plan();
    let document = set(aftercare::PAPER.template, &aftercare::aftercare_sheet(&plan, &heading()), None);
    assert_eq!(document.pages().len(), 1);
    let text = said(&document);
    // 2 March and 49 days is 20 April 2026.
    assert!(text.contains("Monday 20 April 2026"));
    for part in &plan.aftercare.as_ref().unwrap().parts {
        assert!(text.contains(&part.heading), "{}", part.heading);
    }
    let undated = Heading { date: None, ..heading() };
    let text = said(&set(aftercare::PAPER.template, &aftercare::aftercare_sheet(&plan, &undated), None));
    assert!(text.contains("49 days (7 weeks) after the set went in") && !text.contains("2026"));
}

#[test]
fn the_same_plan_gives_the_same_bytes_and_no_day_but_the_one_given() {
    let plan = example::plan();
    let fonts = Fonts::default();
    let all = |heading: &Heading| PAPERS.map(|paper| paper.pdf(&plan, heading, &fonts).unwrap());
    assert_eq!(all(&heading()), all(&heading()));
    assert_eq!(head_map_svg(&plan), head_map_svg(&plan));
    let has = |bytes: &[u8], word: &[u8]| bytes.windows(word.len()).any(|at| at == word);
    for bytes in all(&heading()) {
        assert!(bytes.starts_with(b"%PDF-") && has(&bytes, b"D:20260302000000"));
    }
    for bytes in all(&Heading { date: None, ..heading() }) {
        assert!(!has(&bytes, b"CreationDate"));
    }
}

/// Quotes, brackets, typesetter's and XML's own marks, right-to-left letters,
/// marks that turn the line, emoji, control characters, and far too long.
fn nonsense() -> String {
    format!("\"'<&>]]> #import \"x\" $y$ *z* _ \\ @a `b` שלום\u{202e}مرحبا 👩🏽‍🦱\u{0}\u{1b}\r\n{}", "very-long-".repeat(300))
}

#[test]
fn no_text_breaks_a_paper() {
    let mut plan = example::plan();
    let text = nonsense();
    for site in &mut plan.sites {
        if site.piece.shade == "S05" {
            site.piece.shade = text.clone();
        }
    }
    plan.rows[0].name = text.clone();
    plan.colour.shade_names.insert("S07".to_owned(), text.clone());
    plan.colour.notes.push(text.clone());
    plan.warnings.push(text.clone());
    plan.quantity.notes.push(text.clone());
    plan.steps[0].what = text.clone();
    plan.steps[0].caution = Some(text.clone());
    for region in &mut plan.panels.as_mut().unwrap().back.kept_free {
        region.reason = text.clone();
    }
    plan.cautions[0].what = text.clone();
    if let (Some(quote), Some(sheet)) = (plan.quote.as_mut(), plan.aftercare.as_mut()) {
        quote.lines[0].detail = text.clone();
        sheet.parts[0].lines[0] = text.clone();
    }
    let heading = Heading { salon: Some(text.clone()), client: Some(text), date: None };
    let svg = head_map_svg(&plan);
    let document = Document::parse(&svg).unwrap();
    assert_eq!(sites_of(&document).len(), plan.sites.len());
    let fonts = Fonts::default();
    for paper in PAPERS {
        let bytes = paper.pdf(&plan, &heading, &fonts).unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
    }
    let typed = said(&sheet_pages(&plan));
    assert!(typed.contains("#import \"x\" $y$ *z* _ \\ @a `b`"), "typed marks stay text");
}

#[test]
fn numbers_that_are_none_and_a_plan_without_sites_make_papers() {
    let mut plan = example::plan();
    let panels = plan.panels.as_mut().unwrap();
    panels.back.edge[3] = [f64::NAN, f64::INFINITY];
    panels.left.rows[0].line[0] = [f64::NAN; 2];
    panels.back.crown = Some([f64::NAN; 2]);
    plan.sites[0].map_mm = [[f64::NAN; 2]; 2];
    plan.sites[1].along = Length::mm(f64::NAN);
    plan.rows[2].parting_above_nape = Length::mm(f64::NAN);
    Document::parse(&head_map_svg(&plan)).unwrap();
    sheet::PAPER.pdf(&plan, &heading(), &Fonts::default()).unwrap();
    plan.sites.clear();
    plan.rows.clear();
    plan.panels = Some(salon::plan::PanelsPlan::default());
    Document::parse(&head_map_svg(&plan)).unwrap();
    plan.panels = None;
    (plan.quote, plan.buy, plan.aftercare, plan.retape) = (None, None, None, None);
    Document::parse(&head_map_svg(&plan)).unwrap();
    for paper in PAPERS {
        paper.pdf(&plan, &Heading::default(), &Fonts::default()).unwrap();
    }
}

#[test]
fn a_file_that_is_no_font_is_refused_in_words() {
    let fonts = Fonts { regular: b"no font".to_vec(), bold: Vec::new() };
    let fault = aftercare::PAPER.pdf(&example::plan(), &heading(), &fonts).unwrap_err();
    assert!(fault.to_string().contains("regular face"), "{fault}");
}

/// A style drawn on a head: a drawing that any reader takes, in which a place
/// high on the head is hidden and the nape hairline shows.
#[test]
fn a_style_is_drawn_on_the_head_of_its_plan() {
    use craft::coverage::{Style, StyleFlow};
    use craft::hair::{Hair, HairFacts};
    use craft::suitability::answers::Part;
    let book = measure::RuleBook::standard();
    let fit = head::fit(&head::Measures::of_circumference(measure::Length::mm(560.0))).unwrap();
    let head = head::Head::new(&fit, &head::Marks::default()).unwrap();
    let facts = HairFacts { density: Some(measure::Density::per_cm2(180.0)), ..HairFacts::default() };
    let hair = Hair::from_facts(&facts, craft::hair::scalp_area_of(measure::Length::mm(560.0), &book), &book).unwrap();
    let flow = StyleFlow::new(&head, Style::LowPonytail, Part::Centre, &hair, &book);
    let plan = example::plan();
    let drawing = crate::hiding_svg(&head, &flow, 0.95, &plan);
    let document = Document::parse(&drawing).unwrap();
    let fills: Vec<&str> = document.descendants().filter_map(|node| node.attribute("fill")).collect();
    let band = |fill: &str| {
        document.descendants().find(|node| node.attribute("fill") == Some(fill)).and_then(|node| node.attribute("d")).unwrap_or("").len()
    };
    assert!(fills.contains(&"#b5432a") && band("#b5432a") > 100, "the nape shows");
    assert!(band("#2f7f8c") > band("#b5432a"), "most of the head is hidden");
    assert_eq!(drawing, crate::hiding_svg(&head, &flow, 0.95, &plan));
}
