//! Which account of the picture to believe: tried on the picture's own chart.
//!
//! No camera is known beforehand. Several accounts are made of the picture, from a
//! camera as the recipes have it to a curve of its own with roots; each must say what
//! every patch is without having seen it. What it is off by there, near the hair's
//! colour, is how much it is believed, and how sure the reading is. Accounts that do
//! nearly as well share the reading, so that two files that are nearly alike read alike.

use crate::chart_fit::{Known, Patch, check_chart_lies, colours, patches};
use crate::correction::{Correction, Kind, SeenChart, TOO_BRIGHT};
use crate::fall::{ChartFall, Fall, slopes};
use crate::fault::ReadFault;
use crate::find::steadied;
use crate::flat::Flat;
use crate::geometry::Point;
use crate::grey_curve::GreyCurve;
use crate::light::Decoding;
use crate::method::Method;
use crate::patch_words::patch_list;
use crate::picture::Picture;
use crate::rooted::{Rooted, Terms};
use colour::chart::{COLUMNS, NEUTRALS, ROWS};
use colour::{D50, Lab, Light, ciede2000};
use measure::real::exp;

/// An account of the picture, and what it makes of each patch that it has not seen.
pub(crate) struct Way {
    /// What a benchmark calls it.
    pub name: &'static str,
    pub correction: Correction,
    left_out: [Option<Lab>; 24],
}

/// All accounts of one picture.
pub(crate) struct Ways {
    pub ways: Vec<Way>,
    /// Patches too bright to count.
    pub too_bright: Vec<usize>,
    /// Patches left out because they look like something else.
    pub covered: Vec<usize>,
    colours: [Lab; 24],
}

/// What the chart says of a reading near one colour.
pub(crate) struct Trust {
    /// How much each account counts; together 1.
    pub shares: Vec<f64>,
    /// What patches of like colour are off by when they are left out, in dE00.
    pub off: f64,
}

/// An account that does worse than the best by this share of it, squared, counts much less.
const PATIENCE: f64 = 0.08;

/// How far the recipes' camera may seem off on paint, against the others, and be believed as
/// much: it alone knows what hair can look like to a camera, which no patch shows.
const KNOWS_HAIR: f64 = 0.9;

/// The difference at which a patch tells little of a reading, and what each tells anyhow.
const NEAR: f64 = 20.0;
const ANYHOW: f64 = 0.1;

/// A patch further off than this tells of itself, not of the hair.
const MOST_OFF: f64 = 6.0;

impl Ways {
    /// Makes the accounts of a picture from the chart at these corners, which a hand may
    /// have set a little beside its own, leaving out the patches of these numbers.
    ///
    /// *Errors*: what lies under the corners is no chart, or it is covered.
    pub fn find(photo: &Picture, corners: &[Point; 4], hairs: &[&[Point]], leave_out: &[usize]) -> Result<Self, ReadFault> {
        let corners = steadied(photo, *corners);
        let raw = patches(photo, &photo.decoding, &corners);
        let kept: [bool; 24] = std::array::from_fn(|i| !leave_out.contains(&i));
        check_chart_lies(&raw, &kept)?;
        let too_bright: Vec<usize> = (0..24).filter(|i| kept[*i] && raw[*i].clipped >= TOO_BRIGHT).collect();
        let usable = std::array::from_fn(|i| kept[i] && raw[i].clipped < TOO_BRIGHT && !raw[i].beyond());
        let mut chart = SeenChart { corners, raw, usable };
        let covered = leave_out_covered(&mut chart)?;
        let recipe = Correction::of_recipe(photo, &chart, hairs, Method::FULL);
        let board = if let Fall::Board(flat) = recipe.fall { Some(flat) } else { None };
        let left_out = by_number(recipe.left_out());
        let mut ways = vec![Way { name: "recipe", correction: recipe, left_out }];
        for (name, terms, curved) in [("curve, roots", Terms::Roots, true), ("roots", Terms::Roots, false), ("curve, 3x3", Terms::Channels, true), ("3x3", Terms::Channels, false)] {
            ways.extend(Way::rooted(name, photo, &chart, Asked { terms, curved, board: None }));
        }
        if board.is_some() {
            ways.extend(Way::rooted("board, curve, roots", photo, &chart, Asked { terms: Terms::Roots, curved: true, board }));
        }
        Ok(Self { ways, too_bright, covered, colours: colours(Light::D50).map(|colour| colour.to_lab(D50)) })
    }

