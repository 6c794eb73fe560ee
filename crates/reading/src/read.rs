//! From a photograph with marks to the colour of the hair.

use crate::chosen::Chosen;
use crate::correction::{ColourMap, Correction};
use crate::fault::{OutlineFault, ReadFault};
use crate::geometry::Point;
use crate::hair::{Matt, Tress, mean};
use crate::lie::across_first;
use crate::marks::{Marks, check_chart, check_hair};
use crate::method::Method;
use crate::picture::Picture;
use crate::strands::{COHERENT, Strands};
use crate::tones::tones;
use crate::uncertainty::{Residuals, UncertaintyParts, refuse_unsure, warnings};
use crate::ways::{Trust, Way, Ways};
use colour::pigment::level_of;
use colour::{D50, D65, Lab, ciede2000};
use measure::real::powi;
use serde::{Deserialize, Serialize};

/// One tone in the hair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadTone {
    /// Its share of the hair, 0 to 1.
    pub share: f64,
    /// Its colour under D65.
    pub lab_d65: Lab,
    /// Its colour under D50.
    pub lab_d50: Lab,
}

/// The colour of the hair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Mean colour under D50.
    pub lab_d50: Lab,
    /// Mean colour under D65.
    pub lab_d65: Lab,
    /// The tones, largest share first.
    pub tones: Vec<ReadTone>,
    /// Nine readings in ten are no further off than this, in dE00.
    pub uncertainty_de00: f64,
    /// What the uncertainty is made of.
    #[serde(default)]
    pub uncertainty_parts: UncertaintyParts,
    /// The level, 1 to 10, with parts.
    pub level: f64,
    /// Plain sentences for the technician.
    pub warnings: Vec<String>,
    /// What the uncertainty rests on.
    pub residuals: Residuals,
}

/// Reads the hair's colour in a picture.
///
/// *Accuracy*: `uncertainty_de00` is meant to cover nine readings in ten; a curl, a
/// gloss on the chart or a phone's local contrast is not in it.
///
/// *Errors*: marks or light that cannot be read, each with what to do.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use colour::ciede2000;
/// let (photo, marks, truth) = drawn::chart_beside_hair(0.85);
/// let reading = reading::read(&photo, &marks).unwrap();
/// assert!(ciede2000(reading.lab_d50, truth) <= reading.uncertainty_de00);
/// ```
pub fn read(photo: &Picture, marks: &Marks) -> Result<Reading, ReadFault> {
    read_with(photo, marks, Method::FULL)
}

/// As [`read`], with chosen steps: for the benchmark.
///
/// *Errors*: as [`read`]; what a step left out would have refused is not.
#[doc(hidden)]
pub fn read_with(photo: &Picture, marks: &Marks, method: Method) -> Result<Reading, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let hairs: &[&[Point]] = &[&marks.hair];
    let ways = if method == Method::FULL {
        Ways::find(photo, &marks.chart_corners, hairs, &marks.leave_out)?
    } else {
        Ways::only(photo, &marks.chart_corners, hairs, method)?
    };
    read_hair(photo, &ways, &marks.hair)
}

/// One swatch or strand beside the chart: a name and its outline.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Swatch {
    /// What the technician calls it: a shade's code.
    pub code: String,
    /// Its outline, as [`Marks::hair`].
    pub outline: Vec<[f64; 2]>,
}

/// What was read of one swatch.
#[derive(Debug, Clone, PartialEq)]
pub struct SwatchReading {
    /// The swatch's code.
    pub code: String,
    /// Its colour, or why it cannot be read.
    pub reading: Result<Reading, ReadFault>,
}

/// The most swatches read in one photo.
pub const MOST_SWATCHES: usize = 60;

