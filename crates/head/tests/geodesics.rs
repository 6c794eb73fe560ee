//! Distances along surfaces against closed forms and an independent library.

use geographiclib_rs::{Geodesic, InverseGeodesic};
use head::{Ellipsoid, MeshFault, SmoothSkin, Sphere, Spheroid, TriMesh, check_geodesic};
use measure::vector::{distance, dot, norm};
use measure::{Length, real};
use proptest::prelude::*;

const R: f64 = 90.0;

fn mm(x: f64) -> Length {
    Length::mm(x)
}

fn sphere_mesh(halvings: u32) -> TriMesh {
    TriMesh::icosphere(&Sphere::new(mm(R)).unwrap(), halvings)
}

/// Mean and worst of some errors.
fn errors(pairs: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    let all: Vec<f64> = pairs.map(|(found, exact)| (found - exact).abs()).collect();
    assert!(all.len() > 1000 && all.iter().all(|e| e.is_finite()));
    (all.iter().sum::<f64>() / all.len() as f64, all.iter().fold(0.0, |m: f64, e| m.max(*e)))
}

#[test]
fn from_a_vertex_of_a_sphere_they_are_great_circles() {
    // Closed form: R times the angle.
    let mesh = sphere_mesh(5);
    for source in [0, 17, 5000] {
        let d = mesh.distances_from_vertices(&[source]).unwrap();
        let s = mesh.vertices()[source];
        let exact = mesh.vertices().iter().map(|v| R * real::acos((dot(*v, s) / (R * R)).clamp(-1.0, 1.0)));
        let (mean, worst) = errors(d.iter().copied().zip(exact));
        assert!(mean < 0.03 && worst < 1.0, "mean {mean} worst {worst}");
    }
}

#[test]
fn from_a_parallel_of_a_sphere_they_are_differences_of_latitude() {
    // Closed form: R times the difference of polar angles. The curve is fine
    // and lies between the mesh's vertices.
    let mesh = sphere_mesh(5);
    for polar in [1.2, std::f64::consts::FRAC_PI_2, 2.3] {
        let curve: Vec<[f64; 3]> = (0..=180)
            .map(|k| {
                let a = f64::from(k % 180) * std::f64::consts::PI / 90.0;
                [R * real::sin(polar) * real::cos(a), R * real::sin(polar) * real::sin(a), R * real::cos(polar)]
            })
            .collect();
        let d = mesh.distances_from_curve(&curve).unwrap();
        let exact = mesh.vertices().iter().map(|v| R * (real::acos(v[2] / R) - polar).abs());
        let (mean, worst) = errors(d.iter().copied().zip(exact));
        assert!(mean < 0.08 && worst < 0.8, "polar angle {polar}: mean {mean} worst {worst}");
    }
}

#[test]
fn on_spheroids_they_are_karneys() {
    // *Source*: the algorithm of key `karney2013`, as the crate geographiclib-rs
    // carries it.
    for (equatorial, polar) in [(80.0, 105.0), (95.0, 75.0)] {
        let mesh = TriMesh::icosphere(&Spheroid::new(mm(equatorial), mm(polar)).unwrap(), 5);
        let judge = Geodesic::new(equatorial, (equatorial - polar) / equatorial);
        let place = |v: [f64; 3]| {
            let ratio = equatorial / polar;
            let across = (v[0] * v[0] + v[1] * v[1]).sqrt();
            (real::atan2(v[2] * ratio * ratio, across).to_degrees(), real::atan2(v[1], v[0]).to_degrees())
        };
        for source in [3, 1200] {
            let d = mesh.distances_from_vertices(&[source]).unwrap();
            let (lat, lon) = place(mesh.vertices()[source]);
            let exact = mesh.vertices().iter().map(|v| {
                let (lat2, lon2) = place(*v);
                let s: f64 = judge.inverse(lat, lon, lat2, lon2);
                s
            });
            let (mean, worst) = errors(d.iter().copied().zip(exact));
            assert!(mean < 0.06 && worst < 1.5, "{equatorial} {polar} from {source}: mean {mean} worst {worst}");
        }
    }
}