    /// One account only, for a benchmark of its steps.
    pub fn only(photo: &Picture, corners: &[Point; 4], hairs: &[&[Point]], method: Method) -> Result<Self, ReadFault> {
        let corners = steadied(photo, *corners);
        let raw = patches(photo, &photo.decoding, &corners);
        check_chart_lies(&raw, &[true; 24])?;
        let usable = std::array::from_fn(|i| raw[i].clipped < TOO_BRIGHT && !raw[i].beyond());
        let correction = Correction::of_recipe(photo, &SeenChart { corners, raw, usable }, hairs, method);
        let ways = vec![Way { name: "recipe", left_out: by_number(correction.left_out()), correction }];
        Ok(Self { ways, too_bright: Vec::new(), covered: Vec::new(), colours: colours(Light::D50).map(|colour| colour.to_lab(D50)) })
    }

    /// How much each account is to be believed near a colour under D50.
    pub fn trust(&self, near: Lab) -> Trust {
        let known = |way: &Way| if matches!(way.correction.kind(), Kind::Recipe(_)) { KNOWS_HAIR } else { 1.0 };
        let offs: Vec<f64> = self.ways.iter().map(|way| known(way) * self.off(near, |i| way.left_out[i])).collect();
        let least = offs.iter().copied().fold(f64::INFINITY, f64::min).max(0.1);
        let share = |off: &f64| exp(-((off / least) * (off / least) - 1.0) / (2.0 * PATIENCE));
        let all: f64 = offs.iter().map(share).sum();
        let shares: Vec<f64> = offs.iter().map(|off| share(off) / all).collect();
        let together = |i: usize| {
            let (mut sum, mut weights) = ([0.0; 3], 0.0);
            for (way, share) in self.ways.iter().zip(&shares) {
                let lab: [f64; 3] = way.left_out[i]?.into();
                (0..3).for_each(|k| sum[k] += share * lab[k]);
                weights += share;
            }
            (weights > 0.0).then(|| Lab::from(sum.map(|v| v / weights)))
        };
        Trust { off: self.off(near, together), shares }
    }

    /// Root mean square of what patches near a colour are off by.
    fn off(&self, near: Lab, found: impl Fn(usize) -> Option<Lab>) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (i, wanted) in self.colours.iter().enumerate() {
            let Some(found) = found(i) else { continue };
            let far = ciede2000(*wanted, near) / NEAR;
            let weight = exp(-far * far / 2.0) + ANYHOW;
            let off = ciede2000(*wanted, found).min(MOST_OFF);
            sum += weight * off * off;
            weights += weight;
        }
        if weights > 0.0 { (sum / weights).sqrt() } else { f64::INFINITY }
    }
}

fn by_number(list: Vec<(usize, Lab)>) -> [Option<Lab>; 24] {
    let mut result = [None; 24];
    list.into_iter().for_each(|(i, lab)| result[i] = Some(lab));
    result
}

/// What an account by roots is made of.
#[derive(Debug, Clone, Copy)]
struct Asked {
    terms: Terms,
    /// The curve through the greys, not the profile's own.
    curved: bool,
    /// Light by the board, not by the chart.
    board: Option<Flat>,
}

/// An account by roots, fitted to some of the patches.
struct RootedFit {
    curve: Option<[GreyCurve; 3]>,
    slopes: [f64; 2],
    map: Rooted,
    board: Option<Flat>,
}

/// How often light and colours are fitted in turn.
const TURNS: usize = 3;

/// Place of a patch from the chart's middle, in widths and heights of it.
fn place_of(index: usize) -> [f64; 2] {
    let at = |k: usize, n: usize| (k as f64 + 0.5) / n as f64 - 0.5;
    [at(index % COLUMNS, COLUMNS), at(index / COLUMNS, ROWS)]
}

impl RootedFit {
    fn fit(raw: &[Patch; 24], usable: &[bool; 24], asked: Asked) -> Option<Self> {
        let colours = colours(Light::D50);
        let used: Vec<usize> = (0..24).filter(|i| usable[*i]).collect();
        let mut found: Option<Self> = None;
        let mut slopes_now = [0.0; 2];
        for turn in 0..TURNS {
            let curve = if asked.curved {
                let greys = |c: usize| NEUTRALS.iter().filter(|i| usable[**i]).map(move |i| (*i, c));
                let one = |c: usize| {
                    let pairs: Vec<(f64, f64)> =
                        greys(c).map(|(i, c)| (raw[i].light[c], colours[i].y * fall_at(slopes_now, asked.board, &raw[i], i)[c])).collect();
                    GreyCurve::fit(&pairs)
                };
                let (Some(r), Some(g), Some(b)) = (one(0), one(1), one(2)) else { return None };
                Some([r, g, b])
            } else {
                None
            };
            let points: Vec<Known> =
                used.iter().map(|i| Known { light: evened(curve.as_ref(), slopes_now, asked.board, &raw[*i], *i), colour: colours[*i] }).collect();
            let fit = Self { curve, slopes: slopes_now, map: Rooted::fit(&points, asked.terms, D50)?, board: asked.board };
            if asked.board.is_none() && turn + 1 < TURNS {
                let rests: Vec<([f64; 2], f64, f64)> = used.iter().map(|i| (place_of(*i), fit.map.luminance(fit.light(&raw[*i], *i)), colours[*i].y)).collect();
                let [x, y] = slopes(&rests)?;
                slopes_now = [slopes_now[0] + x, slopes_now[1] + y];
            }
            found = Some(fit);
        }
        found
    }

