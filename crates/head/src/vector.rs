//! Arithmetic on triples of millimetres, for the inner loops of this crate.

pub(crate) type Vec3 = [f64; 3];

#[inline(always)]
pub(crate) fn add(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

#[inline(always)]
pub(crate) fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

#[inline(always)]
pub(crate) fn scale(a: Vec3, k: f64) -> Vec3 {
    [a[0] * k, a[1] * k, a[2] * k]
}

/// The sum runs x + (y + z): a mirrored pair then gives the same bits.
#[inline(always)]
pub(crate) fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + (a[1] * b[1] + a[2] * b[2])
}

#[inline(always)]
pub(crate) fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline(always)]
pub(crate) fn norm(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

#[inline(always)]
pub(crate) fn distance(a: Vec3, b: Vec3) -> f64 {
    norm(sub(a, b))
}

/// The unit vector along `a`; upward when `a` has no length.
#[inline(always)]
pub(crate) fn unit(a: Vec3) -> Vec3 {
    let n = norm(a);
    if n > 0.0 { scale(a, 1.0 / n) } else { [0.0, 0.0, 1.0] }
}

#[inline(always)]
pub(crate) fn lerp(a: Vec3, b: Vec3, t: f64) -> Vec3 {
    add(scale(a, 1.0 - t), scale(b, t))
}

/// The image in the plane down the middle of the head.
#[inline(always)]
pub(crate) fn mirror(a: Vec3) -> Vec3 {
    [-a[0], a[1], a[2]]
}
