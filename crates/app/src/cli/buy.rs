//! `buy`: which packs to buy at least cost.

use super::{JsonFlag, rim};
use crate::error::Failure;
use clap::Args;
use salon::stock::{BuyFault, Order, Purchase, buy};
use std::path::{Path, PathBuf};

/// What to buy for.
#[derive(Debug, Args)]
pub struct BuyArgs {
    /// The order, or - for standard input.
    order: PathBuf,
    #[command(flatten)]
    output: JsonFlag,
}

/// Prints the cheapest purchase that meets the order.
///
/// *Errors*: the order cannot be read or makes no sense; or no packs can meet it.
pub fn run(args: &BuyArgs) -> Result<(), Failure> {
    if args.output.json {
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
