//! Speed and error of distances along a surface.
//!
//! `cargo run --release -p head --example bench_geodesics` for spheres,
//! spheroids and the head; with `-- MESH.obj SOURCE [EXACT.txt]` for a mesh of
//! one's own, against exact distances (one to a line) where there are any; with
//! `-- --write FOLDER` it writes meshes of 40 962 vertices for
//! `benches/reference_heat.py`: a sphere with its exact distances, and the head.
use geographiclib_rs::{Geodesic, InverseGeodesic};
use head::{ScalpShape, SmoothSkin, Sphere, Spheroid, TriMesh};
use measure::{Length, real};
use std::time::Instant;

/// Distances from a vertex, with the least of some timings in milliseconds.
fn marched(mesh: &TriMesh, source: usize) -> (Vec<f64>, f64) {
    let mut best = f64::INFINITY;
    let mut distances = Vec::new();
    for _ in 0..9 {
        let started = Instant::now();
        distances = mesh.distances_from_vertices(&[source]).unwrap_or_default();
        best = best.min(started.elapsed().as_secs_f64() * 1e3);
    }
    (distances, best)
}

/// Prints the error against exact distances.
fn report(name: &str, mesh: &TriMesh, source: usize, exact: impl Fn(usize) -> f64) {
    let (distances, time) = marched(mesh, source);
    let errors: Vec<f64> = distances.iter().enumerate().map(|(i, d)| (d - exact(i)).abs()).collect();
    let mean = errors.iter().sum::<f64>() / errors.len().max(1) as f64;
    let worst = errors.iter().fold(0.0, |m: f64, e| m.max(*e));
    println!("{name}, {} vertices: {time:.2} ms, error mean {mean:.4} worst {worst:.3}", distances.len());
}

fn own(arguments: &[String]) {
    let Ok(text) = std::fs::read_to_string(&arguments[0]) else {
        eprintln!("{} cannot be read", arguments[0]);
        return;
    };
    let source = arguments.get(1).and_then(|s| s.parse().ok()).unwrap_or(0);
    let read = match TriMesh::from_obj(&text) {
        Ok(mesh) => mesh,
        Err(fault) => {
            eprintln!("{}: {fault}", arguments[0]);
            return;
        }
    };
    // What a mesh costs once, without the reading of its text, and its first distances.
    let (vertices, faces) = (read.vertices().to_vec(), read.faces().to_vec());
    let started = Instant::now();
    let mesh = TriMesh::new(vertices, faces).unwrap_or(read);
    let _ = mesh.distances_from_vertices(&[source]);
    println!("neighbours worked out and first distances: {:.1} ms", started.elapsed().as_secs_f64() * 1e3);
    let exact: Vec<f64> = arguments
        .get(2)
        .and_then(|path| std::fs::read_to_string(path).ok())
        .map(|text| text.split_ascii_whitespace().filter_map(|w| w.parse().ok()).collect())
        .unwrap_or_default();
    report(&arguments[0], &mesh, source, |i| exact.get(i).copied().unwrap_or(f64::NAN));
}

/// Radius of the judging sphere, mm.
const R: f64 = 90.0;

/// The distance on it between two of its places.
fn on_sphere(v: [f64; 3], s: [f64; 3]) -> f64 {
    R * real::acos(((v[0] * s[0] + v[1] * s[1] + v[2] * s[2]) / (R * R)).clamp(-1.0, 1.0))
}

/// Writes the meshes that another program's distances are to be judged on.
fn write_meshes(folder: &str) -> std::io::Result<()> {
    let Some(sphere) = Sphere::new(Length::mm(R)) else { return Ok(()) };
    let ball = TriMesh::icosphere(&sphere, 6);
    let exact: String = ball.vertices().iter().map(|v| format!("{:.9}\n", on_sphere(*v, ball.vertices()[17]))).collect();
    let folder = std::path::Path::new(folder);
    std::fs::create_dir_all(folder)?;
    std::fs::write(folder.join("sphere.obj"), ball.to_obj())?;
    std::fs::write(folder.join("sphere.txt"), exact)?;
    std::fs::write(folder.join("head.obj"), TriMesh::icosphere(&ScalpShape::template(), 6).to_obj())
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [word, folder] = &arguments[..]
        && word == "--write"
    {
        if let Err(error) = write_meshes(folder) {
            eprintln!("{folder}: {error}");
        }
        return;
    }
    if !arguments.is_empty() {
        own(&arguments);
        return;
    }
    if let Some(sphere) = Sphere::new(Length::mm(R)) {
        for halvings in 4..=7 {
            let mesh = TriMesh::icosphere(&sphere, halvings);
            let s = mesh.vertices()[17];
            report("sphere", &mesh, 17, |i| on_sphere(mesh.vertices()[i], s));
        }
    }
    for (equatorial, polar) in [(80.0, 105.0), (95.0, 75.0)] {
        let Some(skin) = Spheroid::new(Length::mm(equatorial), Length::mm(polar)) else { continue };
        let judge = Geodesic::new(equatorial, (equatorial - polar) / equatorial);
        let mesh = TriMesh::icosphere(&skin, 5);
        let place = |i: usize| {
            let v = mesh.vertices()[i];
            let ratio = equatorial / polar;
            let across = (v[0] * v[0] + v[1] * v[1]).sqrt();
            (real::atan2(v[2] * ratio * ratio, across).to_degrees(), real::atan2(v[1], v[0]).to_degrees())
        };
        let (lat, lon) = place(1200);
        report(&format!("spheroid {equatorial} {polar}"), &mesh, 1200, |i| {
            let (lat2, lon2) = place(i);
            let s: f64 = judge.inverse(lat, lon, lat2, lon2);
            s
        });
    }
    // The head against itself on meshes so fine that two of them tell the rest.
    let shape = ScalpShape::template();
    let fields = [6, 7].map(|halvings| marched(&TriMesh::icosphere(&shape, halvings), 17).0);
    let mesh = TriMesh::icosphere(&shape, 5);
    report("head against 163 842 vertices", &mesh, 17, |i| fields[1][i] + (fields[1][i] - fields[0][i]) / 3.0);
    println!("(its normal at the source: {:.3?})", shape.normal(mesh.vertices()[17]));
}
