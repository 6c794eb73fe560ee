//! Even fields of a shrunken picture: what the patches of a chart look like among all else.

use crate::geometry::Point;
use crate::picture::Picture;

/// A picture made smaller: mean codes of square blocks.
pub(crate) struct Small {
    pub width: usize,
    pub height: usize,
    /// Pixels of the picture along a block.
    pub step: usize,
    codes: Vec<[f32; 3]>,
}

/// The most places of a block that are looked at, across and down.
const MOST_PLACES: usize = 4;

impl Small {
    /// With at most so many blocks along the longer side.
    pub fn of(photo: &Picture, longest: usize) -> Self {
        let (wide, high) = photo.size();
        let step = wide.max(high).div_ceil(longest).max(1);
        let (width, height) = ((wide / step).max(1), (high / step).max(1));
        let stride = step.div_ceil(MOST_PLACES);
        let places = step.div_ceil(stride);
        let share = 1.0 / (places * places) as f32;
        let bytes = photo.rgb_bytes();
        let mut codes = vec![[0.0_f32; 3]; width * height];
        for (y, row) in codes.chunks_exact_mut(width).enumerate() {
            for line in (0..step).step_by(stride) {
                let start = 3 * (y * step + line).min(high - 1) * wide;
                for (x, block) in row.iter_mut().enumerate() {
                    for place in (0..step).step_by(stride) {
                        let at = start + 3 * (x * step + place).min(wide - 1);
                        (0..3).for_each(|c| block[c] += share * f32::from(bytes[at + c]));
                    }
                }
            }
        }
        Self { width, height, step, codes }
    }

    /// Mean codes of blocks within a reach of a place, in blocks; nothing outside.
    pub fn mean(&self, at: Point, reach: f64) -> Option<[f64; 3]> {
        let reach = reach.max(0.0) as i64;
        let (x, y) = (at[0].round() as i64, at[1].round() as i64);
        if x < 0 || y < 0 || x >= self.width as i64 || y >= self.height as i64 {
            return None;
        }
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for j in (y - reach).max(0)..=(y + reach).min(self.height as i64 - 1) {
            for i in (x - reach).max(0)..=(x + reach).min(self.width as i64 - 1) {
                let codes = self.codes[j as usize * self.width + i as usize];
                (0..3).for_each(|c| sum[c] += f64::from(codes[c]));
                count += 1.0;
            }
        }
        Some(sum.map(|s| s / count))
    }

    /// Whether the blocks about each block differ from it by no more than so many codes.
    fn even(&self, most: f32) -> Vec<bool> {
        let (w, h) = (self.width, self.height);
        let mut even = vec![false; w * h];
        for y in 1..h.saturating_sub(1) {
            for x in 1..w - 1 {
                let here = self.codes[y * w + x];
                let near = [(0, -1), (0, 1), (-1, 0), (1, 0), (-1, -1), (1, 1), (1, -1), (-1, 1)];
                even[y * w + x] = near.iter().all(|(dx, dy): &(i64, i64)| {
                    let other = self.codes[(y as i64 + dy) as usize * w + (x as i64 + dx) as usize];
                    (0..3).all(|c| (other[c] - here[c]).abs() <= most)
                });
            }
        }
        even
    }
}

/// An even field with the shape of a square seen from anywhere.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field {
    /// Its middle, in blocks.
    pub middle: Point,
    /// Its side, as of a square as large, its rim added.
    pub side: f64,
}

/// The least blocks in a field.
const LEAST: usize = 9;

/// A field takes no more than this share of the picture.
const MOST_SHARE: f64 = 0.05;

/// How far the blocks of a field may be from those that a parallelogram of the same
/// spread has: 1 for any parallelogram (closed form), 1.05 for an ellipse.
const SQUARE: (f64, f64) = (0.82, 1.12);

/// How much longer than wide a field may be seen, in variance.
const LONGEST: f64 = 5.0;

/// The most fields kept, the largest: carpets have very many small ones.
const MOST_FIELDS: usize = 2500;