#[test]
fn on_a_triaxial_ellipsoid_the_middle_section_is_a_geodesic() {
    // Great-ellipse special case: a plane of symmetry cuts the surface in a
    // geodesic, the shortest way as long as the points are near. The arc is
    // summed from a million chords.
    let (a, b, c) = (74.0, 95.0, 88.0);
    let skin = Ellipsoid::new(mm(a), mm(b), mm(c)).unwrap();
    let mesh = TriMesh::icosphere(&skin, 5);
    let top = skin.project([0.0, 0.0, 1.0]);
    let d = mesh.distances_from_point(top);
    let section: Vec<(f64, f64)> = mesh
        .vertices()
        .iter()
        .zip(&d)
        .filter(|(v, d)| v[0].abs() < 1e-9 && **d > 1.0 && **d < 110.0)
        .map(|(v, d)| {
            let end = real::atan2(v[1].abs() / b, v[2] / c);
            let steps = 20_000;
            let at = |t: f64| (b * real::sin(t), c * real::cos(t));
            let arc: f64 = (0..steps)
                .map(|k| {
                    let (p, q) = (at(end * f64::from(k) / f64::from(steps)), at(end * f64::from(k + 1) / f64::from(steps)));
                    ((p.0 - q.0) * (p.0 - q.0) + (p.1 - q.1) * (p.1 - q.1)).sqrt()
                })
                .sum();
            (*d, arc)
        })
        .collect();
    assert!(section.len() > 20);
    for (found, arc) in section {
        assert!((found - arc).abs() < 0.12, "{found} against {arc}");
    }
}

#[test]
fn lines_of_one_distance_have_the_length_of_circles() {
    // Closed form: 2 pi R sin(d / R).
    let mesh = sphere_mesh(5);
    let d = mesh.distances_from_vertices(&[40]).unwrap();
    for far in [30.0, 60.0, 90.0, 150.0] {
        let lines = mesh.iso_lines(&d, far);
        assert_eq!(lines.len(), 1, "one closed line at {far}");
        let line = &lines[0];
        let length: f64 = line.windows(2).map(|w| distance(w[0], w[1])).sum();
        let exact = 2.0 * std::f64::consts::PI * R * real::sin(far / R);
        assert!((length - exact).abs() < 0.3, "{far}: {length} against {exact}");
        assert!((0..3).all(|k| (line[0][k] - line[line.len() - 1][k]).abs() < 1e-9), "closed");
    }
}

#[test]
fn the_way_of_steepest_descent_is_as_long_as_the_distance() {
    let mesh = sphere_mesh(4);
    let d = mesh.distances_from_vertices(&[7]).unwrap();
    for from in [100, 900, 2000, 2500] {
        let way = mesh.shortest_way(&d, from).unwrap();
        let length: f64 = way.windows(2).map(|w| distance(w[0], w[1])).sum();
        let end = way[way.len() - 1];
        assert!((0..3).all(|k| (end[k] - mesh.vertices()[7][k]).abs() < 1e-9), "it ends at the source");
        assert!((length - d[from]).abs() < 0.01 * d[from] + 0.3, "{length} against {}", d[from]);
    }
}

