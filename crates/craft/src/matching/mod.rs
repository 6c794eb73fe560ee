//! Which shades of the ring, in whole pieces, come nearest to the ends.
//!
//! The colour is matched to the ends, never the roots. Shades are mixed piece
//! by piece, so a mixture is the mean of X, Y, Z by numbers of pieces. Every
//! set of up to three shades and every way of sharing the pieces is considered;
//! what is skipped is skipped by a bound that no better mix can pass.

mod cells;
mod fading;
mod mixes;
mod phone;
mod ring;
mod taken;

pub use fading::{Fading, LightCheck, fading, second_light};
pub use phone::{PHONE_KNOWN, PHONE_STRAYS, PhoneFit, ReadShade, RingAsRead, phone_fit};
pub use ring::{Reflectance, Ring, RingFault, Shade, ring_from_csv, ring_to_csv, too_close};
pub use taken::PIECES_UNTIL_A_PLAN;

use crate::matching::mixes::{Found, Search};
use crate::words::Message;
use colour::{D65, Lab, Light, Mixture, Observer, Spectrum, Weights, Xyz, ciede2000, ciede2000_weighted};
use measure::text::{fixed, number};
use measure::{Grade, Rule, RuleBook};
use serde::Serialize;
use std::collections::BTreeMap;

/// Below this difference two colours look the same.
pub const NO_VISIBLE: Rule = Rule {
    id: "matching.no_visible_difference",
    says: "Up to this difference nobody sees that two hair colours differ.",
    value: 1.0,
    range: (0.5, 2.0),
    unit: "dE00",
    grade: Grade::OurChoice,
    source: "paravina2015",
};

/// Below this a blend is acceptable, and a ring reaches the colour.
pub const ACCEPTABLE: Rule = Rule {
    id: "matching.acceptable_blend",
    says: "Up to this difference a blend is acceptable; beyond it the ring does not reach the colour.",
    value: 2.0,
    range: (1.0, 3.5),
    unit: "dE00",
    grade: Grade::OurChoice,
    source: "paravina2015",
};

/// Beyond this it is another shade.
pub const DIFFERENT: Rule = Rule {
    id: "matching.different_shade",
    says: "Beyond this difference it is a different shade even when layered.",
    value: 3.5,
    range: (2.0, 6.0),
    unit: "dE00",
    grade: Grade::OurChoice,
    source: "",
};

/// How much worse a mix of fewer shades may be and still be preferred.
pub const FEWER_SHADES: Rule = Rule {
    id: "matching.fewest_within",
    says: "Fewer shades are preferred while they cost no more than this against the best mix.",
    value: 0.5,
    range: (0.0, 2.0),
    unit: "dE00",
    grade: Grade::OurChoice,
    source: "",
};

/// How far apart the shades of one mix may look.
pub const PARTS_APART: Rule = Rule {
    id: "matching.parts_apart",
    says: "Shades of one mix further apart than this show as stripes, unless the client's own tones are as far apart.",
    value: 10.0,
    range: (4.0, 30.0),
    unit: "dE00",
    grade: Grade::OurChoice,
    source: "",
};

/// The rules of this chapter.
pub const RULES: &[&Rule] = &[&NO_VISIBLE, &ACCEPTABLE, &DIFFERENT, &FEWER_SHADES, &PARTS_APART, &PHONE_KNOWN, &PHONE_STRAYS];

/// How many mixes and how many near shades are listed.
const LISTED: usize = 10;

/// The most pieces one match shares out.
pub const MOST_PIECES: u32 = 400;

/// One tone of the client's ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone {
    /// Its share of the hair, 0 to 1.
    pub share: f64,
    /// Its colour under D65.
    pub lab_d65: Lab,
}

/// The colour to be matched.
///
/// ```
/// use colour::Lab;
/// use craft::matching::Target;
/// let seen = Target::of(Lab::new(35.0, 8.0, 18.0));
/// assert!(seen.tones.is_empty() && seen.uncertainty_de00 == 0.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// The ends' mean colour under D65.
    pub lab_d65: Lab,
    /// How far the reading may be off, in dE00; 0 when not known.
    pub uncertainty_de00: f64,
    /// The tones in the ends; empty when not known.
    pub tones: Vec<Tone>,
    /// The ends' spectrum, where an instrument measured one.
    pub spectrum: Option<Spectrum>,
}

