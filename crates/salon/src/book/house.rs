//! What belongs to the salon itself: its profile, people, ring, prices, and what
//! showed at the chair; and the shelf.

use super::client::{PhotoState, Stood, another_kind};
use super::id::{BlobRef, ClientId, PersonId, PhotoId, PieceId};
use crate::Fault;
use crate::client::{ClientFile, PiecesSection, PricesSection};
use crate::stock::{OnHand, Order, Pack, Supplier};
use crate::words::Message;
use craft::matching::Ring;
use measure::Currency;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

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
    /// Its time zone by the name that calendars use, where it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Its tax, of a hundred.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax_percent: Option<f64>,
    /// Whether its prices hold the tax already.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices_include_tax: Option<bool>,
    /// What is paid ahead, of a hundred.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deposit_percent: Option<f64>,
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

/// What somebody does here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Owns the salon.
    Owner,
    /// Does the work.
    Technician,
    /// Helps.
    Assistant,
}

/// One bond looked at in one style.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeenBond {
    /// The plan.
    pub plan: String,
    /// The site.
    pub site: String,
    /// How the hair was worn.
    pub style: String,
    /// The optical depth that was reckoned over it.
    pub depth: f64,
    /// Whether it showed.
    pub showed: bool,
}

/// What packs cost and who sells them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PriceList {
    /// The packs on sale.
    pub packs: Vec<Pack>,
    /// Who sells them.
    pub suppliers: Vec<Supplier>,
    /// The currency of every amount.
    pub currency: Currency,
}

/// One thing that happened to the salon itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum HouseEvent {
    /// The salon's profile, as it is from now on.
    HouseSet(Box<House>),
    /// Somebody works here.
    PersonAdded {
        /// Who.
        person: PersonId,
        /// Her name.
        name: String,
        /// What she does.
        role: Role,
    },
    /// The shades on sale, as they are from now on.
    RingSet(Ring),
    /// The packs on sale, as they are from now on.
    PricesSet(PriceList),
    /// A bond was looked at; a second look at it replaces the first.
    BondSeen(SeenBond),
    /// Whether plans follow what was seen.
    CoverFollowed {
        /// Whether.
        follow: bool,
    },
    /// What is known of the phones that photos were taken with, as it is from now on.
    PhonesSet {
        /// The phones, as the colour pages keep them.
        document: String,
    },
    /// A photo of the salon's own swatches was taken in.
    PhotoKept {
        /// Which.
        photo: PhotoId,
        /// The picture.
        blob: BlobRef,
        /// Where things lie in it.
        note: String,
    },
    /// Marks were set on a photo.
    PhotoMarked {
        /// Which.
        photo: PhotoId,
        /// Where things lie in it.
        note: String,
    },
    /// A photo was thrown away.
    PhotoRemoved {
        /// Which.
        photo: PhotoId,
    },
    /// An archive of all records was written, read back and compared.
    BackupMade {
        /// How many events it holds.
        events: u64,
    },
    /// A client's records were erased.
    ClientErased {
        /// Whose: her number, no name.
        client: ClientId,
        /// Why.
        reason: String,
    },
}

/// Bonds that are remembered; the oldest go first.
const MOST_SEEN: usize = 2000;

/// All that is in force of the salon itself.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HouseBook {
    /// The stream's version.
    pub version: u64,
    /// The profile, and how often it was set.
    pub house: (House, u64),
    /// The ring, and how often it was set.
    pub ring: (Ring, u64),
    /// The price list, and how often it was set.
    pub prices: (Option<PriceList>, u64),
    /// People, by when they came.
    pub people: Vec<(PersonId, String, Role)>,
    /// Bonds looked at.
    pub seen: Vec<SeenBond>,
    /// Whether plans follow what was seen.
    pub follow: bool,
    /// How often what was seen or followed changed.
    pub cover_version: u64,
    /// What is known of phones, and how often it was set.
    pub phones: (Option<String>, u64),
    /// Photos of the salon's own swatches.
    pub photos: BTreeMap<PhotoId, PhotoState>,
    /// The last backup: its day, how many events it holds, and when, in ms since 1970.
    pub backup: Option<(super::Day, u64, i64)>,
    /// Clients that were erased.
    pub erased: Vec<ClientId>,
}

