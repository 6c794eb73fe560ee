//! The salon's own settings as pages ask for them.

use craft::matching::Ring;
pub use desk::Versioned;
use desk::{DeskFault, House, Salon};
use salon::stock::Order;

/// The salon's own facts.
pub async fn house(salon: &Salon) -> Result<Versioned<House>, DeskFault> {
    salon.house().await
}

/// The salon's ring, empty when none was entered.
pub async fn ring(salon: &Salon) -> Result<Versioned<Ring>, DeskFault> {
    salon.ring().await
}

/// The salon's stock, where one was entered.
pub async fn stock(salon: &Salon) -> Result<Versioned<Option<Order>>, DeskFault> {
    salon.stock().await
}
