//! A reading as its page shows it: sentences, swatches, lines of tables.
//!
//! This file is the whole page and what was read; what is matched, laid beside and
//! photographed beside the ends stands in `match_view`, `beside_view` and `swatches_view`.

use super::against_view::{AgainstView, Around, against};
use super::beside_view::{Beside, LightView, Lit, beside, lights};
use super::flaw_view::FlawsView;
use super::kept::{file_of, marks_beside};
use super::match_view::{MatchView, main_shade, matched};
use super::phones::PhoneView;
use super::start::OpenReading;
use super::swatches_view::{CheckView, RankedView, checks, ranked_say, ranking, swatch_says, unread};
use super::words;
use crate::web::frame::page::moment;
use crate::web::frame::swatch;
use colour::Lab;
use craft::matching::{Match, Ring, Target, match_ring};
use desk::KeptReading;
use measure::RuleBook;
use measure::text::{counted, fixed, sentence};
use reading::Flaw;

/// The reading's page.
pub struct ReadingView {
    /// Its id.
    pub id: String,
    /// Whose.
    pub client: String,
    /// Her name.
    pub name: String,
    /// When the hair was seen.
    pub when: String,
    /// How it was read.
    pub how: String,
    /// Whether her plan is made with it.
    pub in_force: bool,
    /// Whether it may be: one under a second light may not.
    pub may_be_used: bool,
    /// Whether a later reading of the same photo stands in its place.
    pub superseded: bool,
    /// The photo it was read from.
    pub photo: PhotoView,
    /// What was read.
    pub read: ReadView,
    /// What to take of the ring.
    pub take: TakeView,
    /// The shades laid against her ends.
    pub laid: LaidView,
    /// Swatches in the same photo.
    pub swatches: SwatchesView,
    /// The match in other lights.
    pub under: UnderLights,
}

/// The photo it was read from.
pub struct PhotoView {
    /// Its id; nothing for an instrument’s file.
    pub id: Option<String>,
    /// How the photo is called when it is taken out.
    pub name: String,
    /// Its names for the command line: photo and marks.
    pub files: (String, String),
    /// Pixels of the photo across and down.
    pub size: (usize, usize),
    /// What is wrong in the photo, drawn on it.
    pub flaws: FlawsView,
    /// The phone that took the photo.
    pub phone: Option<PhoneView>,
}

/// What was read.
pub struct ReadView {
    /// The colour of her ends on the screen.
    pub fill: String,
    /// Its numbers.
    pub numbers: String,
    /// Its level, from a photo.
    pub level: String,
    /// How sure it is.
    pub sure: Option<SureView>,
    /// What to know, where it shows at no place in the photo.
    pub warnings: Vec<String>,
    /// The tones, with bar widths of a hundred.
    pub tones: Vec<ToneView>,
}

/// What to take of the ring.
pub struct TakeView {
    /// What is matched against; nothing to choose without the ring as a phone read it.
    pub against: Option<AgainstView>,
    /// The pieces shared out.
    pub pieces: u32,
    /// What to say of the number of pieces.
    pub pieces_say: &'static str,
    /// The answer, where there is a ring.
    pub matched: Option<MatchView>,
    /// Why there is no answer.
    pub unmatched: String,
}

/// The shades laid against her ends.
pub struct LaidView {
    /// The shades beside her ends.
    pub beside: Vec<Beside>,
    /// The same under the light that is looked at.
    pub lit: String,
    /// Whether only one is looked at.
    pub alone: bool,
    /// Which one.
    pub show: String,
}

/// Swatches in the same photo.
pub struct SwatchesView {
    /// The swatch in the same photo.
    pub one: String,
    /// Several swatches in the same photo, the nearest first.
    pub ranking: Vec<RankedView>,
    /// How sure their order is.
    pub ranked_say: String,
    /// Those that could not be read, and why.
    pub unread: Vec<String>,
}

/// The match in other lights.
pub struct UnderLights {
    /// Whether a second photo is offered.
    pub second: bool,
    /// The shade to photograph beside the ends.
    pub second_shade: String,
    /// The match under other lights, from spectra.
    pub lights: Vec<LightView>,
    /// What photos under a second light said.
    pub checks: Vec<CheckView>,
}

