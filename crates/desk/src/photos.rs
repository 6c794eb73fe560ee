//! Photos that colours were read from, and the readings.

use crate::written::{Act, new_id, read_text, still, stream_of, write_text};
use crate::{DeskFault, Salon};
use salon::book::{
    BlobRef, ClientBook, ClientEvent, ClientId, HouseBook, HouseEvent, KeptReading, PhotoFacts, PhotoId, PhotoState, PlanId, ReadingId,
};
use store::book::{BlobId, Stream, ViewWrite};
use uuid::Uuid;

/// Which view says in whose stream a photo, a reading or a plan stands.
pub(crate) const WHERE: &str = "where";

/// A photo to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPhoto {
    /// Whose ends; nobody's when it shows the salon's own swatches.
    pub client: Option<ClientId>,
    /// The picture's bytes, without metadata.
    pub picture: Vec<u8>,
    /// Where things lie in it.
    pub facts: PhotoFacts,
}

/// A photo without its picture.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoNote {
    /// Which.
    pub id: PhotoId,
    /// Whose ends; nobody's when it shows the salon's own swatches.
    pub client: Option<ClientId>,
    /// Where things lie in it.
    pub facts: PhotoFacts,
    /// Counts the note's changes from one.
    pub version: i64,
    /// When it was taken in, ms since 1970.
    pub kept_ms: i64,
}

/// A reading to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NewReading {
    /// Whose.
    pub client: ClientId,
    /// The photo it was read from, where there is one.
    pub photo: Option<PhotoId>,
    /// What was read.
    pub kept: KeptReading,
}

/// A reading as it was made.
#[derive(Debug, Clone, PartialEq)]
pub struct FiledReading {
    /// Which.
    pub id: ReadingId,
    /// Whose.
    pub client: ClientId,
    /// The photo it was read from, where there is one.
    pub photo: Option<PhotoId>,
    /// What was read.
    pub kept: KeptReading,
    /// When the hair was seen, ms since 1970: when its photo was taken in, or when it was read.
    pub seen_ms: i64,
    /// Whether the same photo was read again later.
    pub superseded: bool,
}

fn put_where(id: u128, stream: Stream) -> ViewWrite {
    ViewWrite::Put { view: WHERE.to_owned(), key: id.to_be_bytes().to_vec(), owner: stream, body: stream.to_string().into_bytes() }
}

/// Where what an event of hers makes is found again.
pub(crate) fn where_of(id: ClientId, event: &ClientEvent) -> Option<ViewWrite> {
    let made = match event {
        ClientEvent::PhotoKept { photo, .. } => photo.0,
        ClientEvent::ColourKept { reading, .. } => reading.0,
        ClientEvent::PlanMade { plan, .. } => plan.0,
        ClientEvent::VisitBegun { visit, .. } => visit.0,
        ClientEvent::PhotoRemoved { photo } => {
            return Some(ViewWrite::Take { view: WHERE.to_owned(), key: photo.0.to_be_bytes().to_vec() });
        }
        _ => return None,
    };
    Some(put_where(made, stream_of(id)))
}

pub(crate) fn wheres_of(id: ClientId, book: &ClientBook) -> Vec<ViewWrite> {
    let made = book
        .photos
        .keys()
        .map(|p| p.0)
        .chain(book.readings.iter().map(|r| r.id.0))
        .chain(book.plans.iter().map(|p| p.id.0))
        .chain(book.year.visits.iter().map(|v| v.id.0));
    made.map(|made| put_where(made, stream_of(id))).collect()
}

pub(crate) fn wheres_of_house(house: &HouseBook) -> Vec<ViewWrite> {
    house.photos.keys().map(|photo| put_where(photo.0, Stream::House)).collect()
}

fn note_of(id: PhotoId, client: Option<ClientId>, photo: &PhotoState) -> Result<PhotoNote, DeskFault> {
    let facts = read_text(&photo.note, "what is noted of a photo")?;
    Ok(PhotoNote { id, client, facts, version: photo.version as i64, kept_ms: photo.kept_ms })
}

