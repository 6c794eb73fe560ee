//! Landmarks: hairlines, ears, crown and the other places a technician finds by eye and finger.

use crate::head::MarkFault;
use crate::midline::{Midline, beside, both_sides, on_right_side, sideways, smooth_line};
use crate::model::{Template, stretched};
use crate::point::SkinPoint;
use crate::region::{Patch, seen};
use crate::size::Fit;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, dot, mirror, scale};
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
    /// Its distance from the nape hairline, along the skin.
    pub above_nape: Length,
    /// Its length from end to end.
    pub length: Length,
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
    /// Partings taped at the chair.
    pub taped_partings: Vec<TapedParting>,
}

/// The places on this head.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    /// The lowest hair at the back, from behind the left ear to behind the right.
    pub nape_hairline: Vec<SkinPoint>,
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
    /// The ear-to-ear line over the top, left to right.
    pub ear_to_ear: Vec<SkinPoint>,
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
    /// the way from nose to occipital bone). *Source*: hairline2019, table 9.
    pub const FRONT_TO_TAPE: f64 = 89.0;
    /// Occipital bone down to the nape hairline. *Source*: from memory, 20-50;
    /// our choice.
    pub const NAPE_BELOW_OCCIPUT: f64 = 35.0;
    /// Crown whorl behind the upright line of the ears (range 15-110).
    /// *Source*: park2014, 952 men.
    pub const CROWN_BEHIND_TAPE: f64 = 62.5;
    /// The deepest point of the temple corner behind the middle of the
    /// hairline, and to the side of it. *Source*: from memory, 20-30 and
    /// 55-65; our choice.
    pub const RECESSION: f64 = 22.0;
    pub const CORNER_TO_SIDE: f64 = 60.0;
    /// Where the temple's edge turns down, in front of and above the ear notch.
    /// *Source*: our choice.
    pub const TEMPLE: (f64, f64) = (44.0, 52.0);
    pub const SIDEBURN: (f64, f64) = (20.0, 32.0);
    /// The lower corner of the nape hairline: to the side, and above its
    /// middle. *Source*: our choice.
    pub const NAPE_CORNER: (f64, f64) = (44.0, 4.0);
}

/// The ear laid flat: half its height and breadth, and its middle behind and
/// above the notch, in mm along z and y. It does not grow with the head.
///
/// *Source*: ansur2, women: ear length 59.4, breadth 33.2; the notch a little
/// below the middle and near the front edge (our choice). The long axis leans
/// back 15 degrees from upright, which is the z axis.
const EAR_HALF: (f64, f64) = (29.7, 16.6);
const EAR_MIDDLE: (f64, f64) = (-13.0, 4.0);
/// Where on the outline, from the front up and round, the front hairline ends
/// and the nape hairline begins, degrees.
const FRONT_END: i32 = 70;
const NAPE_END: i32 = 205;

/// The right halves of the lines, which with their mirror images make the landmarks.
#[derive(Debug, Clone)]
pub(crate) struct Lines {
    pub midline: Midline,
    pub nape: Vec<Vec3>,
    pub front: Vec<Vec3>,
    pub ear: Vec<Vec3>,
    pub notch: Vec3,
    /// Hair's border on the right: front hairline, over the ear, nape hairline.
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
                warnings.push("the front hairline was not measured (front_hairline_to_tape_mm): it is set where most people's is, give or take 10 mm".into());
                -usual::FRONT_TO_TAPE * grown
            }
        };
        let occiput_at = midline.along_of(fit.occipital.0);
        let nape_at = match (fit.measures.tape_to_nape_hairline, marks.nape_hairline_below_occiput) {
            (Some(far), _) => far.to_mm(),
            (None, Some(below)) => occiput_at + below.to_mm(),
            (None, None) => {
                warnings.push("the nape hairline was not measured (tape_to_nape_hairline_mm): it is set 35 mm below the occipital bone, give or take 15 mm; every height above it moves with it".into());
                occiput_at + usual::NAPE_BELOW_OCCIPUT * grown
            }
        };
        let (first, last) = midline.ends();
        let place = |at: f64, what: &str| {
            if at > first && at < last {
                return Ok(midline.at(at));
            }
            Err(MarkFault { what: format!("the {what} would lie beyond the head."), cure: "Measure it again along the middle, from the ear-to-ear tape.".into() })
        };
        let nape_middle = place(nape_at, "nape hairline")?;
        let front_middle = place(front_at, "front hairline")?;
        if nape_at < 110.0 * grown {
            return Err(MarkFault { what: "the nape hairline would lie above the back of the head.".into(), cure: "Measure it again down to the lowest hair.".into() });
        }

        let notch = notch(fit);
        let ear = ear_outline(shape, notch);
        let at_ear = |degrees: i32| ear[((degrees + EAR_STEP / 2) / EAR_STEP) as usize];
        let front = front_line(shape, &midline, (front_at, front_middle), marks, notch, at_ear(FRONT_END), grown);
        let corner = sideways(shape, midline.at(nape_at - usual::NAPE_CORNER.1 * grown), usual::NAPE_CORNER.0 * grown);
        let nape = smooth_line(shape, &[nape_middle, corner, at_ear(NAPE_END)]);

        let mut border = front.clone();
        border.extend((FRONT_END / EAR_STEP + 1..NAPE_END / EAR_STEP).map(|k| ear[k as usize]));
        border.extend(nape.iter().rev());
        Ok(Self { midline, nape, front, ear, notch, border, nape_at, front_at, warnings })
    }
}

