//! Landmarks: hairlines, ears, crown and the other places a technician finds by eye and finger.

use crate::head::MarkFault;
use crate::level::{EarLine, LevelLine, Rise, forward_of, lengths, level_of};
use crate::midline::{Midline, beside, both_sides, on_right_side, sideways, smooth_line};
use crate::model::{Template, stretched};
use crate::point::SkinPoint;
use crate::region::{Inside, seen};
use crate::size::Fit;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, distance, dot, lerp, mirror, scale, sub, unit};
use measure::{Length, real};
use serde::{Deserialize, Serialize};

/// Where the crown whorl is, as seen on this client.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CrownMark {
    /// Along the midline from the ear-to-ear tape backward.
    pub behind_tape: Length,
    /// Sideways from the midline, plus to the client's right.
    pub to_the_right: Length,
}

/// A parting that was taped at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TapedParting {
    /// Where it starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Its length over the back of the head: from sectioning line to sectioning
    /// line, or to the hair's edge where that comes first.
    pub length: Length,
    /// How much higher one of its ends lay than the other, where that was looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt: Option<Length>,
}

/// What the technician saw or taped besides the measures; all of it may be absent.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Marks {
    /// From the bump of the occipital bone down to the lowest hair, along the skin.
    pub nape_hairline_below_occiput: Option<Length>,
    /// The crown whorl.
    pub crown: Option<CrownMark>,
    /// How far a peak of the front hairline comes down on the midline.
    pub front_peak: Option<Length>,
    /// How far the hairline runs back at the temples, behind its middle.
    pub temple_recession: Option<Length>,
    /// Along the nape hairline, from its middle to the corner where it turns up.
    pub nape_half_width: Option<Length>,
    /// How much higher (+) or lower (-) that corner lies than the middle.
    pub nape_corner_rise: Option<Length>,
    /// Bare skin behind the ear, at the height of the ear's notch.
    pub behind_ear_bare: Option<Length>,
    /// From the sectioning line level forward to the hairline, 45 mm above the
    /// top of the ear.
    pub temple_hairline: Option<Length>,
    /// How far behind the top of the ear root the sectioning line is combed.
    pub ear_line_back: Option<Length>,
    /// Partings taped at the chair.
    pub taped_partings: Vec<TapedParting>,
}

/// The places on this head.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    /// The lowest hair at the back, from the left corner to the right.
    pub nape_hairline: Vec<SkinPoint>,
    /// The hairline from the nape's left corner up behind the left ear.
    pub left_behind_ear: Vec<SkinPoint>,
    /// The hairline from the nape's right corner up behind the right ear.
    pub right_behind_ear: Vec<SkinPoint>,
    /// The hairline of forehead and temples, from above the left ear to above the right.
    pub front_hairline: Vec<SkinPoint>,
    /// Outline of the client's left ear, laid flat on the skin, closed.
    pub left_ear: Vec<SkinPoint>,
    /// Outline of the client's right ear, laid flat on the skin, closed.
    pub right_ear: Vec<SkinPoint>,
    /// The crown whorl.
    pub crown: SkinPoint,
    /// The bump of the occipital bone.
    pub occipital: SkinPoint,
    /// The highest point, gaze level.
    pub vertex: SkinPoint,
    /// Where a low ponytail is tied: on the midline at the level of the occipital bone.
    pub tied_low: SkinPoint,
    /// Where a middle ponytail is tied: on the midline half-way between low and high.
    pub tied_mid: SkinPoint,
    /// Where a high ponytail is tied: on the midline at the level of the crown.
    pub tied_high: SkinPoint,
    /// The tape's line from ear notch to ear notch over the top, left to right.
    pub ear_to_ear: Vec<SkinPoint>,
    /// The sectioning line from the top of the left ear root straight up and
    /// over to that of the right.
    pub ear_to_ear_line: Vec<SkinPoint>,
    /// The tops of the ear roots, left and right.
    pub ear_tops: [SkinPoint; 2],
    /// The line down the middle, from front hairline to nape hairline.
    pub midline: Vec<SkinPoint>,
    /// Where the skin turns 45 degrees from level: from temple round the back to temple, left to right.
    pub horseshoe: Vec<SkinPoint>,
}

