//! What makes a head known as one: a face of nobody, ears and a neck.

use super::curve::open;
use super::neck::Portrait;
use head::view::InPicture;
use head::{SkinPoint, SmoothSkin};
use measure::Angle;
use std::fmt::Write;

/// One ear laid flat, mm behind and above its notch: its rim from the upper
/// attachment to the lower, the fold inside, and the cover of its opening. Its
/// size is that of the ears on the head map. *Source*: our own drawing.
const RIM: &[[f64; 2]] = &[
    [-2.0, 14.0],
    [0.0, 22.0],
    [4.0, 29.0],
    [11.0, 33.5],
    [20.0, 33.0],
    [27.0, 26.0],
    [29.5, 15.0],
    [27.0, 3.0],
    [22.0, -8.0],
    [16.0, -17.0],
    [10.5, -25.0],
    [5.0, -26.5],
    [1.0, -22.0],
    [-0.5, -14.0],
    [-1.0, -8.0],
];
const FOLD: &[[f64; 2]] = &[[5.0, 23.0], [12.0, 27.0], [20.0, 24.0], [22.0, 14.0], [19.0, 3.0], [13.0, -6.0], [7.0, -9.0]];
const COVER: &[[f64; 2]] = &[[-1.0, -8.0], [3.5, -5.0], [5.0, 0.0], [3.0, 5.0], [-1.5, 9.0]];

impl Portrait<'_> {
    /// Brows, closed eyes, nose and mouth of nobody.
    pub fn face(&self) -> String {
        let mut out = String::new();
        let mut stroke = |class: &str, places: Vec<[f64; 3]>| {
            let mut run: Vec<InPicture> = Vec::new();
            for [right, up, forward] in places {
                let p = self.skin.beneath(right, up, forward);
                let facing: f64 = self.skin.normal(p).iter().zip(self.view.towards()).map(|(n, v)| n * v).sum();
                if facing > 0.12 {
                    run.push(self.place(SkinPoint(p)));
                }
            }
            if run.len() > 1 {
                let _ = write!(out, "<path class=\"{class}\" d=\"{}\"/>", open(&run));
            }
        };
        let along =
            |steps: i32, place: &dyn Fn(f64) -> [f64; 3]| (0..=steps).map(|k| place(f64::from(k) / f64::from(steps))).collect::<Vec<_>>();
        let arch = |t: f64| measure::real::sin(std::f64::consts::PI * t);
        for side in [-1.0, 1.0] {
            stroke("feature strong", along(8, &|t| [side * (19.0 + 26.0 * t), 9.0 - 5.5 * arch(t), 85.0 - 8.0 * t]));
            stroke(
                "feature brow",
                along(8, &|t| [side * (15.0 + 37.0 * t), 25.0 + 6.5 * arch((0.85 * t + 0.05).min(1.0)) - 2.0 * t, 90.0 - 10.0 * t]),
            );
        }
        let both = |t: f64| 2.0 * t - 1.0;
        stroke(
            "feature",
            along(10, &|t| {
                let x = both(t);
                [15.0 * x, -33.2 + 3.2 * x.abs() + 5.5 * x * x * x * x, 100.0]
            }),
        );
        stroke(
            "feature strong",
            along(10, &|t| [24.0 * both(t), -51.2 + both(t).abs() - 0.4 * arch(2.0 * t).abs(), 100.0 - 8.0 * both(t) * both(t)]),
        );
        stroke("feature", along(6, &|t| [9.0 * both(t), -62.0 + 1.5 * both(t) * both(t), 100.0]));
        // The far side of the nose, when the face is looked at from aside.
        let aside = self.view.towards()[0];
        if self.towards_face() > 0.2 && aside.abs() > 0.2 {
            let far = -aside.signum();
            let ridge: Vec<InPicture> = along(10, &|t| [far * (4.5 + 4.0 * t * t), 20.0 - 44.0 * t, 100.0])
                .into_iter()
                .map(|[right, up, forward]| self.place(SkinPoint(self.skin.beneath(right, up, forward))))
                .collect();
            let _ = write!(out, "<path class=\"feature\" d=\"{}\"/>", open(&ridge));
        }
        out
    }

    /// One ear, standing off the head.
    pub fn ear(&self, side: f64) -> String {
        let (lean_sine, lean_cosine) = measure::real::sincos(Angle::deg(28.0).to_rad());
        let SkinPoint(notch) = self.courses.right_ear_notch();
        let placed = |flat: &[[f64; 2]]| -> Vec<InPicture> {
            flat.iter()
                .map(|[behind, above]| {
                    let out = notch[0] + behind * lean_sine + 1.5;
                    self.place(SkinPoint([side * out, notch[1] - behind * lean_cosine, notch[2] + above]))
                })
                .collect()
        };
        let rim = open(&placed(RIM));
        let mut out = format!("<path class=\"skin\" d=\"{rim}Z\"/><path class=\"line ear\" d=\"{rim}\"/>");
        let [x, y, _] = self.view.towards();
        if side * x * lean_cosine + y * lean_sine > 0.2 {
            let _ = write!(
                out,
                "<path class=\"feature\" d=\"{}\"/><path class=\"feature\" d=\"{}\"/>",
                open(&placed(FOLD)),
                open(&placed(COVER))
            );
        }
        out
    }
}