/// A sphere's mesh of rings, sheared so that most triangles are obtuse.
fn sheared_mesh() -> TriMesh {
    let (rings, spokes) = (40, 60);
    let mut vertices = vec![[0.0, 0.0, R]];
    for i in 1..rings {
        let polar = std::f64::consts::PI * f64::from(i) / f64::from(rings);
        for j in 0..spokes {
            let turn = 2.0 * std::f64::consts::PI * (f64::from(j) + 0.5 * f64::from(i)) / f64::from(spokes);
            vertices.push([R * real::sin(polar) * real::cos(turn), R * real::sin(polar) * real::sin(turn), R * real::cos(polar)]);
        }
    }
    vertices.push([0.0, 0.0, -R]);
    let at = |i: i32, j: i32| (1 + (i - 1) * spokes + j.rem_euclid(spokes)) as u32;
    let last = vertices.len() as u32 - 1;
    let mut faces = Vec::new();
    for j in 0..spokes {
        faces.push([0, at(1, j), at(1, j + 1)]);
        faces.push([last, at(rings - 1, j + 1), at(rings - 1, j)]);
        for i in 1..rings - 1 {
            faces.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            faces.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    TriMesh::new(vertices, faces).unwrap()
}

#[test]
fn obtuse_triangles_do_not_spoil_them() {
    // Closed form on the sphere, mesh unlike an icosphere.
    let mesh = sheared_mesh();
    let source = 1000;
    let d = mesh.distances_from_vertices(&[source]).unwrap();
    let s = mesh.vertices()[source];
    let exact = mesh.vertices().iter().map(|v| R * real::acos((dot(*v, s) / (R * R)).clamp(-1.0, 1.0)));
    let (mean, _) = errors(d.iter().copied().zip(exact));
    // The mean that is promised for any mesh of a spheroid. (Opposite the
    // source, where waves from all sides meet, single vertices of a mesh as
    // coarse and sheared as this one are up to 3.5 mm off.)
    assert!(mean < 0.3, "mean {mean}");
}

#[test]
fn a_flat_open_sheet_has_straight_distances() {
    // Closed form: Pythagoras.
    let n = 40_u32;
    let vertices: Vec<[f64; 3]> = (0..n * n).map(|k| [f64::from(k % n), f64::from(k / n), 0.0]).collect();
    let mut faces = Vec::new();
    for j in 0..n - 1 {
        for i in 0..n - 1 {
            let k = j * n + i;
            faces.extend([[k, k + 1, k + n + 1], [k, k + n + 1, k + n]]);
        }
    }
    let mesh = TriMesh::new(vertices, faces).unwrap();
    // From inside, from the corners and from the rim.
    for (x, y) in [(12, 7), (0, 0), (39, 0), (0, 39), (39, 39), (17, 0), (0, 23), (39, 8), (31, 39)] {
        let d = mesh.distances_from_vertices(&[(y * n + x) as usize]).unwrap();
        for (v, d) in mesh.vertices().iter().zip(&d) {
            let exact = real::hypot(v[0] - f64::from(x), v[1] - f64::from(y));
            assert!((d - exact).abs() < 1e-9, "from {x} {y} to {v:?}: {d} against {exact}");
        }
    }
}

#[test]
fn a_mesh_in_other_units_has_the_same_distances_in_them() {
    let text = sheared_mesh().to_obj();
    let mesh = TriMesh::from_obj(&text).unwrap();
    // A power of two keeps every digit.
    let small: Vec<[f64; 3]> = mesh.vertices().iter().map(|v| v.map(|c| c / 1024.0)).collect();
    let small = TriMesh::new(small, mesh.faces().to_vec()).unwrap();
    let (d, e) = (mesh.distances_from_vertices(&[9]).unwrap(), small.distances_from_vertices(&[9]).unwrap());
    for (d, e) in d.iter().zip(&e) {
        assert_eq!(*d, e * 1024.0);
    }
    assert_eq!(check_geodesic(&text, &[9], &[]).unwrap(), d, "the text holds every digit");
}

#[test]
fn a_curve_of_vertices_may_skip_over_the_mesh() {
    // From two far vertices joined: the great circle between them, as dense points.
    let mesh = sphere_mesh(5);
    let (a, b) = (mesh.vertices()[0], mesh.vertices()[5]);
    let d = check_geodesic(&mesh.to_obj(), &[], &[0, 5]).unwrap();
    let circle: Vec<[f64; 3]> = (0..=400)
        .map(|k| {
            let t = f64::from(k) / 400.0;
            let p = [0, 1, 2].map(|i: usize| a[i] * (1.0 - t) + b[i] * t);
            let n = norm(p);
            p.map(|c| c / n)
        })
        .collect();
    let exact = mesh.vertices().iter().map(|v| {
        let most = circle.iter().map(|c| dot(*c, *v) / R).fold(-1.0, f64::max);
        R * real::acos(most.min(1.0))
    });
    let (mean, worst) = errors(d.iter().copied().zip(exact));
    assert!(mean < 0.15 && worst < 1.5, "mean {mean} worst {worst}");
}

#[test]
fn broken_meshes_are_refused_in_plain_words() {
    let tetrahedron = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";
    assert!(check_geodesic(tetrahedron, &[0], &[]).is_ok());
    assert_eq!(check_geodesic("", &[0], &[]), Err(MeshFault::Empty));
    assert_eq!(check_geodesic(tetrahedron, &[], &[]), Err(MeshFault::NoSource));
    assert!(matches!(check_geodesic(tetrahedron, &[4], &[]), Err(MeshFault::NoSuchSource { vertex: 4, last: 3 })));
    assert!(matches!(check_geodesic(tetrahedron, &[], &[0, 9]), Err(MeshFault::NoSuchSource { .. })));
    for bad in ["v 0 nan 0", "v 1e400 0 0", "v 1 2", "v a b c", "f 1 2", "f 1 2 x", "f 0 1 2"] {
        let text = format!("{tetrahedron}{bad}\n");
        let fault = check_geodesic(&text, &[0], &[]).unwrap_err();
        assert!(matches!(fault, MeshFault::Line { line: 9, .. }), "{bad}: {fault}");
    }
    assert!(matches!(check_geodesic(&format!("{tetrahedron}f 1 2 77\n"), &[0], &[]), Err(MeshFault::NoSuchVertex { vertex: 76, .. })));
    let fin = format!("{tetrahedron}v 5 5 5\nf 1 2 5\n");
    assert!(matches!(check_geodesic(&fin, &[0], &[]), Err(MeshFault::NotManifold(0, 1))), "three faces on an edge");
    let apart = format!("{tetrahedron}v 9 0 0\nv 9 1 0\nv 9 0 1\nf 5 6 7\n");
    assert_eq!(check_geodesic(&apart, &[0], &[]), Err(MeshFault::Unreached(4)));
    assert!(matches!(check_geodesic("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 1 2\n", &[0], &[]), Err(MeshFault::Empty)));
    // Faces without area are no harm.
    assert!(check_geodesic("v 0 0 0\nv 1 0 0\nv 2 0 0\nv 0 1 0\nf 1 2 3\nf 1 3 4\n", &[0], &[]).is_ok());
}

/// A wheel: a hub in the middle of a rim that goes in and out, so that every
/// face has a wide corner.
fn wheel(spokes: u32) -> (Vec<[f64; 3]>, Vec<[u32; 3]>) {
    let rim = (0..spokes).map(|k| {
        let (s, c) = real::sincos(2.0 * std::f64::consts::PI * f64::from(k) / f64::from(spokes));
        let r = if k % 2 == 0 { R } else { 0.9 * R };
        [r * c, r * s, 0.0]
    });
    let vertices = std::iter::once([0.0; 3]).chain(rim).collect();
    (vertices, (0..spokes).map(|k| [0, 1 + k, 1 + (k + 1) % spokes]).collect())
}

#[test]
fn a_vertex_of_very_many_faces_is_no_hang() {
    let (vertices, faces) = wheel(200_000);
    let mesh = TriMesh::new(vertices, faces).unwrap();
    let d = mesh.distances_from_vertices(&[0]).unwrap();
    assert!((d[1] - R).abs() < 1e-9 && (d[2] - 0.9 * R).abs() < 1e-9);
    let around: Vec<usize> = (1..2_000).collect();
    let d = check_geodesic(&mesh.to_obj(), &[], &around).unwrap();
    assert!(d[0] > 0.85 * R && d[0] < R, "{}", d[0]);
}

#[test]
fn a_sheet_of_a_million_vertices_is_measured() {
    let n = 1_000_u32;
    let vertices: Vec<[f64; 3]> = (0..n * n).map(|k| [f64::from(k % n), f64::from(k / n), 0.0]).collect();
    let quads = (0..n - 1).flat_map(|j| (0..n - 1).map(move |i| j * n + i));
    let faces = quads.flat_map(|k| [[k, k + 1, k + n + 1], [k, k + n + 1, k + n]]).collect();
    let mesh = TriMesh::new(vertices, faces).unwrap();
    let d = mesh.distances_from_vertices(&[0]).unwrap();
    let far = d[d.len() - 1];
    assert!((far - 999.0 * 2.0_f64.sqrt()).abs() < 1e-6, "{far}");
}

#[test]
fn meshes_handed_over_broken_are_refused_too() {
    let square = vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.0, 1.0, 0.0]];
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e200] {
        let mut vertices = square.clone();
        vertices[2][1] = bad;
        assert_eq!(TriMesh::new(vertices, vec![[0, 1, 2]]), Err(MeshFault::NotANumber { vertex: 2 }), "{bad}");
    }
    assert!(matches!(TriMesh::new(square.clone(), vec![[0, 1, 9]]), Err(MeshFault::NoSuchVertex { face: 0, vertex: 9, count: 4 })));
    assert_eq!(TriMesh::new(square.clone(), Vec::new()), Err(MeshFault::Empty));
    // The same face twice, and once more turned over.
    assert!(matches!(TriMesh::new(square.clone(), vec![[0, 1, 2], [0, 1, 2], [1, 0, 2]]), Err(MeshFault::NotManifold(..))));
    let many = head::mesh::MOST_VERTICES + 1;
    assert!(matches!(TriMesh::new(vec![[0.0; 3]; many], vec![[0, 1, 2]]), Err(MeshFault::TooLarge { things: "vertices", .. })));
    let many = head::mesh::MOST_FACES + 1;
    assert!(matches!(TriMesh::new(square, vec![[0, 1, 2]; many]), Err(MeshFault::TooLarge { things: "faces", .. })));
}

