//! The salon's own: profile, ring, shelf and prices, and what showed at the chair.

use crate::written::{Act, read_text, still, write_text};
use crate::{DeskFault, Salon};
use craft::coverage::{Seen, THRESHOLD, Threshold, refit_threshold};
use craft::matching::Ring;
use measure::RuleBook;
use salon::book::{House, HouseBook, HouseEvent, Phones, PriceList, SeenBond, ShelfEvent, order};
use salon::stock::Order;

/// Something of the salon with the version it was read at.
#[derive(Debug, Clone, Default)]
pub struct Versioned<T> {
    /// The version, zero when it was never kept.
    pub version: i64,
    /// What it says.
    pub value: T,
}

/// What showed at the chair, and whether plans follow it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeenBonds {
    /// Bonds looked at.
    pub seen: Vec<SeenBond>,
    /// Whether plans are made with what was seen.
    pub follow: bool,
}

impl SeenBonds {
    pub(crate) fn of(house: &HouseBook) -> Self {
        Self { seen: house.seen.clone(), follow: house.follow }
    }

    /// The threshold as what was seen bears out.
    #[must_use]
    pub fn fitted(&self) -> Option<Threshold> {
        let records: Vec<Seen> = self.seen.iter().map(|bond| Seen { optical_depth: bond.depth, showed: bond.showed }).collect();
        (!records.is_empty()).then(|| refit_threshold(&records, &RuleBook::standard()).ok()).flatten()
    }

    /// The rules that plans of this salon are made with.
    #[must_use]
    pub fn book(&self) -> RuleBook {
        let mut book = RuleBook::standard();
        if let Some(fitted) = self.fitted().filter(|_| self.follow) {
            // The fit keeps inside the rule's range.
            let _ = book.set(&THRESHOLD, fitted.depth.value);
        }
        book
    }
}

/// How much hair over a bond a salon's own rules ask, where they ask their own.
pub(crate) fn own_depth(rules: &RuleBook) -> Option<f64> {
    rules.is_own(&THRESHOLD).then(|| rules.value(&THRESHOLD))
}