/// A client's readings, oldest first.
///
/// *Errors*: a document that no longer has its shape.
pub(crate) fn readings(id: ClientId, book: &ClientBook) -> Result<Vec<FiledReading>, DeskFault> {
    let of = |(at, kept): (usize, &salon::book::ReadingState)| {
        Ok(FiledReading {
            id: kept.id,
            client: id,
            photo: kept.photo,
            kept: read_text(&kept.document, "a reading")?,
            seen_ms: kept.photo.and_then(|photo| book.photos.get(&photo)).map_or(kept.read_ms, |photo| photo.kept_ms),
            superseded: kept.photo.is_some() && book.readings[at + 1..].iter().any(|later| later.photo == kept.photo),
        })
    };
    book.readings.iter().enumerate().map(of).collect()
}

impl Salon {
    /// In whose stream something stands.
    pub(crate) async fn stream_with(&self, id: u128, what: &'static str) -> Result<Stream, DeskFault> {
        let row = self.book.view_row(WHERE, &id.to_be_bytes()).await?.ok_or(DeskFault::Unknown(what))?;
        String::from_utf8_lossy(&row.body).parse().map_err(|cause: String| DeskFault::damaged("where something stands", &cause))
    }

    /// Whose a photo, a reading or a plan is.
    pub(crate) async fn client_with(&self, id: u128, what: &'static str) -> Result<ClientId, DeskFault> {
        match self.stream_with(id, what).await? {
            Stream::Client(client) => Ok(ClientId(client.as_u128())),
            _ => Err(DeskFault::Unknown(what)),
        }
    }

    /// Keeps a photo.
    ///
    /// *Errors*: the client is not there; the records.
    pub async fn keep_photo(&self, photo: &NewPhoto) -> Result<PhotoId, DeskFault> {
        let id = PhotoId(new_id());
        let note = write_text(&photo.facts, "what is noted of a photo")?;
        let world = self.world_now().await?;
        let blob = |owner| self.book.put_blob(owner, &photo.picture);
        match photo.client {
            Some(client) => {
                let book = self.client_book(client, None).await?;
                let blob = BlobRef(blob(stream_of(client)).await?.0.as_u128());
                self.keep_of(client, book, vec![ClientEvent::PhotoKept { photo: id, blob, note }], &world, None).await?;
            }
            None => {
                let blob = BlobRef(blob(Stream::House).await?.0.as_u128());
                let act = Act::default().house(vec![HouseEvent::PhotoKept { photo: id, blob, note }]).view(put_where(id.0, Stream::House));
                self.keep(&world, act, None).await?;
            }
        }
        Ok(id)
    }

    async fn photo_state(&self, id: PhotoId) -> Result<(Option<ClientId>, PhotoState), DeskFault> {
        let gone = DeskFault::Unknown("photo");
        match self.stream_with(id.0, "photo").await? {
            Stream::Client(client) => {
                let client = ClientId(client.as_u128());
                let book = self.client_book(client, None).await?;
                Ok((Some(client), book.photos.get(&id).cloned().ok_or(gone)?))
            }
            _ => Ok((None, self.house_book().await?.photos.get(&id).cloned().ok_or(gone)?)),
        }
    }