impl Target {
    /// A colour of which nothing else is known.
    #[must_use]
    pub fn of(lab_d65: Lab) -> Self {
        Self { lab_d65, uncertainty_de00: 0.0, tones: Vec::new(), spectrum: None }
    }
}

/// A shade of the ring with its difference from the ends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Near {
    /// The shade.
    pub code: String,
    /// CIEDE2000, 1:1:1.
    pub de00: f64,
    /// CIEDE2000, 2:1:1, as texture forgives lightness.
    pub de00_textured: f64,
}

/// Whole pieces of up to three shades.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mix {
    /// Pieces by shade.
    pub pieces: BTreeMap<String, u32>,
    /// CIEDE2000 of the mixture from the ends, 1:1:1.
    pub de00: f64,
    /// The largest difference between two shades in it.
    pub parts_apart_de00: f64,
    /// The mixture's colour under D65.
    pub lab_d65: Lab,
}

/// One tone of the ends with the shade and pieces that stand for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToneMatch {
    /// The tone's share of the hair.
    pub share: f64,
    /// The nearest shade.
    pub code: String,
    /// Whole pieces of it.
    pub pieces: u32,
    /// Its difference from the tone.
    pub de00: f64,
}

/// How the match holds under one light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnderLight {
    /// The light's published name.
    pub light: &'static str,
    /// CIEDE2000 of mix and ends under it.
    pub de00: f64,
}

/// What the ring can do for these ends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Match {
    /// Whether the best mix is an acceptable blend.
    pub reachable: bool,
    /// The nearest single shades, best first.
    pub nearest: Vec<Near>,
    /// The best mixes of up to three shades, best first, whatever their parts.
    pub mixes: Vec<Mix>,
    /// The fewest shades within half a unit of the best mix.
    pub fewest: Option<Mix>,
    /// As `fewest`, but only of shades that do not show as stripes.
    pub advised: Option<Mix>,
    /// Pieces by tone, when the ends have several.
    pub by_tone: Vec<ToneMatch>,
    /// The advised mix under other lights, when all spectra are known.
    pub lights: Vec<UnderLight>,
    /// Shades that the reading cannot tell apart from the nearest: they look
    /// alike, and lie about as far from the ends.
    pub cannot_tell_apart: Vec<String>,
    /// How far each of those is from the nearest itself, shade against shade, in dE00.
    pub cannot_tell_apart_de00: Vec<f64>,
    /// Shades that lie about as far from the ends as the nearest and do not look
    /// like it, with how far they lie from it.
    pub about_as_far: Vec<Near>,
    /// Plain sentences for the technician.
    pub warnings: Vec<String>,
}

/// Why a match cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MatchFault {
    /// The ring itself is wrong.
    #[error(transparent)]
    Ring(#[from] RingFault),
    /// No pieces, or more than anyone wears.
    #[error("{}", Message::PiecesNotShared { pieces: *.0, most: MOST_PIECES.to_string() })]
    Pieces(u32),
    /// The colour is no colour.
    #[error("{}", Message::NoColourToMatch { colour: format!("{:?}", .0) })]
    Colour([f64; 3]),
}