/// Reads several swatches that lie beside one chart, so that a whole ring is
/// measured from a few photos. All share the same accounts of the picture.
///
/// *Meaning*: one entry for each swatch, in their order. A swatch whose outline
/// is unusable is refused alone.
///
/// *Errors*: the chart, the light or the number of swatches.
///
/// ```
/// # mod drawn { include!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/shared/drawn.rs")); }
/// use reading::{Swatch, read_swatches};
/// let (photo, marks, _) = drawn::chart_beside_hair(0.85);
/// let swatch = Swatch { code: "S1".to_owned(), outline: marks.hair.clone() };
/// let read = read_swatches(&photo, &marks.chart_corners, &[swatch]).unwrap();
/// assert_eq!(read[0].code, "S1");
/// ```
pub fn read_swatches(photo: &Picture, chart_corners: &[[f64; 2]; 4], swatches: &[Swatch]) -> Result<Vec<SwatchReading>, ReadFault> {
    let (width, height) = photo.size();
    check_chart(chart_corners, width, height)?;
    if swatches.len() > MOST_SWATCHES {
        return Err(ReadFault::Hair(OutlineFault::OneOfTooMany));
    }
    let checks: Vec<Result<(), ReadFault>> =
        swatches.iter().map(|swatch| check_hair(&swatch.outline, chart_corners, width, height)).collect();
    let outlines: Vec<&[Point]> =
        swatches.iter().zip(&checks).filter(|(_, check)| check.is_ok()).map(|(swatch, _)| swatch.outline.as_slice()).collect();
    let ways = Ways::find(photo, chart_corners, &outlines, &[])?;
    let read = |(swatch, check): (&Swatch, Result<(), ReadFault>)| SwatchReading {
        code: swatch.code.clone(),
        reading: check.and_then(|()| read_hair(photo, &ways, &swatch.outline)),
    };
    Ok(swatches.iter().zip(checks).map(read).collect())
}

/// The hair as each account of the picture has it, under D50: for the benchmark.
///
/// *Errors*: as [`read`].
#[doc(hidden)]
pub fn read_each_way(photo: &Picture, marks: &Marks) -> Result<Vec<(&'static str, Lab)>, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let ways = Ways::find(photo, &marks.chart_corners, &[&marks.hair], &marks.leave_out)?;
    ways.ways.iter().map(|way| Account::of(photo, &way.correction, &marks.hair).map(|account| (way.name, account.lab_d50))).collect()
}

/// As [`read`], by other numbers than the chosen ones, and never refused for being unsure:
/// for the benchmark that chooses them.
///
/// *Errors*: as [`read`].
#[doc(hidden)]
pub fn read_by(photo: &Picture, marks: &Marks, chosen: &Chosen) -> Result<Reading, ReadFault> {
    let (width, height) = photo.size();
    marks.check(width, height)?;
    let ways = Ways::find_by(photo, &marks.chart_corners, &[&marks.hair], &marks.leave_out, chosen)?;
    reading_of(photo, &ways, &marks.hair).map(|(reading, _)| reading)
}

/// The doubt that these grounds make by other numbers than the chosen ones, for hair of
/// this lightness; nothing where a reading is refused.
#[doc(hidden)]
#[must_use]
pub fn doubt_by(found: &Residuals, l: f64, chosen: &Chosen) -> Option<f64> {
    let parts = UncertaintyParts::of(found, l, chosen);
    refuse_unsure(found, &parts, l).ok().map(|()| parts.together())
}

/// The hair by one account of the picture.
pub(crate) struct Account {
    pub tress: Tress,
    matt: Matt,
    pub hair: [f64; 3],
    d50: ColourMap,
    pub d65: ColourMap,
    lab_d50: Lab,
    lab_d65: Lab,
}

impl Account {
    fn of(photo: &Picture, correction: &Correction, outline: &[Point]) -> Result<Self, ReadFault> {
        let tress = Tress::sample(photo, correction, outline);
        let matt = if correction.method().bands { tress.matt(correction.white()) } else { tress.middling() };
        let hair = mean(matt.cells.iter()).ok_or(ReadFault::Hair(OutlineFault::Empty))?;
        let (d50, d65) = correction.fits(hair)?;
        let (lab_d50, lab_d65) = (d50.apply(hair).to_lab(D50), d65.apply(hair).to_lab(D65));
        Ok(Self { tress, matt, hair, d50, d65, lab_d50, lab_d65 })
    }

