//! A reading as its page shows it: sentences, swatches, lines of tables.

use super::against_view::{Against, AgainstView, against};
use super::flaw_view::FlawsView;
use super::kept::{file_of, marks_beside};
use super::mixes_view::{MixView, advised_by, other_mixes};
use super::phones::PhoneView;
use super::start::OpenReading;
use super::words;
use crate::web::page::moment;
use crate::web::swatch::{self, Swatch};
use colour::{D65, Lab, Light, Observer, Spectrum, Weights, ciede2000, ciede2000_weighted};
use craft::matching::{Match, Mix, Reflectance, Ring, Target, match_ring, second_light};
use desk::{KeptReading, SwatchBeside};
use measure::RuleBook;
use photo::Format;
use reading::Flaw;
use std::collections::BTreeMap;

/// What stands round a reading.
pub struct Around {
    /// The salon's ring.
    pub ring: Ring,
    /// Pieces on the shelf, by shade.
    pub on_hand: BTreeMap<String, u32>,
    /// How many pieces are shared out.
    pub pieces: u32,
    /// Whether a number of pieces was asked for that cannot be.
    pub pieces_refused: bool,
    /// Whether a plan says how many pieces.
    pub planned: bool,
    /// The one shade that is looked at alone.
    pub show: String,
    /// The light the shades are looked at under, by its published name.
    pub light: String,
    /// Whether her plan is made with this reading.
    pub in_force: bool,
    /// Her name.
    pub name: String,
    /// The format its photo is kept in.
    pub format: Format,
    /// Pixels of its photo; nothing once that is thrown away.
    pub size: Option<(usize, usize)>,
    /// The ring as a phone read it that is matched against.
    pub against: Option<Against>,
    /// Rings as read that may be: id and name.
    pub read_rings: Vec<(String, String)>,
    /// The phone that took the photo; nothing without one.
    pub phone: Option<PhoneView>,
}

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
    /// The photo it was read from.
    pub photo: Option<String>,
    /// How the photo is called when it is taken out.
    pub photo_name: String,
    /// Its names for the command line: photo and marks.
    pub files: (String, String),
    /// The colour of her ends on the screen.
    pub fill: String,
    /// The same under the light that is looked at.
    pub lit: String,
    /// Its numbers.
    pub numbers: String,
    /// Its level, from a photo.
    pub level: String,
    /// How sure it is.
    pub sure: Option<SureView>,
    /// What to know, where it shows at no place in the photo.
    pub warnings: Vec<String>,
    /// What is wrong in the photo, drawn on it.
    pub flaws: FlawsView,
    /// Pixels of the photo across and down.
    pub size: (usize, usize),
    /// What is matched against; nothing to choose without the ring as a phone read it.
    pub against: Option<AgainstView>,
    /// The phone that took the photo.
    pub phone: Option<PhoneView>,
    /// The tones, with bar widths of a hundred.
    pub tones: Vec<ToneView>,
    /// Whether her plan is made with it.
    pub in_force: bool,
    /// Whether it may be: one under a second light may not.
    pub may_be_used: bool,
    /// Whether a later reading of the same photo stands in its place.
    pub superseded: bool,
    /// The pieces shared out.
    pub pieces: u32,
    /// What to say of the number of pieces.
    pub pieces_say: &'static str,
    /// The answer, where there is a ring.
    pub matched: Option<MatchView>,
    /// Why there is no answer.
    pub unmatched: String,
    /// The shades beside her ends.
    pub beside: Vec<Beside>,
    /// Whether only one is looked at.
    pub alone: bool,
    /// Which one.
    pub show: String,
    /// The swatch in the same photo.
    pub swatch: String,
    /// Several swatches in the same photo, the nearest first.
    pub ranking: Vec<RankedView>,
    /// How sure their order is.
    pub ranked_say: String,
    /// Those that could not be read, and why.
    pub unread: Vec<String>,
    /// The match under other lights, from spectra.
    pub lights: Vec<LightView>,
    /// What photos under a second light said.
    pub checks: Vec<CheckView>,
    /// Whether a second photo is offered.
    pub second: bool,
    /// The shade to photograph beside the ends.
    pub second_shade: String,
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

