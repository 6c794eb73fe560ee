//! A scanned scalp: tapes laid on it, and a head's model held against it.
//!
//! The table is that of `tools/scalp_of_scan.py`: radii in mm from (0, 12, 40)
//! in the head's own frame, a row for each angle from straight up, a column for
//! each direction from the client's right round by the front.

use head::{Fit, HairUnderTape, Head, Marks, Measures, ScalpShape, SkinPoint, SmoothSkin, fit};
use measure::linear::solve;
use measure::vector::{Vec3, add, cross, dot, norm, scale, sub, unit};
use measure::{Length, real};
use std::f64::consts::PI;

/// Where the table's radii start.
const CENTRE: Vec3 = [0.0, 12.0, 40.0];

/// A scanned scalp.
pub struct Scan {
    /// Radii by angle from straight up and by direction; not a number where
    /// the scan ends.
    rows: Vec<Vec<f64>>,
    /// Radians from one row, or column, to the next.
    step: f64,
}

/// What came of fitting the model to two tapes laid on a scan.
pub struct Held {
    /// The tapes as laid on the scan, mm.
    pub circumference: f64,
    pub ear_to_ear: f64,
    /// The same tapes on the fitted model, mm.
    pub model: [f64; 2],
    /// Root mean square distance from the model over the hair-bearing region
    /// after the best turn and shift, mm.
    pub rms: f64,
    /// 95 of 100 places of it are nearer than this, mm.
    pub p95: f64,
    /// Share of the model's hair-bearing region that the scan shows.
    pub seen: f64,
    /// The shift, mm, and the turn, degrees, that laid the scan on the model.
    pub shift: f64,
    pub turn: f64,
}

