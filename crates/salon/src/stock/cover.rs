//! Covering one need with packs, exactly: the piece of the search that is
//! separate for each shade and length.
//!
//! Legend: `i` counts the offers of a key in the order of their pack ids, `j`
//! the pieces still to cover; `table[i][j]` is the least cost of covering `j`
//! pieces with offers `i` onward.

/// A set of suppliers, one bit each.
pub(super) type Suppliers = u128;

/// No way to cover. Far above any true sum: prices are at most 10^9 minor units
/// in 1/1024 parts or in steps of [`PACK`], pieces at most 10^4.
pub(super) const NEVER: i64 = i64::MAX / 4;
/// A price counted in these steps leaves room for one more per pack, so that of
/// covers of equal price the one with fewest packs is the least.
pub(super) const PACK: i64 = 16_384;

/// A pack on sale for one need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Offer {
    /// Whose it is, as a position in the market's suppliers.
    pub supplier: usize,
    /// Pieces in the pack.
    pub pieces: u32,
    /// Its price in minor units.
    pub price: i64,
    /// How many there are at most, or would ever be of use.
    pub most: u32,
}

/// One shade and length: pieces to cover, and the packs that may.
#[derive(Debug, Clone)]
pub(super) struct Key {
    /// Pieces still needed once the shelf has given what it has.
    pub need: u32,
    /// The packs, by id.
    pub offers: Vec<Offer>,
}

/// How many of each offer of a key.
pub(super) type Counts = Vec<u32>;

fn plus(one: i64, other: i64) -> i64 {
    if other >= NEVER { NEVER } else { one + other }
}

/// The least costs of covering a key, for the prices handed in.
pub(super) struct Table {
    width: usize,
    cells: Vec<i64>,
}

impl Table {
    /// Fills the table; an offer without a price may not be used.
    pub fn new(key: &Key, price: impl Fn(&Offer) -> Option<i64>) -> Self {
        let width = key.need as usize + 1;
        let mut cells = vec![NEVER; (key.offers.len() + 1) * width];
        let end = key.offers.len() * width;
        cells[end] = 0;
        for (i, offer) in key.offers.iter().enumerate().rev() {
            let (head, tail) = cells.split_at_mut((i + 1) * width);
            let (now, after) = (&mut head[i * width..], &tail[..width]);
            match price(offer) {
                None => now.copy_from_slice(after),
                Some(price) => fill_row(now, after, offer, price),
            }
        }
        Self { width, cells }
    }

    /// The least cost of covering `j` pieces with offers `i` onward.
    pub fn least(&self, i: usize, j: u32) -> i64 {
        self.cells[i * self.width + j as usize]
    }

    /// The cheapest cover; of equals the one with most of the earliest packs.
    pub fn best(&self, key: &Key, price: impl Fn(&Offer) -> Option<i64>) -> Option<Counts> {
        let mut left = key.need;
        if self.least(0, left) >= NEVER {
            return None;
        }
        let mut counts = Vec::with_capacity(key.offers.len());
        for (i, offer) in key.offers.iter().enumerate() {
            let target = self.least(i, left);
            let most = price(offer).map_or(0, |_| offer.most.min(left.div_ceil(offer.pieces)));
            let count = (0..=most)
                .rev()
                .find(|&count| {
                    let rest = self.least(i + 1, left.saturating_sub(count.saturating_mul(offer.pieces)));
                    plus(price(offer).unwrap_or(0) * i64::from(count), rest) == target
                })
                .unwrap_or(0);
            left = left.saturating_sub(count.saturating_mul(offer.pieces));
            counts.push(count);
        }
        Some(counts)
    }
}

fn fill_row(now: &mut [i64], after: &[i64], offer: &Offer, price: i64) {
    for j in 0..now.len() {
        let all = (j as u32).div_ceil(offer.pieces);
        let fewer = j.saturating_sub(offer.pieces as usize);
        now[j] = if j == 0 {
            after[0]
        } else if offer.most >= (now.len() as u32 - 1).div_ceil(offer.pieces) {
            // As many as can be of use: one more pack on the row itself.
            after[j].min(plus(price, now[fewer]))
        } else {
            (0..=offer.most.min(all))
                .map(|count| {
                    let rest = (j as u32).saturating_sub(count.saturating_mul(offer.pieces));
                    plus(price * i64::from(count), after[rest as usize])
                })
                .min()
                .unwrap_or(NEVER)
        };
    }
}
