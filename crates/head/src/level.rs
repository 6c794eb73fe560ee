//! Level lines: how a plane that is level, the gaze level, cuts the skin.
//!
//! A comb follows the line that the eye lays between two marks, and such a line
//! lies in a plane with the eye; with the eye at the height of the line the
//! plane is level. So one family of planes gives every parting of a head, and
//! two readings of a tape name each of them.
//!
//! Legend: `u` the way up the middle; `level` the height along `UP` of the template;
//! `s` arc length along a line from the middle, + to the client's right.

use crate::piece_of_line::nearest_piece;
use crate::surface::SmoothSkin;
use crate::template;
use measure::vector::{Vec3, add, distance, dot, lerp, mirror, norm, scale, sub, unit};
use measure::{Length, real};

/// Forward, gaze level: towards the face, square to up.
pub(crate) const FORWARD: Vec3 = [0.0, template::UP[2], -template::UP[1]];

/// The height of a place, gaze level, mm.
pub(crate) fn level_of(p: Vec3) -> f64 {
    dot(p, template::UP)
}

/// How far forward a place lies, gaze level, mm.
pub(crate) fn forward_of(p: Vec3) -> f64 {
    dot(p, FORWARD)
}

/// The right half of a level line, from the midline at the back round the side
/// to the midline in front; the left half is its mirror image, to the last digit.
///
/// ```
/// use head::{LevelLine, Sphere};
/// use measure::Length;
/// // Half-way up a ball of 90 mm the level line is a circle of 90 sin 60 mm.
/// let line = LevelLine::on(&Sphere::new(Length::mm(90.0)).unwrap(), Length::mm(45.0)).unwrap();
/// assert!((line.half_length().to_mm() - std::f64::consts::PI * 77.942).abs() < 0.5);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LevelLine {
    level: f64,
    right: Vec<Vec3>,
    along: Vec<f64>,
}

impl LevelLine {
    /// Points of the line lie at most this far apart, mm.
    const STEP: f64 = 2.2;

    /// The line in which a level plane cuts a skin; none where it misses it.
    ///
    /// *Accuracy*: every point lies within 0.0001 mm of the skin and of the
    /// level; lengths along are short by two parts in 100 000.
    #[must_use]
    pub fn on<S: SmoothSkin + ?Sized>(skin: &S, level: Length) -> Option<Self> {
        let level = level.to_mm();
        let plane = Cut { from: foot_in_plane(skin, template::UP, level), ahead: scale(FORWARD, -1.0), aside: [1.0, 0.0, 0.0] };
        let right = plane.walk(skin, std::f64::consts::PI, Self::STEP)?;
        Some(Self::of(level, right))
    }

    fn of(level: f64, right: Vec<Vec3>) -> Self {
        let along = lengths(&right);
        Self { level, right, along }
    }

    /// The height of the plane, gaze level, in the head's frame.
    #[must_use]
    pub fn level(&self) -> Length {
        Length::mm(self.level)
    }

    /// The length of one half, from the middle at the back to the middle in front.
    #[must_use]
    pub fn half_length(&self) -> Length {
        Length::mm(self.along[self.along.len() - 1])
    }

    /// The place at a distance along from the middle; none beyond the middle in front.
    #[must_use]
    pub fn at(&self, along: Length) -> Option<[f64; 3]> {
        let far = along.to_mm().abs();
        if !(far <= self.along[self.along.len() - 1]) {
            return None;
        }
        let i = self.along.partition_point(|a| *a <= far).clamp(1, self.along.len() - 1) - 1;
        let (from, to) = (self.along[i], self.along[i + 1]);
        let p = lerp(self.right[i], self.right[i + 1], if to > from { (far - from) / (to - from) } else { 0.0 });
        Some(if along < Length::ZERO { mirror(p) } else { p })
    }

    /// The distance along of the place on the line nearest to `p`.
    #[must_use]
    pub fn along_of(&self, p: [f64; 3]) -> Length {
        let (i, t) = nearest_piece(&self.right, [p[0].abs(), p[1], p[2]]);
        let along = self.along[i] + t * (self.along[i + 1] - self.along[i]);
        Length::mm(if p[0] < 0.0 { -along } else { along })
    }