    /// A photo without its picture.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn photo(&self, id: PhotoId) -> Result<PhotoNote, DeskFault> {
        let (client, state) = self.photo_state(id).await?;
        note_of(id, client, &state)
    }

    /// A photo's picture.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn picture(&self, id: PhotoId) -> Result<Vec<u8>, DeskFault> {
        let (_, state) = self.photo_state(id).await?;
        Ok(self.book.blob(BlobId(Uuid::from_u128(state.blob.0))).await?)
    }

    /// A client's photos, or those of the salon's own swatches; newest first.
    ///
    /// *Errors*: the records.
    pub async fn photos_of(&self, client: Option<ClientId>) -> Result<Vec<PhotoNote>, DeskFault> {
        let mut all: Vec<PhotoNote> = match client {
            Some(id) => self
                .client_book(id, None)
                .await?
                .photos
                .iter()
                .map(|(photo, state)| note_of(*photo, client, state))
                .collect::<Result<_, _>>()?,
            None => self.house_book().await?.photos.iter().map(|(photo, state)| note_of(*photo, None, state)).collect::<Result<_, _>>()?,
        };
        all.sort_by_key(|photo| std::cmp::Reverse((photo.kept_ms, photo.id)));
        Ok(all)
    }

    /// Keeps where things lie in a photo.
    ///
    /// *Errors*: it was marked elsewhere in the meantime; nothing has this id; the records.
    pub async fn note_photo(&self, id: PhotoId, seen: i64, facts: &PhotoFacts) -> Result<i64, DeskFault> {
        let (client, state) = self.photo_state(id).await?;
        still(seen, state.version)?;
        let world = self.world_now().await?;
        let note = write_text(facts, "what is noted of a photo")?;
        match client {
            Some(client) => {
                let book = self.client_book(client, None).await?;
                self.keep_of(client, book, vec![ClientEvent::PhotoMarked { photo: id, note }], &world, None).await?;
            }
            None => {
                let version = self.house_book().await?.version;
                self.keep(&world, Act::default().house_at(version, vec![HouseEvent::PhotoMarked { photo: id, note }]), None).await?;
            }
        }
        Ok(seen + 1)
    }

    /// Throws a photo away.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn remove_photo(&self, id: PhotoId) -> Result<(), DeskFault> {
        let (client, state) = self.photo_state(id).await?;
        let world = self.world_now().await?;
        match client {
            Some(client) => {
                let book = self.client_book(client, None).await?;
                self.keep_of(client, book, vec![ClientEvent::PhotoRemoved { photo: id }], &world, None).await?;
            }
            None => {
                let take = ViewWrite::Take { view: WHERE.to_owned(), key: id.0.to_be_bytes().to_vec() };
                self.keep(&world, Act::default().house(vec![HouseEvent::PhotoRemoved { photo: id }]).view(take), None).await?;
            }
        }
        // The event stands; only then the picture goes, so that no event names a picture that is not there.
        self.book.remove_blob(BlobId(Uuid::from_u128(state.blob.0))).await?;
        Ok(())
    }

    /// Keeps a reading.
    ///
    /// *Errors*: the client or the photo is not there; the records.
    pub async fn keep_reading(&self, reading: &NewReading) -> Result<ReadingId, DeskFault> {
        let id = ReadingId(new_id());
        let book = self.client_book(reading.client, None).await?;
        if reading.photo.is_some_and(|photo| !book.photos.contains_key(&photo)) {
            return Err(DeskFault::Unknown("photo"));
        }
        let world = self.world_now().await?;
        let event = ClientEvent::ColourKept { reading: id, photo: reading.photo, document: write_text(&reading.kept, "a reading")? };
        self.keep_of(reading.client, book, vec![event], &world, None).await?;
        Ok(id)
    }

    /// A reading.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn reading(&self, id: ReadingId) -> Result<FiledReading, DeskFault> {
        let client = self.client_with(id.0, "reading").await?;
        self.readings_of(client).await?.into_iter().find(|reading| reading.id == id).ok_or(DeskFault::Unknown("reading"))
    }

    /// A client's readings, by when her hair was seen.
    ///
    /// *Errors*: the records.
    pub async fn readings_of(&self, client: ClientId) -> Result<Vec<FiledReading>, DeskFault> {
        let mut all = readings(client, &self.client_book(client, None).await?)?;
        all.sort_by_key(|reading| (reading.seen_ms, reading.id));
        Ok(all)
    }

    /// Whose a plan is.
    pub(crate) async fn client_of_plan(&self, plan: PlanId) -> Result<ClientId, DeskFault> {
        self.client_with(plan.0, "plan").await
    }
}