    /// A patch's light as this account has it.
    fn light(&self, patch: &Patch, index: usize) -> [f64; 3] {
        evened(self.curve.as_ref(), self.slopes, self.board, patch, index)
    }

    fn decoding(&self, profile: &Decoding) -> Decoding {
        match &self.curve {
            None => *profile,
            Some(curve) => std::array::from_fn(|c| profile[c].map(|light| curve[c].undone(light))),
        }
    }
}

fn fall_at(slopes: [f64; 2], board: Option<Flat>, patch: &Patch, index: usize) -> [f64; 3] {
    match board {
        Some(flat) => flat.at(patch.middle),
        None => {
            let [u, v] = place_of(index);
            [exp(slopes[0] * u + slopes[1] * v); 3]
        }
    }
}

fn evened(curve: Option<&[GreyCurve; 3]>, slopes: [f64; 2], board: Option<Flat>, patch: &Patch, index: usize) -> [f64; 3] {
    let straight = [0, 1, 2].map(|c| curve.map_or(patch.light[c], |curve| curve[c].undone(patch.light[c])));
    match board {
        Some(flat) => flat.evened(straight, patch.middle),
        None => {
            let at = fall_at(slopes, None, patch, index);
            [0, 1, 2].map(|c| straight[c] / at[c])
        }
    }
}

impl Way {
    fn rooted(name: &'static str, photo: &Picture, chart: &SeenChart, asked: Asked) -> Option<Self> {
        let fit = RootedFit::fit(&chart.raw, &chart.usable, asked)?;
        let fall = match asked.board {
            Some(flat) => Fall::Board(flat),
            None => Fall::Chart(ChartFall::new(fit.slopes, &chart.corners)?),
        };
        let correction = Correction::measured(photo, chart, fit.decoding(&photo.decoding), fall, Kind::Rooted(asked.terms));
        Some(Self { name, correction, left_out: left_out(chart, asked) })
    }
}

/// What each used patch would be read as, under D50, had it not been used at all.
fn left_out(chart: &SeenChart, asked: Asked) -> [Option<Lab>; 24] {
    std::array::from_fn(|i| {
        let mut others = chart.usable;
        if !std::mem::replace(&mut others[i], false) {
            return None;
        }
        let fit = RootedFit::fit(&chart.raw, &others, asked)?;
        Some(fit.map.lab(fit.light(&chart.raw[i], i)))
    })
}

/// A patch that its own chart says is this far off, in dE00, and so many times as far as
/// the middling one, is not the patch but something on it.
const COVERED: f64 = 10.0;
const COVERED_TIMES: f64 = 4.0;

/// With more of the patches covered than this no reading is made.
const MOST_COVERED: usize = 3;

/// Finds patches that are covered, stained or in shadow, and leaves them out.
///
/// *Errors*: too many of them.
fn leave_out_covered(chart: &mut SeenChart) -> Result<Vec<usize>, ReadFault> {
    let asked = Asked { terms: Terms::Roots, curved: true, board: None };
    let wanted = colours(Light::D50).map(|colour| colour.to_lab(D50));
    let mut covered = Vec::new();
    loop {
        let found = left_out(chart, asked);
        let mut offs: Vec<(f64, usize)> = (0..24).filter_map(|i| Some((ciede2000(found[i]?, wanted[i]), i))).collect();
        offs.sort_by(|p, q| p.0.total_cmp(&q.0));
        let (Some(&(middle, _)), Some(&(most, worst))) = (offs.get(offs.len() / 2), offs.last()) else { return Ok(covered) };
        if most < COVERED || most < COVERED_TIMES * middle {
            covered.sort_unstable();
            return Ok(covered);
        }
        covered.push(worst);
        chart.usable[worst] = false;
        if covered.len() > MOST_COVERED {
            covered.sort_unstable();
            return Err(ReadFault::Unsure(format!(
                "{} of the chart do not look like themselves: take away what lies on them, wipe the chart, see that no shadow falls on it, and take the photo again",
                patch_list(&covered)
            )));
        }
    }
}
