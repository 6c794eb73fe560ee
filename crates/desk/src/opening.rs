//! A salon is begun or opened.

use crate::client_line::views_are_made;
use crate::salon_book::{Opened, Salon};
use crate::written::{Act, new_id, now_ms, today};
use crate::{DeskFault, before};
use salon::book::{HouseEvent, PersonId, Role, World};
use std::path::Path;
use store::book::{Book, Opener, Passphrase, Place};

impl Salon {
    /// Whether a folder holds a salon, of this kind or the earlier one.
    #[must_use]
    pub fn is_in(folder: &Path) -> bool {
        Book::is_in(folder) || store::EarlierRecords::is_in(folder)
    }

    /// Begins a new salon in a missing or empty place.
    ///
    /// *Errors*: something is there; the disk or database refuses.
    pub async fn begin(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        let (book, code) = Book::begin(place, passphrase, now_ms()).await?;
        let salon = Self::of(book, place.clone());
        let owner = HouseEvent::PersonAdded { person: PersonId(new_id()), name: String::new(), role: Role::Owner };
        let world = World { on: today(), at: None, by: PersonId(0) };
        // Where nothing happened yet, every view is as it must be.
        let act = Act::default().house(vec![owner]).view(views_are_made());
        salon.keep(&world, act, None).await?;
        Ok(Opened { salon, code: Some(code), set_aside: None })
    }

    /// Opens a salon. Records of the earlier kind are backed up and become a book.
    ///
    /// *Errors*: those of the records: no salon, in use, wrong passphrase, damage.
    pub async fn open(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        if let Place::Folder(folder) = place
            && !Book::is_in(folder)
            && store::EarlierRecords::is_in(folder)
        {
            return before::becomes_a_book(folder, passphrase).await;
        }
        let opener = passphrase.map_or(Opener::Nothing, |passphrase| Opener::Passphrase(passphrase.clone()));
        let book = Book::open(place, &opener).await?;
        let salon = Self::of(book, place.clone());
        salon.views_in_force().await?;
        Ok(Opened { salon, code: None, set_aside: None })
    }

    /// Opens the salon of a place, or begins one where there is none.
    ///
    /// *Errors*: as [`Salon::open`] and [`Salon::begin`].
    pub async fn open_or_begin(place: &Place, passphrase: Option<&Passphrase>) -> Result<Opened, DeskFault> {
        match place {
            Place::Folder(folder) if !Self::is_in(folder) => Self::begin(place, passphrase).await,
            _ => Self::open(place, passphrase).await,
        }
    }
}