    /// How far a stretch bows: the distance of its middle from the straight
    /// between its ends, in all and in the skin alone, that is square to the
    /// skin's normal there. Nothing beyond the line's end.
    #[must_use]
    pub fn bow<S: SmoothSkin + ?Sized>(&self, skin: &S, middle: Length, width: Length) -> Option<(Length, Length)> {
        let (a, m, b) = (self.at(middle - width / 2.0)?, self.at(middle)?, self.at(middle + width / 2.0)?);
        let off = sub(m, lerp(a, b, 0.5));
        let normal = skin.normal(m);
        Some((Length::mm(norm(off)), Length::mm(norm(sub(off, scale(normal, dot(off, normal)))))))
    }

    pub(crate) fn right(&self) -> &[Vec3] {
        &self.right
    }

    /// Where the line first passes a plane ahead, mm along; none where it starts beyond it.
    pub(crate) fn passes(&self, forward: f64) -> Option<f64> {
        let first = self.right.iter().position(|p| forward_of(*p) >= forward)?;
        if first == 0 {
            return None;
        }
        let (before, after) = (forward_of(self.right[first - 1]), forward_of(self.right[first]));
        let share = (forward - before) / (after - before);
        Some(self.along[first - 1] + share * (self.along[first] - self.along[first - 1]))
    }
}

/// Arc length up to each of a row of joined points.
pub(crate) fn lengths(points: &[Vec3]) -> Vec<f64> {
    let mut along = vec![0.0; points.len()];
    for i in 1..points.len() {
        along[i] = along[i - 1] + distance(points[i - 1], points[i]);
    }
    along
}

/// The place of the middle plane nearest to the skin's centre in the plane of
/// all points with `p · normal = at`.
fn foot_in_plane<S: SmoothSkin + ?Sized>(skin: &S, normal: Vec3, at: f64) -> Vec3 {
    let centre = skin.centre();
    let [_, y, z] = add(centre, scale(normal, at - dot(centre, normal)));
    [0.0, y, z]
}

/// A plane through a head, walked by angle about a place inside.
struct Cut {
    from: Vec3,
    ahead: Vec3,
    aside: Vec3,
}

impl Cut {
    /// The skin from straight ahead round to an angle, at most `step` mm from
    /// point to point; the first point, and the last where the angle is half a
    /// turn, lie on the middle to the last digit.
    fn walk<S: SmoothSkin + ?Sized>(&self, skin: &S, until: f64, step: f64) -> Option<Vec<Vec3>> {
        /// Nobody's head is so large.
        const MOST: usize = 2_000;
        let centre = skin.centre();
        let inside = |p: Vec3| distance(p, centre) < distance(skin.project(p), centre) || distance(p, centre) < 1e-9;
        if !inside(self.from) {
            return None;
        }
        let mut reach = self.reach_widely(skin, 0.0);
        let mut points = vec![self.place(0.0, reach)];
        points[0][0] = 0.0;
        let mut angle = 0.0;
        while angle < until && points.len() < MOST {
            // The skin may turn away from the circle about `from`: shorter
            // steps by angle until the next point is near enough.
            let mut turn = step / reach.max(1.0);
            loop {
                let next = if until - angle < 1.3 * turn { until } else { angle + turn };
                let far = self.reach(skin, next, reach);
                let p = self.place(next, far);
                if distance(p, points[points.len() - 1]) <= 1.13 * step || turn < 1e-4 {
                    (angle, reach) = (next, far);
                    points.push(p);
                    break;
                }
                turn *= 0.7;
            }
        }
        if until == std::f64::consts::PI
            && let Some(last) = points.last_mut()
        {
            last[0] = 0.0;
        }
        Some(points)
    }

    fn direction(&self, angle: f64) -> Vec3 {
        let (sine, cosine) = real::sincos(angle);
        add(scale(self.ahead, cosine), scale(self.aside, sine))
    }

    fn place(&self, angle: f64, reach: f64) -> Vec3 {
        add(self.from, scale(self.direction(angle), reach))
    }

