//! The head so far, as the readings give it: its sizes, how sure each size and each
//! place is, and what one more measure would bring.

use super::pictures;
use crate::web::client::fields;
use head::{Courses, Fit, Marks, NextMeasure, Tape, Zone};
use measure::Length;
use salon::client::fitted::{HeadSize, OneMore, Surer, TOLD_REGIONS, one_more};
use salon::client::readings::field_of;

/// The most measures that are proposed at a time.
const MOST_PROPOSED: usize = 3;

/// One size of the head and how sure it is.
#[derive(Debug, Clone)]
pub struct Size {
    /// Which.
    pub name: &'static str,
    /// In millimetres.
    pub value: String,
    /// Its standard error in millimetres.
    pub sigma: String,
}

/// The head as far as it is known.
pub fn shape(known: Option<&(Fit, Courses)>, marks: &Marks) -> ShapeView {
    let Some((fit, courses)) = known else {
        return ShapeView {
            views: pictures::shapes(None),
            known: false,
            sizes: Vec::new(),
            least_sure: String::new(),
            next: Vec::new(),
            places: Vec::new(),
            notes: Vec::new(),
        };
    };
    let sure = |size: HeadSize| size.sure(&fit.sigma);
    let mut widest = HeadSize::Length;
    for size in HeadSize::ALL {
        if sure(size) > sure(widest) {
            widest = size;
        }
    }
    let doubtful = fit.doubt.map(|doubt| format!("Look again at {}: it does not go with the others.", doubt.tape.words()));
    ShapeView {
        views: pictures::shapes(Some((fit, courses))),
        known: true,
        least_sure: format!("The {} is least sure, about ±\u{a0}{}\u{a0}mm.", size_word(widest).to_lowercase(), whole(sure(widest))),
        sizes: HeadSize::ALL.map(|size| Size { name: size_word(size), value: whole(size.of(fit)), sigma: whole(sure(size)) }).to_vec(),
        next: one_more(fit, courses, marks).iter().take(MOST_PROPOSED).map(brings).collect(),
        places: TOLD_REGIONS.map(|zone| (zone_word(zone), whole(courses.sigma_at(courses.middle_of(zone))))).to_vec(),
        notes: doubtful.into_iter().collect(),
    }
}

/// What one more measure would bring, in words.
fn brings(step: &OneMore) -> String {
    let what = match step.measure {
        NextMeasure::Take(tape) => label(tape),
        NextMeasure::PartTheHair => "The same tapes along a parted line",
    };
    let surer = match step.surer {
        Surer::Size(size) => format!("the {}", size_word(size).to_lowercase()),
        Surer::Places(zone) => format!("places at the {}", zone_word(zone).to_lowercase()),
    };
    format!("{what}: {surer} from ±\u{a0}{:.1} to ±\u{a0}{:.1}\u{a0}mm.", step.before.to_mm(), step.after.to_mm())
}

fn size_word(size: HeadSize) -> &'static str {
    match size {
        HeadSize::Length => "Length",
        HeadSize::Breadth => "Breadth",
        HeadSize::Height => "Height",
    }
}

fn zone_word(zone: Zone) -> &'static str {
    match zone {
        Zone::Nape => "Nape",
        Zone::Occipital => "Back",
        Zone::Crown => "Crown",
        Zone::Parietal => "Sides",
        Zone::Temporal => "Temples",
        Zone::Frontal => "Front",
    }
}

fn label(tape: Tape) -> &'static str {
    fields::named(field_of(tape)).map_or("", fields::Field::label)
}

fn whole(length: Length) -> String {
    format!("{:.0}", length.to_mm())
}

/// The head as far as it is known.
pub struct ShapeView {
    pub views: Vec<pictures::Shape>,
    pub known: bool,
    pub sizes: Vec<Size>,
    pub least_sure: String,
    pub next: Vec<String>,
    pub places: Vec<(&'static str, String)>,
    pub notes: Vec<String>,
}
