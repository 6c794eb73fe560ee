//! The sites of the international 10-20 system, set on the fitted scalp by
//! shares of its arcs: an outside judge of shape, landmarks and distances.
//!
//! *Source* of the proportions: keys `jasper1958`, `klem1999` (names as there).
//! Along the midline from the root of the nose to the inion, from ear to ear over
//! Cz, and round each side from Fpz to Oz the sites lie after 10, 20, 20, 20, 20
//! and 10 % of the way; F4 and P4 half-way between their neighbours on the
//! section through them.

#[allow(dead_code, reason = "the scan's tapes are wanted here, not what holds the model against it")]
#[path = "../examples/shared/scan.rs"]
mod scan;

use head::{Courses, Fit, Head, Marks, Measures, ScalpShape, SmoothSkin, TriMesh, fit};
use measure::vector::{Vec3, cross, distance, dot, sub, unit};
use measure::{Length, real};
use scan::Scan;

/// The plane section of a skin from one place of it by another to a third.
fn section(shape: &ScalpShape, from: Vec3, by: Vec3, to: Vec3) -> Vec<Vec3> {
    let normal = unit(cross(sub(by, from), sub(to, from)));
    // The centre's foot in the plane sees the whole section.
    let off = dot(sub(from, shape.centre()), normal);
    let eye = [0, 1, 2].map(|k| shape.centre()[k] + off * normal[k]);
    let first = unit(sub(from, eye));
    let second = cross(normal, first);
    let turn = |p: Vec3| real::atan2(dot(sub(p, eye), second), dot(sub(p, eye), first)).rem_euclid(2.0 * std::f64::consts::PI);
    let (whole, part) = (turn(to), turn(by));
    let end = if part < whole { whole } else { whole - 2.0 * std::f64::consts::PI };
    let inside = |p: Vec3| distance(p, shape.centre()) < distance(shape.project(p), shape.centre());
    (0..=2000)
        .map(|k| real::sincos(end * f64::from(k) / 2000.0))
        .map(|(s, c)| {
            let along = [0, 1, 2].map(|k| c * first[k] + s * second[k]);
            let (mut low, mut high) = (0.0, 200.0);
            for _ in 0..45 {
                let middle = 0.5 * (low + high);
                if inside([0, 1, 2].map(|k| eye[k] + middle * along[k])) { low = middle } else { high = middle }
            }
            [0, 1, 2].map(|k| eye[k] + low * along[k])
        })
        .collect()
}

fn length(line: &[Vec3]) -> f64 {
    line.windows(2).map(|w| distance(w[0], w[1])).sum()
}

/// The place after a share of a line's length.
fn after(line: &[Vec3], share: f64) -> Vec3 {
    let mut left = share * length(line);
    for w in line.windows(2) {
        let piece = distance(w[0], w[1]);
        if piece >= left {
            return [0, 1, 2].map(|k| w[0][k] + left / piece * (w[1][k] - w[0][k]));
        }
        left -= piece;
    }
    line[line.len() - 1]
}

/// The midline from the root of the nose, level with the ears in the head's
/// frame, to the inion.
fn midline(head: &Head) -> Vec<Vec3> {
    section(head.shape(), level_nose(head.shape()), head.landmarks().vertex.0, head.landmarks().occipital.0)
}

/// The sites of the right side and the middle.
fn sites(fit: &Fit) -> Vec<(&'static str, Vec3)> {
    let head = Head::new(fit, &Marks::default()).unwrap();
    let shape = head.shape();
    let middle = midline(&head);
    let [fpz, fz, cz, pz, oz] = [0.1, 0.3, 0.5, 0.7, 0.9].map(|share| after(&middle, share));
    let ear = Courses::of(fit, &Marks::default()).unwrap().right_ear_notch().0;
    let over = section(shape, ear, cz, [-ear[0], ear[1], ear[2]]);
    let [t8, c4] = [0.1, 0.3].map(|share| after(&over, share));
    let side = section(shape, fpz, t8, oz);
    let [fp2, f8, p8, o2] = [0.1, 0.3, 0.7, 0.9].map(|share| after(&side, share));
    let mirrored = |p: Vec3| [-p[0], p[1], p[2]];
    let half_way = |low: Vec3, top: Vec3| after(&section(shape, low, top, mirrored(low)), 0.25);
    let (f4, p4) = (half_way(f8, fz), half_way(p8, pz));
    vec![
        ("Fpz", fpz),
        ("Fz", fz),
        ("Cz", cz),
        ("Pz", pz),
        ("Oz", oz),
        ("Fp2", fp2),
        ("F4", f4),
        ("F8", f8),
        ("C4", c4),
        ("T8", t8),
        ("P4", p4),
        ("P8", p8),
        ("O2", o2),
    ]
}

fn level_nose(shape: &ScalpShape) -> Vec3 {
    let (mut low, mut high) = (-1.2, 0.5);
    let at = |angle: f64| shape.towards([0.0, real::cos(angle), real::sin(angle)]);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if at(middle)[2] < 0.0 { low = middle } else { high = middle }
    }
    at(low)
}

fn fitted(round: f64, over: f64) -> Fit {
    let mut measures = Measures::of_circumference(Length::mm(round));
    measures.ear_to_ear_over_crown = Some(Length::mm(over));
    fit(&measures).unwrap()
}