    /// How far the skin lies in a direction, from a guess close to it.
    fn reach<S: SmoothSkin + ?Sized>(&self, skin: &S, angle: f64, guess: f64) -> f64 {
        let centre = skin.centre();
        let along = self.direction(angle);
        let mut reach = guess;
        for _ in 0..12 {
            let p = add(self.from, scale(along, reach));
            let (foot, normal) = skin.foot(p);
            // The ray's ratio falls square to the normal, and along the ray
            // from the centre by the distance itself.
            let out = sub(p, centre);
            let off = norm(out) - distance(foot, centre);
            let slope = dot(normal, along);
            if off.abs() < 1e-10 {
                return reach;
            }
            if slope < 0.05 {
                break;
            }
            reach -= (off * dot(normal, unit(out)) / slope).clamp(-20.0, 20.0);
            if reach <= 0.0 {
                break;
            }
        }
        let p = add(self.from, scale(along, reach));
        if reach > 0.0 && (distance(p, centre) - distance(skin.project(p), centre)).abs() < 1e-6 {
            reach
        } else {
            self.reach_widely(skin, angle)
        }
    }

    /// The same by halving, from no guess at all.
    fn reach_widely<S: SmoothSkin + ?Sized>(&self, skin: &S, angle: f64) -> f64 {
        let centre = skin.centre();
        let along = self.direction(angle);
        let (mut low, mut high) = (0.0, 400.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let p = add(self.from, scale(along, middle));
            if distance(p, centre) < distance(skin.project(p), centre) { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }
}

/// The line from ear to ear that parts the back from the sides: straight up
/// from the top of each ear root, in an upright plane. Right half, from the
/// middle of the head down to below the ear.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct EarLine {
    /// How far forward its plane lies, mm.
    pub forward: f64,
    /// The height of the top of the ear root, mm.
    pub ear_top_level: f64,
    /// From the ear's height upward to the middle.
    up: Vec<Vec3>,
    along: Vec<f64>,
}

impl EarLine {
    pub(crate) fn of<S: SmoothSkin + ?Sized>(skin: &S, forward: f64, ear_top_level: f64) -> Option<Self> {
        let plane = Cut { from: foot_in_plane(skin, FORWARD, forward), ahead: template::UP, aside: [1.0, 0.0, 0.0] };
        // Down past the ear's height, then cut there.
        let mut down = plane.walk(skin, 2.3, LevelLine::STEP)?;
        let below = down.iter().position(|p| level_of(*p) <= ear_top_level)?;
        if below == 0 {
            return None;
        }
        let (over, under) = (down[below - 1], down[below]);
        let share = (level_of(over) - ear_top_level) / (level_of(over) - level_of(under)).max(1e-12);
        down.truncate(below);
        down.push(skin.project(lerp(over, under, share)));
        down.reverse();
        let along = lengths(&down);
        Some(Self { forward, ear_top_level, up: down, along })
    }

    /// The right half from the top of the ear root to the middle of the head.
    pub(crate) fn right(&self) -> &[Vec3] {
        &self.up
    }

    /// The length from the top of the ear root to the middle of the head, mm.
    pub(crate) fn length(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The height of the line's highest place, mm.
    pub(crate) fn top_level(&self) -> f64 {
        level_of(self.up[self.up.len() - 1])
    }

    /// What a tape reads from the top of the ear up the line to a height; below
    /// the ear's top, held upright, less than nothing. Mm.
    pub(crate) fn reading(&self, level: f64) -> f64 {
        if level <= self.ear_top_level {
            return level - self.ear_top_level;
        }
        let i = self.up.partition_point(|p| level_of(*p) <= level).clamp(1, self.up.len() - 1);
        let (below, above) = (level_of(self.up[i - 1]), level_of(self.up[i]));
        let share = ((level - below) / (above - below).max(1e-12)).clamp(0.0, 1.0);
        self.along[i - 1] + share * (self.along[i] - self.along[i - 1])
    }

    /// The height at a reading up the line; none beyond its end. Mm.
    pub(crate) fn level_at(&self, reading: f64) -> Option<f64> {
        if reading <= 0.0 {
            return Some(self.ear_top_level + reading);
        }
        if !(reading <= self.length()) {
            return None;
        }
        let i = self.along.partition_point(|a| *a <= reading).clamp(1, self.along.len() - 1);
        let share = (reading - self.along[i - 1]) / (self.along[i] - self.along[i - 1]).max(1e-12);
        Some(level_of(lerp(self.up[i - 1], self.up[i], share)))
    }
}

/// The way up the middle of the back from the nape hairline, against height:
/// the two rise together as far as the top of the head.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Rise {
    up: Vec<f64>,
    level: Vec<f64>,
}

impl Rise {
    /// How far below the nape hairline the middle is followed, mm: a corner
    /// that hangs lower than the middle starts there.
    const BELOW: f64 = 35.0;