impl HouseBook {
    /// Puts an event in force.
    pub fn apply(&mut self, event: HouseEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            HouseEvent::HouseSet(house) => self.house = (*house, self.house.1 + 1),
            HouseEvent::PersonAdded { person, name, role } => self.people.push((person, name, role)),
            HouseEvent::RingSet(ring) => self.ring = (ring, self.ring.1 + 1),
            HouseEvent::PricesSet(prices) => self.prices = (Some(prices), self.prices.1 + 1),
            HouseEvent::BondSeen(bond) => {
                self.seen.retain(|seen| (&seen.plan, &seen.site, &seen.style) != (&bond.plan, &bond.site, &bond.style));
                self.seen.push(bond);
                let over = self.seen.len().saturating_sub(MOST_SEEN);
                self.seen.drain(..over);
                self.cover_version += 1;
            }
            HouseEvent::CoverFollowed { follow } => {
                self.follow = follow;
                self.cover_version += 1;
            }
            HouseEvent::PhonesSet { document } => self.phones = (Some(document), self.phones.1 + 1),
            HouseEvent::PhotoKept { photo, blob, note } => {
                self.photos.insert(photo, PhotoState { blob, note, version: 1, kept_ms: stood.at_ms });
            }
            HouseEvent::PhotoMarked { photo, note } => {
                if let Some(kept) = self.photos.get_mut(&photo) {
                    kept.note = note;
                    kept.version += 1;
                }
            }
            HouseEvent::PhotoRemoved { photo } => _ = self.photos.remove(&photo),
            HouseEvent::BackupMade { events } => self.backup = Some((stood.on, events, stood.at_ms)),
            HouseEvent::ClientErased { client, .. } => self.erased.push(client),
        }
    }
}

/// One thing that happened on the shelf.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum ShelfEvent {
    /// Packs came in.
    PackReceived {
        /// What came: all pieces of all packs together.
        came: OnHand,
        /// From whom.
        supplier: String,
        /// Packs.
        packs: u32,
        /// The mass of one piece, g.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mass_g: Option<f64>,
        /// The width of a tab, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tab_width_mm: Option<f64>,
        /// What one pack cost.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price_minor: Option<i64>,
        /// Each piece by its own number, in the pack's order.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pieces: Vec<PieceId>,
    },
    /// One lot was counted.
    Counted {
        /// How much there is.
        there: OnHand,
        /// Why it differs.
        reason: String,
    },
    /// The whole shelf was counted.
    AllCounted {
        /// All there is.
        on_hand: Vec<OnHand>,
    },
    /// An event before said what was not so.
    Corrected {
        /// The version of the event that is corrected.
        event: u64,
        /// What it said.
        was: Box<ShelfEvent>,
        /// What it should have said.
        instead: Box<ShelfEvent>,
    },
}

impl ShelfEvent {
    /// The pieces that came in with it.
    #[must_use]
    pub fn pieces(&self) -> &[PieceId] {
        match self {
            Self::PackReceived { pieces, .. } => pieces,
            Self::Corrected { instead, .. } => instead.pieces(),
            _ => &[],
        }
    }

    /// The lot it is about; the whole shelf's count is about every lot.
    fn lot(&self) -> Option<&OnHand> {
        match self {
            Self::PackReceived { came, .. } => Some(came),
            Self::Counted { there, .. } => Some(there),
            Self::AllCounted { .. } => None,
            Self::Corrected { instead, .. } => instead.lot(),
        }
    }
}

fn is_same_lot(a: &OnHand, b: &OnHand) -> bool {
    (&a.lot, &a.shade, a.length_mm) == (&b.lot, &b.shade, b.length_mm)
}

