//! `buy`: which packs to buy at least cost.

use super::rim;
use crate::error::Failure;
use clap::Args;
use salon::stock::{BuyFault, Order, Purchase, buy};
use std::path::{Path, PathBuf};

/// What to buy for.
#[derive(Debug, Args)]
pub struct BuyArgs {
    /// The order, or - for standard input.
    order: PathBuf,
}

/// Prints the cheapest purchase that meets the order, in words or as JSON.
///
/// *Errors*: the order cannot be read or makes no sense; or no packs can meet it.
pub fn run(args: &BuyArgs, json: bool) -> Result<(), Failure> {
    if json {
        return least_cost(&args.order);
    }
    let (order, purchase) = bought(&args.order)?;
    rim::print(&in_words(&order, &purchase))
}

/// The cheapest purchase as JSON.
///
/// *Errors*: as [`run`].
pub fn least_cost(path: &Path) -> Result<(), Failure> {
    let (_, purchase) = bought(path)?;
    rim::print_json(&purchase)
}

fn bought(path: &Path) -> Result<(Order, Purchase), Failure> {
    let order: Order = rim::read_json(path)?;
    let purchase = buy(&order).map_err(|fault| match fault {
        BuyFault::Short(_) => Failure::cannot(fault.to_string()),
        _ => Failure::bad_input(format!("{}: {fault}", rim::shown(path))),
    })?;
    Ok((order, purchase))
}

fn in_words(order: &Order, purchase: &Purchase) -> String {
    let money = |minor: i64| measure::Money::minor(minor, purchase.currency).to_string();
    let mut lines = Vec::new();
    for lot in &purchase.from_stock {
        lines.push(format!("from the shelf: {} x {} {:.0} mm, lot {}", lot.pieces, lot.shade, lot.length_mm.to_mm(), lot.lot));
    }
    for bought in &purchase.buy {
        let pack = order.packs.iter().find(|pack| pack.id == bought.id);
        let what =
            pack.map_or_else(String::new, |p| format!(" ({} x {} {:.0} mm, from {})", p.pieces, p.shade, p.length_mm.to_mm(), p.supplier));
        lines.push(format!("buy: {} x {}{what}", bought.packs, bought.id));
    }
    for left in &purchase.left_over {
        lines.push(format!("left over: {} x {} {:.0} mm", left.pieces, left.shade, left.length_mm.to_mm()));
    }
    lines.push(format!(
        "goods {}, shipping {}, together {}",
        money(purchase.goods_minor),
        money(purchase.shipping_minor),
        money(purchase.cost_minor)
    ));
    lines.push(String::new());
    lines.join("\n")
}