#[test]
fn marched_distances_from_cz_are_the_shares_of_the_midline() {
    // A plane of symmetry cuts a surface in straightest lines, so the way along
    // the skin between two sites of the midline is the arc between them: the
    // 10-20 shares by arc length, judged by distances that know of no plane.
    for (round, over) in [(520.0, 320.0), (562.0, 345.0), (610.0, 372.0)] {
        let fit = fitted(round, over);
        let all = sites(&fit);
        let at = |name: &str| all.iter().find(|s| s.0 == name).unwrap().1;
        let head = Head::new(&fit, &Marks::default()).unwrap();
        let line = midline(&head);
        let whole = length(&line);
        let along: Vec<f64> = line
            .iter()
            .scan((0.0, line[0]), |(gone, last), p| {
                *gone += distance(*last, *p);
                *last = *p;
                Some(*gone)
            })
            .collect();
        // Half-way between two of the line's own points, 0.2 mm apart, is exact enough.
        let share = |p: Vec3| {
            let i = (1..line.len() - 1).min_by(|a, b| distance(line[*a], p).total_cmp(&distance(line[*b], p))).unwrap();
            let (before, behind) = (line[i - 1], line[i + 1]);
            let t = dot(sub(p, before), sub(behind, before)) / dot(sub(behind, before), sub(behind, before));
            (distance(line[i], p) < 0.3).then_some((along[i - 1] + t * (along[i + 1] - along[i - 1])) / whole)
        };
        let mesh = TriMesh::icosphere(head.shape(), 6);
        let marched = mesh.distances_from_point(at("Cz"));
        let mut judged = 0;
        for (v, d) in mesh.vertices().iter().zip(&marched).filter(|(v, _)| v[0] == 0.0) {
            let Some(share) = share(*v) else { continue };
            judged += 1;
            assert!((d - (share - 0.5).abs() * whole).abs() < 0.05, "{v:?}: {d} at {share} of {whole}");
        }
        assert!(judged > 100, "{judged}");
        for (name, set) in [("Fpz", 0.1), ("Fz", 0.3), ("Cz", 0.5), ("Pz", 0.7), ("Oz", 0.9)] {
            assert!((share(at(name)).unwrap() - set).abs() * whole < 0.1, "{name}");
        }
    }
}

#[test]
fn the_ear_to_ear_arc_is_shared_alike_on_both_sides() {
    let fit = fitted(562.0, 345.0);
    let shape = Head::new(&fit, &Marks::default()).unwrap().shape().clone();
    let all = sites(&fit);
    let at = |name: &str| all.iter().find(|s| s.0 == name).unwrap().1;
    let ear = Courses::of(&fit, &Marks::default()).unwrap().right_ear_notch().0;
    let over = section(&shape, ear, at("Cz"), [-ear[0], ear[1], ear[2]]);
    let whole = length(&over);
    assert!(distance(after(&over, 0.5), at("Cz")) < 0.1, "Cz lies half-way from ear to ear");
    for (name, share) in [("T8", 0.1), ("C4", 0.3)] {
        let other = after(&over, 1.0 - share);
        assert!(distance([-other[0], other[1], other[2]], at(name)) < 0.1, "{name} mirrored");
        // No way along the skin is longer than the arc; and a head is not so
        // lopsided that a shorter one than 99 % of it leads past the arc.
        let marched = TriMesh::icosphere(&shape, 6);
        let from = marched.distances_from_point(at("Cz"));
        let near = marched.nearest_vertex(at(name));
        let way = from[near] + dot(sub(at(name), marched.vertices()[near]), unit(sub(at(name), at("Cz"))));
        let arc = (0.5 - share) * whole;
        assert!(way < arc + 0.3 && way > 0.99 * arc, "{name}: {way} along the skin, {arc} by the arc");
    }
}

#[test]
fn sites_on_the_fitted_scalp_lie_as_they_do_on_the_man() {
    // Fed his two tapes and nothing else. What is left is mostly where his
    // inion and his ears are, which no tape told: inions of heads of one size lie up to
    // 25 mm apart, and sites set by two hands about 8 mm.
    let fit = Scan::read(include_str!("data/scalp_one_man.txt")).unwrap().fitted().unwrap();
    let ours = sites(&fit);
    let mut off = Vec::new();
    for (i, (name, place)) in ours.iter().enumerate() {
        assert_eq!(*name, PUBLISHED[i].0);
        for j in 0..i {
            let (found, published) = (distance(*place, ours[j].1), distance(PUBLISHED[i].1, PUBLISHED[j].1));
            if published > 50.0 {
                off.push((found - published).abs());
            }
        }
    }
    off.sort_by(f64::total_cmp);
    let mean = off.iter().sum::<f64>() / off.len() as f64;
    let p95 = off[off.len() * 95 / 100];
    assert!(mean < 6.5 && p95 < 13.5, "{} pairs: mean {mean:.1}, p95 {p95:.1} mm", off.len());
}

/// Sites of the one man of `data/scalp_one_man.txt`, mm in his scan's own frame.
/// *Source*: standard_1005.elc, key `mne-sites`.
const PUBLISHED: [(&str, Vec3); 13] = [
    ("Fpz", [0.1123, 88.247, -1.713]),
    ("Fz", [0.3122, 58.512, 66.462]),
    ("Cz", [0.4009, -9.167, 100.244]),
    ("Pz", [0.3247, -81.115, 82.615]),
    ("Oz", [0.1076, -114.892, 14.657]),
    ("Fp2", [29.8723, 84.8959, -7.08]),
    ("F4", [51.8362, 54.3048, 40.814]),
    ("F8", [73.0431, 44.4217, -12.0]),
    ("C4", [67.1179, -10.9003, 63.58]),
    ("T8", [85.0799, -15.0203, -9.49]),
    ("P4", [55.6667, -78.5602, 56.561]),
    ("P8", [73.0557, -73.0683, -2.54]),
    ("O2", [29.8426, -112.156, 8.8]),
];
