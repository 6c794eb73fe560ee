//! A head seen from one place, and its neck.

use head::view::InPicture;
use head::{Courses, FacedSkin, ScalpShape, SkinPoint, View};

/// One head seen from one place.
pub struct Portrait<'a> {
    pub courses: &'a Courses,
    pub skin: FacedSkin,
    pub view: View,
    pub outline: Vec<SkinPoint>,
    pub neck: Neck,
}

/// The two sides of the neck in the picture, from the top down.
pub struct Neck {
    /// On the left of the paper.
    pub left: Vec<InPicture>,
    /// On the right of the paper.
    pub right: Vec<InPicture>,
}

impl Neck {
    /// A tube of ellipses that leans forward and widens to the shoulders. It is
    /// nobody's: a picture without a neck is not known as a head.
    pub fn of(view: &View) -> Self {
        let [_, sine, cosine] = ScalpShape::up();
        let upright = |right: f64, up: f64, forward: f64| SkinPoint([right, forward * cosine + up * sine, up * cosine - forward * sine]);
        let (aside, ahead) = (view.place(upright(1.0, 0.0, 0.0))[0], view.place(upright(0.0, 0.0, 1.0))[0]);
        let mut neck = Self { left: Vec::new(), right: Vec::new() };
        for k in 0..=24 {
            let t = f64::from(k) / 24.0;
            let flare = ((t - 0.62) / 0.38).max(0.0);
            let half_width = 53.0 - 4.0 * measure::real::sin(std::f64::consts::PI * (1.25 * t).min(1.0)) + 26.0 * flare * flare;
            let half_depth = 52.0 + 4.0 * t * t * t;
            let [x, y] = view.place(upright(0.0, -30.0 - 128.0 * t, -8.0 - 14.0 * t));
            let reach = (aside * aside * half_width * half_width + ahead * ahead * half_depth * half_depth).sqrt();
            neck.left.push([x - reach, y]);
            neck.right.push([x + reach, y]);
        }
        neck
    }
}
