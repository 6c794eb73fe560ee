//! The salon's own facts: its name, its pieces and prices, its ring and stock.

use craft::matching::Ring;
use measure::Currency;
use salon::client::{ClientFile, PiecesSection, PricesSection};
use salon::stock::Order;
use serde::{Deserialize, Serialize};
use store::{Salon, Setting, StoreFault};

/// What holds for every client unless her file says otherwise.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct House {
    /// The salon's name.
    #[serde(default)]
    pub name: String,
    /// The pieces it works with.
    #[serde(default)]
    pub pieces: PiecesSection,
    /// What it asks.
    #[serde(default)]
    pub prices: PricesSection,
}

impl House {
    /// The currency of the prices, where one is set.
    #[must_use]
    pub fn currency(&self) -> Option<Currency> {
        self.prices.currency.as_deref().and_then(Currency::new)
    }

    /// The currency's letters beside an amount: the client's own, or the house's.
    #[must_use]
    pub fn currency_code(&self, her_own: &str) -> String {
        let own = her_own.trim();
        if Currency::new(own).is_some() { own.to_owned() } else { self.prices.currency.clone().unwrap_or_else(|| "amount".to_owned()) }
    }

    /// A client's file with the house's pieces and prices where hers are open.
    #[must_use]
    pub fn complete(&self, file: &ClientFile) -> ClientFile {
        let mut file = file.clone();
        let pieces = file.pieces.get_or_insert_default();
        pieces.tab_width_mm = pieces.tab_width_mm.or(self.pieces.tab_width_mm);
        pieces.tab_height_mm = pieces.tab_height_mm.or(self.pieces.tab_height_mm);
        pieces.mass_g = pieces.mass_g.or(self.pieces.mass_g);
        if pieces.lengths_mm.is_none() {
            pieces.lengths_mm.clone_from(&self.pieces.lengths_mm);
        }
        let prices = file.prices.get_or_insert_default();
        if prices.currency.is_none() {
            prices.currency.clone_from(&self.prices.currency);
        }
        prices.hour_minor = prices.hour_minor.or(self.prices.hour_minor);
        prices.tape_tab_minor = prices.tape_tab_minor.or(self.prices.tape_tab_minor);
        file
    }
}

/// A document of the salon with the version it was read at.
#[derive(Debug, Clone, Default)]
pub struct Versioned<T> {
    /// The version, zero when it was never kept.
    pub version: i64,
    /// What it says.
    pub value: T,
}

/// Reads a document of the salon.
///
/// *Errors*: the store's; a document that no longer has its shape is damage.
pub async fn read<T: Default + serde::de::DeserializeOwned>(salon: &Salon, setting: Setting) -> Result<Versioned<T>, StoreFault> {
    let Some(kept) = salon.setting(setting).await? else { return Ok(Versioned::default()) };
    let value = serde_json::from_str(&kept.document).map_err(|error| StoreFault::Damaged(format!("a setting: {error}")))?;
    Ok(Versioned { version: kept.version, value })
}

/// Keeps a document of the salon.
///
/// *Errors*: the store's; somebody changed it in the meantime.
pub async fn keep<T: Serialize>(salon: &Salon, setting: Setting, seen: i64, value: &T) -> Result<i64, StoreFault> {
    let text = serde_json::to_string(value).map_err(|error| StoreFault::Damaged(format!("a setting: {error}")))?;
    salon.keep_setting(setting, seen, &text).await
}

/// The salon's own facts.
pub async fn house(salon: &Salon) -> Result<Versioned<House>, StoreFault> {
    read(salon, Setting::House).await
}

/// The salon's ring, empty when none was entered.
pub async fn ring(salon: &Salon) -> Result<Versioned<Ring>, StoreFault> {
    read(salon, Setting::Ring).await
}

/// The salon's stock, where one was entered.
pub async fn stock(salon: &Salon) -> Result<Versioned<Option<Order>>, StoreFault> {
    read(salon, Setting::Stock).await
}
