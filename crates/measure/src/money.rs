//! Money: whole minor units of one currency.

use serde::{Deserialize, Serialize};

/// A currency by its ISO 4217 letters, with the number of decimal places it is
/// written with.
///
/// ```
/// use measure::Currency;
/// assert_eq!(Currency::new("JPY").map(|yen| yen.places()), Some(0));
/// assert_eq!(Currency::new("euro"), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Currency([u8; 3]);

impl Currency {
    /// The currency of three letters A-Z; anything else is no currency code.
    #[must_use]
    pub fn new(code: &str) -> Option<Self> {
        let bytes: [u8; 3] = code.as_bytes().try_into().ok()?;
        bytes.iter().all(u8::is_ascii_uppercase).then_some(Self(bytes))
    }

    /// The three letters.
    #[must_use]
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("XXX")
    }

    /// Decimal places of the minor unit.
    ///
    /// *Source*: list one of key `iso4217`, from memory: most currencies have two
    /// places, these few none or three.
    #[must_use]
    pub fn places(&self) -> usize {
        match self.code() {
            "JPY" | "KRW" | "ISK" | "CLP" | "VND" | "XAF" | "XOF" | "XPF" | "PYG" | "UGX" | "RWF" => 0,
            "BHD" | "IQD" | "JOD" | "KWD" | "LYD" | "OMR" | "TND" => 3,
            _ => 2,
        }
    }
}

impl Serialize for Currency {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let code = String::deserialize(deserializer)?;
        Self::new(&code)
            .ok_or_else(|| serde::de::Error::custom(format!("\"{code}\" is no currency: write its three letters, as in \"EUR\"")))
    }
}

/// An amount in whole minor units (cents, pence) of one currency.
///
/// ```
/// use measure::{Currency, Money};
/// let price = Money::minor(1250, Currency::new("EUR").unwrap());
/// assert_eq!(price.times(3).unwrap().to_string(), "37.50 EUR");
/// assert_eq!(price.scaled_rounding_half_up(0.5).minor, 625);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Money {
    /// Whole minor units; negative is owed the other way.
    pub minor: i64,
    /// The currency.
    pub currency: Currency,
}

impl Money {
    /// An amount of minor units.
    #[must_use]
    pub const fn minor(minor: i64, currency: Currency) -> Self {
        Self { minor, currency }
    }

    /// The sum, or nothing when the currencies differ or the sum has no room.
    #[must_use]
    pub fn plus(self, other: Self) -> Option<Self> {
        if self.currency != other.currency {
            return None;
        }
        Some(Self { minor: self.minor.checked_add(other.minor)?, currency: self.currency })
    }

    /// The amount times a whole count, or nothing when there is no room.
    #[must_use]
    pub fn times(self, count: i64) -> Option<Self> {
        Some(Self { minor: self.minor.checked_mul(count)?, currency: self.currency })
    }

    /// The amount times a share or a length of time, rounded to the nearest
    /// minor unit, halves away from zero (commercial rounding).
    #[must_use]
    pub fn scaled_rounding_half_up(self, factor: f64) -> Self {
        let scaled = self.minor as f64 * factor;
        Self { minor: scaled.round() as i64, currency: self.currency }
    }

    /// The amount divided by a count, rounded up to a whole minor unit, as a
    /// price per week must be so that the weeks never sum to less than the whole.
    #[must_use]
    pub fn divided_rounding_up(self, count: i64) -> Self {
        let count = count.max(1);
        Self { minor: (self.minor + count - 1).div_euclid(count), currency: self.currency }
    }
}

impl std::fmt::Display for Money {
    /// `1234.50 EUR`, with the currency's own number of places.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let places = self.currency.places();
        let sign = if self.minor < 0 { "-" } else { "" };
        let size = self.minor.unsigned_abs();
        if places == 0 {
            return write!(f, "{sign}{size} {}", self.currency.code());
        }
        let unit = 10_u64.pow(places as u32);
        write!(f, "{sign}{}.{:0places$} {}", size / unit, size % unit, self.currency.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn eur(minor: i64) -> Money {
        Money::minor(minor, Currency::new("EUR").unwrap())
    }

    #[test]
    fn written_with_the_currencys_places() {
        assert_eq!(eur(123_450).to_string(), "1234.50 EUR");
        assert_eq!(eur(-5).to_string(), "-0.05 EUR");
        assert_eq!(Money::minor(1200, Currency::new("JPY").unwrap()).to_string(), "1200 JPY");
        assert_eq!(Money::minor(1200, Currency::new("KWD").unwrap()).to_string(), "1.200 KWD");
    }

    #[test]
    fn currencies_do_not_mix_and_sums_do_not_wrap() {
        assert_eq!(eur(1).plus(Money::minor(1, Currency::new("GBP").unwrap())), None);
        assert_eq!(eur(i64::MAX).plus(eur(1)), None);
        assert_eq!(eur(i64::MAX).times(2), None);
    }

    #[test]
    fn rounding_is_named() {
        assert_eq!(eur(100).scaled_rounding_half_up(0.125).minor, 13);
        assert_eq!(eur(100).divided_rounding_up(3).minor, 34);
        assert!(Currency::new("eur").is_none() && Currency::new("EURO").is_none());
    }
}
