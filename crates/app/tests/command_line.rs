//! The command line as a contract: what goes where, and the exit codes.

// Not every test of the program uses all of it.
#[allow(dead_code)]
mod common;

use common::{casebook, run};
use std::path::{Path, PathBuf};

fn client(story: &str) -> String {
    casebook().join(story).join("client.toml").to_str().unwrap().to_owned()
}

/// A story changed by replacing text, in a folder of its own with ring and stock beside it.
fn changed(folder: &Path, story: &str, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(client(story)).unwrap();
    assert!(text.contains(from), "{from}");
    for name in ["ring.json", "stock.json"] {
        std::fs::copy(casebook().join(name), folder.join(name)).unwrap();
    }
    let inner = folder.join("story");
    std::fs::create_dir_all(&inner).unwrap();
    let path = inner.join("client.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path
}

#[test]
fn a_plan_writes_every_paper_and_the_same_bytes_twice() {
    let folder = tempfile::tempdir().unwrap();
    let out = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for name in ["one", "two"] {
        let ran = run(&["plan", &client("two-tone-ends"), "--out", &out(name)]);
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
    for name in ["plan.json", "head-map.svg", "run-sheet.pdf", "quote.pdf", "aftercare.pdf", "retape.ics", "scalp.obj"] {
        let one = std::fs::read(folder.path().join("one").join(name)).unwrap();
        let two = std::fs::read(folder.path().join("two").join(name)).unwrap();
        assert!(!one.is_empty() && one == two, "{name}");
    }
    let left: Vec<_> = std::fs::read_dir(folder.path().join("one")).unwrap().collect();
    assert_eq!(left.len(), 7, "nothing else is left there");
}

#[test]
fn the_calendar_knows_one_client_from_another_and_keeps_her_entry_when_the_day_changes() {
    let folder = tempfile::tempdir().unwrap();
    let uid = |story: &str, day: &str| {
        let out = folder.path().join(format!("{story}-{day}"));
        let ran = run(&["plan", &client(story), "--out", out.to_str().unwrap(), "--date", day]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let calendar = std::fs::read_to_string(out.join("retape.ics")).unwrap();
        calendar.lines().find(|line| line.starts_with("UID:")).unwrap().to_owned()
    };
    let hers = uid("two-tone-ends", "2026-03-02");
    assert_eq!(hers, uid("two-tone-ends", "2026-03-09"));
    assert_ne!(hers, uid("oily-hair", "2026-03-02"));
    assert_eq!(run(&["plan", &client("oily-hair"), "--date", "2026-02-30"]).code, 2, "30 February is no day");
}

#[test]
fn a_refused_client_gets_a_verdict_no_map_and_exit_code_1() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("papers");
    let ran = run(&["plan", &client("refused"), "--json", "--out", out.to_str().unwrap()]);
    assert_eq!(ran.code, 1);
    let plan: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(plan["sites"], serde_json::json!([]));
    let verdict = plan["verdict"]["verdict"].as_str().unwrap();
    assert!(verdict == "refer" || verdict == "not_today", "{verdict}");
    assert!(plan["faults"].as_array().unwrap().iter().all(|f| ["what", "where", "rule", "cure"].iter().all(|k| f[k].is_string())));
    assert!(!out.join("head-map.svg").exists() && !out.join("run-sheet.pdf").exists());
}

#[test]
fn json_is_one_document_whatever_the_command() {
    let folder = tempfile::tempdir().unwrap();
    let pairs = folder.path().join("pairs.csv");
    // The first of the published pairs, and a pair of equals.
    std::fs::write(&pairs, "50,2.6772,-79.7751,50,0,-82.7485\n40,1,2,40,1,2\n").unwrap();
    let ring = casebook().join("ring.json");
    let one = |arguments: &[&str]| -> serde_json::Value {
        let ran = run(arguments);
        assert_eq!(ran.code, 0, "{arguments:?}: {}", ran.err);
        serde_json::from_str(&ran.out).unwrap()
    };
    let differences = one(&["check", "colour-difference", pairs.to_str().unwrap(), "--json"]);
    assert!((differences["de00"][0].as_f64().unwrap() - 2.0425).abs() < 5.1e-5 && differences["de00"][1] == 0.0);
    let matched =
        |more: &[&str]| one(&[&["colour", "match", "--ring", ring.to_str().unwrap(), "--pieces", "20", "--lab", "32,8,19"], more].concat());
    assert_eq!(matched(&["--json"]), matched(&[]));
    assert_eq!(run(&["demo", "--json"]).code, 2);
}

#[test]
fn bad_input_is_one_sentence_with_the_place_and_exit_code_2() {
    let cases = [
        ("an unknown key", "oily-hair", "circumference_mm", "circumfrence_mm", "circumference_mm"),
        ("a head of 56 mm", "oily-hair", "circumference_mm = 545", "circumference_mm = 56", "circumference"),
        ("a head of 560 cm", "oily-hair", "circumference_mm = 545", "circumference_mm = 5600", "circumference"),
        ("a negative mass", "oily-hair", "mass_g = 2.5", "mass_g = -2.5", "mass_g"),
        ("a missing ring", "oily-hair", "../ring.json", "../gone.json", "gone.json"),
        ("an unknown style", "oily-hair", "\"low_ponytail\"", "\"low_ponytale\"", "low_ponytail"),
        ("own hair longer than wanted", "coarse-length", "own_length_mm = 340", "own_length_mm = 700", "700 mm"),
        ("a shade off the ring", "coarse-length", "shade = \"S03\"", "shade = \"S99\"", "S99"),
        ("not a file of facts", "oily-hair", "[client]", "[client", "line"),
    ];
    for (what, story, from, to, says) in cases {
        let folder = tempfile::tempdir().unwrap();
        let path = changed(folder.path(), story, from, to);
        let out = folder.path().join("papers");
        let ran = run(&["plan", path.to_str().unwrap(), "--out", out.to_str().unwrap()]);
        assert_eq!(ran.code, 2, "{what}: {} {}", ran.out, ran.err);
        assert!(ran.err.contains(says), "{what}: {}", ran.err);
        assert!(ran.out.is_empty(), "{what}: data on stdout");
        assert!(!out.exists(), "{what}: something was written");
    }
    let folder = tempfile::tempdir().unwrap();
    let path = changed(folder.path(), "oily-hair", "[client]", "[client]");
    std::fs::write(folder.path().join("ring.json"), "{\"shades\":[]}").unwrap();
    let ran = run(&["plan", path.to_str().unwrap()]);
    assert_eq!(ran.code, 2, "a ring without shades: {}", ran.err);
    assert_eq!(run(&["plan", "no-such-file.toml"]).code, 2);
    assert_eq!(run(&["no-such-command"]).code, 2);
}

#[test]
fn check_colour_difference_keeps_the_rows_and_adds_the_difference() {
    // *Source*: key `sharma2005`, table 1, pairs 1 and 14.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pairs.csv");
    std::fs::write(&path, "L1,a1,b1,L2,a2,b2,note\n50,2.6772,-79.7751,50,0,-82.7485,one\n50,-0.0010,2.4900,50,0.0009,-2.4900,two\n")
        .unwrap();
    let ran = run(&["check", "colour-difference", path.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines[0], "L1,a1,b1,L2,a2,b2,note,de00");
    let last = |line: &str| line.rsplit(',').next().unwrap().parse::<f64>().unwrap();
    assert!(lines[1].starts_with("50,2.6772,-79.7751,50,0,-82.7485,one,"));
    assert!((last(lines[1]) - 2.0425).abs() < 5e-5);
    assert!((last(lines[2]) - 4.8045).abs() < 5e-5);
}

#[test]
fn check_coverage_meets_a_closed_form() {
    // Ponytail on a sphere: F = rho R (cos th - cos thH) / sin th = 1383.349 per cm at th = 1.0, thH = 1.75.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("case.json");
    std::fs::write(
        &path,
        r#"{"surface":{"sphere_radius_mm":90},"style":"tied","density_per_cm2":180,"diameter_um":70,"hairline_angle_rad":1.75,"slice_angle_rad":1.0,"bond_angle_rad":1.0}"#,
    )
    .unwrap();
    let ran = run(&["check", "coverage", path.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let flux = answer["flux_per_cm"].as_f64().unwrap();
    assert!((flux / 1383.34936 - 1.0).abs() < 5e-4, "{flux}");
}

#[test]
fn a_buy_that_no_packs_meet_exits_1_and_says_how_many_are_short() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("order.json");
    std::fs::write(&path, r#"{"need":[{"shade":"S05","length_mm":500,"pieces":18}],"packs":[],"suppliers":[],"currency":"EUR"}"#).unwrap();
    let ran = run(&["buy", path.to_str().unwrap(), "--json"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("S05") && ran.err.contains("18") && ran.out.is_empty(), "{}", ran.err);
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    use std::process::{Command, Stdio};
    let mut child = Command::new(env!("CARGO_BIN_EXE_strandwright"))
        .args(["plan", &client("oily-hair"), "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

/// A photo of the reading crate's tests with its marks: chart at the right, hair at the left.
fn photo_with_marks(folder: &std::path::Path) -> (String, String) {
    let photo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../photo/tests/data/e02.jpg");
    let marks = folder.join("marks.json");
    std::fs::write(&marks, r#"{"chart_corners":[[422.14,226.69],[748.93,242.13],[738.36,460.09],[413.12,454.05]],"hair":[[122.45,69.06],[301.53,75.37],[287.91,529.37],[112.19,530.5]]}"#).unwrap();
    (photo.to_str().unwrap().to_owned(), marks.to_str().unwrap().to_owned())
}

#[test]
fn colour_find_says_where_the_chart_lies() {
    let folder = tempfile::tempdir().unwrap();
    let (photo, _) = photo_with_marks(folder.path());
    let ran = run(&["colour", "find", &photo, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let found: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(found["found"], true);
    let first: [f64; 2] = serde_json::from_value(found["corners"][0].clone()).unwrap();
    assert!((first[0] - 422.14).abs() < 12.0 && (first[1] - 226.69).abs() < 12.0, "{first:?}");
    assert!((0.0..=1.0).contains(&found["sure"].as_f64().unwrap()));
    assert_eq!(found["charts"], 1);
    // Tapped on the chart, beside it, outside the photo, and with one number.
    let at = |place: &str| run(&["colour", "find", &photo, "--at", place, "--json"]);
    let of = |text: &str| serde_json::from_str::<serde_json::Value>(text).unwrap();
    assert_eq!(of(&at("580,340").out)["corners"], found["corners"]);
    assert_eq!(of(&at("200,300").out)["found"], false);
    assert!(at("9000,300").err.contains("outside the photo") && at("9000,300").code == 2);
    assert_eq!(at("580").code, 2);
}

#[test]
fn swatches_beside_the_ends_are_ranked_and_the_ring_may_be_as_a_phone_read_it() {
    let folder = tempfile::tempdir().unwrap();
    let (photo, marks) = photo_with_marks(folder.path());
    let path = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    // Two parts of the same hair, called swatches.
    let swatches = path(
        "swatches.json",
        r#"{"swatches":[{"code":"S01","outline":[[130,80],[290,85],[285,300],[125,300]]},{"code":"S02","outline":[[125,300],[285,300],[280,520],[118,520]]}]}"#,
    );
    let ran = run(&["colour", "read", &photo, "--marks", &marks, "--swatches", &swatches, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let read: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let ranking = read["ranking"].as_array().unwrap();
    assert_eq!(ranking.len(), 2);
    assert!(ranking[0]["de00"].as_f64().unwrap() <= ranking[1]["de00"].as_f64().unwrap());
    assert!(ranking.iter().all(|one| one["code"].is_string() && one["sure_to"].as_f64().unwrap() > 0.0));
    assert_eq!(ranking[1]["told_from_first"], false, "parts of one hair are not told apart");
    let alone = run(&["colour", "read", &photo, "--marks", &marks, "--json"]);
    let alone: serde_json::Value = serde_json::from_str(&alone.out).unwrap();
    assert!(alone.get("ranking").is_none() && alone["lab_d65"].is_array());
    // The ring as this phone read it: S01 alone, in the very colour of the ends.
    let ring = casebook().join("ring.json");
    let readings = path("readings.json", &format!(r#"{{"readings":[{{"code":"S01","reading":{alone}}}]}}"#));
    let reading = path("reading.json", &alone.to_string());
    let matched = run(&[
        "colour",
        "match",
        "--ring",
        ring.to_str().unwrap(),
        "--pieces",
        "10",
        "--reading",
        &reading,
        "--readings",
        &readings,
        "--json",
    ]);
    assert_eq!(matched.code, 0, "{}", matched.err);
    let matched: serde_json::Value = serde_json::from_str(&matched.out).unwrap();
    assert_eq!(matched["nearest"].as_array().unwrap().len(), 1);
    assert!(matched["nearest"][0]["de00"].as_f64().unwrap() < 1e-6);
    let stray = path("stray.json", &format!(r#"{{"readings":[{{"code":"nowhere","reading":{alone}}}]}}"#));
    let refused =
        run(&["colour", "match", "--ring", ring.to_str().unwrap(), "--pieces", "10", "--reading", &reading, "--readings", &stray]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("nowhere"), "{}", refused.err);
}

#[test]
fn the_shelf_decides_between_mixes_that_do_as_well() {
    let (ring, stock) = (casebook().join("ring.json"), casebook().join("stock.json"));
    let advised = |more: &[&str]| {
        let ran =
            run(&[&["colour", "match", "--ring", ring.to_str().unwrap(), "--pieces", "20", "--lab", "35.1,12.03,26.8", "--json"], more]
                .concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        let found: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        found["advised"]["pieces"].as_object().unwrap().clone()
    };
    let (bare, shelf) = (advised(&[]), advised(&["--stock", stock.to_str().unwrap()]));
    let held = salon::stock::Order::by_shade(&serde_json::from_str(&std::fs::read_to_string(&stock).unwrap()).unwrap());
    let to_buy = |mix: &serde_json::Map<String, serde_json::Value>| {
        mix.iter().map(|(code, count)| count.as_u64().unwrap().saturating_sub(u64::from(held.get(code).copied().unwrap_or(0)))).sum::<u64>()
    };
    assert!(to_buy(&shelf) < to_buy(&bare), "{shelf:?} {bare:?}");
    let refused = run(&[
        "colour",
        "match",
        "--ring",
        ring.to_str().unwrap(),
        "--pieces",
        "20",
        "--lab",
        "35,12,27",
        "--stock",
        ring.to_str().unwrap(),
    ]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("ring.json"), "{}", refused.err);
}