impl Salon {
    /// The salon's own facts.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn house(&self) -> Result<Versioned<House>, DeskFault> {
        let book = self.house_book().await?;
        Ok(Versioned { version: book.house.1 as i64, value: book.house.0.clone() })
    }

    /// The salon's ring, empty when none was entered.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn ring(&self) -> Result<Versioned<Ring>, DeskFault> {
        let book = self.house_book().await?;
        Ok(Versioned { version: book.ring.1 as i64, value: book.ring.0.clone() })
    }

    /// The salon's shelf and the packs on sale, where they were entered.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn stock(&self) -> Result<Versioned<Option<Order>>, DeskFault> {
        let house = self.house_book().await?;
        let shelf = self.shelf_book().await?;
        Ok(Versioned { version: (house.prices.1 + shelf.version) as i64, value: order(&house, &shelf.on_hand) })
    }

    /// What showed at the chair.
    ///
    /// *Errors*: the records cannot be read.
    pub async fn seen_bonds(&self) -> Result<Versioned<SeenBonds>, DeskFault> {
        let book = self.house_book().await?;
        Ok(Versioned { version: book.cover_version as i64, value: SeenBonds::of(&book) })
    }

    /// Keeps the salon's own facts.
    ///
    /// *Errors*: they were changed in the meantime; the records.
    pub async fn keep_house(&self, seen: i64, house: &House) -> Result<i64, DeskFault> {
        let book = self.house_book().await?;
        still(seen, book.house.1)?;
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house_at(book.version, vec![HouseEvent::HouseSet(Box::new(house.clone()))]), None).await?;
        Ok(seen + 1)
    }

    /// Keeps the ring.
    ///
    /// *Errors*: it was changed in the meantime; the records.
    pub async fn keep_ring(&self, seen: i64, ring: &Ring) -> Result<i64, DeskFault> {
        let book = self.house_book().await?;
        still(seen, book.ring.1)?;
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house_at(book.version, vec![HouseEvent::RingSet(ring.clone())]), None).await?;
        Ok(seen + 1)
    }

    /// Keeps shelf and price list as they were counted and read together.
    ///
    /// *Errors*: they were changed in the meantime; the records.
    pub async fn keep_stock(&self, seen: i64, stock: &Order) -> Result<i64, DeskFault> {
        let book = self.house_book().await?;
        let shelf = self.shelf_book().await?;
        still(seen, book.prices.1 + shelf.version)?;
        let list = PriceList { packs: stock.packs.clone(), suppliers: stock.suppliers.clone(), currency: stock.currency };
        let prices = (book.prices.0.as_ref() != Some(&list)).then_some(HouseEvent::PricesSet(list));
        let counted = (shelf.on_hand != stock.on_hand).then(|| ShelfEvent::AllCounted { on_hand: stock.on_hand.clone() });
        let now = seen + i64::from(prices.is_some()) + i64::from(counted.is_some());
        let act =
            Act::default().house_at(book.version, prices.into_iter().collect()).shelf_at(shelf.version, counted.into_iter().collect());
        let world = self.world_now().await?;
        self.keep(&world, act, None).await?;
        Ok(now)
    }

    /// What is known of phones; nothing known at first.
    ///
    /// *Errors*: the records; a document that no longer has its shape.
    pub async fn phones(&self) -> Result<Versioned<Phones>, DeskFault> {
        let book = self.house_book().await?;
        let value = match &book.phones.0 {
            Some(text) => read_text(text, "what is known of phones")?,
            None => Phones::default(),
        };
        Ok(Versioned { version: book.phones.1 as i64, value })
    }

    /// Keeps what is known of phones.
    ///
    /// *Errors*: it was changed in the meantime; the records.
    pub async fn keep_phones(&self, seen: i64, phones: &Phones) -> Result<i64, DeskFault> {
        let book = self.house_book().await?;
        still(seen, book.phones.1)?;
        let document = write_text(phones, "what is known of phones")?;
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house_at(book.version, vec![HouseEvent::PhonesSet { document }]), None).await?;
        Ok(seen + 1)
    }

    /// Notes whether a bond showed; a second look at it replaces the first.
    ///
    /// *Errors*: the records.
    pub async fn note_bond(&self, bond: SeenBond) -> Result<usize, DeskFault> {
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house(vec![HouseEvent::BondSeen(bond)]), None).await?;
        Ok(self.house_book().await?.seen.len())
    }

    /// Follows what was seen, or the trade's own again.
    ///
    /// *Errors*: the records.
    pub async fn follow_cover(&self, follow: bool) -> Result<(), DeskFault> {
        let follow = follow && !self.house_book().await?.seen.is_empty();
        let world = self.world_now().await?;
        self.keep(&world, Act::default().house(vec![HouseEvent::CoverFollowed { follow }]), None).await?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cover(follow: bool, showed: impl Fn(f64) -> bool) -> SeenBonds {
        let depths = [1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0];
        let bond = |depth: f64| SeenBond { plan: String::new(), site: "B1.1".into(), style: "down".into(), depth, showed: showed(depth) };
        SeenBonds { seen: depths.iter().chain(&depths).map(|d| bond(*d)).collect(), follow }
    }

    #[test]
    fn plans_follow_what_was_seen_only_when_asked() {
        let strict = |depth: f64| depth < 4.2;
        let own = cover(true, strict).book().value(&THRESHOLD);
        assert!(own > THRESHOLD.value, "bonds under much hair showed: {own}");
        assert_eq!(cover(false, strict).book().value(&THRESHOLD), THRESHOLD.value);
        assert_eq!(SeenBonds { follow: true, ..SeenBonds::default() }.book().value(&THRESHOLD), THRESHOLD.value);
        let lax = cover(true, |_| false).book().value(&THRESHOLD);
        assert!(lax < THRESHOLD.value && lax >= THRESHOLD.range.0, "{lax}");
    }
}
