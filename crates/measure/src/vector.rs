//! Arithmetic on three coordinates.
//!
//! Plain arrays and functions: what a triple stands for (a place on the skin, a
//! direction, a force) is said by the types of the floors that hold it, such as
//! `head::SkinPoint`; inside their sums a place and a way are one array, as the
//! formulas write them. Every product and sum is taken in one fixed order.

/// Three coordinates, all in one unit that the holder names.
pub type Vec3 = [f64; 3];

/// `a + b`.
///
/// ```
/// assert_eq!(measure::vector::add([1.0, 2.0, 3.0], [0.5, 0.0, -3.0]), [1.5, 2.0, 0.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn add(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// `a - b`: the way from `b` to `a`.
///
/// ```
/// assert_eq!(measure::vector::sub([1.0, 2.0, 3.0], [0.5, 0.0, 3.0]), [0.5, 2.0, 0.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `k` times `a`.
///
/// ```
/// assert_eq!(measure::vector::scale([1.0, 2.0, 3.0], 2.0), [2.0, 4.0, 6.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn scale(a: Vec3, k: f64) -> Vec3 {
    [a[0] * k, a[1] * k, a[2] * k]
}

/// `a + k b`: the place reached from `a` by going `k` times `b`.
///
/// ```
/// assert_eq!(measure::vector::along([1.0, 0.0, 0.0], [0.0, 1.0, 0.0], 3.0), [1.0, 3.0, 0.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn along(a: Vec3, b: Vec3, k: f64) -> Vec3 {
    [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]]
}

/// The inner product. The sum runs x + (y + z): a pair mirrored in x = 0 gives the same bits.
///
/// ```
/// assert_eq!(measure::vector::dot([1.0, 2.0, 3.0], [4.0, 5.0, 6.0]), 32.0);
/// ```
#[inline(always)]
#[must_use]
pub fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + (a[1] * b[1] + a[2] * b[2])
}

/// The outer product: across both, by the right hand.
///
/// ```
/// assert_eq!(measure::vector::cross([1.0, 0.0, 0.0], [0.0, 1.0, 0.0]), [0.0, 0.0, 1.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// The length of `a`.
///
/// ```
/// assert_eq!(measure::vector::norm([2.0, 3.0, 6.0]), 7.0);
/// ```
#[inline(always)]
#[must_use]
pub fn norm(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

/// How far `a` and `b` are apart, straight through the air.
///
/// ```
/// assert_eq!(measure::vector::distance([1.0, 1.0, 1.0], [3.0, 4.0, 7.0]), 7.0);
/// ```
#[inline(always)]
#[must_use]
pub fn distance(a: Vec3, b: Vec3) -> f64 {
    norm(sub(a, b))
}

/// The unit vector along `a`; upward when `a` has no length.
///
/// ```
/// assert_eq!(measure::vector::unit([0.0, 5.0, 0.0]), [0.0, 1.0, 0.0]);
/// assert_eq!(measure::vector::unit([0.0; 3]), [0.0, 0.0, 1.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn unit(a: Vec3) -> Vec3 {
    unit_or(a, [0.0, 0.0, 1.0])
}

/// The unit vector along `a`; `instead` when `a` has no length.
///
/// ```
/// assert_eq!(measure::vector::unit_or([0.0; 3], [0.0; 3]), [0.0; 3]);
/// ```
#[inline(always)]
#[must_use]
pub fn unit_or(a: Vec3, instead: Vec3) -> Vec3 {
    let length = norm(a);
    if length > 0.0 { scale(a, 1.0 / length) } else { instead }
}

/// `a` without its part along the unit vector `n`: laid flat on what `n` stands upright on.
///
/// ```
/// assert_eq!(measure::vector::flat([1.0, 2.0, 3.0], [0.0, 0.0, 1.0]), [1.0, 2.0, 0.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn flat(a: Vec3, n: Vec3) -> Vec3 {
    along(a, n, -dot(a, n))
}

/// The place a share of the way from `a` to `b`: 0 is `a`, 1 is `b`.
///
/// ```
/// assert_eq!(measure::vector::lerp([0.0; 3], [4.0, 8.0, 12.0], 0.25), [1.0, 2.0, 3.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn lerp(a: Vec3, b: Vec3, share: f64) -> Vec3 {
    add(scale(a, 1.0 - share), scale(b, share))
}

/// The image in the plane x = 0.
///
/// ```
/// assert_eq!(measure::vector::mirror([1.0, 2.0, 3.0]), [-1.0, 2.0, 3.0]);
/// ```
#[inline(always)]
#[must_use]
pub fn mirror(a: Vec3) -> Vec3 {
    [-a[0], a[1], a[2]]
}
