//! Every number asked of the head, in one run.
//!
//! `cargo run --release -p head --example bench_head -- [FOLDER]`: with a folder
//! the size is fitted to the people in its CSV files as well. Times are the
//! least of several, on one thread.

#[path = "shared/people.rs"]
mod people;

use geographiclib_rs::{Geodesic, InverseGeodesic};
use head::{
    Border, Ellipsoid, HairUnderTape, Head, Marks, Measures, ScalpShape, SkinPoint, SmoothSkin, Sphere, Spheroid, TriMesh, check_geodesic,
    fit,
};
use measure::vector::{Vec3, distance, dot, norm, sub};
use measure::{Length, real};
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

/// The least of some runs, ms.
fn least_ms(runs: usize, run: &mut dyn FnMut()) -> f64 {
    (0..runs)
        .map(|_| {
            let started = Instant::now();
            run();
            started.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min)
}

fn report(name: &str, errors: impl Iterator<Item = f64>) {
    let errors: Vec<f64> = errors.map(f64::abs).collect();
    let mean = errors.iter().sum::<f64>() / errors.len().max(1) as f64;
    println!("{name}: {} places, error mean {mean:.4} worst {:.3} mm", errors.len(), errors.iter().fold(0.0, |m: f64, e| m.max(*e)));
}

fn marched(mesh: &TriMesh, source: usize) -> Vec<f64> {
    mesh.distances_from_vertices(&[source]).unwrap_or_default()
}

fn sizes() {
    let measures = Measures {
        ear_to_ear_over_crown: Some(Length::mm(350.0)),
        hair_under_tape: HairUnderTape::Parted,
        front_hairline_to_tape: Some(Length::mm(130.0)),
        tape_to_nape_hairline: Some(Length::mm(215.0)),
        ..Measures::of_circumference(Length::mm(560.0))
    };
    let ms = least_ms(200, &mut || {
        black_box(fit(&measures).is_ok());
    });
    println!("fit of four tapes: {:.1} us", ms * 1e3);
    let Ok(fitted) = fit(&measures) else { return };
    let arcs = fitted.arcs;
    println!(
        "  fed 560 and 350 mm over parted hair, the bare model reads {:.2} and {:.2}",
        arcs.circumference.to_mm(),
        arcs.ear_to_ear_over_crown.to_mm()
    );
    let ms = least_ms(9, &mut || {
        black_box(Head::new(&fitted, &Marks::default()).is_ok());
    });
    println!("a whole head with its distances: {ms:.1} ms");
}

fn spheres() {
    const R: f64 = 90.0;
    let Some(sphere) = Sphere::new(Length::mm(R)) else { return };
    for halvings in 4..=7 {
        let mesh = TriMesh::icosphere(&sphere, halvings);
        let s = mesh.vertices()[17];
        let ms = least_ms(9, &mut || {
            black_box(marched(&mesh, 17));
        });
        println!("marching {} vertices: {ms:.2} ms", mesh.vertices().len());
        let exact = |v: &Vec3| R * real::acos((dot(*v, s) / (R * R)).clamp(-1.0, 1.0));
        let found = marched(&mesh, 17);
        report("  sphere, against R times the angle", found.iter().zip(mesh.vertices()).map(|(d, v)| d - exact(v)));
        if halvings == 5 {
            let lines = [20.0, 45.0, 70.0, 100.0, 130.0, 160.0].map(|far| {
                let length: f64 = mesh.iso_lines(&found, far).iter().flat_map(|line| line.windows(2)).map(|w| distance(w[0], w[1])).sum();
                length - 2.0 * std::f64::consts::PI * R * real::sin(far / R)
            });
            report("  its lines of one distance, length against circles", lines.into_iter());
        }
    }
}

fn spheroids() {
    for (equatorial, polar) in [(80.0, 105.0), (95.0, 75.0)] {
        let Some(skin) = Spheroid::new(Length::mm(equatorial), Length::mm(polar)) else { continue };
        let judge = Geodesic::new(equatorial, (equatorial - polar) / equatorial);
        let mesh = TriMesh::icosphere(&skin, 5);
        let place = |v: Vec3| {
            let ratio = equatorial / polar;
            (real::atan2(v[2] * ratio * ratio, real::hypot(v[0], v[1])).to_degrees(), real::atan2(v[1], v[0]).to_degrees())
        };
        let (lat, lon) = place(mesh.vertices()[1200]);
        let exact = |v: Vec3| -> f64 {
            let (lat2, lon2) = place(v);
            judge.inverse(lat, lon, lat2, lon2)
        };
        let found = marched(&mesh, 1200);
        report(&format!("spheroid {equatorial} {polar}, against Karney"), found.iter().zip(mesh.vertices()).map(|(d, v)| d - exact(*v)));
    }
}

/// One step of a straightest line on an ellipsoid, by the classical
/// Runge-Kutta rule: p'' = -(v.Av / |Ap|^2) Ap with A = diag(1 / axis^2).
fn step(a: Vec3, (p, v): (Vec3, Vec3), h: f64) -> (Vec3, Vec3) {
    let force = |p: Vec3, v: Vec3| {
        let n: Vec3 = std::array::from_fn(|k| p[k] / (a[k] * a[k]));
        let bend: f64 = (0..3).map(|k| v[k] * v[k] / (a[k] * a[k])).sum::<f64>() / dot(n, n);
        n.map(|c| -bend * c)
    };
    let along = |x: Vec3, y: Vec3, k: f64| -> Vec3 { std::array::from_fn(|i| x[i] + k * y[i]) };
    let (v1, f1) = (v, force(p, v));
    let (v2, f2) = (along(v, f1, h / 2.0), force(along(p, v1, h / 2.0), along(v, f1, h / 2.0)));
    let (v3, f3) = (along(v, f2, h / 2.0), force(along(p, v2, h / 2.0), along(v, f2, h / 2.0)));
    let (v4, f4) = (along(v, f3, h), force(along(p, v3, h), along(v, f3, h)));
    let mean = |w: Vec3, x: Vec3, y: Vec3, z: Vec3| -> Vec3 { std::array::from_fn(|k| (w[k] + 2.0 * x[k] + 2.0 * y[k] + z[k]) / 6.0) };
    (along(p, mean(v1, v2, v3, v4), h), along(v, mean(f1, f2, f3, f4), h))
}

/// The straightest line from `start` along `turn`, out to where it passes
/// `target` nearest: the way there, and how far aside it passes.
fn shot(a: Vec3, start: Vec3, frame: [Vec3; 2], turn: f64, target: Vec3) -> (f64, f64) {
    let (sine, cosine) = real::sincos(turn);
    let mut here = (start, std::array::from_fn(|k| cosine * frame[0][k] + sine * frame[1][k]));
    let mut way = 0.0;
    for _ in 0..400 {
        let ahead = dot(sub(target, here.0), here.1);
        let reach = ahead.clamp(-0.5, 0.5);
        if ahead.abs() < 1e-10 {
            break;
        }
        here = step(a, here, reach);
        way += reach;
    }
    let up: Vec3 = std::array::from_fn(|k| here.0[k] / (a[k] * a[k]));
    let left = [up[1] * here.1[2] - up[2] * here.1[1], up[2] * here.1[0] - up[0] * here.1[2], up[0] * here.1[1] - up[1] * here.1[0]];
    (way, dot(sub(target, here.0), left) / norm(left))
}

/// A triaxial ellipsoid against straightest lines shot at single vertices; up
/// to 120 mm none of them meets another (pi over the root of the greatest
/// curvature is 215).
fn triaxial() {
    let a = [74.0, 95.0, 88.0];
    let Some(skin) = Ellipsoid::new(Length::mm(a[0]), Length::mm(a[1]), Length::mm(a[2])) else { return };
    let mesh = TriMesh::icosphere(&skin, 5);
    let start = mesh.vertices()[1200];
    let normal = skin.normal(start);
    let raw = sub([0.3, 0.2, 1.0], normal.map(|c| c * dot([0.3, 0.2, 1.0], normal)));
    let e = raw.map(|c| c / norm(raw));
    let f = [normal[1] * e[2] - normal[2] * e[1], normal[2] * e[0] - normal[0] * e[2], normal[0] * e[1] - normal[1] * e[0]];
    let found = marched(&mesh, 1200);
    let mut errors = Vec::new();
    for (v, d) in mesh.vertices().iter().zip(&found).step_by(23).filter(|(_, d)| **d > 5.0 && **d < 120.0) {
        let out = sub(*v, start);
        let mut turn = real::atan2(dot(out, f), dot(out, e));
        let (mut way, mut aside) = shot(a, start, [e, f], turn, *v);
        for _ in 0..8 {
            let (_, nudged) = shot(a, start, [e, f], turn + 1e-5, *v);
            turn -= aside * 1e-5 / (nudged - aside);
            (way, aside) = shot(a, start, [e, f], turn, *v);
        }
        if aside.abs() < 1e-6 {
            errors.push(d - way);
        }
    }
    report("triaxial ellipsoid 74 95 88, against lines shot at vertices", errors.into_iter());
}

fn on_the_head() {
    let shape = ScalpShape::template();
    let fields = [6, 7].map(|halvings| marched(&TriMesh::icosphere(&shape, halvings), 17));
    let mesh = TriMesh::icosphere(&shape, 5);
    let found = marched(&mesh, 17);
    let exact = |i: usize| fields[1][i] + (fields[1][i] - fields[0][i]) / 3.0;
    report("head, against meshes of 40 962 and 163 842 vertices carried on", found.iter().enumerate().map(|(i, d)| d - exact(i)));
}

fn mirror() {
    let Ok(fitted) = fit(&Measures::of_circumference(Length::mm(553.0))) else { return };
    let Ok(head) = Head::new(&fitted, &Marks::default()) else { return };
    let mut unlike = 0;
    let mut asked = 0;
    let other = |border| match border {
        Border::LeftEar => Border::RightEar,
        Border::RightEar => Border::LeftEar,
        Border::BehindLeftEar => Border::BehindRightEar,
        Border::BehindRightEar => Border::BehindLeftEar,
        same => same,
    };
    for p in head.mesh().vertices().iter().map(|p| SkinPoint(*p)) {
        for border in Border::ALL {
            asked += 1;
            unlike += usize::from(head.clearance(border, p) != head.clearance(other(border), p.mirrored()));
        }
        asked += 2;
        unlike += usize::from(head.bears_hair(p) != head.bears_hair(p.mirrored())) + usize::from(head.zone(p) != head.zone(p.mirrored()));
    }
    for height in 1..17 {
        let Some(parting) = head.parting(Length::mm(10.0 * f64::from(height))) else { continue };
        let points = parting.points();
        for (p, q) in points.iter().zip(points.iter().rev()) {
            asked += 1;
            unlike += usize::from(*p != q.mirrored());
        }
    }
    println!("mirror: {unlike} of {asked} answers differ from those of the mirror image");
}

fn broken() {
    let sheet = |n: u32| {
        let mut text = String::new();
        for k in 0..n * n {
            let _ = writeln!(text, "v {} {} 0", k % n, k / n);
        }
        for j in 0..n - 1 {
            for i in 1..n {
                let k = j * n + i;
                let _ = writeln!(text, "f {} {} {}\nf {} {} {}", k, k + 1, k + n + 1, k, k + n + 1, k + n);
            }
        }
        text
    };
    let tetrahedron = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";
    let cases = [
        ("open sheet of a million vertices", sheet(1000)),
        ("open sheet of 2.25 million vertices", sheet(1500)),
        ("three faces on an edge", format!("{tetrahedron}v 5 5 5\nf 1 2 5\n")),
        ("no number", format!("{tetrahedron}v 0 nan 0\n")),
        ("two pieces", format!("{tetrahedron}v 9 0 0\nv 9 1 0\nv 9 0 1\nf 5 6 7\n")),
        ("no faces", "v 0 0 0\n".to_owned()),
    ];
    for (name, text) in cases {
        let started = Instant::now();
        let answer = check_geodesic(&text, &[0], &[]);
        let ms = started.elapsed().as_secs_f64() * 1e3;
        let said = answer.map_or_else(|fault| fault.to_string(), |d| format!("{} distances", d.len()));
        println!("{name}: {ms:.0} ms, {said}");
    }
}

fn main() {
    sizes();
    spheres();
    spheroids();
    triaxial();
    on_the_head();
    mirror();
    broken();
    if let Some(folder) = std::env::args().nth(1) {
        let mut files: Vec<String> = std::fs::read_dir(&folder)
            .map(|all| all.flatten().map(|file| file.path().display().to_string()).filter(|path| path.ends_with(".csv")).collect())
            .unwrap_or_default();
        files.sort();
        files.iter().for_each(|path| people::table(path));
    }
}
