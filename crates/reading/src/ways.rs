//! Which account of the picture to believe: tried on the picture's own chart.
//!
//! No camera is known beforehand. Several accounts are made of the picture, from a
//! camera as the recipes have it to a curve of its own with roots; each must say what
//! every patch is without having seen it. What it is off by there, near the hair's
//! colour, is how much it is believed, and how sure the reading is. Accounts that do
//! nearly as well share the reading, so that two files that are nearly alike read alike.

use crate::chart_fit::{Known, check_chart_lies, colours, patches};
use crate::chosen::Chosen;
use crate::correction::{Correction, Kind, SeenChart};
use crate::fall::{ChartFall, Fall, slopes};
use crate::fault::ReadFault;
use crate::flat::Flat;
use crate::geometry::Point;
use crate::grey_curve::GreyCurve;
use crate::light::Decoding;
use crate::method::Method;
use crate::noise::{CUT_AT_TOP, STILL_TOLD};
use crate::patch::Patch;
use crate::picture::Picture;
use crate::rooted::{Rooted, Terms};
use crate::settle::steadied;
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
    /// The numbers they were made by.
    pub chosen: Chosen,
}

/// What the chart says of a reading near one colour.
pub(crate) struct Trust {
    /// How much each account counts; together 1.
    pub shares: Vec<f64>,
    /// What patches of like colour are off by on average when they are left out, in dE00.
    pub off: f64,
}

/// The difference at which a patch tells little of a reading, and what each tells anyhow.
const NEAR: f64 = 20.0;
const ANYHOW: f64 = 0.2;

/// A patch further off than this tells of itself, not of the hair.
const MOST_OFF: f64 = 6.0;

impl Ways {
    /// Makes the accounts of a picture from the chart at these corners, which a hand may
    /// have set a little beside its own, leaving out the patches of these numbers.
    ///
    /// *Errors*: what lies under the corners is no chart, or it is covered.
    pub fn find(photo: &Picture, corners: &[Point; 4], hairs: &[&[Point]], leave_out: &[usize]) -> Result<Self, ReadFault> {
        Self::find_by(photo, corners, hairs, leave_out, &Chosen::IN_FOLDS)
    }

    /// The same with other numbers than the chosen ones, for a benchmark.
    ///
    /// *Errors*: as [`Self::find`].
    pub fn find_by(
        photo: &Picture,
        corners: &[Point; 4],
        hairs: &[&[Point]],
        leave_out: &[usize],
        chosen: &Chosen,
    ) -> Result<Self, ReadFault> {
        let corners = steadied(photo, *corners);
        let raw = patches(photo, &photo.decoding, &corners);
        let kept: [bool; 24] = std::array::from_fn(|i| !leave_out.contains(&i));
        check_chart_lies(&raw, &kept)?;
        let too_bright: Vec<usize> = (0..24).filter(|i| kept[*i] && raw[*i].clipped >= STILL_TOLD).collect();
        let usable = std::array::from_fn(|i| kept[i] && raw[i].clipped < STILL_TOLD && !raw[i].beyond());
        let mut chart = SeenChart { corners, raw, usable };
        let covered = leave_out_covered(&mut chart, chosen)?;
        // The recipes' camera has a matrix only, which a patch cut off at the top could bend.
        let whole = SeenChart { usable: std::array::from_fn(|i| chart.usable[i] && chart.raw[i].clipped < CUT_AT_TOP), ..chart.clone() };
        let recipe = Correction::of_recipe(photo, &whole, hairs, Method::FULL);
        let board = if let Fall::Board(flat) = recipe.fall { Some(flat) } else { None };
        let left_out = by_number(recipe.left_out(&chart.usable));
        let mut ways = vec![Way { name: "recipe", correction: recipe, left_out }];
        let asked = AccountShape { terms: Terms::Roots, board: None, chosen: *chosen };
        ways.extend(Way::rooted("curve, roots", photo, &chart, &asked));
        ways.extend(Way::rooted("curve, 3x3", photo, &chart, &AccountShape { terms: Terms::Channels, ..asked }));
        if board.is_some() {
            ways.extend(Way::rooted("board, curve, roots", photo, &chart, &AccountShape { board, ..asked }));
        }
        Ok(Self { ways, too_bright, covered, colours: colours(Light::D50).map(|colour| colour.to_lab(D50)), chosen: *chosen })
    }

