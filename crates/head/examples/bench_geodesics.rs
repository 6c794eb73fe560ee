//! Speed and error of distances along a surface: run with `--release`.
use head::{ScalpShape, SmoothSkin, Sphere, TriMesh};
use measure::{Length, real};
use std::time::Instant;

fn main() {
    let sphere = Sphere::new(Length::mm(90.0)).expect("a radius");
    for halvings in 4..=7 {
        let t0 = Instant::now();
        let mesh = TriMesh::icosphere(&sphere, halvings);
        let build = t0.elapsed();
        let mut best = f64::INFINITY;
        let mut d = Vec::new();
        for _ in 0..5 {
            let t = Instant::now();
            d = mesh.distances_from_vertices(&[17]).expect("a vertex");
            best = best.min(t.elapsed().as_secs_f64());
        }
        let s = mesh.vertices()[17];
        let (mut sum, mut worst, mut n) = (0.0, 0.0_f64, 0);
        for (v, d) in mesh.vertices().iter().zip(&d) {
            let c: f64 = (0..3).map(|k| v[k] * s[k]).sum::<f64>() / 8100.0;
            let exact = 90.0 * real::acos(c.clamp(-1.0, 1.0));
            if exact > 20.0 {
                sum += (d - exact).abs();
                worst = worst.max((d - exact).abs());
                n += 1;
            }
        }
        println!("sphere {} vertices: built {:.1} ms, marched {:.2} ms, error mean {:.4} worst {:.4} mm", d.len(), build.as_secs_f64() * 1e3, best * 1e3, sum / n as f64, worst);
    }
    let shape = ScalpShape::template();
    let mesh = TriMesh::icosphere(&shape, 5);
    std::fs::write("/tmp/headmesh.obj", mesh.to_obj()).expect("w");
    let d = mesh.distances_from_vertices(&[17]).expect("a vertex");
    std::fs::write("/tmp/headmesh.d", d.iter().map(|d| d.to_string()).collect::<Vec<_>>().join("\n")).expect("w");
    println!("{:?}", shape.normal(mesh.vertices()[17]));
}
