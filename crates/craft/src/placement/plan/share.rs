//! One wish shared out over curves, each of which says what so many grams cost there.

use std::cmp::Ordering;

/// How a mass is shared out among sections.
pub(super) type Shared<'c> = Box<dyn Fn(usize) -> Vec<usize> + 'c>;

/// Curves of several sections added: the least points by mass in all, and how
/// each mass is shared out.
pub(super) fn together<'c>(curves: &'c [&'c [f64]], first: Ordering) -> (Vec<f64>, Shared<'c>) {
    match curves {
        [one] => (one.to_vec(), Box::new(|units| vec![units])),
        [a, b] => {
            let most = a.len() + b.len() - 1;
            let mut least = vec![f64::INFINITY; most];
            let mut share = vec![(0, 0); most];
            for (i, x) in a.iter().enumerate().filter(|(_, x)| x.is_finite()) {
                for (j, y) in b.iter().enumerate().filter(|(_, y)| y.is_finite()) {
                    // Of shares that cost the same the more even one; of those as
                    // even the one with more on the side that the head favours,
                    // whichever side is named first.
                    let better = x + y < least[i + j] - 1e-9;
                    let (k, l) = share[i + j];
                    let as_good = x + y < least[i + j] + 1e-9;
                    let more_even = i.abs_diff(j).cmp(&usize::abs_diff(k, l));
                    let favoured = match first {
                        Ordering::Less => i > k,
                        _ => j > l,
                    };
                    if better || (as_good && (more_even.is_lt() || (more_even.is_eq() && favoured))) {
                        least[i + j] = x + y;
                        share[i + j] = (i, j);
                    }
                }
            }
            (least, Box::new(move |units| vec![share[units].0, share[units].1]))
        }
        _ => (vec![0.0], Box::new(|_| Vec::new())),
    }
}

/// A curve of a section on which an empty section costs points, where anything
/// can stand there at all.
pub(super) fn with_empty(curve: &[f64], points: f64) -> Vec<f64> {
    let mut curve = curve.to_vec();
    if let ([none, more @ ..], true) = (curve.as_mut_slice(), points > 0.0)
        && more.iter().any(|p| p.is_finite())
    {
        *none += points;
    }
    curve
}

/// Which of two curves a tie goes to: the first where it is less at the first
/// mass at which they differ.
pub(super) fn favours_first(curves: &[&[f64]]) -> Ordering {
    let [a, b] = curves else { return Ordering::Equal };
    let differ = a.iter().zip(*b).find(|(x, y)| x.is_finite() != y.is_finite() || (*x - *y).abs() > 1e-9);
    differ.map_or_else(|| b.len().cmp(&a.len()), |(x, y)| x.total_cmp(y))
}