/// The nearest shades and the best whole-piece mixes for the ends' colour.
///
/// `on_hand` says how many pieces of a shade lie in stock; between mixes of
/// equally few shades the one that needs fewer bought pieces is preferred when
/// it is no worse than the rule allows.
///
/// *Accuracy*: exact: no mix of up to three shades is better than the first.
///
/// *Errors*: a ring, a number of pieces or a colour that cannot be used.
///
/// ```
/// use colour::Lab;
/// use craft::matching::{Target, match_ring, ring_from_csv};
/// use std::collections::BTreeMap;
/// let ring = ring_from_csv("code,L,a,b\nS1,30,8,15\nS2,45,9,22\n").unwrap();
/// let ends = Target::of(Lab::new(38.0, 8.6, 18.8));
/// let found = match_ring(&ends, &ring, 20, &BTreeMap::new(), &measure::RuleBook::standard()).unwrap();
/// // Between two shades lies a mixture of both, in whole pieces.
/// assert_eq!(found.mixes[0].pieces.values().sum::<u32>(), 20);
/// assert_eq!(found.mixes[0].pieces.len(), 2);
/// ```
pub fn match_ring(
    target: &Target,
    ring: &Ring,
    pieces: u32,
    on_hand: &BTreeMap<String, u32>,
    book: &RuleBook,
) -> Result<Match, MatchFault> {
    let shades = ring.colours()?;
    if pieces == 0 || pieces > MOST_PIECES {
        return Err(MatchFault::Pieces(pieces));
    }
    let lab = target.lab_d65;
    if !lab.is_in_range() {
        return Err(MatchFault::Colour(lab.into()));
    }
    let nearest = nearest(ring, &shades, lab);
    let search = Search::new(&shades, lab, pieces);
    let margin = book.value(&FEWER_SHADES);
    let apart = book.value(&PARTS_APART).max(tones_apart(&target.tones));
    let [all, calm] = search.run(apart, LISTED);
    let best = all.best.first().map_or(f64::INFINITY, |found| found.de00);
    let make = |found: &Found| mix(ring, &shades, &found.parts().collect::<Vec<_>>(), found.de00);
    let fewest = all.fewest(margin, |_| 0).map(&make);
    let to_buy = |found: &Found| {
        let short = |(shade, count): (usize, u32)| count.saturating_sub(on_hand.get(&ring.shades[shade].code).copied().unwrap_or(0));
        found.parts().map(short).sum::<u32>()
    };
    let by_tone = by_tone(ring, &shades, &target.tones, pieces);
    let calm = calm.fewest(margin, to_buy).map(&make);
    let limit = calm.as_ref().map_or(book.value(&ACCEPTABLE), |mix| (mix.de00 + margin).max(book.value(&NO_VISIBLE)));
    let toned = toned(ring, &shades, &by_tone, lab, book).filter(|mix| mix.de00 <= limit);
    let advised = toned.or(calm);
    let (same, about_as_far) = alike(&nearest, ring, &shades, target.uncertainty_de00);
    let mut result = Match {
        reachable: best <= book.value(&ACCEPTABLE),
        cannot_tell_apart: same.iter().map(|near| near.code.clone()).collect(),
        cannot_tell_apart_de00: same.iter().map(|near| near.de00).collect(),
        about_as_far,
        nearest,
        mixes: all.best.iter().map(make).collect(),
        fewest,
        by_tone,
        lights: Vec::new(),
        advised,
        warnings: Vec::new(),
    };
    result.lights = under_lights(target, ring, result.advised.as_ref());
    result.warnings = warnings(&result, target, best, apart);
    Ok(result)
}

fn nearest(ring: &Ring, shades: &[Xyz], lab: Lab) -> Vec<Near> {
    let mut list: Vec<Near> = ring
        .shades
        .iter()
        .zip(shades)
        .map(|(shade, colour)| {
            let own = colour.to_lab(D65);
            let de00_textured = ciede2000_weighted(lab, own, Weights::TEXTURED);
            Near { code: shade.code.clone(), de00: ciede2000(lab, own), de00_textured }
        })
        .collect();
    list.sort_by(|p, q| p.de00.total_cmp(&q.de00).then_with(|| p.code.cmp(&q.code)));
    list.truncate(LISTED);
    list
}

