//! What belongs to the salon itself: its profile, people, ring, prices, and what
//! showed at the chair.

use super::client::PhotoState;
use super::day::Stood;
use super::id::{BlobRef, ClientId, PersonId, PhotoId};
use crate::client::{ClientFile, PiecesSection, PricesSection};
use crate::stock::{Pack, Supplier};
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
