//! The pictures of the measuring page: each tape's course on a head, and the
//! head as the measures shape it.

use super::portrait::{Portrait, Stand};
use craft::suitability::plausible::{CROWN_BEHIND_TAPE, TEMPLE_AT};
use head::{Courses, Fit, Marks, Measures, SkinPoint, SmoothSkin, Tape};
use measure::Length;
use salon::client::fitted::usual_head;
use std::fmt::Write;
use std::sync::OnceLock;

/// The picture of one measure.
pub struct Picture {
    /// The drawing.
    pub drawing: String,
    /// What it shows, in a few words.
    pub title: &'static str,
    /// The same in a sentence, for who cannot see it.
    pub says: &'static str,
    /// The window on the drawing, mm.
    pub window: &'static str,
}

/// What a picture shows: a tape, or the reading from bump to hairline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// A tape or calliper of the fit.
    Tape(Tape),
    /// Occipital bone to nape hairline.
    NapeBelowOccipital,
    /// Ear-to-ear tape to the crown whorl.
    Crown,
    /// The crown whorl beside the middle.
    CrownAside,
    /// Sectioning line level forward to the hairline at the temple.
    Temple,
    /// Middle of the nape hairline to its corner.
    NapeCorner,
    /// How much higher that corner lies than the middle.
    CornerRise,
    /// Bare skin behind the ear.
    BehindEar,
    /// How far behind the top of the ear the sectioning line runs.
    EarLineBack,
}

/// A corner that rises, and a sectioning line combed further back, as they are drawn.
const CORNER_DRAWN: Length = Length::mm(14.0);
const LINE_BACK_DRAWN: Length = Length::mm(14.0);
/// Bare skin behind the ear as it is drawn: wide enough to be seen.
const BARE_DRAWN: Length = Length::mm(18.0);

/// The head on which the tapes are explained: the mean of all, with every tape
/// as it is expected.
fn example() -> Option<&'static Courses> {
    static EXAMPLE: OnceLock<Option<Courses>> = OnceLock::new();
    let drawn = || head::fit(&usual_head()).ok().and_then(|fit| Courses::of(&fit, &Marks::default()).ok());
    EXAMPLE.get_or_init(drawn).as_ref()
}

/// That head with the mark that a picture is about, large enough to be seen.
fn marked(shown: Shown) -> Option<Courses> {
    let marks = match shown {
        Shown::CornerRise => Marks { nape_corner_rise: Some(CORNER_DRAWN), ..Marks::default() },
        Shown::EarLineBack => Marks { ear_line_back: Some(LINE_BACK_DRAWN), ..Marks::default() },
        Shown::BehindEar => Marks { behind_ear_bare: Some(BARE_DRAWN), ..Marks::default() },
        _ => Marks::default(),
    };
    head::fit(&usual_head()).ok().and_then(|fit| Courses::of(&fit, &marks).ok())
}

/// The picture of a measure.
pub fn picture(shown: Shown) -> Option<Picture> {
    let (turn, rise, title, says) = words(shown);
    let own = marked(shown)?;
    let courses = &own;
    let portrait = Portrait::of(courses, Stand { turn, rise });
    let mut drawing = portrait.head();
    let line = match shown {
        Shown::Tape(tape) => courses.of_tape(tape),
        Shown::NapeBelowOccipital => courses.occipital_to_nape_hairline(),
        Shown::Crown | Shown::CrownAside => courses.behind_the_tape(Length::mm(CROWN_BEHIND_TAPE.value)),
        Shown::Temple => courses.to_temple_hairline(Length::mm(TEMPLE_AT.value)),
        Shown::NapeCorner => courses.nape_to_corner(),
        Shown::CornerRise => courses.corner_rise(),
        Shown::BehindEar => courses.bare_behind_ear(),
        Shown::EarLineBack => example()?.behind_ear_top(LINE_BACK_DRAWN),
    };
    match shown {
        Shown::Tape(Tape::Length | Tape::Breadth) => drawing = drawing + &portrait.near_ear() + &portrait.calliper(&line),
        // It lies over the ear, the others in front of it or above it.
        Shown::Tape(Tape::EarToEarBehind) => drawing = drawing + &portrait.near_ear() + &portrait.tape(&line) + &portrait.ends(&line),
        Shown::CrownAside => {
            drawing += &portrait.laid(&courses.of_tape(Tape::EarToEarOverCrown));
            let aside = aside(courses, &line);
            drawing = drawing + &portrait.laid(&line) + &portrait.near_ear() + &portrait.tape(&aside) + &portrait.ends(&aside);
        }
        Shown::Tape(Tape::FrontHairlineToTape | Tape::TapeToNapeHairline) | Shown::Crown => {
            drawing += &portrait.laid(&courses.of_tape(Tape::EarToEarOverCrown));
            drawing = drawing + &portrait.near_ear() + &portrait.tape(&line) + &portrait.ends(&line);
        }
        Shown::Temple | Shown::EarLineBack => {
            drawing += &portrait.laid(&courses.ear_to_ear_line());
            drawing = drawing + &portrait.near_ear() + &portrait.tape(&line) + &portrait.ends(&line);
        }
        Shown::CornerRise => {
            let level: Vec<SkinPoint> = example()?.nape_to_corner();
            drawing = drawing + &portrait.near_ear() + &portrait.laid(&level) + &portrait.tape(&line) + &portrait.ends(&line);
        }
        Shown::BehindEar => drawing = drawing + &portrait.near_ear() + &portrait.tape(&line) + &portrait.ends(&line),
        _ => drawing = drawing + &portrait.tape(&line) + &portrait.near_ear() + &portrait.ends(&line),
    }
    let window = match shown {
        Shown::Tape(Tape::Length | Tape::Breadth) => "-130 -160 260 250",
        Shown::Tape(Tape::FrontHairlineToTape) => "-125 -138 250 240",
        // The place is small: nearer.
        Shown::NapeCorner | Shown::CornerRise => "-95 -50 160 154",
        Shown::BehindEar | Shown::EarLineBack => "-85 -75 160 154",
        _ => "-125 -142 250 240",
    };
    Some(Picture { drawing, title, says, window })
}