/// How sure a reading is.
pub struct SureView {
    /// In dE00.
    pub value: String,
    /// In words.
    pub says: String,
    /// What to do about it.
    pub advice: &'static str,
    /// What it is made of: words, amount, bar width of a hundred.
    pub parts: Vec<(&'static str, String, String)>,
}

/// One tone of the ends.
pub struct ToneView {
    /// Its screen colour.
    pub fill: String,
    /// Its share in per cent.
    pub share: String,
    /// Where its bar begins and how wide it is, of a hundred.
    pub from: String,
    /// How wide its bar is, of a hundred.
    pub wide: String,
    /// The nearest shade and its pieces, where the ring is matched by tones.
    pub shade: String,
}

impl ReadingView {
    /// The page of a reading among all of hers.
    pub fn of(reading: &OpenReading, all: &[OpenReading], around: Around) -> Self {
        let mut target = reading.kept.target();
        let own = &around.ring;
        let shades = around.against.as_ref().map_or(own, |against| &against.read.ring);
        if let Some(against) = &around.against {
            target.uncertainty_de00 = against.read.sure_with(target.uncertainty_de00);
        }
        let lab = target.lab_d65;
        let (found, unmatched) = match_shades(&target, shades, &around);
        let id = reading.line.id.to_string();
        let photo_file = file_of(&id, around.format);
        let (how, level, sure, mut warnings) = told(&reading.kept, own);
        let seen = around.size.map(|_| flaws(&reading.kept)).unwrap_or_default();
        warnings.retain(|warning| seen.iter().all(|flaw| flaw.says != *warning));
        let size = around.size.unwrap_or_default();
        let lit = found.as_ref().filter(|found| !found.lights.is_empty()).and_then(|_| Lit::by(&target, &around.light));
        let beside = found.as_ref().map(|found| beside(found, &target, shades, lit.as_ref())).unwrap_or_default();
        let lights = found.as_ref().map(|found| lights(found, lit.as_ref())).unwrap_or_default();
        let is_photo = matches!(reading.kept, KeptReading::Photo { .. });
        Self {
            client: reading.line.client.to_string(),
            name: around.name.clone(),
            when: moment(reading.line.seen_ms),
            how,
            in_force: around.in_force,
            may_be_used: reading.kept.second_of().is_none(),
            superseded: reading.line.superseded,
            photo: PhotoView {
                id: reading.line.photo.map(|photo| photo.to_string()),
                name: format!("{id}{}", around.format.suffix()),
                files: (photo_file.clone(), marks_beside(&photo_file)),
                size,
                flaws: FlawsView::of(seen, size, &[]),
                phone: around.phone.clone(),
            },
            read: ReadView {
                fill: swatch::of_lab(lab),
                numbers: numbers(lab),
                level,
                sure,
                warnings,
                tones: tones(&target, found.as_ref()),
            },
            take: TakeView {
                against: against(&around, reading.kept.uncertainty().unwrap_or(0.0)),
                pieces: around.pieces,
                pieces_say: pieces_say(&around),
                matched: found.as_ref().map(|found| matched(found, &target, shades, &around.on_hand)),
                unmatched,
            },
            laid: laid(beside, swatch::of_lab(lit.as_ref().map_or(lab, Lit::ends)), &around.show),
            swatches: SwatchesView {
                one: swatch_says(&reading.kept, &around.ring),
                ranking: ranking(&reading.kept, own),
                ranked_say: ranked_say(&reading.kept),
                unread: unread(&reading.kept),
            },
            under: UnderLights {
                second: is_photo && lights.is_empty() && reading.kept.second_of().is_none(),
                second_shade: found.as_ref().and_then(Match::taken).and_then(main_shade).unwrap_or_default(),
                lights,
                checks: checks(reading, all, &around.ring),
            },
            id,
        }
    }
}

/// What the ring can do for the ends, or why it cannot be asked; neither where it has no shades.
fn match_shades(target: &Target, shades: &Ring, around: &Around) -> (Option<Match>, String) {
    if shades.shades.is_empty() {
        return (None, String::new());
    }
    match match_ring(target, shades, around.pieces, &around.on_hand, &RuleBook::standard()) {
        Ok(found) => (Some(found), String::new()),
        Err(fault) => (None, sentence(&fault.to_string())),
    }
}

/// Everything laid beside the ends, or the one thing that is to be shown alone.
fn laid(mut beside: Vec<Beside>, lit: String, show: &str) -> LaidView {
    let alone = beside.iter().any(|one| one.key == show);
    if alone {
        beside.retain(|one| one.key == show);
    }
    LaidView { beside, lit, alone, show: if alone { show.to_owned() } else { String::new() } }
}

fn pieces_say(around: &Around) -> &'static str {
    if around.pieces_refused {
        "That number of pieces cannot be shared out; this is shown instead."
    } else if around.planned {
        "As many as her newest plan takes, unless you write another number."
    } else {
        "Her plan will say how many; until then, write what you think."
    }
}