impl Scan {
    /// Reads a table.
    ///
    /// *Errors*: what is wrong with it.
    pub fn read(text: &str) -> Result<Self, String> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for line in text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()) {
            let row: Result<Vec<f64>, String> = line
                .split_ascii_whitespace()
                .map(|word| match word {
                    "-" => Ok(f64::NAN),
                    _ => word.parse().map_err(|_| format!("\"{word}\" is no radius: write millimetres, or - where the scan ends")),
                })
                .collect();
            rows.push(row?);
        }
        let n = rows.len();
        if n < 19 || rows.iter().any(|row| row.len() != 2 * (n - 1)) {
            return Err(
                "the table needs rows from 0 to 180 degrees, at most 10 apart, and twice as many columns as steps between them".into()
            );
        }
        Ok(Self { rows, step: PI / (n - 1) as f64 })
    }

    /// The radius in a direction: cubic between the table's places.
    fn radius(&self, u: Vec3) -> f64 {
        let across = real::hypot(u[0], u[1]);
        let (polar, round) = (real::atan2(across, u[2]) / self.step, real::atan2(u[1], u[0]).rem_euclid(2.0 * PI) / self.step);
        let weights = |t: f64| {
            // Catmull and Rom's cubic through four places.
            let (t2, t3) = (t * t, t * t * t);
            [0.5 * (-t + 2.0 * t2 - t3), 0.5 * (2.0 - 5.0 * t2 + 3.0 * t3), 0.5 * (t + 4.0 * t2 - 3.0 * t3), 0.5 * (t3 - t2)]
        };
        let (columns, last) = (2 * (self.rows.len() - 1) as i64, self.rows.len() as i64 - 1);
        let at = |i: i64, j: i64| {
            // Beyond a pole the next row is the one across it.
            let (i, j) = if i < 0 {
                (-i, j + columns / 2)
            } else if i > last {
                (2 * last - i, j + columns / 2)
            } else {
                (i, j)
            };
            self.rows[i as usize][j.rem_euclid(columns) as usize]
        };
        let (i, j) = (polar.floor() as i64, round.floor() as i64);
        let (down, along) = (weights(polar - polar.floor()), weights(round - round.floor()));
        let cubic: f64 = (0..4).map(|a| down[a as usize] * (0..4).map(|b| along[b as usize] * at(i + a - 1, j + b - 1)).sum::<f64>()).sum();
        if !cubic.is_nan() {
            return cubic;
        }
        // Straight between the four places about it, where the scan ends beside them.
        let (down, along) = (polar - polar.floor(), round - round.floor());
        let row = |i: i64| at(i, j) * (1.0 - along) + at(i, j + 1) * along;
        row(i) * (1.0 - down) + row(i + 1) * down
    }

    fn towards(&self, u: Vec3) -> Vec3 {
        let u = unit(u);
        add(CENTRE, scale(u, self.radius(u)))
    }

    /// Where a ray from a place inside leaves the scalp; not a number where
    /// the scan ends.
    fn reach(&self, from: Vec3, along: Vec3) -> Vec3 {
        let (mut low, mut high) = (0.0, 300.0);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            let out = sub(add(from, scale(along, middle)), CENTRE);
            if norm(out) < self.radius(unit(out)) { low = middle } else { high = middle }
        }
        let place = add(from, scale(along, low));
        let out = sub(place, CENTRE);
        let off = self.radius(unit(out)) - norm(out);
        if off.abs() < 1e-3 { place } else { [f64::NAN; 3] }
    }

    /// The tape round the head, mm: taut, in the plane of the greatest length
    /// from 10 to 50 mm above the root of the nose to above the ears' level behind.
    pub fn circumference(&self) -> f64 {
        let midline = |k: i32| self.towards([0.0, real::cos(0.01 * f64::from(k)), real::sin(0.01 * f64::from(k))]);
        let (mut best, mut ends) = (0.0, ([0.0; 3], [0.0; 3]));
        for front in (-60..100).map(midline).filter(|p| (10.0..=50.0).contains(&p[2])) {
            for back in (200..400).map(midline).filter(|p| p[2] >= 5.0) {
                let way = sub(front, back);
                if dot(way, way) > best {
                    (best, ends) = (dot(way, way), (front, back));
                }
            }
        }
        let from = scale(add(ends.0, ends.1), 0.5);
        let ahead = unit(sub(ends.0, ends.1));
        let ring: Vec<[f64; 2]> = (0..360)
            .map(|k| real::sincos(f64::from(k).to_radians()))
            .map(|(s, c)| {
                let out = sub(self.reach(from, add(scale(ahead, c), [s, 0.0, 0.0])), from);
                [dot(out, ahead), out[0]]
            })
            .collect();
        taut(&ring, true)
    }

    /// The tape from ear notch to ear notch over the top, mm: taut, in the
    /// plane of the notches that is upright when the gaze is level.
    pub fn ear_to_ear(&self) -> f64 {
        let up = ScalpShape::up();
        let from = scale(up, 40.0);
        let at = |degrees: i32| {
            let (s, c) = real::sincos(f64::from(degrees).to_radians());
            let p = self.reach(from, add(scale(up, c), [s, 0.0, 0.0]));
            [p[0], dot(p, up)]
        };
        // From the top down either side, as far as the notches' level; where
        // the scan ends before, straight on.
        let half = |side: i32| {
            let mut line = vec![at(0)];
            for k in 1..180 {
                let (above, mut here) = (line[line.len() - 1], at(side * k));
                if here[1].is_nan() {
                    let before = line[line.len().saturating_sub(2)];
                    here = [0, 1].map(|i| above[i] + 9.0 * (above[i] - before[i]));
                }
                if here[1] < 0.0 {
                    line.push([above[0] + above[1] / (above[1] - here[1]) * (here[0] - above[0]), 0.0]);
                    break;
                }
                line.push(here);
            }
            line
        };
        let line: Vec<[f64; 2]> = half(-1).into_iter().rev().chain(half(1)).collect();
        taut(&line, false)
    }

    /// Feeds the two tapes, and nothing else, to the fit. They were laid on
    /// bare skin, so what the fit takes off for hair is put on first.
    pub fn fitted(&self) -> Result<Fit, String> {
        let measures = |extra: [f64; 2]| Measures {
            ear_to_ear_over_crown: Some(Length::mm(self.ear_to_ear() + extra[1])),
            hair_under_tape: HairUnderTape::Parted,
            ..Measures::of_circumference(Length::mm(self.circumference() + extra[0]))
        };
        let told = |faults: Vec<head::MeasureFault>| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ");
        let hair = fit(&measures([0.0; 2])).map_err(told)?.hair;
        fit(&measures([hair.circumference.to_mm(), hair.ear_to_ear_over_crown.to_mm()])).map_err(told)
    }

    /// Fits the model to the scan's two tapes and holds it against the scan.
    pub fn held(&self) -> Result<Held, String> {
        let fit = self.fitted()?;
        let head = Head::new(&fit, &Marks::default()).map_err(|fault| fault.to_string())?;
        Ok(self.against(&fit, &head))
    }

    /// The scan's places with the share of the sphere each stands for.
    fn places(&self) -> Vec<(Vec3, f64)> {
        let mut places = Vec::new();
        for (i, row) in self.rows.iter().enumerate() {
            let (sine, cosine) = real::sincos(i as f64 * self.step);
            for (j, radius) in row.iter().enumerate().filter(|(_, radius)| !radius.is_nan()) {
                let (s, c) = real::sincos(j as f64 * self.step);
                places.push((add(CENTRE, scale([sine * c, sine * s, cosine], *radius)), sine * radius * radius));
            }
        }
        places
    }

    /// Lays the scan on the model by turns and shifts alone, no landmark
    /// helping, and measures what is left over the hair-bearing region.
    fn against(&self, fit: &Fit, head: &Head) -> Held {
        let mut places = self.places();
        let started = places.clone();
        // The signed distance from the skin, and its normal there.
        let gap = |p: Vec3| {
            let (foot, normal) = fit.shape.foot(p);
            (dot(sub(p, foot), normal), normal, foot)
        };
        for _ in 0..30 {
            let mut square = [[0.0; 6]; 6];
            let mut right = [0.0; 6];
            for (p, weight) in &places {
                let (off, normal, foot) = gap(*p);
                if !head.bears_hair(SkinPoint(foot)) {
                    continue;
                }
                let moment = cross(sub(*p, CENTRE), normal);
                let slope = [normal[0], normal[1], normal[2], moment[0], moment[1], moment[2]];
                for (i, a) in slope.iter().enumerate() {
                    right[i] -= weight * a * off;
                    for (j, b) in slope.iter().enumerate() {
                        square[i][j] += weight * a * b;
                    }
                }
            }
            let Some(step) = solve(square, right) else { break };
            for (p, _) in &mut places {
                *p = add(CENTRE, turned(sub(*p, CENTRE), [step[3], step[4], step[5]]));
                *p = add(*p, [step[0], step[1], step[2]]);
            }
        }
        let mut offs: Vec<(f64, f64)> = places
            .iter()
            .filter_map(|(p, weight)| {
                let (off, _, foot) = gap(*p);
                head.bears_hair(SkinPoint(foot)).then_some((off.abs(), *weight))
            })
            .collect();
        offs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let whole: f64 = offs.iter().map(|(_, weight)| weight).sum();
        let rms = (offs.iter().map(|(off, weight)| off * off * weight).sum::<f64>() / whole).sqrt();
        let mut below = 0.0;
        let p95 = offs
            .iter()
            .find(|(_, weight)| {
                below += weight;
                below >= 0.95 * whole
            })
            .map_or(0.0, |(off, _)| *off);
        // The model's own hair-bearing skin, against what of it the scan shows.
        let bearing: f64 = (0..=4 * 45)
            .flat_map(|i| (0..360).map(move |j| (real::sincos(f64::from(i).to_radians()), real::sincos(f64::from(j).to_radians()))))
            .map(|((sine, cosine), (s, c))| {
                let p = fit.shape.project(add(fit.shape.centre(), [sine * c, sine * s, cosine]));
                let out = sub(p, fit.shape.centre());
                if head.bears_hair(SkinPoint(p)) { sine * dot(out, out) * (PI / 180.0) * (PI / 180.0) } else { 0.0 }
            })
            .sum();
        let shown = whole * self.step * self.step;
        let middle = |of: &[(Vec3, f64)]| scale(of.iter().fold([0.0; 3], |sum, (p, _)| add(sum, *p)), 1.0 / of.len() as f64);
        let shift = sub(middle(&places), middle(&started));
        let (a, b) = (0, places.len() / 2);
        let way = |of: &[(Vec3, f64)]| unit(sub(of[b].0, of[a].0));
        Held {
            circumference: self.circumference(),
            ear_to_ear: self.ear_to_ear(),
            model: [fit.arcs.circumference.to_mm(), fit.arcs.ear_to_ear_over_crown.to_mm()],
            rms,
            p95,
            seen: shown / bearing,
            shift: norm(shift),
            turn: real::acos(dot(way(&places), way(&started)).clamp(-1.0, 1.0)).to_degrees(),
        }
    }
}