/// What to take.
pub struct MatchView {
    /// Whether the ring reaches her colour.
    pub reachable: bool,
    /// The answer in one line.
    pub says: String,
    /// Its parts.
    pub parts: Vec<PartView>,
    /// How near it comes.
    pub apart: String,
    /// Why a nearer mix is not advised.
    pub stripes: String,
    /// Why the advised mix is advised.
    pub advised_by: String,
    /// Mixes that are not advised, nearest first.
    pub mixes: Vec<MixView>,
    /// The nearest shades.
    pub nearest: Vec<NearView>,
    /// Shades the reading cannot tell apart, as one line.
    pub alike: String,
}

/// Pieces of one shade.
pub struct PartView {
    /// The shade.
    pub swatch: Swatch,
    /// Its pieces.
    pub pieces: String,
    /// What lies on the shelf.
    pub shelf: String,
}

/// One near shade.
pub struct NearView {
    /// The shade.
    pub swatch: Swatch,
    /// Its difference.
    pub de00: String,
    /// Its difference with texture forgiven.
    pub textured: String,
    /// The difference in words.
    pub says: &'static str,
    /// Whether the reading cannot tell it from the nearest.
    pub alike: bool,
}

/// One colour laid against her ends.
pub struct Beside {
    /// What to show it alone by.
    pub key: String,
    /// What it is.
    pub label: String,
    /// How far it is.
    pub de00: String,
    /// Its screen colour.
    pub fill: String,
    /// Whether dark letters read on it.
    pub light: bool,
}

/// The match under one light.
pub struct LightView {
    /// The light.
    pub name: String,
    /// Its published name.
    pub key: &'static str,
    /// Whether the shades are looked at under it.
    pub on: bool,
    /// The difference.
    pub de00: String,
    /// In words.
    pub says: &'static str,
}

/// What a photo under a second light said.
pub struct CheckView {
    /// When.
    pub when: String,
    /// The shade.
    pub code: String,
    /// Under the first light.
    pub first: String,
    /// Under the second.
    pub second: String,
    /// In words.
    pub says: &'static str,
    /// Whether it holds.
    pub holds: bool,
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
        let found = (!shades.shades.is_empty()).then(|| match_ring(&target, shades, around.pieces, &around.on_hand, &RuleBook::standard()));
        let (found, unmatched) = match found {
            Some(Ok(found)) => (Some(found), String::new()),
            Some(Err(fault)) => (None, super::upload::sentence(&fault.to_string())),
            None => (None, String::new()),
        };
        let id = reading.line.id.to_string();
        let photo_file = file_of(&id, around.format);
        let (how, level, sure, mut warnings) = told(&reading.kept, own);
        let seen = around.size.map(|_| flaws(&reading.kept)).unwrap_or_default();
        warnings.retain(|warning| seen.iter().all(|flaw| flaw.says != *warning));
        let size = around.size.unwrap_or_default();
        let lit = found.as_ref().filter(|found| !found.lights.is_empty()).and_then(|_| Lit::by(&target, &around.light));
        let mut beside = found.as_ref().map(|found| beside(found, &target, shades, lit.as_ref())).unwrap_or_default();
        let alone = beside.iter().any(|one| one.key == around.show);
        if alone {
            beside.retain(|one| one.key == around.show);
        }
        let lights: Vec<LightView> = found
            .iter()
            .flat_map(|found| &found.lights)
            .map(|under| LightView {
                name: words::light(under.light).to_owned(),
                key: under.light,
                on: lit.as_ref().map_or(Light::D65, |lit| lit.light).name() == under.light,
                de00: words::number(under.de00, 1),
                says: words::difference(under.de00),
            })
            .collect();
        let is_photo = matches!(reading.kept, KeptReading::Photo { .. });
        Self {
            client: reading.line.client.to_string(),
            name: around.name.clone(),
            when: moment(reading.line.seen_ms),
            how,
            photo: reading.line.photo.map(|photo| photo.to_string()),
            photo_name: format!("{id}{}", around.format.suffix()),
            files: (photo_file.clone(), marks_beside(&photo_file)),
            fill: swatch::of_lab(lab),
            lit: swatch::of_lab(lit.as_ref().map_or(lab, |lit| lit.seen(&lit.own))),
            show: if alone { around.show.clone() } else { String::new() },
            numbers: numbers(lab),
            level,
            sure,
            warnings,
            flaws: FlawsView::of(seen, size, &[]),
            size,
            against: against(&around, reading.kept.uncertainty().unwrap_or(0.0)),
            phone: around.phone.clone(),
            tones: tones(&target, found.as_ref()),
            in_force: around.in_force,
            may_be_used: reading.kept.second_of().is_none(),
            superseded: reading.line.superseded,
            pieces: around.pieces,
            pieces_say: pieces_say(&around),
            second_shade: found.as_ref().and_then(chosen).and_then(main_shade).unwrap_or_default(),
            matched: found.as_ref().map(|found| matched(found, &target, &around, shades)),
            unmatched,
            beside,
            alone,
            swatch: swatch_says(&reading.kept, &around.ring),
            ranking: ranking(&reading.kept, own),
            ranked_say: ranked_say(&reading.kept),
            unread: unread(&reading.kept),
            checks: checks(reading, all, &around.ring),
            second: is_photo && lights.is_empty() && reading.kept.second_of().is_none(),
            lights,
            id,
        }
    }
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
    format!("L* {}, a* {}, b* {} under D65", words::number(lab.l, 1), words::number(lab.a, 1), words::number(lab.b, 1))
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
            let parts =
                found.iter().map(|(says, part)| (*says, words::number(*part, 1), words::number(100.0 * part / largest, 0))).collect();
            let sure = SureView {
                value: words::number(reading.uncertainty_de00, 1),
                says: words::in_shades(reading.uncertainty_de00, ring),
                advice: words::sureness(reading.uncertainty_de00),
                parts,
            };
            ("Read from a photo".to_owned(), words::number(reading.level, 1), Some(sure), reading.warnings.clone())
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
                share: format!("{} %", words::number(wide, 0)),
                from: format!("{from:.2}"),
                wide: format!("{wide:.2}"),
                shade: by_tone
                    .get(at)
                    .map(|tone| format!("{} of {}, {} apart", words::pieces(tone.pieces), tone.code, words::number(tone.de00, 1)))
                    .unwrap_or_default(),
            };
            from += wide;
            view
        })
        .collect()
}

