//! Labels pushed apart as little as can be.

/// Places as near as can be to those wanted, in the same order, each keeping its
/// own extent free: neighbours that press on each other share the push evenly.
pub(crate) fn spread(wanted: &[f64], extents: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    // How far each must stand from the first at least.
    let mut least = vec![0.0; wanted.len()];
    for pair in order.windows(2) {
        least[pair[1]] = least[pair[0]] + (extents[pair[0]] + extents[pair[1]]) / 2.0;
    }
    // Less that, the places need only not fall: that is isotonic regression,
    // solved by pooling neighbours that fall.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for i in &order {
        pools.push((wanted[*i] - least[*i], 1));
        while let [.., (a, m), (b, n)] = pools[..] {
            if a <= b {
                break;
            }
            pools.truncate(pools.len() - 2);
            pools.push(((a * m as f64 + b * n as f64) / (m + n) as f64, m + n));
        }
    }
    let levels = pools.iter().flat_map(|(level, count)| std::iter::repeat_n(*level, *count));
    let mut placed = vec![0.0; wanted.len()];
    for (i, level) in order.into_iter().zip(levels) {
        placed[i] = level + least[i];
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::spread;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn labels_never_touch_and_keep_their_order(wanted in prop::collection::vec(0.0..200.0, 0..12)) {
            let placed = spread(&wanted, &vec![4.0; wanted.len()]);
            for i in 0..wanted.len() {
                for j in 0..wanted.len() {
                    if wanted[i] < wanted[j] {
                        prop_assert!(placed[j] - placed[i] >= 4.0 - 1e-9);
                    }
                }
            }
        }

        #[test]
        fn labels_with_room_stay_where_they_belong(start in 0.0..50.0, steps in prop::collection::vec(4.5..20.0, 0..8)) {
            let wanted: Vec<f64> = steps.iter().scan(start, |y, step| { *y += step; Some(*y) }).collect();
            let placed = spread(&wanted, &vec![4.0; wanted.len()]);
            for (a, b) in wanted.iter().zip(placed) {
                prop_assert!((a - b).abs() < 1e-9);
            }
        }

        #[test]
        fn wide_and_narrow_labels_each_keep_their_own_room(labels in prop::collection::vec((0.0..60.0, 1.0..20.0), 0..10)) {
            let (wanted, extents): (Vec<f64>, Vec<f64>) = labels.into_iter().unzip();
            let placed = spread(&wanted, &extents);
            for i in 0..wanted.len() {
                for j in 0..wanted.len() {
                    if wanted[i] < wanted[j] {
                        prop_assert!(placed[j] - placed[i] >= (extents[i] + extents[j]) / 2.0 - 1e-9);
                    }
                }
            }
        }
    }
}