/// Length of the taut line about some places of a plane: round them all, or
/// from the first to the last.
fn taut(places: &[[f64; 2]], closed: bool) -> f64 {
    let mut sorted = places.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let turn = |o: [f64; 2], a: [f64; 2], b: [f64; 2]| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    let mut hull: Vec<[f64; 2]> = Vec::new();
    for half in 0..2 {
        let floor = hull.len() + 1;
        let order: Vec<[f64; 2]> = if half == 0 { sorted.clone() } else { sorted.iter().rev().copied().collect() };
        for p in order {
            while hull.len() > floor && turn(hull[hull.len() - 2], hull[hull.len() - 1], p) <= 0.0 {
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    }
    let sides: f64 =
        (0..hull.len()).map(|k| (hull[k], hull[(k + 1) % hull.len()])).map(|(a, b)| real::hypot(a[0] - b[0], a[1] - b[1])).sum();
    let (Some(first), Some(last)) = (places.first(), places.last()) else { return 0.0 };
    // An arch's hull is closed by the chord between its ends.
    if closed { sides } else { sides - real::hypot(first[0] - last[0], first[1] - last[1]) }
}

/// A vector turned by a small turn vector (Rodrigues).
fn turned(p: Vec3, turn: Vec3) -> Vec3 {
    let angle = norm(turn);
    if angle < 1e-15 {
        return p;
    }
    let axis = scale(turn, 1.0 / angle);
    let (s, c) = real::sincos(angle);
    add(add(scale(p, c), scale(cross(axis, p), s)), scale(axis, dot(axis, p) * (1.0 - c)))
}