/// Where the hairline and the other landmarks lie when nobody measured them.
///
/// Lengths in mm on the mean head; they grow with the head.
mod usual {
    /// Front hairline to ear-to-ear tape on the midline: the tape crosses 159
    /// behind the root of the nose, the hairline lies 70 behind it (19-21 % of
    /// the way from nose to occipital bone). *Source*: key `hairline2019`,
    /// table 9.
    pub const FRONT_TO_TAPE: f64 = 89.0;
    /// Occipital bone down to the nape hairline. *Source*: from memory, 20-50;
    /// our choice.
    pub const NAPE_BELOW_OCCIPUT: f64 = 35.0;
    /// Crown whorl behind the upright line of the ears (range 15-110).
    /// *Source*: key `park2014`, 952 men.
    pub const CROWN_BEHIND_TAPE: f64 = 62.5;
    /// The deepest point of the temple corner behind the middle of the
    /// hairline, and to the side of it. *Source*: from memory, 20-30 and
    /// 55-65; our choice.
    pub const RECESSION: f64 = 22.0;
    pub const CORNER_TO_SIDE: f64 = 60.0;
    /// Where the temple's edge turns down, in front of and above the ear notch.
    /// *Source*: our choice.
    pub const SIDEBURN: (f64, f64) = (20.0, 32.0);
    /// Level forward from the sectioning line to the hairline at the temple,
    /// and how far above the top of the ear. *Source*: our choice (45-90).
    pub const TEMPLE: f64 = 65.0;
    pub const TEMPLE_ABOVE_EAR: f64 = 45.0;
    /// The nape hairline from its middle to its corner (25-70), the corner's
    /// rise (-20 to 25), and the bare skin behind the ear (0-25).
    /// *Source*: from memory; our choice.
    pub const NAPE_HALF_WIDTH: f64 = 45.0;
    pub const NAPE_CORNER_RISE: f64 = 0.0;
    pub const BEHIND_EAR_BARE: f64 = 10.0;
    /// How softly hairlines turn at the nape's corner and behind the ear.
    /// *Source*: our choice.
    pub const CORNER_ROUND: f64 = 12.0;
    pub const BEHIND_EAR_ROUND: f64 = 8.0;
}

/// The ear laid flat: half its height and breadth, and its middle behind and
/// above the notch, in mm along z and y. It does not grow with the head.
///
/// *Source*: key `ansur2`, women: ear length 59.4, breadth 33.2; the notch a
/// little below the middle and near the front edge (our choice). The long axis
/// leans back 15 degrees from upright, which is the z axis.
const EAR_HALF: (f64, f64) = (29.7, 16.6);
const EAR_MIDDLE: (f64, f64) = (-13.0, 4.0);
/// Where on the outline, from the front up and round, the front hairline ends
/// and the nape hairline begins, degrees.
const FRONT_END: i32 = 70;
const NAPE_END: i32 = 140;
/// Where behind the ear the hairline comes nearest to it, degrees.
const BEHIND_EAR: f64 = 195.0;

/// The right halves of the lines, which with their mirror images make the landmarks.
#[derive(Debug, Clone)]
pub(crate) struct Lines {
    pub midline: Midline,
    /// Up the middle of the back against height.
    pub rise: Rise,
    /// The sectioning line.
    pub ear_line: EarLine,
    /// The nape hairline from the middle to its corner.
    pub nape: Vec<Vec3>,
    /// From the corner up behind the ear to the ear.
    pub behind_ear: Vec<Vec3>,
    pub front: Vec<Vec3>,
    pub ear: Vec<Vec3>,
    pub notch: Vec3,
    /// Hair's border on the right: front hairline, over the ear, behind it, nape hairline.
    pub border: Vec<Vec3>,
    /// Along the midline behind the ear-to-ear tape.
    pub nape_at: f64,
    pub front_at: f64,
    pub warnings: Vec<String>,
}

