//! Writes the papers of a plan.json, or of an invented plan, into a folder, to
//! look at them: `papers OUT [PLAN.json [REGULAR.ttf BOLD.ttf]]`.

#[allow(dead_code, reason = "shared with the tests, which use the rest")]
#[path = "../tests/support/mod.rs"]
mod support;

use paper::{Fonts, Heading};
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [out, rest @ ..] = &arguments[..] else {
        return Err("usage: papers OUT [PLAN.json [REGULAR.ttf BOLD.ttf]]".into());
    };
    let plan = match rest.first().filter(|path| path.as_os_str() != "-") {
        Some(path) => serde_json::from_slice(&std::fs::read(path)?)?,
        None => support::plan(),
    };
    let fonts = match rest {
        [_, regular, bold] => Fonts { regular: std::fs::read(regular)?, bold: std::fs::read(bold)? },
        _ => Fonts::default(),
    };
    let heading = Heading {
        salon: Some("Salon Lindenhof".to_owned()),
        client: Some("Ada Fairweather".to_owned()),
        date: Some(jiff::civil::date(2026, 3, 2)),
    };
    std::fs::create_dir_all(out)?;
    std::fs::write(out.join("head-map.svg"), paper::head_map_svg(&plan))?;
    for paper in paper::PAPERS {
        std::fs::write(out.join(paper.file), paper.pdf(&plan, &heading, &fonts)?)?;
    }
    if let Some(retape) = &plan.retape {
        std::fs::write(
            out.join("retape.ics"),
            paper::retape_calendar(retape, heading.date, &paper::Entry::without_records("an example", jiff::Timestamp::UNIX_EPOCH)),
        )?;
    }
    Ok(())
}
