//! Marks that no head has, and marks that cannot be together.

use crate::marks::{MarkFault, Marks};
use crate::region::{Inside, seen};
use crate::surface::ScalpShape;
use measure::Length;
use measure::vector::{Vec3, distance};

/// Refuses a nape hairline that would run over the ear.
pub(super) fn refuse_across_the_ear(shape: &ScalpShape, ear: &[Vec3], nape: &[Vec3], behind: &[Vec3]) -> Result<(), MarkFault> {
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

/// A parting whose ends differ by more than this in height is not the level
/// one, mm: twice the landmark's error on either side. *Source*: our choice.
const MOST_TILT: f64 = 10.0;

/// Refuses marks that no head has.
pub(super) fn check(marks: &Marks) -> Result<(), MarkFault> {
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
