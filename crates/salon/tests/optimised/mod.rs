//! What an order costs at least, by integer optimisation with the crate `microlp`.

use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome};
use salon::stock::{Order, StockLength};
use std::collections::BTreeMap;
use std::time::Duration;

/// The least cost by integer optimisation. For each supplier one variable says
/// "bought from", one "shipping waived". Nothing where it takes longer than it may.
pub fn least_cost(order: &Order, longest: Option<Duration>) -> Option<i64> {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    if let Some(longest) = longest {
        problem.set_time_limit(longest);
    }
    let most = 40;
    let counts: Vec<_> = order
        .packs
        .iter()
        .map(|pack| problem.add_integer_var(pack.price_minor as f64, (0, pack.available.map_or(most, |a| a as i32).min(most))))
        .collect();
    for supplier in &order.suppliers {
        let used = problem.add_binary_var(supplier.shipping_minor as f64);
        let own: Vec<usize> = (0..order.packs.len()).filter(|&at| order.packs[at].supplier == supplier.id).collect();
        for &at in &own {
            problem.add_constraint([(counts[at], 1.0), (used, -f64::from(most))], ComparisonOp::Le, 0.0);
        }
        if let Some(over) = supplier.free_over_minor {
            let waived = problem.add_binary_var(-(supplier.shipping_minor as f64));
            problem.add_constraint([(waived, 1.0), (used, -1.0)], ComparisonOp::Le, 0.0);
            let mut goods: Vec<_> = own.iter().map(|&at| (counts[at], order.packs[at].price_minor as f64)).collect();
            goods.push((waived, -(over as f64)));
            problem.add_constraint(&goods, ComparisonOp::Ge, 0.0);
        }
    }
    let mut open: BTreeMap<(&str, StockLength), i64> = BTreeMap::new();
    for need in &order.need {
        *open.entry((&need.shade, need.length_mm)).or_default() += i64::from(need.pieces);
    }
    for ((shade, length), pieces) in open {
        let held: i64 = order.on_hand.iter().filter(|h| h.shade == shade && h.length_mm == length).map(|h| i64::from(h.pieces)).sum();
        let terms: Vec<_> = (0..order.packs.len())
            .filter(|&at| order.packs[at].shade == shade && order.packs[at].length_mm == length)
            .map(|at| (counts[at], f64::from(order.packs[at].pieces)))
            .collect();
        problem.add_constraint(&terms, ComparisonOp::Ge, (pieces - held) as f64);
    }
    let outcome = problem.solve().ok().filter(SolveOutcome::is_optimal)?;
    outcome.solution().map(|solution| solution.objective().round() as i64)
}
