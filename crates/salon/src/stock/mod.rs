//! Stock: what is on the shelf, and which packs to buy at least cost.

mod check;
mod cover;
mod labels;
mod market;
mod order;
mod purchase;
mod search;

pub use order::{Bought, BuyFault, LeftOver, Need, OnHand, Order, Pack, Purchase, Short, StockLength, Supplier};
pub use purchase::buy;