impl Lines {
    /// Places the lines of a fitted scalp.
    ///
    /// *Errors*: a mark that cannot lie on this head.
    pub(crate) fn place(fit: &Fit, marks: &Marks) -> Result<Self, MarkFault> {
        check(marks)?;
        let shape = &fit.shape;
        let midline = Midline::of(shape);
        let grown = (shape.stretch()[1] + shape.stretch()[2]) / 2.0;
        let mut warnings = Vec::new();
        let front_at = match fit.measures.front_hairline_to_tape {
            Some(far) => -far.to_mm(),
            None => {
                warnings.push("the front hairline was not measured: it is set where most people's is, give or take 10 mm".into());
                -usual::FRONT_TO_TAPE * grown
            }
        };
        let occiput_at = midline.along_of(fit.occipital.0);
        let nape_at = match (fit.measures.tape_to_nape_hairline, marks.nape_hairline_below_occiput) {
            (Some(far), _) => far.to_mm(),
            (None, Some(below)) => occiput_at + below.to_mm(),
            (None, None) => {
                warnings.push("the nape hairline was not measured: it is set 35 mm below the occipital bone, give or take 15 mm; every height above it moves with it".into());
                occiput_at + usual::NAPE_BELOW_OCCIPUT * grown
            }
        };
        let (first, last) = midline.ends();
        let place = |at: f64, what: &str| {
            if at > first && at < last {
                return Ok(midline.at(at));
            }
            Err(MarkFault {
                what: format!("the {what} would lie beyond the head."),
                cure: "Measure it again along the middle, from the ear-to-ear tape.".into(),
            })
        };
        let nape_middle = place(nape_at, "nape hairline")?;
        let front_middle = place(front_at, "front hairline")?;
        if nape_at < 110.0 * grown {
            return Err(MarkFault {
                what: "the nape hairline would lie above the back of the head.".into(),
                cure: "Measure it again down to the lowest hair.".into(),
            });
        }

        let notch = notch(fit);
        let ear = ear_outline(shape, notch);
        let at_ear = |degrees: i32| ear[((degrees + EAR_STEP / 2) / EAR_STEP) as usize];
        let rise = Rise::of(&midline, nape_at);
        let ear_line = ear_line(shape, notch, marks)?;
        let front = front_line(shape, &midline, (front_at, front_middle), marks, &ear_line, notch, at_ear(FRONT_END), grown)?;
        let nape = nape_line(shape, &rise, nape_middle, marks)?;
        let behind_ear = behind_ear_line(shape, notch, *nape.last().unwrap_or(&nape_middle), at_ear(NAPE_END), marks);
        let (nape, behind_ear) = rounded_at_the_corner(shape, nape, behind_ear);
        refuse_across_the_ear(shape, &ear, &nape, &behind_ear)?;

        let mut border = front.clone();
        border.extend((FRONT_END / EAR_STEP + 1..NAPE_END / EAR_STEP).map(|k| ear[k as usize]));
        border.extend(behind_ear.iter().rev());
        border.extend(nape.iter().rev().skip(1));
        Ok(Self { midline, rise, ear_line, nape, behind_ear, front, ear, notch, border, nape_at, front_at, warnings })
    }
}

/// The sectioning line: straight up from the top of the ear root, the gaze level.
fn ear_line(shape: &ScalpShape, notch: Vec3, marks: &Marks) -> Result<EarLine, MarkFault> {
    let top = (600..1500)
        .map(|tenths| on_ear(shape, notch, f64::from(tenths) / 10.0))
        .fold([0.0, 0.0, f64::NEG_INFINITY], |top: Vec3, p| if top[2].is_infinite() || level_of(p) > level_of(top) { p } else { top });
    let back = marks.ear_line_back.map_or(0.0, Length::to_mm);
    EarLine::of(shape, forward_of(top) - back, level_of(top)).ok_or_else(|| MarkFault {
        what: "no line runs up from the top of the ears on this head.".into(),
        cure: "Measure the head again, ear to ear over the crown.".into(),
    })
}