    /// Its tones, largest first.
    fn tones(&self, photo: &Picture, correction: &Correction, outline: &[Point]) -> Vec<ReadTone> {
        let strands = Strands::sample(photo, correction, outline, &self.matt.slices);
        let found = match &strands {
            Some(strands) if strands.coherence > COHERENT => tones(&strands.places, self.hair),
            _ => tones(&self.matt.cells, self.hair),
        };
        let tone =
            |(share, light)| ReadTone { share, lab_d65: self.d65.apply(light).to_lab(D65), lab_d50: self.d50.apply(light).to_lab(D50) };
        found.into_iter().map(tone).collect()
    }
}

/// Accounts that share less than this of a reading are not asked.
const LEAST_SHARE: f64 = 0.02;

/// The accounts that share one reading, each with its share, the largest first.
pub(crate) struct Shared<'a> {
    accounts: Vec<(f64, &'a Way, Account)>,
    trust: Trust,
    lab_d50: Lab,
    lab_d65: Lab,
    /// How far they stand apart, in dE00.
    apart: f64,
}

impl<'a> Shared<'a> {
    /// *Errors*: an outline without pixels, or none that can be read.
    pub fn of(photo: &Picture, ways: &'a Ways, outline: &[Point]) -> Result<Self, ReadFault> {
        let first = ways.ways.first().ok_or(ReadFault::Hair(OutlineFault::Empty))?;
        let rough = Account::of(photo, &first.correction, outline)?;
        let shares = ways.trust(rough.lab_d50).shares;
        let best = shares.iter().copied().fold(0.0, f64::max);
        let mut accounts = Vec::new();
        let mut rough = Some(rough);
        for (i, way) in ways.ways.iter().enumerate().filter(|(i, _)| shares[*i] >= LEAST_SHARE * best) {
            let account = match rough.take_if(|_| i == 0) {
                Some(account) => account,
                None => Account::of(photo, &way.correction, outline)?,
            };
            accounts.push((i, account));
        }
        // Which account counts how much is told near the colour that they give together.
        let mut trust = ways.trust(blended(&accounts, &shares, |account| account.lab_d50));
        trust = ways.trust(blended(&accounts, &trust.shares, |account| account.lab_d50));
        let lab_d50 = blended(&accounts, &trust.shares, |account| account.lab_d50);
        let lab_d65 = blended(&accounts, &trust.shares, |account| account.lab_d65);
        let all: f64 = accounts.iter().map(|(i, _)| trust.shares[*i]).sum();
        let mut accounts: Vec<(f64, &Way, Account)> =
            accounts.into_iter().map(|(i, account)| (trust.shares[i] / all, &ways.ways[i], account)).collect();
        accounts.sort_by(|p, q| q.0.total_cmp(&p.0));
        let apart = accounts.iter().map(|(share, _, account)| share * powi(ciede2000(account.lab_d50, lab_d50), 2)).sum::<f64>().sqrt();
        Ok(Self { accounts, trust, lab_d50, lab_d65, apart })
    }

    /// The account that shares most.
    pub fn best(&self) -> (&Correction, &Account) {
        let (_, way, account) = &self.accounts[0];
        (&way.correction, account)
    }

    /// How much more X, Y and Z under D65 all accounts together have than one of them.
    pub fn beside(&self, account: &Account) -> [f64; 3] {
        let (all, own): ([f64; 3], [f64; 3]) = (self.lab_d65.to_xyz(D65).into(), account.lab_d65.to_xyz(D65).into());
        [0, 1, 2].map(|k| if own[k] > 1e-6 { (all[k] / own[k]).clamp(0.5, 2.0) } else { 1.0 })
    }

