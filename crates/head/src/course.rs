//! The courses of the tapes: where on this head each measure is taken.

use crate::landmark::Lines;
use crate::level::{LevelLine, forward_of, level_of};
use crate::marks::{MarkFault, Marks};
use crate::measures::Tape;
use crate::midline::{both_sides, sideways};
use crate::model::{Template, stretched};
use crate::point::{SkinPoint, Zone};
use crate::sight::Sureness;
use crate::size::Fit;
use crate::surface::{ScalpShape, SmoothSkin};
use crate::template::UP;
use measure::Length;
use measure::vector::{Vec3, lerp, mirror};

/// The lines along which one head is measured, and what borders its hair;
/// found without marching distances, so quick enough to follow typing.
///
/// ```
/// use head::{Courses, Marks, Measures, Tape, fit};
/// use measure::Length;
/// let fitted = fit(&Measures::of_circumference(Length::mm(560.0))).unwrap();
/// let courses = Courses::of(&fitted, &Marks::default()).unwrap();
/// assert!(courses.of_tape(Tape::EarToEarOverCrown).len() > 10);
/// ```
#[derive(Debug, Clone)]
pub struct Courses {
    shape: ScalpShape,
    lines: Lines,
    sureness: Sureness,
    occipital: Vec3,
}

impl Courses {
    /// The courses on a fitted scalp.
    ///
    /// *Errors*: a mark that cannot lie on this head.
    pub fn of(fit: &Fit, marks: &Marks) -> Result<Self, MarkFault> {
        let lines = Lines::place(fit, marks)?;
        let nape_known = fit.measures.tape_to_nape_hairline.is_some() || marks.nape_hairline_below_occiput.is_some();
        Ok(Self { shape: fit.shape.clone(), sureness: Sureness::of(fit, nape_known, &lines), lines, occipital: fit.occipital.0 })
    }

    /// The smooth scalp.
    #[must_use]
    pub fn shape(&self) -> &ScalpShape {
        &self.shape
    }

    /// The line a tape lies on: from the client's left to her right, or from
    /// front to back; round the head it ends where it began. A calliper has two
    /// ends and nothing between.
    #[must_use]
    pub fn of_tape(&self, tape: Tape) -> Vec<SkinPoint> {
        let template = Template::standard();
        let s = self.shape.stretch();
        let whole = |half: &[Vec3]| both_sides(&half.iter().map(|p| stretched(*p, s)).collect::<Vec<_>>());
        let line = match tape {
            Tape::Circumference => whole(&template.around),
            Tape::EarToEarOverCrown => whole(&template.over),
            Tape::EarToEarBehind => whole(&template.behind),
            Tape::FrontHairlineToTape => self.midline(self.lines.front_at, 0.0),
            Tape::TapeToNapeHairline => self.midline(0.0, self.lines.nape_at),
            Tape::Length => vec![stretched(template.front, s), stretched(template.back, s)],
            Tape::Breadth => {
                let widest = stretched(template.widest, s);
                vec![mirror(widest), widest]
            }
        };
        line.into_iter().map(SkinPoint).collect()
    }

    /// Down the middle from the bump of the occipital bone to the nape hairline.
    #[must_use]
    pub fn occipital_to_nape_hairline(&self) -> Vec<SkinPoint> {
        let from = self.lines.midline.along_of(self.occipital).min(self.lines.nape_at - 1.0);
        self.midline(from, self.lines.nape_at).into_iter().map(SkinPoint).collect()
    }

    /// The right half of the nape hairline: from the middle to the corner where it turns up.
    #[must_use]
    pub fn nape_to_corner(&self) -> Vec<SkinPoint> {
        self.lines.nape.iter().copied().map(SkinPoint).collect()
    }

    /// From the right end of the level through the middle of the nape hairline
    /// straight to the corner: what lies between them is the corner's rise.
    #[must_use]
    pub fn corner_rise(&self) -> Vec<SkinPoint> {
        let (Some(middle), Some(corner)) = (self.lines.nape.first(), self.lines.nape.last()) else { return Vec::new() };
        let [x, y, z] = *corner;
        let by = level_of(*middle) - level_of(*corner);
        (0..=6)
            .rev()
            .map(|k| {
                let share = by * f64::from(k) / 6.0;
                SkinPoint(self.shape.project([x, y + share * UP[1], z + share * UP[2]]))
            })
            .collect()
    }

    /// Level from behind the right ear to where the hair begins.
    #[must_use]
    pub fn bare_behind_ear(&self) -> Vec<SkinPoint> {
        // The turn of the hairline behind the ear is the place of it that lies nearest to the ear.
        let near = |p: &Vec3| self.lines.ear.iter().map(|q| SkinPoint(*p).straight_to(SkinPoint(*q)).to_mm()).fold(f64::INFINITY, f64::min);
        let inner = self.lines.behind_ear.len() * 3 / 4;
        let Some(hair) = self.lines.behind_ear.iter().take(inner).min_by(|p, q| near(p).total_cmp(&near(q))) else { return Vec::new() };
        let at =
            |p: &&Vec3| (level_of(**p) - level_of(*hair)).abs() + if forward_of(**p) < forward_of(self.lines.notch) { 0.0 } else { 1e3 };
        let Some(ear) = self.lines.ear.iter().min_by(|p, q| at(p).total_cmp(&at(q))) else { return Vec::new() };
        (0..=4).map(|k| SkinPoint(self.shape.project(lerp(*ear, *hair, f64::from(k) / 4.0)))).collect()
    }