#[test]
fn odd_meshes_have_distances_all_the_same() {
    // Faces wound against each other; two fans that share a vertex only; a
    // mesh all in one point; and the smallest and largest units there are.
    let square = [[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [1.0, 1.0, 0.0]];
    let d = TriMesh::new(square.to_vec(), vec![[0, 1, 2], [1, 2, 3]]).unwrap().distances_from_vertices(&[0]).unwrap();
    // Never shorter than the straight way, never longer than along the edges.
    assert!(d[1] == 1.0 && d[2] == 1.0 && d[3] >= 2.0_f64.sqrt() - 1e-9 && d[3] <= 2.0, "{d:?}");
    let bow = vec![[0.0; 3], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [-1.0, -1.0, 0.0]];
    let d = TriMesh::new(bow, vec![[0, 1, 2], [0, 3, 4]]).unwrap().distances_from_vertices(&[1]).unwrap();
    assert!((d[3] - 2.0).abs() < 1e-9, "{d:?}");
    let d = TriMesh::new(vec![[5.0; 3]; 3], vec![[0, 1, 2]]).unwrap().distances_from_vertices(&[0]).unwrap();
    assert_eq!(d, vec![0.0; 3]);
    // Powers of two keep every digit.
    for unit in [2.0_f64.powi(-200), 2.0_f64.powi(200)] {
        let far: Vec<[f64; 3]> = sphere_mesh(3).vertices().iter().map(|v| v.map(|c| c * unit)).collect();
        let mesh = TriMesh::new(far, sphere_mesh(3).faces().to_vec()).unwrap();
        let (d, plain) = (mesh.distances_from_vertices(&[4]).unwrap(), sphere_mesh(3).distances_from_vertices(&[4]).unwrap());
        assert!(d.iter().zip(&plain).all(|(d, e)| *d == e * unit), "units of {unit}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_text_is_answered(text in "([vf] [-0-9a-z ./]{0,12}\n){0,12}") {
        let _ = check_geodesic(&text, &[0], &[1]);
    }

    #[test]
    fn neighbours_differ_by_at_most_their_edge(source in 0_usize..642, x in 60.0..110.0, y in 60.0..110.0, z in 60.0..110.0) {
        // A law: distance is 1-Lipschitz along edges.
        let mesh = TriMesh::icosphere(&Ellipsoid::new(mm(x), mm(y), mm(z)).unwrap(), 3);
        let d = mesh.distances_from_vertices(&[source]).unwrap();
        for face in mesh.faces() {
            for k in 0..3 {
                let (a, b) = (face[k] as usize, face[(k + 1) % 3] as usize);
                let (p, q) = (mesh.vertices()[a], mesh.vertices()[b]);
                let edge = (0..3).map(|i| (p[i] - q[i]) * (p[i] - q[i])).sum::<f64>().sqrt();
                prop_assert!((d[a] - d[b]).abs() <= edge * 1.02, "{} {} {edge}", d[a], d[b]);
            }
        }
    }
}