fn mix(ring: &Ring, shades: &[Xyz], parts: &[(usize, u32)], de00: f64) -> Mix {
    let mixture = parts.iter().fold(Mixture::new(), |sum, (shade, count)| sum.with(shades[*shade], f64::from(*count)));
    let labs: Vec<Lab> = parts.iter().map(|(shade, _)| shades[*shade].to_lab(D65)).collect();
    let mut parts_apart_de00 = 0.0_f64;
    for (i, first) in labs.iter().enumerate() {
        for second in &labs[i + 1..] {
            parts_apart_de00 = parts_apart_de00.max(ciede2000(*first, *second));
        }
    }
    Mix {
        pieces: parts.iter().map(|(shade, count)| (ring.shades[*shade].code.clone(), *count)).collect(),
        de00,
        parts_apart_de00,
        lab_d65: mixture.lab(D65).unwrap_or_default(),
    }
}

fn tones_apart(tones: &[Tone]) -> f64 {
    let pairs = tones.iter().enumerate().flat_map(|(i, p)| tones[i + 1..].iter().map(move |q| (p, q)));
    pairs.map(|(p, q)| ciede2000(p.lab_d65, q.lab_d65)).fold(0.0, f64::max)
}

/// The nearest shade for each tone, pieces shared by the method of largest remainders.
fn by_tone(ring: &Ring, shades: &[Xyz], tones: &[Tone], pieces: u32) -> Vec<ToneMatch> {
    let total: f64 = tones.iter().map(|tone| tone.share).sum();
    if tones.len() < 2 || !total.is_finite() || total <= 0.0 {
        return Vec::new();
    }
    let mut result: Vec<(f64, ToneMatch)> = Vec::new();
    for tone in tones {
        let Some(near) = nearest(ring, shades, tone.lab_d65).into_iter().next() else { continue };
        let due = f64::from(pieces) * tone.share / total;
        let whole = due.floor();
        let entry = ToneMatch { share: tone.share, code: near.code, pieces: whole as u32, de00: near.de00 };
        result.push((due - whole, entry));
    }
    let shared: u32 = result.iter().map(|(_, tone)| tone.pieces).sum();
    let mut order: Vec<usize> = (0..result.len()).collect();
    order.sort_by(|p, q| result[*q].0.total_cmp(&result[*p].0).then(p.cmp(q)));
    for i in order.into_iter().take(pieces.saturating_sub(shared) as usize) {
        result[i].1.pieces += 1;
    }
    result.into_iter().map(|(_, tone)| tone).collect()
}

/// The mix that stands for the ends tone by tone; nothing when a tone has no
/// shade near it. Its parts are as far apart as hers, so they do not show.
fn toned(ring: &Ring, shades: &[Xyz], tones: &[ToneMatch], lab: Lab, book: &RuleBook) -> Option<Mix> {
    if tones.is_empty() || tones.iter().any(|tone| tone.de00 > book.value(&DIFFERENT)) {
        return None;
    }
    let mut parts: BTreeMap<usize, u32> = BTreeMap::new();
    for tone in tones.iter().filter(|tone| tone.pieces > 0) {
        *parts.entry(ring.shades.iter().position(|shade| shade.code == tone.code)?).or_default() += tone.pieces;
    }
    let mixed = parts.iter().fold(Mixture::new(), |sum, (shade, count)| sum.with(shades[*shade], f64::from(*count)));
    let parts: Vec<(usize, u32)> = parts.into_iter().collect();
    Some(mix(ring, shades, &parts, ciede2000(lab, mixed.lab(D65)?)))
}

/// How much of a bound on the whole error of a reading, three ways at once, bounds its
/// error along one of them: 1.28 over 2.50 standard deviations of a
/// normal distribution.
///
/// *Source*: nine parts in ten of a normal distribution on one side, and of the chi distribution
/// of three degrees of freedom; from memory, key `abramowitz1964` (tables 26.1
/// and 26.8).
const ONE_WAY: f64 = 0.51;