/// The level part of the right half of the nape hairline: from the middle to
/// its corner, which may lie a little higher or lower.
fn nape_line(shape: &ScalpShape, rise: &Rise, middle: Vec3, marks: &Marks) -> Result<Vec<Vec3>, MarkFault> {
    let width = marks.nape_half_width.map_or(usual::NAPE_HALF_WIDTH, Length::to_mm);
    let corner = marks.nape_corner_rise.map_or(usual::NAPE_CORNER_RISE, Length::to_mm);
    let lost = || MarkFault {
        what: "the nape hairline would lie below the head as it was measured.".into(),
        cure: "Measure again from the ear-to-ear tape down to the lowest hair, and how the corner lies to it.".into(),
    };
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
fn behind_ear_line(shape: &ScalpShape, notch: Vec3, corner: Vec3, ear: Vec3, marks: &Marks) -> Vec<Vec3> {
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
fn rounded_at_the_corner(shape: &ScalpShape, nape: Vec<Vec3>, behind: Vec<Vec3>) -> (Vec<Vec3>, Vec<Vec3>) {
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
fn rounded(shape: &ScalpShape, line: &[Vec3], turn: usize, radius: f64) -> Vec<Vec3> {
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
fn place_at(line: &[Vec3], along: &[f64], far: f64) -> Vec3 {
    let i = along.partition_point(|a| *a <= far).clamp(1, along.len() - 1);
    let share = ((far - along[i - 1]) / (along[i] - along[i - 1]).max(1e-12)).clamp(0.0, 1.0);
    lerp(line[i - 1], line[i], share)
}

/// Refuses a nape hairline that would run over the ear.
fn refuse_across_the_ear(shape: &ScalpShape, ear: &[Vec3], nape: &[Vec3], behind: &[Vec3]) -> Result<(), MarkFault> {
    let inside = Inside::within(shape, ear);
    // Where hair grows right up to the ear the two lines touch: only a corner
    // well under it is none.
    let depth = |p: Vec3| ear.iter().map(|q| distance(p, *q)).fold(f64::INFINITY, f64::min);
    let crosses = nape.iter().chain(behind).any(|p| inside.holds(seen(shape, *p)) && depth(*p) > MOST_UNDER_EAR);
    if crosses {
        return Err(MarkFault {
            what: "the corner of the nape hairline would lie under the ear.".into(),
            cure: "Measure again along the nape hairline, from its middle to where it turns up, and how much higher that corner lies."
                .into(),
        });
    }
    Ok(())
}

/// A hairline this far under an ear's outline still runs along it, mm: about what
/// the outline itself may be off by. *Source*: our choice.
const MOST_UNDER_EAR: f64 = 6.0;

/// Degrees from one point of an ear's outline to the next.
const EAR_STEP: i32 = 5;

/// A parting whose ends differ by more than this in height is not the level
/// one, mm: twice the landmark's error on either side. *Source*: our choice.
const MOST_TILT: f64 = 10.0;

/// Refuses marks that no head has.
fn check(marks: &Marks) -> Result<(), MarkFault> {
    let bad = |what: String, cure: &str| Err(MarkFault { what, cure: cure.into() });
    let lengths = [
        (marks.nape_hairline_below_occiput, "nape_hairline_below_occiput_mm", 0.0, 90.0),
        (marks.front_peak, "the peak of the front hairline", 0.0, 40.0),
        (marks.temple_recession, "the temples' recession", 0.0, 70.0),
        (marks.crown.map(|c| c.behind_tape), "the crown behind the ear-to-ear tape", 0.0, 140.0),
        (marks.crown.map(|c| c.to_the_right), "the crown beside the midline", -60.0, 60.0),
        (marks.nape_half_width, "the nape hairline from its middle to its corner (nape_half_width_mm)", 25.0, 70.0),
        (marks.nape_corner_rise, "the rise of the nape hairline's corner (nape_corner_rise_mm)", -20.0, 25.0),
        (marks.behind_ear_bare, "the bare skin behind the ear (behind_ear_bare_mm)", 0.0, 25.0),
        (marks.temple_hairline, "the way from the sectioning line to the temple's hairline (temple_hairline_mm)", 45.0, 90.0),
        (marks.ear_line_back, "the sectioning line behind the top of the ear (ear_line_back_mm)", -20.0, 20.0),
    ];
    for (length, name, least, most) in lengths {
        if let Some(mm) = length.map(Length::to_mm)
            && !(least..=most).contains(&mm)
        {
            return bad(format!("{name} reads {mm:.0} mm; {least:.0} to {most:.0} mm is possible."), "Measure again, in millimetres.");
        }
    }
    for taped in &marks.taped_partings {
        if !(taped.length.to_mm() > 20.0
            && taped.length.to_mm() < 600.0
            && taped.above_nape.to_mm() >= 0.0
            && taped.above_nape.to_mm() < 400.0)
        {
            return bad(
                format!(
                    "a parting taped as {:.0} mm long, {:.0} mm above the nape, is none.",
                    taped.length.to_mm(),
                    taped.above_nape.to_mm()
                ),
                "Tape it again from end to end, in millimetres.",
            );
        }
        if taped.tilt.is_some_and(|tilt| !(tilt.abs().to_mm() <= MOST_TILT)) {
            return bad(
                format!(
                    "the parting {:.0} mm up the middle was taped with one end {:.0} mm higher than the other: it is not level.",
                    taped.above_nape.to_mm(),
                    taped.tilt.map_or(0.0, |tilt| tilt.abs().to_mm())
                ),
                "Comb it again, her gaze level, towards the same height on both sides, and tape it then.",
            );
        }
    }
    Ok(())
}

/// The notch of the right ear: on the skin at the frame's level, moved along
/// the head when the tape round the back says that the ears sit farther
/// forward or back.
fn notch(fit: &Fit) -> Vec3 {
    /// How far ears differ from the mean, and the tape's own error, mm.
    /// *Source*: our choice (science of the head: prior 6).
    const EARS: f64 = 6.0;
    const TAPE: f64 = 6.0;
    let y = fit.measures.ear_to_ear_behind.map_or(0.0, |taped| {
        let longer = (taped - fit.hair.ear_to_ear_behind - fit.arcs.ear_to_ear_behind).to_mm();
        // Each ear takes half of it.
        (0.5 * longer * EARS * EARS / (EARS * EARS + 0.25 * TAPE * TAPE)).clamp(-2.0 * EARS, 2.0 * EARS)
    });
    on_right_side(&fit.shape, y, 0.0)
}

/// The outline of the right ear, laid flat, from the front round over the top.
fn ear_outline(shape: &ScalpShape, notch: Vec3) -> Vec<Vec3> {
    (0..360 / EAR_STEP).map(|k| on_ear(shape, notch, f64::from(k * EAR_STEP))).collect()
}

/// One place of the right ear's outline.
fn on_ear(shape: &ScalpShape, notch: Vec3, degrees: f64) -> Vec3 {
    let (sine, cosine) = real::sincos(degrees.to_radians());
    on_right_side(shape, notch[1] + EAR_MIDDLE.0 + EAR_HALF.1 * cosine, notch[2] + EAR_MIDDLE.1 + EAR_HALF.0 * sine)
}

/// The right half of the front hairline: middle (with its peak), temple
/// corner, temple, sideburn, ear.
#[expect(clippy::too_many_arguments, reason = "each is another place that the line runs through")]
fn front_line(
    shape: &ScalpShape,
    midline: &Midline,
    (at, middle): (f64, Vec3),
    marks: &Marks,
    ear_line: &EarLine,
    notch: Vec3,
    ear: Vec3,
    grown: f64,
) -> Result<Vec<Vec3>, MarkFault> {
    let peak = marks.front_peak.map_or(0.0, Length::to_mm);
    let recession = marks.temple_recession.map_or(usual::RECESSION * grown, Length::to_mm);
    let corner = sideways(shape, midline.at(at + peak + recession), usual::CORNER_TO_SIDE * grown);
    let temple = temple(shape, ear_line, marks, grown)?;
    let sideburn = beside(shape, notch, usual::SIDEBURN.0, usual::SIDEBURN.1);
    // The measured middle is the tip of the peak; beside it the line stands
    // back by the peak's height.
    let shoulder = sideways(shape, midline.at(at + peak + 0.15 * recession), if peak > 0.0 { 14.0 } else { 25.0 } * grown);
    Ok(smooth_line(shape, &[middle, shoulder, corner, temple, sideburn, ear]))
}

/// Where the hairline lies at the temple: level forward from the sectioning line.
fn temple(shape: &ScalpShape, ear_line: &EarLine, marks: &Marks, grown: f64) -> Result<Vec3, MarkFault> {
    let far = marks.temple_hairline.map_or(usual::TEMPLE * grown, Length::to_mm);
    let place = || {
        let line = LevelLine::on(shape, Length::mm(ear_line.level_at(usual::TEMPLE_ABOVE_EAR)?))?;
        line.at(Length::mm(line.passes(ear_line.forward)? + far))
    };
    place().ok_or_else(|| MarkFault {
        what: "the temple's hairline would lie beyond the head.".into(),
        cure: "Measure it again, level forward from the line that runs up from the top of the ear, 45 mm above the ear.".into(),
    })
}

impl Landmarks {
    pub(crate) fn place(fit: &Fit, marks: &Marks, lines: &Lines, warnings: &mut Vec<String>) -> Self {
        let shape = &fit.shape;
        let midline = &lines.midline;
        let grown = (shape.stretch()[1] + shape.stretch()[2]) / 2.0;
        let crown_at = marks.crown.map_or(usual::CROWN_BEHIND_TAPE * grown, |c| c.behind_tape.to_mm());
        if marks.crown.is_none() {
            warnings.push("the crown whorl was not marked: it is set on the midline where it lies on average, but it may be 50 mm off and to either side; look at it and mark it".into());
        }
        let on_midline = midline.at(crown_at);
        let crown = match marks.crown.map_or(0.0, |c| c.to_the_right.to_mm()) {
            0.0 => on_midline,
            right if right > 0.0 => sideways(shape, on_midline, right),
            left => mirror(sideways(shape, on_midline, -left)),
        };
        let mut occiput_at = midline.along_of(fit.occipital.0);
        if let (Some(tape), Some(below)) = (fit.measures.tape_to_nape_hairline, marks.nape_hairline_below_occiput) {
            occiput_at = (tape - below).to_mm();
        }
        occiput_at = occiput_at.min(lines.nape_at);
        // The horizontal of each tie: low with the occipital bone, high with
        // the usual crown, middle half-way along the skin.
        let high_at = usual::CROWN_BEHIND_TAPE * grown;
        let whole = |half: &[Vec3]| both_sides(half).into_iter().map(SkinPoint).collect::<Vec<_>>();
        let right_ear: Vec<SkinPoint> = lines.ear.iter().chain(lines.ear.first()).map(|p| SkinPoint(*p)).collect();
        let over: Vec<Vec3> = Template::standard().over.iter().map(|p| shape.project(stretched(*p, shape.stretch()))).collect();
        let steps = ((lines.nape_at - lines.front_at) / 3.0).ceil().max(1.0);
        let vertex = (0..400)
            .map(|k| midline.at(lines.front_at + f64::from(k) * 0.5))
            .fold(midline.at(0.0), |top, p| if dot(p, ScalpShape::up()) > dot(top, ScalpShape::up()) { p } else { top });
        Self {
            nape_hairline: whole(&lines.nape),
            left_behind_ear: lines.behind_ear.iter().map(|p| SkinPoint(mirror(*p))).collect(),
            right_behind_ear: lines.behind_ear.iter().map(|p| SkinPoint(*p)).collect(),
            front_hairline: whole(&lines.front),
            left_ear: right_ear.iter().map(|p| p.mirrored()).collect(),
            right_ear,
            crown: SkinPoint(crown),
            occipital: SkinPoint(midline.at(occiput_at)),
            vertex: SkinPoint(vertex),
            tied_low: SkinPoint(midline.at(occiput_at)),
            tied_mid: SkinPoint(midline.at(0.5 * (occiput_at + high_at))),
            tied_high: SkinPoint(midline.at(high_at)),
            ear_to_ear: whole(&over),
            ear_to_ear_line: whole(&lines.ear_line.right().iter().rev().copied().collect::<Vec<_>>()),
            ear_tops: [SkinPoint(mirror(lines.ear_line.right()[0])), SkinPoint(lines.ear_line.right()[0])],
            midline: (0..=steps as usize)
                .map(|k| SkinPoint(midline.at(lines.front_at + (lines.nape_at - lines.front_at) * k as f64 / steps)))
                .collect(),
            horseshoe: horseshoe(shape, lines),
        }
    }
}

/// Sine of the slope at which the side of the head turns into its top.
pub(crate) const HORSESHOE_SINE: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// The horseshoe line: from temple round the back to temple, where the skin
/// faces 45 degrees above level. *Source*: our own definition of where a comb
/// laid flat leaves the head.
fn horseshoe(shape: &ScalpShape, lines: &Lines) -> Vec<SkinPoint> {
    let inside = Inside::within(shape, &lines.border);
    let up = ScalpShape::up();
    let forward = cross(up, [1.0, 0.0, 0.0]);
    let mut right = Vec::new();
    for k in 0..=60 {
        // Round from straight behind to the front.
        let (sine, cosine) = real::sincos(f64::from(k) * std::f64::consts::PI / 60.0);
        let out = add(scale(forward, -cosine), [sine, 0.0, 0.0]);
        let (mut low, mut high) = (0.0, std::f64::consts::FRAC_PI_2);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            let p = shape.towards(add(scale(out, real::cos(middle)), scale(up, real::sin(middle))));
            if dot(shape.normal(p), up) < HORSESHOE_SINE { low = middle } else { high = middle }
        }
        let p = shape.towards(add(scale(out, real::cos(low)), scale(up, real::sin(low))));
        let p = if k == 0 { [0.0, p[1], p[2]] } else { p };
        if k > 0 && !inside.holds(seen(shape, p)) {
            break;
        }
        right.push(p);
    }
    both_sides(&right).into_iter().map(SkinPoint).collect()
}
