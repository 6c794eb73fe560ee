//! Landmarks: hairlines, ears, crown and the other places a technician finds by eye and finger.

mod check;
mod ear;
mod nape;

use crate::Marks;
use crate::level::{EarLine, LevelLine, Rise, forward_of, level_of};
use crate::marks::MarkFault;
use crate::midline::{Midline, beside, both_sides, on_right_side, sideways, smooth_line};
use crate::model::{Template, stretched};
use crate::point::SkinPoint;
use crate::region::{Inside, seen};
use crate::size::Fit;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::words::Message;
use check::{check, refuse_across_the_ear};
use ear::{on_ear, usual};
use measure::vector::{Vec3, add, cross, dot, mirror, scale};
use measure::{Length, real};
use nape::{behind_ear_line, nape_line, rounded_at_the_corner};

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

/// Where on the outline, from the front up and round, the front hairline ends
/// and the nape hairline begins, degrees.
const FRONT_END: i32 = 70;
const NAPE_END: i32 = 140;
/// Degrees from one point of an ear's outline to the next.
const EAR_STEP: i32 = 5;

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
                warnings.push(Message::FrontUnmeasured.into());
                -usual::FRONT_TO_TAPE * grown
            }
        };
        let occiput_at = midline.along_of(fit.occipital.0);
        let nape_at = match (fit.measures.tape_to_nape_hairline, marks.nape_hairline_below_occiput) {
            (Some(far), _) => far.to_mm(),
            (None, Some(below)) => occiput_at + below.to_mm(),
            (None, None) => {
                warnings.push(Message::NapeUnmeasured.into());
                occiput_at + usual::NAPE_BELOW_OCCIPUT * grown
            }
        };
        let (first, last) = midline.ends();
        let place = |at: f64, beyond: &Message| {
            if at > first && at < last {
                return Ok(midline.at(at));
            }
            Err(MarkFault::of(beyond))
        };
        let nape_middle = place(nape_at, &Message::NapeBeyondHead)?;
        let front_middle = place(front_at, &Message::FrontBeyondHead)?;
        if nape_at < 110.0 * grown {
            return Err(MarkFault::of(&Message::NapeAboveBack));
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
    EarLine::of(shape, forward_of(top) - back, level_of(top)).ok_or_else(|| MarkFault::of(&Message::NoLineFromEars))
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
    place().ok_or_else(|| MarkFault::of(&Message::TempleBeyondHead))
}

impl Landmarks {
    pub(crate) fn place(fit: &Fit, marks: &Marks, lines: &Lines, warnings: &mut Vec<String>) -> Self {
        let shape = &fit.shape;
        let midline = &lines.midline;
        let grown = (shape.stretch()[1] + shape.stretch()[2]) / 2.0;
        let crown_at = marks.crown.map_or(usual::CROWN_BEHIND_TAPE * grown, |c| c.behind_tape.to_mm());
        if marks.crown.is_none() {
            warnings.push(Message::CrownUnmarked.into());
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
