use super::*;
use crate::suitability::{Answers, judge};

fn sheet_for(ends: Ends, oil: Oil) -> Vec<Step> {
    let book = RuleBook::standard();
    let limits = judge(&Answers::default(), &book).limits;
    let rows = [row(1, HeadPart::Back, 1), RowToSet { brick: true, ..row(2, HeadPart::Back, 2) }];
    let site = |name: &str, row, along, half| SiteToSet {
        site: name.parse().unwrap(),
        row,
        side: "client's left".into(),
        section: HeadPart::Back,
        from_line: Length::mm(along),
        width: Length::mm(if half { 20.0 } else { 40.0 }),
        slice_width: Length::mm(if half { 15.0 } else { 30.0 }),
        slice: Length::mm(2.5),
        shade: "S05".into(),
        length: Length::mm(500.0),
        half,
        single_sided: false,
    };
    let sites = [site("B1.1", 1, 0.0, false), site("B2.1", 2, -20.0, true)];
    run_sheet(&Visit { rows: &rows, sites: &sites, limits: &limits, ends, oil, off_scalp: Length::mm(5.0) }, &book)
}

/// Facts of the trade (common practice, no source): each has its step.
#[test]
fn the_facts_of_the_trade_are_on_the_sheet() {
    let steps = sheet_for(Ends::Blunt, Oil::Oily);
    for fact in ["T2", "T3", "T4", "T5", "T6", "T8", "T9", "T10", "T11", "T13", "T14", "T15", "T17", "T18", "T19", "T20", "T21"] {
        assert!(steps.iter().any(|s| s.rules.iter().any(|r| r == fact)), "{fact} has no step");
    }
}

#[test]
fn work_goes_from_the_nape_upward_with_every_site_once() {
    let steps = sheet_for(Ends::Soft, Oil::Normal);
    let sites: Vec<_> = steps.iter().filter_map(|s| s.site).map(|site| site.to_string()).collect();
    assert_eq!(sites, ["B1.1", "B2.1"]);
    assert!(steps.windows(2).all(|w| w[0].phase <= w[1].phase && w[0].id + 1 == w[1].id));
}

#[test]
fn washing_and_the_first_stop_come_before_any_piece() {
    let steps = sheet_for(Ends::Soft, Oil::Normal);
    let first_site = steps.iter().position(|s| s.site.is_some()).unwrap();
    let wash = steps.iter().position(|s| s.rules.iter().any(|r| r == "T3")).unwrap();
    assert!(wash < first_site);
    assert_eq!(steps[..first_site].iter().filter(|s| s.stop).count(), 2);
    assert_eq!(steps.iter().filter(|s| s.stop).count(), 3);
}

#[test]
fn only_blunt_ends_are_softened_and_only_oily_hair_meets_the_iron() {
    let says = |steps: &[Step], word: &str| steps.iter().any(|s| s.what.contains(word));
    assert!(says(&sheet_for(Ends::Blunt, Oil::Normal), "Soften"));
    assert!(!says(&sheet_for(Ends::Soft, Oil::Normal), "Soften"));
    assert!(!says(&sheet_for(Ends::Soft, Oil::Normal), "Warm the bonds"));
}

fn row(row: u32, section: HeadPart, number: u32) -> RowToSet {
    let start = Length::mm(22.0 + 20.0 * f64::from(number));
    let line = CombedLine { section, number, start, end: Some(Length::mm(17.0)), ends_behind_ear: false };
    RowToSet { row, line, brick: row > 3 }
}

fn one(name: &str, row: u32, single_sided: bool) -> SiteToSet {
    SiteToSet {
        site: name.parse().unwrap(),
        row,
        side: "client's right".into(),
        section: if name.starts_with('R') { HeadPart::Right } else { HeadPart::Back },
        from_line: Length::mm(25.0),
        width: Length::mm(40.0),
        slice_width: Length::mm(30.0),
        slice: Length::mm(2.5),
        shade: "S05".into(),
        length: Length::mm(500.0),
        half: false,
        single_sided,
    }
}