/// Of the shades that a reading this unsure cannot part from the nearest: those
/// that look like it, and those that do not and only lie about as far from the
/// ends; each with how far it is from the nearest itself.
///
/// *Meaning*: two shades are parted by how far the reading lies from where both
/// would be equally near, not by how far it lies from either.
fn alike(nearest: &[Near], ring: &Ring, shades: &[Xyz], uncertainty: f64) -> (Vec<Near>, Vec<Near>) {
    let lab = |code: &str| ring.shades.iter().zip(shades).find(|(shade, _)| shade.code == code).map(|(_, colour)| colour.to_lab(D65));
    let Some((first, own)) = nearest.first().and_then(|first| Some((first, lab(&first.code)?))) else { return (Vec::new(), Vec::new()) };
    let unparted = nearest[1..].iter().filter_map(|near| {
        let other = lab(&near.code)?;
        let apart = ciede2000(own, other);
        let to_middle = (near.de00 * near.de00 - first.de00 * first.de00) / (2.0 * apart.max(1e-6));
        let de00_textured = ciede2000_weighted(own, other, Weights::TEXTURED);
        (to_middle < ONE_WAY * uncertainty).then(|| Near { code: near.code.clone(), de00: apart, de00_textured })
    });
    unparted.partition(|near| near.de00 < uncertainty)
}

fn under_lights(target: &Target, ring: &Ring, mix: Option<&Mix>) -> Vec<UnderLight> {
    let (Some(own), Some(mix)) = (&target.spectrum, mix) else { return Vec::new() };
    let mut parts = Vec::new();
    for shade in &ring.shades {
        if let Some(count) = mix.pieces.get(&shade.code) {
            let Some(Ok(spectrum)) = shade.reflectance.as_ref().map(Reflectance::spectrum) else { return Vec::new() };
            parts.push((spectrum, f64::from(*count)));
        }
    }
    let borrowed: Vec<(&Spectrum, f64)> = parts.iter().map(|(spectrum, count)| (spectrum, *count)).collect();
    let Some(together) = Spectrum::mixed(&borrowed) else { return Vec::new() };
    [Light::D65, Light::A, Light::WARM_LED, Light::SHOP_TUBE]
        .map(|light| {
            let lab = |s: &Spectrum| s.under(light, Observer::TwoDegrees).to_lab(light.white());
            UnderLight { light: light.name(), de00: ciede2000(lab(own), lab(&together)) }
        })
        .to_vec()
}

fn warnings(found: &Match, target: &Target, best: f64, apart: f64) -> Vec<String> {
    let mut said = Vec::new();
    if !found.reachable {
        said.push(Message::NotReachable { away: fixed(best, 1) });
    }
    if let (Some(near), false) = (found.nearest.first(), found.cannot_tell_apart.is_empty()) {
        let apart = |(code, apart): (&String, &f64)| Message::ShadeApart { code: code.clone(), apart: fixed(*apart, 1) }.to_string();
        let others = found.cannot_tell_apart.iter().zip(&found.cannot_tell_apart_de00).map(apart).collect::<Vec<_>>().join(", ");
        said.push(Message::CannotTellApart { sure: fixed(target.uncertainty_de00, 1), near: near.code.clone(), others });
    }
    if let (Some(near), false) = (found.nearest.first(), found.about_as_far.is_empty()) {
        let from_it = |other: &Near| Message::ShadeFromIt { code: other.code.clone(), apart: fixed(other.de00, 1) }.to_string();
        let others = found.about_as_far.iter().map(from_it).collect::<Vec<_>>().join(", ");
        said.push(Message::AboutAsFar { sure: fixed(target.uncertainty_de00, 1), near: near.code.clone(), others });
    }
    match (&found.fewest, &found.advised) {
        (Some(fewest), Some(advised)) if fewest.parts_apart_de00 > apart && fewest.pieces != advised.pieces => {
            said.push(Message::WouldShowStripes { apart: number(fewest.parts_apart_de00, 0) });
        }
        _ => {}
    }
    if let Some(worst) = found.lights.iter().max_by(|p, q| p.de00.total_cmp(&q.de00)).filter(|l| l.de00 > ACCEPTABLE.value) {
        said.push(Message::OffUnderLight { light: worst.light.to_owned(), off: fixed(worst.de00, 1) });
    } else if found.lights.is_empty() {
        said.push(Message::HoldsForOneLight);
    }
    said.into_iter().map(String::from).collect()
}