/// From the end of a line on the middle straight towards the client's right.
fn aside(courses: &Courses, line: &[SkinPoint]) -> Vec<SkinPoint> {
    let Some(SkinPoint(from)) = line.last() else { return Vec::new() };
    let skin = courses.shape();
    (0..=6).map(|i| SkinPoint(skin.project([from[0] + ASIDE_SHOWN * f64::from(i) / 6.0, from[1], from[2]]))).collect()
}

/// How far aside the whorl is drawn, mm.
const ASIDE_SHOWN: f64 = 18.0;

/// From where a measure is seen best, and what is seen.
const fn words(shown: Shown) -> (f64, f64, &'static str, &'static str) {
    match shown {
        Shown::Tape(Tape::Circumference) => (
            38.0,
            12.0,
            "The tape round the head",
            "A head seen from its right front. The tape lies level over the middle of the forehead, above the ear, and round the widest place at the back, where it is drawn dashed because the head hides it.",
        ),
        Shown::Tape(Tape::EarToEarOverCrown) => (
            34.0,
            20.0,
            "The tape from ear to ear over the crown",
            "A head seen from its right front. The tape begins at the notch before the opening of the right ear, goes straight up over the top of the head, and down to the same notch of the left ear, which the head hides.",
        ),
        Shown::Tape(Tape::FrontHairlineToTape) => (
            28.0,
            46.0,
            "From the front hairline to the ear-to-ear tape",
            "A head seen from above its forehead. The ear-to-ear tape lies over the top. A second tape runs along the middle from the front hairline back to it.",
        ),
        Shown::Tape(Tape::TapeToNapeHairline) => (
            126.0,
            16.0,
            "From the ear-to-ear tape to the nape hairline",
            "A head seen from behind its right ear. The ear-to-ear tape lies over the top. A second tape runs from it along the middle, over the back of the head, down to the lowest hair at the nape.",
        ),
        Shown::Tape(Tape::EarToEarBehind) => (
            128.0,
            8.0,
            "The tape from ear to ear behind the head",
            "A head seen from behind its right ear. The tape begins at the notch before the opening of the right ear, passes level round the back over the bump of the occipital bone, and ends at the left ear, which the head hides.",
        ),
        Shown::Tape(Tape::Length) => (
            90.0,
            0.0,
            "The calliper along the head",
            "A head seen from its right. One jaw of the calliper touches the forehead between the brows, the other the farthest place at the back.",
        ),
        Shown::Tape(Tape::Breadth) => (
            0.0,
            0.0,
            "The calliper across the head",
            "A head seen from the front. The two jaws of the calliper touch the widest places above the ears.",
        ),
        Shown::Crown => (
            140.0,
            42.0,
            "From the ear-to-ear tape to the crown whorl",
            "A head seen from above its back. The ear-to-ear tape lies over the top. A second tape runs from it back along the middle to the place where the hair turns round.",
        ),
        Shown::CrownAside => (
            160.0,
            48.0,
            "The crown whorl beside the middle",
            "A head seen from above its back. From the end of the tape along the middle a short tape runs to the right, to the place where the hair turns round.",
        ),
        Shown::Temple => (
            78.0,
            6.0,
            "From the ear-to-ear line forward to the hairline",
            "A head seen from its right. The ear-to-ear line runs straight up from the top of the ear. From a place on it above the ear a short tape runs level forward to where the hair begins at the temple.",
        ),
        Shown::NapeCorner => (
            158.0,
            0.0,
            "From the middle of the nape hairline to its corner",
            "A head seen from behind. A short tape runs along the nape hairline from its middle to the right, to the corner where the hairline turns up behind the ear.",
        ),
        Shown::CornerRise => (
            158.0,
            0.0,
            "How much higher the corner of the nape lies than the middle",
            "A head seen from behind. A line runs level from the middle of the nape hairline to below its right corner; a short tape runs from there straight up to the corner.",
        ),
        Shown::BehindEar => (
            118.0,
            4.0,
            "Bare skin behind the ear",
            "A head seen from behind its right ear. A short tape runs level back from the ear, at the height of its opening, to where the hair begins.",
        ),
        Shown::EarLineBack => (
            96.0,
            6.0,
            "How far behind the top of the ear the ear-to-ear line runs",
            "A head seen from its right. A short tape runs level back from the top of the ear to where the ear-to-ear line is combed straight up.",
        ),
        Shown::NapeBelowOccipital => (
            128.0,
            4.0,
            "From the occipital bone to the nape hairline",
            "A head seen from behind its right ear. The tape runs down the middle from the bump of the occipital bone to the lowest hair at the nape.",
        ),
    }
}