    /// The sectioning line on the right, from the top of the ear to the middle.
    #[must_use]
    pub fn ear_to_ear_line(&self) -> Vec<SkinPoint> {
        self.lines.ear_line.right().iter().copied().map(SkinPoint).collect()
    }

    /// From the sectioning line level forward to the front hairline, so far up
    /// that line from the top of the ear; empty where they do not meet.
    #[must_use]
    pub fn to_temple_hairline(&self, up: Length) -> Vec<SkinPoint> {
        let line = || {
            let level = self.lines.ear_line.level_at(up.to_mm())?;
            let line = LevelLine::on(&self.shape, Length::mm(level))?;
            let from = line.passes(self.lines.ear_line.forward)?;
            let hair = self.lines.front.windows(2).find(|w| (level_of(w[0]) - level) * (level_of(w[1]) - level) <= 0.0)?;
            let (above, below) = (level_of(hair[0]) - level, level_of(hair[1]) - level);
            let share = above.abs() / (above.abs() + below.abs()).max(1e-9);
            let to = line.along_of(lerp(hair[0], hair[1], share.clamp(0.0, 1.0))).to_mm();
            let pieces = ((to - from).abs() / 3.0).ceil().max(1.0) as usize;
            (0..=pieces)
                .map(|k| line.at(Length::mm(from + (to - from) * k as f64 / pieces as f64)).map(SkinPoint))
                .collect::<Option<Vec<_>>>()
        };
        line().unwrap_or_default()
    }

    /// From the top of the right ear level back, so far.
    #[must_use]
    pub fn behind_ear_top(&self, far: Length) -> Vec<SkinPoint> {
        let Some(top) = self.lines.ear_line.right().first().copied() else { return Vec::new() };
        let Some(line) = LevelLine::on(&self.shape, Length::mm(level_of(top))) else { return Vec::new() };
        let from = line.along_of(top).to_mm();
        (0..=4).filter_map(|k| line.at(Length::mm(from - far.to_mm() * f64::from(k) / 4.0)).map(SkinPoint)).collect()
    }

    /// Back along the middle from the ear-to-ear tape, so far on the tape.
    #[must_use]
    pub fn behind_the_tape(&self, far: Length) -> Vec<SkinPoint> {
        self.midline(0.0, far.to_mm().clamp(1.0, self.lines.nape_at)).into_iter().map(SkinPoint).collect()
    }

    /// The closed border of the hair: front hairline, over the client's right
    /// ear, nape hairline, and back over her left ear.
    #[must_use]
    pub fn hair_border(&self) -> Vec<SkinPoint> {
        let right = &self.lines.border;
        let left = right.iter().rev().map(|p| mirror(*p)).filter(|p| p[0] < 0.0);
        right.iter().copied().chain(left).map(SkinPoint).collect()
    }

    /// The notch before the opening of the client's right ear; the left one is
    /// its mirror image.
    #[must_use]
    pub fn right_ear_notch(&self) -> SkinPoint {
        SkinPoint(self.lines.notch)
    }

    /// A place in the middle of a region of the hair: on the midline where it
    /// crosses the region, else on the client's right.
    #[must_use]
    pub fn middle_of(&self, zone: Zone) -> SkinPoint {
        let midline = &self.lines.midline;
        let grown = self.shape.stretch()[1];
        // Millimetres on the mean head behind the ear-to-ear tape, and aside.
        let occiput = midline.along_of(self.occipital);
        let (along, aside) = match zone {
            Zone::Nape => (0.5 * (occiput + self.lines.nape_at), 0.0),
            Zone::Occipital => (0.75 * occiput, 0.0),
            Zone::Crown => (0.25 * occiput, 0.0),
            Zone::Parietal => (0.25 * occiput, 95.0 * grown),
            Zone::Temporal => (0.35 * self.lines.front_at, 95.0 * grown),
            Zone::Frontal => (0.6 * self.lines.front_at, 0.0),
        };
        let on_midline = midline.at(along);
        SkinPoint(if aside > 0.0 { sideways(&self.shape, on_midline, aside) } else { on_midline })
    }

    /// One standard error of a place, from shape, landmarks and distance to
    /// the nearest taped line.
    #[must_use]
    pub fn sigma_at(&self, p: SkinPoint) -> Length {
        Length::mm(self.sureness.at(crate::field::to_right(p.0).0))
    }

    /// A stretch of the midline, about 3 mm from point to point.
    fn midline(&self, from: f64, to: f64) -> Vec<Vec3> {
        let pieces = ((to - from).abs() / 3.0).ceil().max(1.0);
        (0..=pieces as usize).map(|k| self.lines.midline.at(lerp([from, 0.0, 0.0], [to, 0.0, 0.0], k as f64 / pieces)[0])).collect()
    }
}