/// Corrects an event of the shelf; one that was corrected before is corrected again.
///
/// *Meaning*: `later` is what happened to the shelf after it.
///
/// *Errors*: the event says something of another kind; the lot was counted since,
/// so that the count stands and not the sum.
pub fn decide_shelf_corrected(
    shelf: &ShelfBook,
    was: ShelfEvent,
    version: u64,
    instead: ShelfEvent,
    later: &[ShelfEvent],
) -> Result<Vec<ShelfEvent>, Vec<Fault>> {
    let (was, event) = match was {
        ShelfEvent::Corrected { event, instead, .. } => (*instead, event),
        was => (was, version),
    };
    let same = matches!(
        (&was, &instead),
        (ShelfEvent::PackReceived { .. }, ShelfEvent::PackReceived { .. }) | (ShelfEvent::Counted { .. }, ShelfEvent::Counted { .. })
    );
    if !same {
        return Err(vec![another_kind()]);
    }
    let about = |event: &ShelfEvent| [&was, &instead].iter().any(|one| event.lot().zip(one.lot()).is_none_or(|(a, b)| is_same_lot(a, b)));
    let counts = |event: &&ShelfEvent| matches!(event, ShelfEvent::Counted { .. } | ShelfEvent::AllCounted { .. });
    if later.iter().filter(counts).any(about) {
        return Err(vec![Fault::of(&Message::LotCountedSince, "event", "correct")]);
    }
    let left = |lot: &OnHand| shelf.on_hand.iter().find(|held| is_same_lot(held, lot)).map_or(0, |held| held.pieces);
    if let (ShelfEvent::PackReceived { came, .. }, ShelfEvent::PackReceived { came: now, .. }) = (&was, &instead) {
        let back = if is_same_lot(came, now) { now.pieces } else { 0 };
        if left(came) + back < came.pieces {
            return Err(vec![Fault::of(&Message::TooFewToTakeAway, "pieces", "correct")]);
        }
    }
    Ok(vec![ShelfEvent::Corrected { event, was: Box::new(was), instead: Box::new(instead) }])
}

/// All that is in force of the shelf.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ShelfBook {
    /// The stream's version.
    pub version: u64,
    /// What lies there, in the order it was told.
    pub on_hand: Vec<OnHand>,
}

impl ShelfBook {
    /// Puts an event in force.
    pub fn apply(&mut self, event: ShelfEvent, stood: Stood) {
        self.version = stood.version;
        match event {
            ShelfEvent::PackReceived { came, .. } => match self.lot(&came) {
                Some(lot) => lot.pieces = lot.pieces.saturating_add(came.pieces),
                None => self.on_hand.push(came),
            },
            ShelfEvent::Counted { there, .. } => match self.lot(&there) {
                Some(lot) => lot.pieces = there.pieces,
                None => self.on_hand.push(there),
            },
            ShelfEvent::AllCounted { on_hand } => self.on_hand = on_hand,
            ShelfEvent::Corrected { was, instead, .. } => {
                if let Some(lot) = was.lot().cloned().and_then(|was| self.lot(&was).map(|lot| (was, lot))) {
                    let (was, lot) = lot;
                    lot.pieces = lot.pieces.saturating_sub(was.pieces);
                }
                self.apply(*instead, stood);
            }
        }
    }

    fn lot(&mut self, like: &OnHand) -> Option<&mut OnHand> {
        self.on_hand.iter_mut().find(|lot| is_same_lot(lot, like))
    }
}

/// Shelf and price list as an order that has no need yet; nothing before a price list was set.
#[must_use]
pub fn order(house: &HouseBook, shelf: &ShelfBook) -> Option<Order> {
    let prices = house.prices.0.as_ref()?;
    Some(Order {
        need: Vec::new(),
        on_hand: shelf.on_hand.clone(),
        packs: prices.packs.clone(),
        suppliers: prices.suppliers.clone(),
        currency: prices.currency,
    })
}
