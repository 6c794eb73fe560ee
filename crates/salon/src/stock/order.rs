//! An order as it is written, and the purchase that answers it.

use measure::Currency;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A length of hair as written in an order, compared exactly.
///
/// *Meaning*: kept in whole micrometres, so that 500 and 500.0 are one length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StockLength(i64);

impl StockLength {
    /// A length in millimetres; nothing when it is no length of hair (not a
    /// number, not above zero, or longer than ten metres).
    #[must_use]
    pub fn mm(value: f64) -> Option<Self> {
        let sane = value.is_finite() && value > 0.0 && value <= 10_000.0;
        sane.then(|| Self((value * 1000.0).round() as i64)).filter(|length| length.0 > 0)
    }

    /// The length as a quantity.
    #[must_use]
    pub fn length(self) -> measure::Length {
        measure::Length::um(self.0 as f64)
    }

    /// In millimetres.
    #[must_use]
    pub fn to_mm(self) -> f64 {
        self.0 as f64 / 1000.0
    }
}

impl Serialize for StockLength {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0 % 1000 == 0 { serializer.serialize_i64(self.0 / 1000) } else { serializer.serialize_f64(self.to_mm()) }
    }
}

impl<'de> Deserialize<'de> for StockLength {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = f64::deserialize(deserializer)?;
        Self::mm(value)
            .ok_or_else(|| serde::de::Error::custom(format!("length_mm = {value} is no length of hair: write millimetres above zero")))
    }
}

/// What to buy for: needs, shelf, packs on sale and suppliers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// The pieces that are needed.
    #[serde(default)]
    pub need: Vec<Need>,
    /// The pieces on the shelf.
    #[serde(default)]
    pub on_hand: Vec<OnHand>,
    /// The packs on sale.
    #[serde(default)]
    pub packs: Vec<Pack>,
    /// Who sells them.
    #[serde(default)]
    pub suppliers: Vec<Supplier>,
    /// The currency of every amount.
    pub currency: Currency,
}

impl Order {
    /// The pieces on the shelf by shade, whatever their length.
    #[must_use]
    pub fn by_shade(&self) -> BTreeMap<String, u32> {
        let mut held: BTreeMap<String, u32> = BTreeMap::new();
        for lot in &self.on_hand {
            let of_shade = held.entry(lot.shade.clone()).or_default();
            *of_shade = of_shade.saturating_add(lot.pieces);
        }
        held
    }
}

/// Pieces of one shade and length that are needed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Need {
    /// The shade.
    pub shade: String,
    /// The length of the hair.
    pub length_mm: StockLength,
    /// How many pieces.
    pub pieces: u32,
}

/// Pieces on the shelf, from one lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnHand {
    /// The maker's batch number.
    pub lot: String,
    /// The shade.
    pub shade: String,
    /// The length of the hair.
    pub length_mm: StockLength,
    /// How many pieces.
    pub pieces: u32,
}

impl OnHand {
    /// Whether these pieces are of the same lot, shade and length.
    #[must_use]
    pub fn is_of_lot(&self, other: &Self) -> bool {
        (&self.lot, &self.shade, self.length_mm) == (&other.lot, &other.shade, other.length_mm)
    }
}

/// A pack on sale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// Its own name.
    pub id: String,
    /// Who sells it.
    pub supplier: String,
    /// The shade.
    pub shade: String,
    /// The length of the hair.
    pub length_mm: StockLength,
    /// Pieces in the pack.
    pub pieces: u32,
    /// Its price.
    pub price_minor: i64,
    /// How many packs can be had; as many as wanted when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub available: Option<u32>,
}

/// Who sells packs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supplier {
    /// Its own name.
    pub id: String,
    /// Shipping, owed once when anything is bought there.
    pub shipping_minor: i64,
    /// Shipping is waived when the goods bought there cost at least this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub free_over_minor: Option<i64>,
}

/// Packs of one kind that are bought.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bought {
    /// The pack.
    pub id: String,
    /// How many packs.
    pub packs: u32,
}

/// Pieces of one shade and length that remain of what was bought.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOver {
    /// The shade.
    pub shade: String,
    /// The length of the hair.
    pub length_mm: StockLength,
    /// How many pieces.
    pub pieces: u32,
}

/// What to buy, what to take from the shelf, and what it costs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Purchase {
    /// The packs, by shade, length and name.
    pub buy: Vec<Bought>,
    /// What the shelf gives, by lot.
    pub from_stock: Vec<OnHand>,
    /// What remains of the packs bought.
    pub left_over: Vec<LeftOver>,
    /// The packs' price.
    pub goods_minor: i64,
    /// Shipping.
    pub shipping_minor: i64,
    /// Both together.
    pub cost_minor: i64,
    /// Whether nothing cheaper exists; when not, the search met its limit and
    /// this is the cheapest it found.
    pub proved_least: bool,
    /// The currency of the three amounts.
    pub currency: Currency,
}

/// Pieces that no packs can bring.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Short {
    /// The shade.
    pub shade: String,
    /// The length of the hair.
    pub length_mm: StockLength,
    /// How many pieces are short.
    pub pieces: u32,
}

/// Why an order cannot be answered.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BuyFault {
    /// Shelf and packs together do not meet the needs.
    #[error("{}", shortfall(.0))]
    Short(Vec<Short>),
    /// The order contradicts itself or holds an impossible number.
    #[error("{}", faults(.0))]
    Order(Vec<crate::Fault>),
}

fn shortfall(short: &[Short]) -> String {
    let lines: Vec<String> =
        short.iter().map(|need| format!("shade {} at {} mm: {} short", need.shade, need.length_mm.to_mm(), need.pieces)).collect();
    format!("shelf and packs on sale do not meet the need ({}); add packs of that shade and length, or plan another", lines.join("; "))
}

fn faults(faults: &[crate::Fault]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
