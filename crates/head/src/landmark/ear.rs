//! Where hairlines lie when nobody measured them, and the ear laid on the skin.

use crate::midline::on_right_side;
use crate::surface::ScalpShape;
use measure::real;
use measure::vector::Vec3;

/// Where the hairline and the other landmarks lie when nobody measured them.
///
/// Lengths in mm on the mean head; they grow with the head.
pub(super) mod usual {
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
pub(super) const EAR_HALF: (f64, f64) = (29.7, 16.6);

pub(super) const EAR_MIDDLE: (f64, f64) = (-13.0, 4.0);

/// Where behind the ear the hairline comes nearest to it, degrees.
pub(super) const BEHIND_EAR: f64 = 195.0;

/// One place of the right ear's outline.
pub(super) fn on_ear(shape: &ScalpShape, notch: Vec3, degrees: f64) -> Vec3 {
    let (sine, cosine) = real::sincos(degrees.to_radians());
    on_right_side(shape, notch[1] + EAR_MIDDLE.0 + EAR_HALF.1 * cosine, notch[2] + EAR_MIDDLE.1 + EAR_HALF.0 * sine)
}
