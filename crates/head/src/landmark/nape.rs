//! The nape hairline, its corner, and the hairline behind the ear.

use super::ear::{BEHIND_EAR, on_ear, usual};
use crate::level::{LevelLine, Rise, lengths};
use crate::marks::{MarkFault, Marks};
use crate::midline::on_right_side;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::words::Message;
use measure::Length;
use measure::vector::{Vec3, distance, dot, lerp, sub, unit};

/// The level part of the right half of the nape hairline: from the middle to
/// its corner, which may lie a little higher or lower.
pub(super) fn nape_line(shape: &ScalpShape, rise: &Rise, middle: Vec3, marks: &Marks) -> Result<Vec<Vec3>, MarkFault> {
    let width = marks.nape_half_width.map_or(usual::NAPE_HALF_WIDTH, Length::to_mm);
    let corner = marks.nape_corner_rise.map_or(usual::NAPE_CORNER_RISE, Length::to_mm);
    let lost = || MarkFault::of(&Message::NapeBelowHead);
    let steps = (width / 2.5).ceil().max(2.0) as usize;
    let mut line = vec![middle];
    let mut level: Option<LevelLine> = None;
    for k in 1..=steps {
        let share = k as f64 / steps as f64;
        let height = rise.level_at(corner * share * share * (3.0 - 2.0 * share)).ok_or_else(lost)?;
        let here = match level.take().filter(|line| line.level().to_mm() == height) {
            Some(line) => line,
            None => LevelLine::on(shape, Length::mm(height)).ok_or_else(lost)?,
        };
        line.push(here.at(Length::mm(width * share)).ok_or_else(lost)?);
        level = Some(here);
    }
    Ok(line)
}

/// From the corner of the nape hairline straight to the bare skin behind the
/// ear, and on to the ear.
pub(super) fn behind_ear_line(shape: &ScalpShape, notch: Vec3, corner: Vec3, ear: Vec3, marks: &Marks) -> Vec<Vec3> {
    let bare = marks.behind_ear_bare.map_or(usual::BEHIND_EAR_BARE, Length::to_mm);
    let [_, y, z] = on_ear(shape, notch, BEHIND_EAR);
    let behind = on_right_side(shape, y - bare, z);
    let straight = |from: Vec3, to: Vec3| -> Vec<Vec3> {
        let pieces = (distance(from, to) / 2.5).ceil().max(1.0) as usize;
        (0..=pieces).map(|k| shape.project(lerp(from, to, k as f64 / pieces as f64))).collect()
    };
    let mut line = straight(corner, behind);
    line.extend(straight(behind, ear).into_iter().skip(1));
    let turn = straight(corner, behind).len() - 1;
    let mut rounded = rounded(shape, &line, turn, usual::BEHIND_EAR_ROUND);
    // Ends stay where they are.
    rounded[0] = corner;
    rounded
}

/// The two lines with their common corner rounded; they still meet in one point.
pub(super) fn rounded_at_the_corner(shape: &ScalpShape, nape: Vec<Vec3>, behind: Vec<Vec3>) -> (Vec<Vec3>, Vec<Vec3>) {
    let turn = nape.len() - 1;
    let mut whole = nape;
    whole.extend(behind.into_iter().skip(1));
    let whole = rounded(shape, &whole, turn, usual::CORNER_ROUND);
    // The rounding keeps the number of points: they part where they did.
    (whole[..=turn].to_vec(), whole[turn..].to_vec())
}

/// A row of points with its corner at one of them taken round: about the corner
/// each point moves to the parabola that touches both arms where a circle of
/// that radius would.
pub(super) fn rounded(shape: &ScalpShape, line: &[Vec3], turn: usize, radius: f64) -> Vec<Vec3> {
    let along = lengths(line);
    let (before, after) = (unit(sub(line[turn], line[turn - 1])), unit(sub(line[turn + 1], line[turn])));
    // tan(turn/2) = sin / (1 + cos).
    let cosine = dot(before, after).clamp(-0.9, 1.0);
    let reach = radius * ((1.0 - cosine * cosine).max(0.0).sqrt() / (1.0 + cosine));
    let reach = reach.min(along[turn]).min(along[along.len() - 1] - along[turn]).max(1e-6);
    let (start, end) = (place_at(line, &along, along[turn] - reach), place_at(line, &along, along[turn] + reach));
    line.iter()
        .zip(&along)
        .map(|(p, a)| {
            let t = (a - (along[turn] - reach)) / (2.0 * reach);
            if !(0.0..=1.0).contains(&t) {
                return *p;
            }
            let (first, second) = (lerp(start, line[turn], t), lerp(line[turn], end, t));
            shape.project(lerp(first, second, t))
        })
        .collect()
}

/// The place so far along a row of joined points.
pub(super) fn place_at(line: &[Vec3], along: &[f64], far: f64) -> Vec3 {
    let i = along.partition_point(|a| *a <= far).clamp(1, along.len() - 1);
    let share = ((far - along[i - 1]) / (along[i] - along[i - 1]).max(1e-12)).clamp(0.0, 1.0);
    lerp(line[i - 1], line[i], share)
}