    /// One account only, for a benchmark of its steps.
    ///
    /// *Errors*: as [`Self::find`].
    pub fn only(photo: &Picture, corners: &[Point; 4], hairs: &[&[Point]], method: Method) -> Result<Self, ReadFault> {
        let corners = steadied(photo, *corners);
        let raw = patches(photo, &photo.decoding, &corners);
        check_chart_lies(&raw, &[true; 24])?;
        let usable = std::array::from_fn(|i| raw[i].clipped < CUT_AT_TOP && !raw[i].beyond());
        let correction = Correction::of_recipe(photo, &SeenChart { corners, raw, usable }, hairs, method);
        let ways = vec![Way { name: "recipe", left_out: by_number(correction.left_out(&usable)), correction }];
        Ok(Self {
            ways,
            too_bright: Vec::new(),
            covered: Vec::new(),
            colours: colours(Light::D50).map(|colour| colour.to_lab(D50)),
            chosen: Chosen::IN_FOLDS,
        })
    }

    /// How much each account is to be believed near a colour under D50.
    pub fn trust(&self, near: Lab) -> Trust {
        let known = |way: &Way| if matches!(way.correction.kind(), Kind::Recipe(_)) { self.chosen.knows_hair } else { 1.0 };
        let offs: Vec<f64> = self.ways.iter().map(|way| known(way) * self.off(near, |i| way.left_out[i])).collect();
        let least = offs.iter().copied().fold(f64::INFINITY, f64::min).max(0.1);
        let share = |off: &f64| exp(-((off / least) * (off / least) - 1.0) / (2.0 * self.chosen.patience));
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
        Trust { off: self.on_average(near, together), shares }
    }

    /// How far a colour is off each patch that is used, and how much each tells of it.
    fn told<'a>(&'a self, near: Lab, found: impl Fn(usize) -> Option<Lab> + 'a) -> impl Iterator<Item = (f64, f64)> + 'a {
        self.colours.iter().enumerate().filter_map(move |(i, wanted)| {
            let far = ciede2000(*wanted, near) / NEAR;
            Some((ciede2000(*wanted, found(i)?), exp(-far * far / 2.0) + ANYHOW))
        })
    }

