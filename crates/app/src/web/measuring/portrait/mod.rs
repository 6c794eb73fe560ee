//! A head as a clean line drawing: outline, face, ears, hair, and the course of
//! a tape, solid where it is seen and dashed where the head hides it.
//!
//! Everything is drawn from the fitted scalp; one unit of the drawing is one
//! millimetre. Colours come from the style sheet by class.

mod curve;
mod features;
mod neck;

use curve::{Run, closed, holds, listed, open, strokes};
use head::view::InPicture;
use head::{Courses, FacedSkin, ScalpShape, SkinPoint, SmoothSkin, View};
use measure::Angle;
use neck::Neck;
pub use neck::Portrait;
use std::fmt::Write;

/// Where the onlooker stands, degrees: round from the face towards the
/// client's right, and up from the level of her gaze.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Round the client.
    pub turn: f64,
    /// Above her gaze.
    pub rise: f64,
}

/// Places of an outline: one about every 5 mm.
const OUTLINE: u32 = 112;

impl<'a> Portrait<'a> {
    /// Looks at a head.
    pub fn of(courses: &'a Courses, stand: Stand) -> Self {
        let view = View::new(Angle::deg(stand.turn), Angle::deg(stand.rise));
        let skin = FacedSkin::new(courses.shape());
        let outline = view.outline(&skin, OUTLINE);
        Self { neck: Neck::of(&view), courses, skin, view, outline }
    }

    /// Where a place appears.
    pub fn place(&self, p: SkinPoint) -> InPicture {
        self.view.place(p)
    }

    /// The head without the near ear, farthest layers first.
    pub fn head(&self) -> String {
        let from_in_front = self.towards_face() > -0.05;
        let mut out: String = [-1.0, 1.0].into_iter().filter(|side| !self.is_near(*side)).map(|side| self.ear(side)).collect();
        let outline: Vec<InPicture> = self.outline.iter().map(|p| self.place(*p)).collect();
        let head = format!("<path class=\"skin\" d=\"{}\"/>", closed(&outline));
        let neck: Vec<InPicture> = self.neck.left.iter().chain(self.neck.right.iter().rev()).copied().collect();
        let neck = format!("<path class=\"skin\" d=\"M{}Z\"/>", listed(&neck));
        // From behind the neck stands before the jaw.
        out += &if from_in_front { neck + &self.neck_lines(&[]) + &head } else { head + &neck + &self.neck_lines(&outline) };
        out += &self.hair(&outline);
        out += &self.contour(&outline, "line");
        out += &self.face();
        out
    }

    /// The bare outline, to lay under another head.
    pub fn shadow(&self) -> String {
        let outline: Vec<InPicture> = self.outline.iter().map(|p| self.place(*p)).collect();
        self.contour(&outline, "shadow")
    }

    /// The ear on the onlooker's side, which lies over everything but what is
    /// laid on it.
    pub fn near_ear(&self) -> String {
        [-1.0, 1.0].into_iter().filter(|side| self.is_near(*side)).map(|side| self.ear(side)).collect()
    }

    fn is_near(&self, side: f64) -> bool {
        self.view.towards()[0] * side > 0.22
    }

    /// A tape on the scalp: solid, with an edge and ticks, where it is seen,
    /// dashed where the head hides it.
    pub fn tape(&self, line: &[SkinPoint]) -> String {
        let runs = self.runs(line);
        strokes(&runs, false, "tape hidden")
            + &strokes(&runs, true, "edge")
            + &strokes(&runs, true, "tape")
            + &strokes(&runs, true, "ticks")
    }

    /// A tape that was left on from the step before, quieter than the one meant.
    pub fn laid(&self, line: &[SkinPoint]) -> String {
        let runs = self.runs(line);
        strokes(&runs, false, "laid hidden") + &strokes(&runs, true, "edge") + &strokes(&runs, true, "laid")
    }

    /// The part of a line that is seen, without more ado.
    pub fn trace(&self, line: &[SkinPoint]) -> String {
        strokes(&self.runs(line), true, "taken")
    }

