//! Covering one need with packs, exactly: the piece of the search that is
//! separate for each shade and length.
//!
//! Legend: `i` counts the offers of a key in the order of their pack ids, `j`
//! the pieces still to cover; `table[i][j]` is the least cost of covering `j`
//! pieces with offers `i` onward.

/// A set of suppliers, one bit each.
pub(super) type Suppliers = u128;

/// No way to cover.
pub(super) const NEVER: i128 = i128::MAX / 4;

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

/// A cost of two parts, the first far weightier: money, then packs.
pub(super) type Cost = (i128, u32);

fn plus(one: Cost, other: Cost) -> Cost {
    if one.0 >= NEVER || other.0 >= NEVER { (NEVER, u32::MAX) } else { (one.0 + other.0, one.1.saturating_add(other.1)) }
}

fn times(price: i128, count: u32) -> Cost {
    (price * i128::from(count), count)
}

/// The least costs of covering a key, for the prices handed in.
pub(super) struct Table {
    width: usize,
    cells: Vec<Cost>,
}

impl Table {
    /// Fills the table; an offer without a price may not be used.
    pub fn new(key: &Key, price: impl Fn(&Offer) -> Option<i128>) -> Self {
        let width = key.need as usize + 1;
        let mut cells = vec![(NEVER, u32::MAX); (key.offers.len() + 1) * width];
        let end = key.offers.len() * width;
        cells[end] = (0, 0);
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
    pub fn least(&self, i: usize, j: u32) -> Cost {
        self.cells[i * self.width + j as usize]
    }

    /// The cheapest cover; of equals the one with fewest packs, then with most
    /// of the earliest packs.
    pub fn best(&self, key: &Key, price: impl Fn(&Offer) -> Option<i128>) -> Option<Counts> {
        let mut left = key.need;
        if self.least(0, left).0 >= NEVER {
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
                    plus(times(price(offer).unwrap_or(0), count), rest) == target
                })
                .unwrap_or(0);
            left = left.saturating_sub(count.saturating_mul(offer.pieces));
            counts.push(count);
        }
        Some(counts)
    }
}

fn fill_row(now: &mut [Cost], after: &[Cost], offer: &Offer, price: i128) {
    for j in 0..now.len() {
        let all = (j as u32).div_ceil(offer.pieces);
        let fewer = j.saturating_sub(offer.pieces as usize);
        now[j] = if j == 0 {
            after[0]
        } else if offer.most >= (now.len() as u32 - 1).div_ceil(offer.pieces) {
            // As many as can be of use: one more pack on the row itself.
            after[j].min(plus(times(price, 1), now[fewer]))
        } else {
            (0..=offer.most.min(all))
                .map(|count| {
                    let rest = (j as u32).saturating_sub(count.saturating_mul(offer.pieces));
                    plus(times(price, count), after[rest as usize])
                })
                .min()
                .unwrap_or((NEVER, u32::MAX))
        };
    }
}