    /// What patches near a colour are off by on average. One that is far off tells of itself:
    /// a mean feels it less than squares do, and more evenly than a patch in the ranks.
    fn on_average(&self, near: Lab, found: impl Fn(usize) -> Option<Lab>) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (off, weight) in self.told(near, found) {
            sum += weight * off;
            weights += weight;
        }
        if weights > 0.0 { sum / weights } else { f64::INFINITY }
    }

    /// Root mean square of what patches near a colour are off by.
    fn off(&self, near: Lab, found: impl Fn(usize) -> Option<Lab>) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (off, weight) in self.told(near, found) {
            sum += weight * off.min(MOST_OFF) * off.min(MOST_OFF);
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
struct AccountShape {
    terms: Terms,
    /// Light by the board, not by the chart.
    board: Option<Flat>,
    chosen: Chosen,
}

/// An account by roots, fitted to some of the patches.
struct RootedFit {
    curve: [GreyCurve; 3],
    slopes: [f64; 2],
    /// How much each patch counts.
    trusts: [f64; 24],
    map: Rooted,
    board: Option<Flat>,
}

/// How often curve, light and colours are fitted in turn.
const TURNS: usize = 3;

/// Place of a patch from the chart's middle, in widths and heights of it.
fn place_of(index: usize) -> [f64; 2] {
    let at = |k: usize, n: usize| (k as f64 + 0.5) / n as f64 - 0.5;
    [at(index % COLUMNS, COLUMNS), at(index / COLUMNS, ROWS)]
}

impl RootedFit {
    fn fit(raw: &[Patch; 24], usable: &[bool; 24], asked: &AccountShape) -> Option<Self> {
        let colours = colours(Light::D50);
        let used: Vec<usize> = (0..24).filter(|i| usable[*i]).collect();
        let (mut trusts, mut slopes_now) = ([1.0; 24], [0.0; 2]);
        let mut turn = 0;
        loop {
            let one = |c: usize| {
                let greys = NEUTRALS.iter().filter(|i| usable[**i]);
                let pairs: Vec<(f64, f64)> =
                    greys.map(|i| (raw[*i].light[c], colours[*i].y * fall_at(slopes_now, asked.board, &raw[*i], *i)[c])).collect();
                GreyCurve::fit(&pairs, &asked.chosen)
            };
            let curve = [one(0)?, one(1)?, one(2)?];
            let light = |i: usize| evened(&curve, slopes_now, asked.board, &raw[i], i);
            let points: Vec<Known> = used.iter().map(|i| Known { light: light(*i), colour: colours[*i] }).collect();
            let counted: Vec<f64> = used.iter().map(|i| trusts[*i]).collect();
            let (map, rest) = Rooted::with_rest(&points, &counted, asked.terms, D50, &asked.chosen)?;
            turn += 1;
            if turn == TURNS {
                return Some(Self { curve, slopes: slopes_now, trusts, map, board: asked.board });
            }
            used.iter().zip(&rest.trusts).for_each(|(i, trust)| trusts[*i] = *trust);
            if asked.board.is_none() {
                let lit: Vec<([f64; 2], f64, f64)> =
                    used.iter().enumerate().map(|(k, i)| (place_of(*i), rest.lightness[k], rest.offs[k][0])).collect();
                slopes_now = slopes(&lit, &rest.alikeness, slopes_now)?;
            }
        }
    }

    /// A patch's light as this account has it.
    fn light(&self, patch: &Patch, index: usize) -> [f64; 3] {
        evened(&self.curve, self.slopes, self.board, patch, index)
    }

    fn decoding(&self, profile: &Decoding) -> Decoding {
        std::array::from_fn(|c| profile[c].map(|light| self.curve[c].undone(light)))
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

fn evened(curve: &[GreyCurve; 3], slopes: [f64; 2], board: Option<Flat>, patch: &Patch, index: usize) -> [f64; 3] {
    let straight = [0, 1, 2].map(|c| curve[c].undone(patch.light[c]));
    match board {
        Some(flat) => flat.evened(straight, patch.middle),
        None => {
            let at = fall_at(slopes, None, patch, index);
            [0, 1, 2].map(|c| straight[c] / at[c])
        }
    }
}

impl Way {
    fn rooted(name: &'static str, photo: &Picture, chart: &SeenChart, asked: &AccountShape) -> Option<Self> {
        let fit = RootedFit::fit(&chart.raw, &chart.usable, asked)?;
        let fall = match asked.board {
            Some(flat) => Fall::Board(flat),
            None => Fall::Chart(ChartFall::new(fit.slopes, asked.chosen.beyond, &chart.corners)?),
        };
        let kind = Kind::Rooted { terms: asked.terms, trusts: fit.trusts, chosen: asked.chosen };
        let correction = Correction::measured(photo, chart, fit.decoding(&photo.decoding), fall, kind);
        Some(Self { name, correction, left_out: left_out(chart, asked) })
    }
}

/// What each used patch would be read as, under D50, had it not been used at all.
fn left_out(chart: &SeenChart, asked: &AccountShape) -> [Option<Lab>; 24] {
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
fn leave_out_covered(chart: &mut SeenChart, chosen: &Chosen) -> Result<Vec<usize>, ReadFault> {
    let asked = AccountShape { terms: Terms::Roots, board: None, chosen: *chosen };
    let wanted = colours(Light::D50).map(|colour| colour.to_lab(D50));
    let mut covered = Vec::new();
    loop {
        let found = left_out(chart, &asked);
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
            return Err(ReadFault::Covered(covered));
        }
    }
}