    /// Marks at the two ends of a line that does not close.
    pub fn ends(&self, line: &[SkinPoint]) -> String {
        let mut out = String::new();
        let (Some(first), Some(last)) = (line.first(), line.last()) else { return out };
        if first.straight_to(*last).to_mm() > 1.0 {
            for end in [first, last] {
                let [x, y] = self.place(*end);
                let hidden = if self.seen(*end) { "" } else { " hidden" };
                let _ = write!(out, "<circle class=\"end{hidden}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\"/>");
            }
        }
        out
    }

    /// A calliper laid on two places: a bar above the head, and a jaw down to each.
    pub fn calliper(&self, ends: &[SkinPoint]) -> String {
        let &[a, b] = ends else { return String::new() };
        let ([ax, ay], [bx, by]) = (self.place(a), self.place(b));
        let top = self.outline.iter().map(|p| self.place(*p)[1]).fold(f64::INFINITY, f64::min) - 16.0;
        let (left, right) = (ax.min(bx), ax.max(bx));
        format!(
            "<path class=\"tape hidden\" d=\"M{ax:.1} {ay:.1}L{bx:.1} {by:.1}\"/>\
             <path class=\"calliper\" d=\"M{:.1} {top:.1}H{:.1}M{ax:.1} {top:.1}V{ay:.1}M{bx:.1} {top:.1}V{by:.1}\"/>\
             <circle class=\"end\" cx=\"{ax:.1}\" cy=\"{ay:.1}\" r=\"4\"/><circle class=\"end\" cx=\"{bx:.1}\" cy=\"{by:.1}\" r=\"4\"/>",
            left - 14.0,
            right + 14.0,
        )
    }

    /// Cosine of the angle between the line of sight and straight at the face.
    fn towards_face(&self) -> f64 {
        let [_, sine, cosine] = ScalpShape::up();
        let [_, y, z] = self.view.towards();
        y * cosine - z * sine
    }

    fn seen(&self, p: SkinPoint) -> bool {
        self.view.faces(self.courses.shape(), p)
    }