/// Degrees from one point of an ear's outline to the next.
const EAR_STEP: i32 = 5;

/// Refuses marks that no head has.
fn check(marks: &Marks) -> Result<(), MarkFault> {
    let bad = |what: String, cure: &str| Err(MarkFault { what, cure: cure.into() });
    let lengths = [
        (marks.nape_hairline_below_occiput, "nape_hairline_below_occiput_mm", 0.0, 90.0),
        (marks.front_peak, "the peak of the front hairline", 0.0, 40.0),
        (marks.temple_recession, "the temples' recession", 0.0, 70.0),
        (marks.crown.map(|c| c.behind_tape), "the crown behind the ear-to-ear tape", 0.0, 140.0),
        (marks.crown.map(|c| c.to_the_right), "the crown beside the midline", -60.0, 60.0),
    ];
    for (length, name, least, most) in lengths {
        if let Some(mm) = length.map(Length::to_mm)
            && !(least..=most).contains(&mm)
        {
            return bad(format!("{name} reads {mm:.0} mm; {least:.0} to {most:.0} mm is possible."), "Measure again, in millimetres.");
        }
    }
    for taped in &marks.taped_partings {
        if !(taped.length.to_mm() > 20.0 && taped.length.to_mm() < 600.0 && taped.above_nape.to_mm() >= 0.0 && taped.above_nape.to_mm() < 400.0) {
            return bad(
                format!("a parting taped as {:.0} mm long, {:.0} mm above the nape, is none.", taped.length.to_mm(), taped.above_nape.to_mm()),
                "Tape it again from end to end, in millimetres.",
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
    (0..360 / EAR_STEP)
        .map(|k| {
            let angle = real::sincos(f64::from(k * EAR_STEP).to_radians());
            let y = notch[1] + EAR_MIDDLE.0 + EAR_HALF.1 * angle.1;
            let z = notch[2] + EAR_MIDDLE.1 + EAR_HALF.0 * angle.0;
            on_right_side(shape, y, z)
        })
        .collect()
}

/// The right half of the front hairline: middle (with its peak), temple
/// corner, temple, sideburn, ear.
fn front_line(shape: &ScalpShape, midline: &Midline, (at, middle): (f64, Vec3), marks: &Marks, notch: Vec3, ear: Vec3, grown: f64) -> Vec<Vec3> {
    let peak = marks.front_peak.map_or(0.0, Length::to_mm);
    let recession = marks.temple_recession.map_or(usual::RECESSION * grown, Length::to_mm);
    let corner = sideways(shape, midline.at(at + peak + recession), usual::CORNER_TO_SIDE * grown);
    let temple = beside(shape, notch, usual::TEMPLE.0 * grown, usual::TEMPLE.1 * grown);
    let sideburn = beside(shape, notch, usual::SIDEBURN.0, usual::SIDEBURN.1);
    // The measured middle is the tip of the peak; beside it the line stands
    // back by the peak's height.
    let shoulder = sideways(shape, midline.at(at + peak + 0.15 * recession), if peak > 0.0 { 14.0 } else { 25.0 } * grown);
    smooth_line(shape, &[middle, shoulder, corner, temple, sideburn, ear])
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
            midline: (0..=steps as usize).map(|k| SkinPoint(midline.at(lines.front_at + (lines.nape_at - lines.front_at) * k as f64 / steps))).collect(),
            horseshoe: horseshoe(shape, lines),
        }
    }
}

/// Sine of the slope at which the side of the head turns into its top.
pub(crate) const HORSESHOE_SINE: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// The horseshoe line: from temple round the back to temple, where the skin
/// faces 45 degrees above level. *Source*: our definition of where a comb laid
/// flat leaves the head.
fn horseshoe(shape: &ScalpShape, lines: &Lines) -> Vec<SkinPoint> {
    let patch = Patch::within(shape, &lines.border);
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
        if k > 0 && !patch.holds(seen(shape, p)) {
            break;
        }
        right.push(p);
    }
    both_sides(&right).into_iter().map(SkinPoint).collect()
}
