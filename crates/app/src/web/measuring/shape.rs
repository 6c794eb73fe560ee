//! The head so far, as the readings give it: its sizes, how sure each size and each
//! place is, and what one more measure would bring.

use super::readings::field_of;
use super::{ShapeView, fields, pictures};
use head::{Courses, Fit, Marks, NextMeasure, SizeSigma, Tape, Zone};
use measure::Length;

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
    let sizes = SIZES.map(|(name, size, sigma)| Size { name, value: format!("{:.0}", size(fit).to_mm()), sigma: whole(sigma(&fit.sigma)) });
    let mut widest = SIZES[0];
    for size in SIZES {
        if (size.2)(&fit.sigma) > (widest.2)(&fit.sigma) {
            widest = size;
        }
    }
    let doubtful = fit.doubt.map(|doubt| format!("Look again at {}: it does not go with the others.", doubt.tape.words()));
    ShapeView {
        views: pictures::shapes(Some((fit, courses))),
        known: true,
        least_sure: format!("The {} is least sure, about ±\u{a0}{}\u{a0}mm.", widest.0.to_lowercase(), whole((widest.2)(&fit.sigma))),
        sizes: sizes.to_vec(),
        next: next(fit, courses, marks),
        places: PLACES.map(|(name, zone)| (name, whole(courses.sigma_at(courses.middle_of(zone))))).to_vec(),
        notes: doubtful.into_iter().collect(),
    }
}

/// The measures worth taking next, the best first.
fn next(fit: &Fit, courses: &Courses, marks: &Marks) -> Vec<String> {
    /// Less than this nobody notices, mm.
    const NOTICED: f64 = 0.3;
    let mut steps: Vec<(f64, String)> = Vec::new();
    for step in head::outlook(fit) {
        let gain = |size: &SizeOf| ((size.2)(&fit.sigma) - (size.2)(&step.sigma)).to_mm();
        let mut best = SIZES[0];
        for size in SIZES {
            if gain(&size) > gain(&best) {
                best = size;
            }
        }
        let what = match step.next {
            NextMeasure::Take(tape) => label(tape).to_owned(),
            NextMeasure::PartTheHair => "The same tapes along a parted line".to_owned(),
        };
        steps.push((gain(&best), brings(&what, &format!("the {}", best.0.to_lowercase()), (best.2)(&fit.sigma), (best.2)(&step.sigma))));
    }
    for tape in [Tape::FrontHairlineToTape, Tape::TapeToNapeHairline, Tape::EarToEarBehind] {
        if let Some((gain, says)) = place_gain(fit, courses, marks, tape) {
            steps.push((gain, says));
        }
    }
    steps.retain(|(gain, _)| *gain >= NOTICED);
    steps.sort_by(|a, b| b.0.total_cmp(&a.0));
    steps.into_iter().take(3).map(|(_, says)| says).collect()
}

/// What a tape that ends at a hairline or behind the head would bring to
/// the region it helps most, were it to read what is expected.
fn place_gain(fit: &Fit, courses: &Courses, marks: &Marks, tape: Tape) -> Option<(f64, String)> {
    let mut with = fit.clone();
    let expected = courses.of_tape(tape).windows(2).fold(Length::ZERO, |sum, w| sum + w[0].straight_to(w[1]));
    let slot = match tape {
        Tape::FrontHairlineToTape => &mut with.measures.front_hairline_to_tape,
        Tape::TapeToNapeHairline => &mut with.measures.tape_to_nape_hairline,
        Tape::EarToEarBehind => &mut with.measures.ear_to_ear_behind,
        _ => return None,
    };
    if slot.is_some() {
        return None;
    }
    *slot = Some(if tape == Tape::EarToEarBehind { expected + fit.hair.ear_to_ear_behind } else { expected });
    let after = Courses::of(&with, marks).ok()?;
    let (mut best, mut says) = (0.0, String::new());
    for (name, zone) in PLACES {
        let place = courses.middle_of(zone);
        let (before, then) = (courses.sigma_at(place), after.sigma_at(place));
        if (before - then).to_mm() > best {
            best = (before - then).to_mm();
            says = brings(label(tape), &format!("places at the {}", name.to_lowercase()), before, then);
        }
    }
    (!says.is_empty()).then_some((best, says))
}

type SizeOf = (&'static str, fn(&Fit) -> Length, fn(&SizeSigma) -> Length);

/// The three sizes, with how each is read from a fit.
const SIZES: [SizeOf; 3] = [
    ("Length", |fit| fit.length, |sigma| sigma.length),
    ("Breadth", |fit| fit.breadth, |sigma| sigma.breadth),
    ("Height", |fit| fit.tragion_to_top, |sigma| sigma.tragion_to_top),
];

/// The regions whose sureness is shown.
const PLACES: [(&str, Zone); 5] =
    [("Nape", Zone::Nape), ("Back", Zone::Occipital), ("Crown", Zone::Crown), ("Sides", Zone::Parietal), ("Front", Zone::Frontal)];

fn brings(what: &str, where_: &str, before: Length, after: Length) -> String {
    format!("{what}: {where_} from ±\u{a0}{:.1} to ±\u{a0}{:.1}\u{a0}mm.", before.to_mm(), after.to_mm())
}

fn label(tape: Tape) -> &'static str {
    fields::named(field_of(tape)).map_or("", fields::Field::label)
}

fn whole(length: Length) -> String {
    format!("{:.0}", length.to_mm())
}