    /// A line cut where it goes behind the head.
    fn runs(&self, line: &[SkinPoint]) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for (i, p) in line.iter().enumerate() {
            let (seen, here) = (self.seen(*p), self.place(*p));
            match runs.last_mut() {
                Some(run) if run.seen == seen => run.points.push(here),
                Some(run) => {
                    // They meet half-way between the last place seen and the first hidden one.
                    let before = self.place(line[i - 1]);
                    let between = [0.5 * (before[0] + here[0]), 0.5 * (before[1] + here[1])];
                    run.points.push(between);
                    runs.push(Run { seen, points: vec![between, here] });
                }
                None => runs.push(Run { seen, points: vec![here] }),
            }
        }
        runs
    }

    /// The outline's line, left out where the head runs on into the neck.
    fn contour(&self, outline: &[InPicture], class: &str) -> String {
        let [_, sine, cosine] = ScalpShape::up();
        let neck: Vec<InPicture> = self.neck.left.iter().chain(self.neck.right.iter().rev()).copied().collect();
        let covered: Vec<bool> = self
            .outline
            .iter()
            .zip(outline)
            .map(|(SkinPoint([_, y, z]), at)| {
                let (up, forward) = (y * sine + z * cosine, y * cosine - z * sine);
                let is_jaw = forward > 12.0 && self.towards_face() > -0.05;
                up < -28.0 && !is_jaw && holds(&neck, *at)
            })
            .collect();
        let n = outline.len();
        let Some(start) = covered.iter().position(|covered| *covered) else {
            return format!("<path class=\"{class}\" d=\"{}\"/>", closed(outline));
        };
        let mut out = String::new();
        let mut run: Vec<InPicture> = Vec::new();
        for k in 0..=n {
            let i = (start + k) % n;
            // One place of the neck at either end closes the gap to its lines.
            run.push(outline[i]);
            if covered[i] {
                if run.len() > 2 {
                    let _ = write!(out, "<path class=\"{class}\" d=\"{}\"/>", open(&run));
                }
                run = vec![outline[i]];
            }
        }
        out
    }

    /// The sides of the neck, from where they leave the head.
    fn neck_lines(&self, head: &[InPicture]) -> String {
        let mut out = String::new();
        for side in [&self.neck.left, &self.neck.right] {
            let leaves = side.iter().position(|p| !holds(head, *p)).unwrap_or(side.len());
            let outside = &side[leaves.saturating_sub(1)..];
            if outside.len() > 1 {
                let _ = write!(out, "<path class=\"line\" d=\"{}\"/>", open(outside));
            }
        }
        out
    }

    /// The hair as it is seen, and its border.
    fn hair(&self, outline: &[InPicture]) -> String {
        let mut border = self.courses.hair_border();
        let Some(first) = border.first().copied() else { return String::new() };
        border.push(first);
        let n = border.len() - 1;
        // Begin where the border comes into sight, so that no run is cut in two.
        let seen: Vec<bool> = border[..n].iter().map(|p| self.seen(*p)).collect();
        let start = (0..n).find(|i| seen[*i] && !seen[(i + n - 1) % n]).unwrap_or(0);
        let turned: Vec<SkinPoint> = (0..=n).map(|k| border[(start + k) % n]).collect();
        let runs: Vec<Vec<InPicture>> =
            self.runs(&turned).into_iter().filter(|run| run.seen && run.points.len() > 1).map(|run| run.points).collect();
        let mut out = format!("<path class=\"hair\" d=\"{}\"/>", self.hair_area(outline, &runs));
        for run in &runs {
            let _ = write!(out, "<path class=\"hairline\" d=\"{}\"/>", open(run));
        }
        out
    }

    /// The area of hair: along each stretch of its border that is seen, then
    /// clockwise on the paper along the outline to where the next one begins.
    fn hair_area(&self, outline: &[InPicture], runs: &[Vec<InPicture>]) -> String {
        let centre = self.place(SkinPoint(self.skin.centre()));
        let bearing = |p: InPicture| measure::real::atan2(centre[1] - p[1], p[0] - centre[0]);
        let ahead = |from: f64, to: f64| (from - to).rem_euclid(std::f64::consts::TAU);
        if runs.is_empty() {
            return format!("M{}Z", listed(outline));
        }
        let mut area = String::new();
        let mut used = vec![false; runs.len()];
        while let Some(begin) = used.iter().position(|used| !used) {
            let mut points: Vec<InPicture> = Vec::new();
            let mut run = begin;
            while !used[run] {
                used[run] = true;
                points.extend(&runs[run]);
                let left = bearing(runs[run][runs[run].len() - 1]);
                let next = (0..runs.len())
                    .min_by(|a, b| ahead(left, bearing(runs[*a][0])).total_cmp(&ahead(left, bearing(runs[*b][0]))))
                    .unwrap_or(begin);
                let gap = ahead(left, bearing(runs[next][0]));
                let mut between: Vec<(f64, InPicture)> =
                    outline.iter().map(|p| (ahead(left, bearing(*p)), *p)).filter(|(by, _)| *by < gap).collect();
                between.sort_by(|a, b| a.0.total_cmp(&b.0));
                points.extend(between.into_iter().map(|(_, p)| p));
                run = next;
            }
            let _ = write!(area, "M{}Z", listed(&points));
        }
        area
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use head::{Marks, Measures, Tape};
    use measure::Length;

    fn courses() -> Courses {
        Courses::of(&head::fit(&Measures::of_circumference(Length::mm(560.0))).unwrap(), &Marks::default()).unwrap()
    }

    /// Where a path goes, its places only.
    fn places(d: &str) -> Vec<InPicture> {
        let numbers: Vec<f64> = d.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).filter_map(|n| n.parse().ok()).collect();
        let (start, rest) = numbers.split_at(2);
        std::iter::once([start[0], start[1]]).chain(rest.chunks_exact(6).map(|c| [c[4], c[5]])).collect()
    }

    fn length(line: &[InPicture]) -> f64 {
        line.windows(2).map(|w| ((w[1][0] - w[0][0]).powi(2) + (w[1][1] - w[0][1]).powi(2)).sqrt()).sum()
    }

    fn paths<'a>(drawing: &'a str, class: &str) -> Vec<&'a str> {
        let begins = format!("<path class=\"{class}\" d=\"");
        drawing.split(&begins).skip(1).filter_map(|rest| rest.split('"').next()).collect()
    }

    /// Closed form: seen square to its plane, a plane line keeps its length. The
    /// tape over the top lies in the plane of the ears and the upright line, so
    /// seen from in front it is drawn as long as it is.
    #[test]
    fn a_tape_drawn_square_on_is_as_long_as_the_tape() {
        let courses = courses();
        let portrait = Portrait::of(&courses, Stand { turn: 0.0, rise: 0.0 });
        let line = courses.of_tape(Tape::EarToEarOverCrown);
        let true_length: f64 = line.windows(2).map(|w| w[0].straight_to(w[1]).to_mm()).sum();
        let drawing = portrait.tape(&line);
        let drawn: f64 = paths(&drawing, "tape").iter().chain(&paths(&drawing, "tape hidden")).map(|d| length(&places(d))).sum();
        assert!((drawn / true_length - 1.0).abs() < 0.01, "{drawn} drawn of {true_length}");
    }

    #[test]
    fn what_the_head_hides_is_dashed_and_nothing_is_lost_between() {
        let courses = courses();
        let line = courses.of_tape(Tape::Circumference);
        for turn in [0.0, 38.0, 90.0, 200.0] {
            let portrait = Portrait::of(&courses, Stand { turn, rise: 12.0 });
            let runs = portrait.runs(&line);
            assert!(runs.iter().any(|run| run.seen) && runs.iter().any(|run| !run.seen), "{turn}");
            let whole: Vec<InPicture> = line.iter().map(|p| portrait.place(*p)).collect();
            let in_runs: f64 = runs.iter().map(|run| length(&run.points)).sum();
            assert!((in_runs - length(&whole)).abs() < 1e-6, "{turn}");
        }
        let above = Portrait::of(&courses, Stand { turn: 0.0, rise: 90.0 });
        assert!(
            above.runs(&courses.of_tape(Tape::EarToEarOverCrown)[20..100]).iter().all(|run| run.seen),
            "the top of the head is seen from above"
        );
    }

    #[test]
    fn hair_is_drawn_where_hair_is() {
        let courses = courses();
        for (turn, rise) in [(0.0, 0.0), (38.0, 12.0), (90.0, 0.0), (128.0, 10.0), (180.0, 5.0), (28.0, 46.0), (0.0, 90.0), (250.0, 20.0)] {
            let portrait = Portrait::of(&courses, Stand { turn, rise });
            let outline: Vec<InPicture> = portrait.outline.iter().map(|p| portrait.place(*p)).collect();
            let hair = portrait.hair(&outline);
            let d = paths(&hair, "hair")[0];
            let area: Vec<InPicture> = d
                .trim_matches(|c| c == 'M' || c == 'Z')
                .split(['L', 'M', 'Z'])
                .filter_map(|p| p.split_once(' '))
                .map(|(x, y)| [x.parse().unwrap(), y.parse().unwrap()])
                .collect();
            let crown = courses.middle_of(head::Zone::Crown);
            if portrait.seen(crown) {
                assert!(holds(&area, portrait.place(crown)), "no hair on the crown from {turn} {rise}");
            }
            let nose = SkinPoint(portrait.skin.beneath(0.0, -22.0, 118.0));
            if portrait.towards_face() > 0.3 {
                assert!(!holds(&area, portrait.place(nose)), "hair on the nose from {turn} {rise}");
            }
        }
    }
}