fn numbers(lab: Lab) -> String {
    format!("L* {}, a* {}, b* {} under D65", fixed(lab.l, 1), fixed(lab.a, 1), fixed(lab.b, 1))
}

fn flaws(kept: &KeptReading) -> &[Flaw] {
    match kept {
        KeptReading::Photo { flaws, .. } => flaws,
        KeptReading::Instrument { .. } => &[],
    }
}

fn told(kept: &KeptReading, ring: &Ring) -> (String, String, Option<SureView>, Vec<String>) {
    match kept {
        KeptReading::Photo { reading, .. } => {
            let found = words::parts(&reading.uncertainty_parts);
            let largest = found.first().map_or(1.0, |part| part.1);
            let parts = found.iter().map(|(says, part)| (*says, fixed(*part, 1), fixed(100.0 * part / largest, 0))).collect();
            let sure = SureView {
                value: fixed(reading.uncertainty_de00, 1),
                says: words::in_shades(reading.uncertainty_de00, ring),
                advice: words::sureness(reading.uncertainty_de00),
                parts,
            };
            ("Read from a photo".to_owned(), fixed(reading.level, 1), Some(sure), reading.warnings.clone())
        }
        KeptReading::Instrument { sample, carried, .. } => {
            let warnings = if *carried {
                vec!["The file holds numbers, not a spectrum: how the match holds in another light cannot be told.".to_owned()]
            } else {
                Vec::new()
            };
            (format!("From an instrument’s file: {sample}"), String::new(), None, warnings)
        }
    }
}

fn tones(target: &Target, found: Option<&Match>) -> Vec<ToneView> {
    let total: f64 = target.tones.iter().map(|tone| tone.share).sum();
    let mut from = 0.0;
    let by_tone = found.map(|found| found.by_tone.as_slice()).unwrap_or_default();
    target
        .tones
        .iter()
        .enumerate()
        .map(|(at, tone)| {
            let wide = 100.0 * tone.share / total.max(f64::MIN_POSITIVE);
            let view = ToneView {
                fill: swatch::of_lab(tone.lab_d65),
                share: format!("{} %", fixed(wide, 0)),
                from: format!("{from:.2}"),
                wide: format!("{wide:.2}"),
                shade: by_tone
                    .get(at)
                    .map(|tone| format!("{} of {}, {} apart", counted(tone.pieces, "piece", "pieces"), tone.code, fixed(tone.de00, 1)))
                    .unwrap_or_default(),
            };
            from += wide;
            view
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bars_of_the_tones_fill_the_whole_width_without_a_gap() {
        let tone = |share: f64, l: f64| craft::matching::Tone { share, lab_d65: Lab::new(l, 8.0, 18.0) };
        let target = Target { tones: vec![tone(0.5, 30.0), tone(0.3, 40.0), tone(0.1, 50.0)], ..Target::of(Lab::new(35.0, 8.0, 18.0)) };
        let mut end = 0.0;
        for view in tones(&target, None) {
            let (from, wide): (f64, f64) = (view.from.parse().unwrap(), view.wide.parse().unwrap());
            assert!((from - end).abs() < 0.011, "{from} after {end}");
            end = from + wide;
        }
        assert!((end - 100.0).abs() < 0.02, "{end}");
    }
}
