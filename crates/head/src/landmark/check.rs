//! Marks that no head has, and marks that cannot be together.

use crate::marks::{MarkFault, Marks};
use crate::region::{Inside, seen};
use crate::surface::ScalpShape;
use crate::words::Message;
use measure::Length;
use measure::text::{millimetres, number};
use measure::vector::{Vec3, distance};
use measure::words::Sentence;

/// Refuses a nape hairline that would run over the ear.
pub(super) fn refuse_across_the_ear(shape: &ScalpShape, ear: &[Vec3], nape: &[Vec3], behind: &[Vec3]) -> Result<(), MarkFault> {
    let inside = Inside::within(shape, ear);
    // Where hair grows right up to the ear the two lines touch: only a corner
    // well under it is none.
    let depth = |p: Vec3| ear.iter().map(|q| distance(p, *q)).fold(f64::INFINITY, f64::min);
    let crosses = nape.iter().chain(behind).any(|p| inside.holds(seen(shape, *p)) && depth(*p) > MOST_UNDER_EAR);
    if crosses {
        return Err(MarkFault::of(&Message::CornerUnderEar));
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
    let lengths = [
        (marks.nape_hairline_below_occiput, Message::MarkNapeBelowOcciput, 0.0, 90.0),
        (marks.front_peak, Message::MarkFrontPeak, 0.0, 40.0),
        (marks.temple_recession, Message::MarkRecession, 0.0, 70.0),
        (marks.crown.map(|c| c.behind_tape), Message::MarkCrownBehind, 0.0, 140.0),
        (marks.crown.map(|c| c.to_the_right), Message::MarkCrownBeside, -60.0, 60.0),
        (marks.nape_half_width, Message::MarkNapeHalfWidth, 25.0, 70.0),
        (marks.nape_corner_rise, Message::MarkNapeCornerRise, -20.0, 25.0),
        (marks.behind_ear_bare, Message::MarkBehindEar, 0.0, 25.0),
        (marks.temple_hairline, Message::MarkTemple, 45.0, 90.0),
        (marks.ear_line_back, Message::MarkEarLineBack, -20.0, 20.0),
    ];
    for (length, mark, least, most) in lengths {
        if let Some(mm) = length.map(Length::to_mm)
            && !(least..=most).contains(&mm)
        {
            let (least, most) = (number(least, 0), number(most, 0));
            return Err(MarkFault::of(&Message::MarkOutside { mark: mark.says(), read: millimetres(Length::mm(mm)), least, most }));
        }
    }
    for taped in &marks.taped_partings {
        if !(taped.length.to_mm() > 20.0
            && taped.length.to_mm() < 600.0
            && taped.above_nape.to_mm() >= 0.0
            && taped.above_nape.to_mm() < 400.0)
        {
            let (long, up) = (millimetres(taped.length), millimetres(taped.above_nape));
            return Err(MarkFault::of(&Message::PartingNone { long, up }));
        }
        if taped.tilt.is_some_and(|tilt| !(tilt.abs().to_mm() <= MOST_TILT)) {
            let (up, higher) = (millimetres(taped.above_nape), millimetres(taped.tilt.map_or(Length::ZERO, Length::abs)));
            return Err(MarkFault::of(&Message::PartingTilted { up, higher }));
        }
    }
    Ok(())
}