    pub(crate) fn of(midline: &crate::midline::Midline, nape_at: f64) -> Self {
        let (mut up, mut level) = (Vec::new(), Vec::new());
        let mut u = -Self::BELOW;
        // Half a millimetre follows the curve within a thousandth.
        while u < nape_at + 200.0 {
            let here = level_of(midline.at(nape_at - u));
            if level.last().is_some_and(|below| here <= *below) {
                if u > 0.0 {
                    break;
                }
                // Under the hairline the neck may turn: follow from there.
                (up, level) = (Vec::new(), Vec::new());
            }
            up.push(u);
            level.push(here);
            u += 0.5;
        }
        Self { up, level }
    }

    /// The greatest way up: at the top of the head, mm.
    pub(crate) fn top(&self) -> f64 {
        self.up[self.up.len() - 1]
    }

    /// The height at a way up; none beyond either end. Mm.
    pub(crate) fn level_at(&self, up: f64) -> Option<f64> {
        between(&self.up, &self.level, up)
    }

    /// The way up to a height: the nearest end beyond either. Mm.
    pub(crate) fn up_to(&self, level: f64) -> f64 {
        let (first, last) = (self.level[0], self.level[self.level.len() - 1]);
        between(&self.level, &self.up, level.clamp(first, last)).unwrap_or(self.up[0])
    }
}

/// Straight between the neighbours in a table of rising keys.
fn between(keys: &[f64], values: &[f64], key: f64) -> Option<f64> {
    if !(key >= keys[0] && key <= keys[keys.len() - 1]) {
        return None;
    }
    let i = keys.partition_point(|k| *k <= key).clamp(1, keys.len() - 1);
    let share = (key - keys[i - 1]) / (keys[i] - keys[i - 1]);
    Some(values[i - 1] + share * (values[i] - values[i - 1]))
}

#[cfg(test)]
mod tests {
    use crate::head::Head;
    use crate::marks::Marks;
    use crate::measures::Measures;
    use crate::point::SkinPoint;
    use crate::size::fit;
    use crate::surface::ScalpShape;
    use measure::Length;

    fn mm(v: f64) -> Length {
        Length::mm(v)
    }

    /// The mean head unstretched, its nape hairline 35 mm below the bone.
    fn template_head() -> Head {
        let mut fitted = fit(&Measures::of_circumference(mm(560.0))).unwrap();
        fitted.shape = ScalpShape::template();
        fitted.occipital = SkinPoint(crate::template::INION);
        let marks = Marks { nape_hairline_below_occiput: Some(mm(35.0)), ..Marks::default() };
        Head::new(&fitted, &marks).unwrap()
    }

    #[test]
    fn the_worked_template_comes_out() {
        // Computed beside this project on the unstretched template.
        let head = template_head();
        let rows = [
            (40.0, -10.6, 96.7, -40.1, None),
            (60.0, 7.7, 107.6, -21.8, Some(53.5)),
            (80.0, 27.3, 112.7, -2.3, Some(56.9)),
            (100.0, 47.2, 113.0, 17.8, Some(59.6)),
            (120.0, 66.8, 110.0, 37.4, Some(62.6)),
            (140.0, 85.3, 100.1, 56.9, Some(66.6)),
            (160.0, 102.6, 81.6, 78.2, Some(73.3)),
        ];
        for (u, level, section, e, foot) in rows {
            let parting = head.parting(mm(u)).unwrap();
            let read = [
                parting.level().to_mm() - level,
                parting.section().to_mm() - section,
                head.up_ear_line(mm(u)).unwrap().to_mm() - e,
                foot.map_or(0.0, |foot| {
                    let below = head.parting(mm(u - 20.0)).unwrap();
                    below.along_of(parting.at(mm(60.0)).unwrap()).to_mm() - foot
                }),
            ];
            assert!(read.iter().all(|off| off.abs() < 0.5), "{u}: off by {read:?}");
        }
        assert!((head.lines.ear_line.forward + 18.7).abs() < 0.5 && (head.lines.ear_line.ear_top_level - 29.5).abs() < 0.5);
        // Worked apart with numpy on the published harmonics: 137.9 mm.
        assert!((head.lines.ear_line.length() - 137.9).abs() < 0.5, "{}", head.lines.ear_line.length());
        let marks = head.landmarks();
        let crown = head.height_above_nape(marks.crown).to_mm();
        assert!((crown - 174.2).abs() < 0.5, "{crown}");
    }
}
