//! Flow lines step by step on any smooth skin.
//!
//! Two kinds: shortest lines shot from a point (hair drawn to a tie, or falling
//! from a whorl), and sections by parallel planes (hair combed straight off a
//! part).

use head::SmoothSkin;
use measure::vector::{Vec3, along, cross, dot, flat, norm, sub, unit_or};

/// A place on a flow line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Station {
    pub p: Vec3,
    /// Outward normal.
    pub n: Vec3,
    /// Unit direction of the line.
    pub t: Vec3,
    /// Distance along the line from its start, mm.
    pub s: f64,
}

/// Which lines are traced.
#[derive(Debug, Clone, Copy)]
pub(super) enum Course {
    /// As straight as the skin allows.
    Shortest,
    /// In the plane across this unit direction.
    Across(Vec3),
}

/// Brings `q` onto the skin along `way`, which need not be the normal. The gap
/// is a few hundredths of a millimetre, so two rounds of Newton's rule leave
/// less than a nanometre.
fn settle(skin: &impl SmoothSkin, mut q: Vec3, way: Vec3) -> (Vec3, Vec3) {
    let mut n = way;
    for _ in 0..2 {
        let (foot, normal) = skin.foot(q);
        n = normal;
        let slope = dot(way, n);
        if slope.abs() < 1e-6 {
            return (foot, n);
        }
        q = along(q, way, -dot(sub(q, foot), n) / slope);
    }
    (q, n)
}

/// The unit vector along `a`; `a` itself where it has no length and leads nowhere.
pub(super) fn heading(a: Vec3) -> Vec3 {
    unit_or(a, a)
}

/// The next station, about `step` further.
///
/// For shortest lines this is the velocity scheme of Andersen (1983): the path
/// is pushed back along the old normal, the direction laid flat on the new one.
/// Its path is right to the second order of step over radius; the distance is
/// that of the arc through both stations, right to the fourth.
///
/// *Source*: key `andersen1983`.
pub(super) fn next(skin: &impl SmoothSkin, from: &Station, course: Course, step: f64) -> Option<Station> {
    let ahead = along(from.p, from.t, step);
    let (p, n) = match course {
        Course::Shortest => settle(skin, ahead, from.n),
        Course::Across(axis) => settle(skin, ahead, heading(flat(from.n, axis))),
    };
    let way = sub(p, from.p);
    let t = match course {
        Course::Shortest => heading(flat(way, n)),
        Course::Across(axis) => {
            let level = cross(n, axis);
            // Where the skin lies in the plane, the plane says no direction.
            if norm(level) < 0.15 {
                return None;
            }
            let level = heading(level);
            if dot(level, way) < 0.0 { [-level[0], -level[1], -level[2]] } else { level }
        }
    };
    let turn = sub(t, from.t);
    let length = norm(way) * (1.0 + dot(turn, turn) / 24.0);
    let good = length.is_finite() && length > 0.0;
    good.then_some(Station { p, n, t, s: from.s + length })
}

#[cfg(test)]
mod tests {
    use super::*;
    use head::{Sphere, Spheroid};
    use measure::Length;
    use measure::real::{cos, sin};

    fn start(skin: &impl SmoothSkin, p: Vec3, t: Vec3) -> Station {
        let n = skin.normal(p);
        Station { p, n, t: heading(flat(t, n)), s: 0.0 }
    }

    #[test]
    fn a_shortest_line_on_a_sphere_is_a_great_circle() {
        let sphere = Sphere::new(Length::mm(90.0)).unwrap();
        let mut here = start(&sphere, [0.0, 0.0, 90.0], [1.0, 0.0, 0.0]);
        for _ in 0..140 {
            here = next(&sphere, &here, Course::Shortest, 2.0).unwrap();
        }
        let angle = here.s / 90.0;
        let expected = [90.0 * sin(angle), 0.0, 90.0 * cos(angle)];
        assert!(norm(sub(here.p, expected)) < 1e-4, "{:?} {expected:?}", here.p);
    }

    #[test]
    fn clairauts_rule_holds_on_a_spheroid() {
        // r sin(azimuth) is constant along a shortest line of a surface of revolution.
        let skin = Spheroid::new(Length::mm(78.0), Length::mm(105.0)).unwrap();
        let p = skin.project([60.0, 0.0, 60.0]);
        let mut here = start(&skin, p, [0.3, 1.0, 0.0]);
        let clairaut = |x: &Station| x.p[0] * x.t[1] - x.p[1] * x.t[0];
        let first = clairaut(&here);
        for _ in 0..150 {
            here = next(&skin, &here, Course::Shortest, 2.0).unwrap();
            assert!((clairaut(&here) - first).abs() < 2e-4 * first.abs());
        }
    }

    #[test]
    fn a_plane_section_stays_in_its_plane_and_on_the_skin() {
        let skin = Spheroid::new(Length::mm(78.0), Length::mm(105.0)).unwrap();
        let axis = heading([0.2, 1.0, 0.1]);
        let p = skin.project([10.0, 20.0, 100.0]);
        let n = skin.normal(p);
        let mut here = Station { p, n, t: heading(cross(n, axis)), s: 0.0 };
        for _ in 0..60 {
            here = next(&skin, &here, Course::Across(axis), 2.0).unwrap();
            assert!((dot(here.p, axis) - dot(p, axis)).abs() < 1e-9);
            assert!(norm(sub(here.p, skin.project(here.p))) < 1e-6);
        }
    }
}
