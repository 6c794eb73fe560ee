//! Three coordinates in millimetres, and what flow lines need of them.

pub(super) type Vec3 = [f64; 3];

pub(super) fn add(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

pub(super) fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub(super) fn scale(a: Vec3, k: f64) -> Vec3 {
    [a[0] * k, a[1] * k, a[2] * k]
}

/// `a + k b`.
pub(super) fn along(a: Vec3, b: Vec3, k: f64) -> Vec3 {
    [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]]
}

pub(super) fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(super) fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub(super) fn norm(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

/// The unit vector along `a`; `a` itself when it has no length.
pub(super) fn unit(a: Vec3) -> Vec3 {
    let length = norm(a);
    if length > 0.0 { scale(a, 1.0 / length) } else { a }
}

/// `a` without its part along the unit vector `n`.
pub(super) fn flat(a: Vec3, n: Vec3) -> Vec3 {
    along(a, n, -dot(a, n))
}