/// The mix that a plan would take.
pub fn chosen(found: &Match) -> Option<&Mix> {
    found.advised.as_ref().or(found.fewest.as_ref()).or(found.mixes.first())
}

fn main_shade(mix: &Mix) -> Option<String> {
    mix.pieces.iter().max_by_key(|(_, count)| **count).map(|(code, _)| code.clone())
}

/// A mix in words, the most pieces first.
pub fn in_words(mix: &Mix) -> String {
    let mut parts: Vec<(&String, &u32)> = mix.pieces.iter().collect();
    parts.sort_by(|p, q| q.1.cmp(p.1).then_with(|| p.0.cmp(q.0)));
    let said: Vec<String> = parts
        .iter()
        .enumerate()
        .map(|(at, (code, count))| if at == 0 { format!("{} of {code}", words::pieces(**count)) } else { format!("{count} of {code}") })
        .collect();
    match said.as_slice() {
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
        [] => String::new(),
    }
}

/// How far a mix is from her ends, with texture forgiven.
pub fn textured(target: &Target, mix: &Mix) -> f64 {
    ciede2000_weighted(target.lab_d65, mix.lab_d65, Weights::TEXTURED)
}

fn matched(found: &Match, target: &Target, around: &Around, ring: &Ring) -> MatchView {
    let set = chosen(found);
    let mut parts: Vec<(&String, &u32)> = set.iter().flat_map(|mix| &mix.pieces).collect();
    parts.sort_by(|p, q| q.1.cmp(p.1).then_with(|| p.0.cmp(q.0)));
    let alike = |code: &str| found.cannot_tell_apart.iter().any(|other| other == code);
    MatchView {
        reachable: found.reachable,
        says: set.map(in_words).unwrap_or_default(),
        parts: parts
            .iter()
            .map(|(code, count)| PartView {
                swatch: swatch::of(ring, code),
                pieces: words::pieces(**count),
                shelf: match around.on_hand.get(*code) {
                    Some(held) => format!("{held} on the shelf"),
                    None => String::new(),
                },
            })
            .collect(),
        apart: set
            .map(|mix| {
                format!(
                    "Together {} from her ends: {}. With texture forgiven, {}.",
                    words::number(mix.de00, 1),
                    words::difference(mix.de00),
                    words::number(textured(target, mix), 1)
                )
            })
            .unwrap_or_default(),
        stripes: stripes(found),
        advised_by: advised_by(found),
        mixes: other_mixes(found, target),
        nearest: found
            .nearest
            .iter()
            .enumerate()
            .map(|(at, near)| NearView {
                swatch: swatch::of(ring, &near.code),
                de00: words::number(near.de00, 2),
                textured: words::number(near.de00_textured, 2),
                says: words::difference(near.de00),
                alike: alike(&near.code) || (at == 0 && !found.cannot_tell_apart.is_empty()),
            })
            .collect(),
        alike: match (found.nearest.first(), found.cannot_tell_apart.as_slice()) {
            (Some(first), [_, ..]) => format!(
                "This photo cannot tell {} from {}. Hold those swatches to her ends and trust your eye, or lay them beside her ends in a second photo.",
                first.code,
                found
                    .cannot_tell_apart
                    .iter()
                    .zip(&found.cannot_tell_apart_de00)
                    .map(|(code, apart)| format!("{code} ({} apart, {})", words::number(*apart, 1), words::difference(*apart)))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            _ => String::new(),
        },
    }
}

/// Why the mix that is nearest on paper is not the one advised.
fn stripes(found: &Match) -> String {
    match (&found.fewest, chosen(found)) {
        (Some(nearer), Some(set)) if nearer.parts_apart_de00 > set.parts_apart_de00 && nearer.de00 < set.de00 => format!(
            "On paper {} come nearer, but the shades lie {} apart and would show as stripes.",
            in_words(nearer),
            words::number(nearer.parts_apart_de00, 0)
        ),
        _ => String::new(),
    }
}

/// How many near shades are laid against the ends, besides the mix.
const LAID_BESIDE: usize = 3;
/// From this lightness on, dark letters read better than light ones.
const DARK_LETTERS_FROM: f64 = 50.0;

/// A light that everything is looked at under, where spectra are known.
struct Lit {
    light: Light,
    own: Spectrum,
}

impl Lit {
    fn by(target: &Target, name: &str) -> Option<Self> {
        Some(Self { light: Light::named(name)?, own: target.spectrum.clone()? })
    }

    fn seen(&self, spectrum: &Spectrum) -> Lab {
        spectrum.under(self.light, Observer::TwoDegrees).to_lab(self.light.white())
    }

    /// Shades together, and how far they are from the ends, in this light.
    fn together(&self, ring: &Ring, pieces: &BTreeMap<String, u32>) -> Option<(Lab, f64)> {
        let parts = pieces
            .iter()
            .map(|(code, count)| {
                let shade = ring.shades.iter().find(|shade| shade.code == *code)?;
                let spectrum = shade.reflectance.as_ref().and_then(|reflectance: &Reflectance| reflectance.spectrum().ok())?;
                Some((spectrum, f64::from(*count)))
            })
            .collect::<Option<Vec<_>>>()?;
        let borrowed: Vec<(&Spectrum, f64)> = parts.iter().map(|(spectrum, count)| (spectrum, *count)).collect();
        let lab = self.seen(&Spectrum::mixed(&borrowed)?);
        Some((lab, ciede2000(self.seen(&self.own), lab)))
    }
}

/// The mix and the nearest shades, to be laid against the ends; under a light
/// only what has a spectrum.
fn beside(found: &Match, target: &Target, ring: &Ring, lit: Option<&Lit>) -> Vec<Beside> {
    let mix = chosen(found).filter(|mix| mix.pieces.len() > 1).map(|mix| {
        let label: Vec<String> = mix.pieces.iter().map(|(code, count)| format!("{count} × {code}")).collect();
        ("mix".to_owned(), label.join(" + "), mix.pieces.clone(), Some(mix.lab_d65))
    });
    let near = found
        .nearest
        .iter()
        .take(LAID_BESIDE)
        .map(|near| (near.code.clone(), near.code.clone(), BTreeMap::from([(near.code.clone(), 1)]), stored(ring, &near.code)));
    mix.into_iter()
        .chain(near)
        .filter_map(|(key, label, pieces, lab)| {
            let (lab, de00) = match lit {
                Some(lit) => lit.together(ring, &pieces)?,
                None => lab.map(|lab| (lab, ciede2000(target.lab_d65, lab)))?,
            };
            Some(Beside { key, label, de00: words::number(de00, 1), fill: swatch::of_lab(lab), light: lab.l >= DARK_LETTERS_FROM })
        })
        .collect()
}

fn stored(ring: &Ring, code: &str) -> Option<Lab> {
    ring.shades.iter().find(|shade| shade.code == code)?.colour().ok().map(|colour| colour.to_lab(D65))
}

/// One of several swatches beside her ends.
pub struct RankedView {
    /// Its code.
    pub code: String,
    /// Its name on the ring.
    pub name: String,
    /// Its colour in the photo, on a screen.
    pub fill: String,
    /// How far it is from her ends.
    pub de00: String,
    /// How far that may be off.
    pub sure: String,
    /// The same in words.
    pub says: &'static str,
    /// Of one that the photo cannot tell from the nearest: how far they are apart.
    pub told: String,
}

fn ranked(kept: &KeptReading) -> (&[reading::Ranked], &[reading::Unread]) {
    match kept {
        KeptReading::Photo { ranking, unread, .. } => (ranking, unread),
        KeptReading::Instrument { .. } => (&[], &[]),
    }
}

fn ranking(kept: &KeptReading, ring: &Ring) -> Vec<RankedView> {
    let (ranking, _) = ranked(kept);
    let first = ranking.first().map_or("", |one| one.code.as_str());
    let view = |(at, one): (usize, &reading::Ranked)| RankedView {
        code: one.code.clone(),
        name: ring.shades.iter().find(|shade| shade.code == one.code).map(|shade| shade.name.clone()).unwrap_or_default(),
        fill: swatch::of_lab(one.lab_d65),
        de00: words::number(one.de00, 1),
        sure: words::number(one.sure_to, 1),
        says: words::difference(one.de00),
        told: if at == 0 || one.told_from_first {
            String::new()
        } else {
            format!("In this photo {} from {first}, less than it can tell.", words::number(one.from_first_de00, 1))
        },
    };
    ranking.iter().enumerate().map(view).collect()
}

/// How sure it is which swatch is the nearest.
fn ranked_say(kept: &KeptReading) -> String {
    let (ranking, _) = ranked(kept);
    let Some((first, others)) = ranking.split_first() else { return String::new() };
    let alike: Vec<&str> = others.iter().filter(|one| !one.told_from_first).map(|one| one.code.as_str()).collect();
    if alike.is_empty() {
        let margin = others.first().map_or(0.0, |second| second.de00 - first.de00);
        return if others.first().is_some_and(|second| margin > second.sure_to.max(first.sure_to)) {
            format!("{} is the nearest, and the photo is sure of it.", first.code)
        } else {
            format!(
                "{} is the nearest. The photo tells the swatches apart, but not surely which of them is nearer: let your eye decide.",
                first.code
            )
        };
    }
    format!(
        "{} is the nearest, but this photo cannot tell it from {}: either will look the same in it. Let your eye decide.",
        first.code,
        alike.join(" and ")
    )
}

fn unread(kept: &KeptReading) -> Vec<String> {
    let (_, unread) = ranked(kept);
    unread.iter().map(|one| format!("The swatch of {} could not be read: {}.", one.code, one.why)).collect()
}

/// What the swatch in the same photo says of the photo and of the match.
fn swatch_says(kept: &KeptReading, ring: &Ring) -> String {
    let KeptReading::Photo { reading, swatch: Some(swatch), ranking, .. } = kept else { return String::new() };
    // Of several the ranking says it.
    if ranking.len() > 1 {
        return String::new();
    }
    let apart = ciede2000(reading.lab_d65, swatch.lab_d65);
    let side_by_side = format!(
        "In the same photo, her ends and the swatch of {} are {} apart: {}.",
        swatch.code,
        words::number(apart, 1),
        words::difference(apart)
    );
    match stored(ring, &swatch.code) {
        Some(own) => {
            format!(
                "{side_by_side} The swatch itself reads {} from what the ring says of it.",
                words::number(ciede2000(own, swatch.lab_d65), 1)
            )
        }
        None => side_by_side,
    }
}

fn checks(reading: &OpenReading, all: &[OpenReading], ring: &Ring) -> Vec<CheckView> {
    let id = reading.line.id.to_string();
    let first_swatch = match &reading.kept {
        KeptReading::Photo { swatch, .. } => swatch.as_ref(),
        KeptReading::Instrument { .. } => None,
    };
    all.iter()
        .filter(|later| later.kept.second_of() == Some(id.as_str()))
        .filter_map(|later| {
            let KeptReading::Photo { reading: second, swatch: Some(beside), .. } = &later.kept else { return None };
            let own = first_swatch.filter(|swatch: &&SwatchBeside| swatch.code == beside.code).map(|swatch| swatch.lab_d65);
            let swatch = own.or_else(|| stored(ring, &beside.code))?;
            let sure = reading.kept.uncertainty().unwrap_or(0.0).hypot(second.uncertainty_de00);
            let check = second_light([reading.kept.lab_d65(), swatch], [second.lab_d65, beside.lab_d65], sure);
            Some(CheckView {
                when: moment(later.line.seen_ms),
                code: beside.code.clone(),
                first: words::number(check.first_de00, 1),
                second: words::number(check.second_de00, 1),
                says: words::second_light(&check),
                holds: check.holds,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use craft::matching::Shade;

    fn ring() -> Ring {
        let shade = |code: &str, lab: [f64; 3]| Shade {
            code: code.to_owned(),
            name: String::new(),
            lab_d65: Some(lab.into()),
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: None,
        };
        Ring { shades: vec![shade("S05", [29.5, 8.5, 18.5]), shade("S06", [35.5, 8.4, 21.0]), shade("S10", [65.0, 4.3, 19.8])] }
    }

    fn read_from_photo(id_of_first: Option<&str>, ends: [f64; 3], swatch: Option<[f64; 3]>) -> KeptReading {
        let text = serde_json::json!({
            "by": "photo", "marks": { "chart_corners": [[0, 0], [1, 0], [1, 1], [0, 1]], "hair": [[2, 0], [3, 0], [3, 1]] },
            "second_of": id_of_first,
            "swatch": swatch.map(|lab| serde_json::json!({ "code": "S05", "lab_d65": lab, "uncertainty_de00": 1.0 })),
            "reading": {
                "lab_d50": ends, "lab_d65": ends, "tones": [], "uncertainty_de00": 1.0, "level": 5.0, "warnings": [],
                "residuals": { "chart_de00": 0.4, "grey_error": 0.01, "curve_strength": 0, "light_range": 1.1, "board_spread": 0.01, "clipped": 0 },
            },
        });
        serde_json::from_value(text).unwrap()
    }

    fn line(kept: KeptReading) -> OpenReading {
        let id = "0190b7a0-0000-7000-8000-000000000001";
        let line = desk::Reading {
            id: id.parse().unwrap(),
            client: id.parse().unwrap(),
            photo: None,
            kept: kept.clone(),
            seen_ms: 0,
            superseded: false,
        };
        OpenReading { line, kept }
    }

    #[test]
    fn a_mix_is_said_in_whole_pieces_the_larger_part_first() {
        let target = Target::of(Lab::new(32.3, 8.5, 19.7));
        let found = match_ring(&target, &ring(), 20, &BTreeMap::new(), &RuleBook::standard()).unwrap();
        let set = chosen(&found).unwrap();
        let said = in_words(set);
        let (more, less) = if set.pieces["S05"] >= set.pieces["S06"] { ("S05", "S06") } else { ("S06", "S05") };
        assert_eq!(said, format!("{} pieces of {more} and {} of {less}", set.pieces[more], set.pieces[less]));
        assert_eq!(set.pieces.values().sum::<u32>(), 20);
    }

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

    #[test]
    fn a_swatch_that_leaves_her_ends_under_a_second_light_does_not_hold() {
        let first = line(read_from_photo(None, [29.5, 8.5, 18.5], None));
        let id = first.line.id.to_string();
        let near = line(read_from_photo(Some(&id), [29.5, 8.5, 18.5], Some([29.9, 8.4, 18.3])));
        let far = line(read_from_photo(Some(&id), [29.5, 8.5, 18.5], Some([36.0, 12.0, 20.0])));
        let told = checks(&first, &[near, far], &ring());
        assert_eq!(told.iter().map(|check| check.holds).collect::<Vec<_>>(), [true, false]);
        assert_eq!(told[0].first, "0.0", "the ring's own colour stands for a swatch the first photo does not show");
    }

    #[test]
    fn a_reading_under_a_light_nobody_knows_is_looked_at_in_daylight() {
        let target = Target { spectrum: Some(Spectrum::on_table_steps([0.2; 81])), ..Target::of(Lab::new(50.0, 0.0, 0.0)) };
        assert!(Lit::by(&target, "candle").is_none());
        assert!(Lit::by(&target, "A").is_some());
        assert!(Lit::by(&Target::of(Lab::new(50.0, 0.0, 0.0)), "A").is_none(), "no spectrum, no other light");
    }
}