fn told(rows: &[RowToSet], sites: &[SiteToSet], change: impl FnOnce(&mut Answers)) -> Vec<Step> {
    let book = RuleBook::standard();
    let mut answers = Answers::default();
    change(&mut answers);
    let limits = judge(&answers, &book).limits;
    let visit = Visit { rows, sites, limits: &limits, ends: Ends::Soft, oil: Oil::Normal, off_scalp: Length::mm(5.0) };
    run_sheet(&visit, &book)
}

/// T20 (common practice, no source): after the back, before the sides.
#[test]
fn the_hair_is_let_down_between_the_back_and_the_sides() {
    let rows = [row(1, HeadPart::Back, 1), row(2, HeadPart::Back, 2), row(3, HeadPart::Right, 1)];
    let sites = [one("B1.1", 1, false), one("B2.1", 2, false), one("R1.1", 3, false)];
    let steps = told(&rows, &sites, |_| {});
    let of = |test: &dyn Fn(&Step) -> bool| steps.iter().position(test).unwrap();
    let down = of(&|s| s.rules.iter().any(|r| r == "T20"));
    assert!(of(&|s| s.site == "B2.1".parse().ok()) < down && down < of(&|s| s.site == "R1.1".parse().ok()));
    let back_only = told(&rows[..2], &sites[..2], |_| {});
    let count = |steps: &[Step]| steps.iter().filter(|s| s.rules.iter().any(|r| r == "T20")).count();
    assert_eq!((count(&steps), count(&back_only)), (1, 1));
}

/// Whoever has only the steps, a tape and a comb: each row by its readings,
/// each site by its distance from the line where the row starts.
#[test]
fn rows_and_sites_are_told_by_what_a_tape_reads() {
    let rows = [row(1, HeadPart::Back, 1), row(2, HeadPart::Right, 1)];
    let steps = told(&rows, &[one("B1.1", 1, false), one("R1.1", 2, false)], |_| {});
    let how = |what: &str| steps.iter().find(|s| s.what.starts_with(what)).map(|s| s.how.clone()).unwrap();
    assert_eq!(how("Row 1: comb"), "Start 42 mm up the middle, comb straight to 17 mm above the top of each ear; set side by side.");
    assert!(how("Right line 1: comb").starts_with("Start 42 mm up the ear-to-ear line from the top of the ear, comb straight forward"));
    assert!(how("B1.1").starts_with("25 mm from the middle, client's right."));
    assert!(how("R1.1").starts_with("25 mm from the ear-to-ear line, client's right."));
    assert!(how("Make the four").contains("gaze level") && how("Make the four").contains("top of each ear"));
    for step in &steps {
        for said in [&step.what, &step.how].into_iter().chain(&step.caution).chain(&step.value_to_confirm) {
            assert!(!said.contains("(T"), "a number that only this program knows: {said}");
        }
    }
}

#[test]
fn one_piece_with_a_strip_is_not_told_as_two_pieces() {
    let steps = told(&[row(1, HeadPart::Back, 1)], &[one("B1.1", 1, true), one("B1.2", 1, false)], |_| {});
    let how = |name: &str| steps.iter().find(|s| s.site == name.parse().ok()).unwrap().how.clone();
    assert!(how("B1.1").contains("backing strip") && !how("B1.1").contains("upper piece"));
    assert!(how("B1.2").contains("upper piece") && !how("B1.2").contains("strip"));
    let other = steps.iter().find(|s| s.site == "B1.2".parse().ok()).unwrap();
    assert!(other.caution.as_deref().is_some_and(|caution| caution.contains("two pieces")));
}

#[test]
fn what_she_is_allergic_to_is_kept_away_where_the_tools_are_laid_out() {
    let steps = told(&[row(1, HeadPart::Back, 1)], &[], |a| a.allergies = Some(vec!["latex".into(), "nickel".into(), "limonene".into()]));
    let caution = steps.iter().find(|s| s.what.contains("tools")).unwrap().caution.clone().unwrap();
    for word in ["no latex", "nickel", "limonene"] {
        assert!(caution.contains(word), "{word}");
    }
    let retape = steps.iter().find(|s| s.phase == Phase::Retape).unwrap();
    assert!(retape.how.contains("without limonene"));
}