/// One view of the head as it is known so far.
pub struct Shape {
    /// From where it is seen.
    pub from: &'static str,
    /// The drawing.
    pub drawing: String,
}

/// The three views of the head so far, with the mean head behind it and every
/// line already taped; of the mean head alone while nothing is known.
pub fn shapes(known: Option<(&Fit, &Courses)>) -> Vec<Shape> {
    const VIEWS: [(&str, Stand); 3] = [
        ("front", Stand { turn: 0.0, rise: 0.0 }),
        ("right side", Stand { turn: 90.0, rise: 0.0 }),
        ("above", Stand { turn: 0.0, rise: 90.0 }),
    ];
    static SHADOWS: OnceLock<Vec<String>> = OnceLock::new();
    let shadows = SHADOWS.get_or_init(|| {
        let shadow = |stand: Stand| example().map(|courses| Portrait::of(courses, stand).shadow()).unwrap_or_default();
        VIEWS.iter().map(|(_, stand)| shadow(*stand)).collect()
    });
    VIEWS
        .iter()
        .zip(shadows)
        .map(|((from, stand), shadow)| {
            let Some((fit, courses)) = known else { return Shape { from, drawing: shadow.clone() } };
            let portrait = Portrait::of(courses, *stand);
            let mut drawing = portrait.head();
            drawing += shadow;
            for tape in taped(&fit.measures) {
                drawing += &portrait.trace(&courses.of_tape(tape));
            }
            drawing += &portrait.near_ear();
            drawing += &spans(&portrait, fit, courses, from);
            Shape { from, drawing }
        })
        .collect()
}

/// The tapes that were laid on.
fn taped(measures: &Measures) -> Vec<Tape> {
    let mut tapes = vec![Tape::Circumference];
    for (tape, value) in [
        (Tape::EarToEarOverCrown, measures.ear_to_ear_over_crown),
        (Tape::FrontHairlineToTape, measures.front_hairline_to_tape),
        (Tape::TapeToNapeHairline, measures.tape_to_nape_hairline),
        (Tape::EarToEarBehind, measures.ear_to_ear_behind),
    ] {
        if value.is_some() {
            tapes.push(tape);
        }
    }
    tapes
}

/// The size that a view shows best, as a line with a block at each end as long
/// as one standard error.
fn spans(portrait: &Portrait<'_>, fit: &Fit, courses: &Courses, from: &str) -> String {
    let across = |ends: &[head::SkinPoint], y: f64, sigma: Length| -> String {
        let &[a, b] = ends else { return String::new() };
        let (a, b) = (portrait.place(a)[0], portrait.place(b)[0]);
        let (left, right, s) = (a.min(b), a.max(b), sigma.to_mm());
        format!(
            "<path class=\"span\" d=\"M{left:.1} {y:.1}H{right:.1}\"/><rect class=\"unsure\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"8\"/>\
             <rect class=\"unsure\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"8\"/>",
            left - s,
            y - 4.0,
            2.0 * s,
            right - s,
            y - 4.0,
            2.0 * s,
        )
    };
    let mut out = String::new();
    match from {
        "front" => out += &across(&courses.of_tape(Tape::Breadth), -146.0, fit.sigma.breadth),
        "above" => {}
        _ => {
            out += &across(&courses.of_tape(Tape::Length), -146.0, fit.sigma.length);
            let (top, s) = (-fit.tragion_to_top.to_mm(), fit.sigma.tragion_to_top.to_mm());
            let _ = write!(
                out,
                "<path class=\"span\" d=\"M-118 0V{top:.1}\"/><rect class=\"unsure\" x=\"-122\" y=\"{:.1}\" width=\"8\" height=\"{:.1}\"/><path class=\"span level\" d=\"M-122 0H-114\"/>",
                top - s,
                2.0 * s
            );
        }
    }
    out
}