    /// A number of the accounts, each counting by its share.
    fn mean(&self, of: impl Fn(&Correction, &Account) -> f64) -> f64 {
        self.accounts.iter().map(|(share, way, account)| share * of(&way.correction, account)).sum()
    }
}

fn blended(accounts: &[(usize, Account)], shares: &[f64], lab: impl Fn(&Account) -> Lab) -> Lab {
    let (mut sum, mut all) = ([0.0; 3], 0.0);
    for (i, account) in accounts {
        let one: [f64; 3] = lab(account).into();
        (0..3).for_each(|k| sum[k] += shares[*i] * one[k]);
        all += shares[*i];
    }
    sum.map(|v| v / all).into()
}

/// Reads the hair in one outline by the accounts already made.
pub(crate) fn read_hair(photo: &Picture, ways: &Ways, outline: &[Point]) -> Result<Reading, ReadFault> {
    let (reading, whole) = reading_of(photo, ways, outline)?;
    if whole {
        refuse_unsure(&reading.residuals, &reading.uncertainty_parts, reading.lab_d65.l)?;
    }
    Ok(reading)
}

/// The reading, however unsure, and whether all steps were taken.
fn reading_of(photo: &Picture, ways: &Ways, outline: &[Point]) -> Result<(Reading, bool), ReadFault> {
    let outline = &across_first(photo, outline);
    let shared = Shared::of(photo, ways, outline)?;
    let Some((_, best, account)) = shared.accounts.first() else { return Err(ReadFault::Hair(OutlineFault::Empty)) };
    let residuals = Residuals {
        chart_de00: shared.trust.off,
        accounts_de00: shared.apart,
        grey_error: shared.mean(|correction, _| correction.curve.grey_error),
        curve_strength: shared.mean(|correction, _| correction.curve.strength),
        light_range: shared.mean(|correction, _| correction.range(outline)),
        light_colour: shared.mean(|correction, _| correction.fall.colour_change(outline)),
        light_doubt: shared.mean(|correction, _| correction.fall.doubt(outline)),
        board_spread: shared.mean(|correction, _| correction.fall.blotches()),
        clipped: account.tress.clipped(),
        cut_off: account.tress.cut_off(),
        at_black: account.tress.at_black(),
        smoothed: photo.is_smoothed(),
        gloss: shared.mean(|_, account| 1.0 - account.matt.kept),
        gloss_doubt: shared.mean(|_, account| account.matt.doubt),
    };
    let uncertainty_parts = UncertaintyParts::of(&residuals, shared.lab_d50.l, &ways.chosen);
    // Tones are told apart in one account's light; its own reading is a little beside
    // that of all, and so are they.
    let moved = |tone: Lab, own: Lab, all: Lab| possible(Lab::new(tone.l + all.l - own.l, tone.a + all.a - own.a, tone.b + all.b - own.b));
    let tones = account
        .tones(photo, &best.correction, outline)
        .into_iter()
        .map(|tone| ReadTone {
            share: tone.share,
            lab_d65: moved(tone.lab_d65, account.lab_d65, shared.lab_d65),
            lab_d50: moved(tone.lab_d50, account.lab_d50, shared.lab_d50),
        })
        .collect();
    let lab_d65 = possible(shared.lab_d65);
    let reading = Reading {
        lab_d50: possible(shared.lab_d50),
        lab_d65,
        tones,
        uncertainty_de00: uncertainty_parts.together(),
        uncertainty_parts,
        level: level_of(lab_d65.l),
        warnings: warnings(&residuals, lab_d65, &ways.too_bright, &ways.covered),
        residuals,
    };
    Ok((reading, best.correction.method() == Method::FULL))
}

/// The lightness of the chart's white patch: no hair is lighter.
const WHITEST: f64 = 97.0;

/// The nearest colour that hair can have: no darker than black, no lighter than white.
fn possible(lab: Lab) -> Lab {
    Lab::new(lab.l.clamp(0.0, WHITEST), lab.a, lab.b)
}