/// All such fields, where neighbouring blocks differ by no more than so many codes.
pub(crate) fn fields(small: &Small, most: f32) -> Vec<Field> {
    let (w, h) = (small.width, small.height);
    let mut even = small.even(most);
    let mut open = Vec::new();
    let mut result = Vec::new();
    let most_blocks = (MOST_SHARE * (w * h) as f64) as usize;
    for start in 0..w * h {
        if !std::mem::replace(&mut even[start], false) {
            continue;
        }
        open.push(start);
        let (mut count, mut sums) = (0_usize, [0.0_f64; 5]);
        while let Some(i) = open.pop() {
            let (x, y) = ((i % w) as f64, (i / w) as f64);
            count += 1;
            [x, y, x * x, x * y, y * y].iter().zip(&mut sums).for_each(|(v, sum)| *sum += v);
            // No field touches the rim: `even` leaves it out.
            for j in [i - 1, i + 1, i - w, i + w] {
                if std::mem::replace(&mut even[j], false) {
                    open.push(j);
                }
            }
        }
        if count >= LEAST && count <= most_blocks {
            result.extend(shaped(count as f64, sums));
        }
    }
    if result.len() > MOST_FIELDS {
        result.sort_by(|p, q| q.side.total_cmp(&p.side));
        result.truncate(MOST_FIELDS);
    }
    result
}

fn shaped(n: f64, [sx, sy, sxx, sxy, syy]: [f64; 5]) -> Option<Field> {
    let (x, y) = (sx / n, sy / n);
    // A block is a square itself: a twelfth (closed form).
    let (xx, xy, yy) = (sxx / n - x * x + 1.0 / 12.0, sxy / n - x * y, syy / n - y * y + 1.0 / 12.0);
    let apart = xx * yy - xy * xy;
    if apart <= 0.0 {
        return None;
    }
    let square = n / (12.0 * apart.sqrt());
    let (half, off) = ((xx + yy) / 2.0, (((xx - yy) / 2.0) * ((xx - yy) / 2.0) + xy * xy).sqrt());
    let shaped = (SQUARE.0..=SQUARE.1).contains(&square) && half + off <= LONGEST * (half - off);
    // One block on each side is lost where fields meet.
    shaped.then(|| Field { middle: [x, y], side: n.sqrt() + 2.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::srgb_to_linear;
    use crate::picture::Loss;

    /// A grey picture with things of another code on it.
    fn picture(on: impl Fn(f64, f64) -> bool) -> Picture {
        let pixels = (0..200 * 150).flat_map(|i| [if on(f64::from(i % 200), f64::from(i / 200)) { 180 } else { 60 }; 3]).collect();
        Picture::new((200, 150), pixels, [std::array::from_fn(|i| srgb_to_linear(i as f64 / 255.0)); 3], Loss::None).unwrap()
    }

    #[test]
    fn a_square_seen_from_anywhere_is_a_field_and_a_strip_or_an_angle_is_none() {
        let of = |on: &dyn Fn(f64, f64) -> bool| fields(&Small::of(&picture(on), 400), 14.0);
        // Sheared, as a tilt shows it.
        let square = of(&|x, y| (40.0..70.0).contains(&(x - 0.3 * y)) && (50.0..80.0).contains(&y));
        assert_eq!(square.len(), 1);
        assert!((square[0].side - 30.0).abs() < 2.0 && (square[0].middle[1] - 64.5).abs() < 0.6, "{square:?}");
        assert!(of(&|x, y| (20.0..180.0).contains(&x) && (50.0..70.0).contains(&y)).is_empty());
        assert!(of(&|x, y| (40.0..80.0).contains(&x) && (50.0..90.0).contains(&y) && (x < 50.0 || y < 60.0)).is_empty());
    }

    #[test]
    fn a_picture_is_shrunken_to_the_means_of_its_blocks() {
        let small = Small::of(&picture(|x, _| x < 100.0), 20);
        assert_eq!((small.width, small.height, small.step), (20, 15, 10));
        assert!((small.mean([2.0, 5.0], 1.0).unwrap()[1] - 180.0).abs() < 1e-3);
        assert!((small.mean([9.5, 5.0], 1.0).unwrap()[1] - 60.0).abs() < 41.0);
        assert_eq!(small.mean([20.0, 5.0], 1.0), None);
    }
}
