//! Taking in what is sent: photos and text files, with their fields.

use crate::web::client::form::Typed;
use crate::web::frame::page::Trouble;
use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use axum::http::StatusCode;
use desk::{ClientId, NewPhoto, PhotoFacts, PhotoId, Salon};
use measure::text::sentence;
use photo::{LARGEST_FILE, PhotoFault};
use reading::Picture;
use tokio::sync::Semaphore;

/// The most bytes of a posted photo: the largest file, and the form round it.
pub const MOST_PHOTO_BYTES: usize = LARGEST_FILE + 64 * 1024;

/// How many photos are opened at a time, so that memory stays bounded.
static OPENING: Semaphore = Semaphore::const_new(2);

/// Why something sent was not taken: how the answer is marked, and the sentence.
pub type Refused = (StatusCode, String);

/// A posted form with a file.
pub struct Sent {
    /// The answers beside the file.
    pub typed: Typed,
    /// The file's bytes; empty when none was chosen.
    pub file: Vec<u8>,
}

/// Takes in a form with a file named `file`.
///
/// *Errors*: a form cut short or too large, as a sentence.
pub async fn take(mut upload: Multipart) -> Result<Sent, Refused> {
    let refused = |error: MultipartError| {
        if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
            let says = "That file is larger than can be taken in: send it in a smaller size.".to_owned();
            return (StatusCode::PAYLOAD_TOO_LARGE, says);
        }
        (StatusCode::UNPROCESSABLE_ENTITY, "The file did not arrive whole: choose it again.".to_owned())
    };
    let mut pairs = Vec::new();
    let mut file = Vec::new();
    while let Some(field) = upload.next_field().await.map_err(refused)? {
        match field.name().map(str::to_owned).as_deref() {
            // Camera and gallery are two fields of one name; one of them is empty.
            Some("file") => {
                let bytes = field.bytes().await.map_err(refused)?;
                if !bytes.is_empty() {
                    file = bytes.to_vec();
                }
            }
            Some(name) => {
                let name = name.to_owned();
                pairs.push((name, field.text().await.map_err(refused)?));
            }
            None => {}
        }
    }
    Ok(Sent { typed: Typed::posted(pairs), file })
}

impl Sent {
    /// What the browser calls the camera that it took the photo with, where it did.
    pub fn camera(&self) -> Option<String> {
        let plain: String = self.typed.one("camera").chars().filter(|c| !c.is_control()).take(80).collect();
        Some(plain.trim().to_owned()).filter(|name| !name.is_empty())
    }
}

/// Whether the sender was refused or the program failed.
pub enum Stopped {
    /// The sender may do better.
    Refused(Refused),
    /// She cannot.
    Failed(Trouble),
}

impl From<Trouble> for Stopped {
    fn from(trouble: Trouble) -> Self {
        Self::Failed(trouble)
    }
}

/// Opens a photo, strips it, looks for the chart and keeps it.
pub async fn keep_photo(salon: &Salon, client: Option<ClientId>, bytes: Vec<u8>, mut facts: PhotoFacts) -> Result<PhotoId, Stopped> {
    if bytes.is_empty() {
        return Err(Stopped::Refused((StatusCode::UNPROCESSABLE_ENTITY, "Choose or take a photo first.".to_owned())));
    }
    facts.camera = photo::camera_of(&bytes).or_else(|| facts.camera.take());
    let opened = beside(move || {
        let picture = photo::stripped(&bytes)?;
        let photo = photo::open_photo(&picture)?;
        Ok((photo::format_of(&picture)?, picture, photo.size(), reading::find_chart(&photo)))
    })
    .await?;
    let (format, picture, size, found) = opened.map_err(|fault| Stopped::Refused(refusal(&fault)))?;
    facts.format = format;
    facts.size = size;
    facts.found = found;
    facts.chart = found;
    let new = NewPhoto { client, picture, facts };
    salon.keep_photo(&new).await.map_err(|fault| Stopped::Failed(fault.into()))
}

/// Works on a kept photo beside the event loop.
pub async fn with_photo<T: Send + 'static>(
    salon: &Salon,
    id: PhotoId,
    work: impl FnOnce(&Picture) -> Result<T, PhotoFault> + Send + 'static,
) -> Result<Result<T, PhotoFault>, Trouble> {
    let picture = salon.picture(id).await?;
    beside(move || work(&photo::open_photo(&picture)?)).await
}

/// Works beside the event loop, so many at a time. The turn belongs to the work, not to
/// who asked for it: a sender who leaves does not make room before her photo's memory is
/// given back.
async fn beside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, PhotoFault> + Send + 'static,
) -> Result<Result<T, PhotoFault>, Trouble> {
    in_turn(&OPENING, work).await.map_err(Trouble::Ours)
}

/// How many frames are looked at a time while a photo is framed.
static GLANCING: Semaphore = Semaphore::const_new(1);

/// As [`beside`], with a turn of its own: a frame that is being framed waits for no photo.
pub async fn at_a_glance<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, PhotoFault> + Send + 'static,
) -> Result<Result<T, PhotoFault>, Trouble> {
    in_turn(&GLANCING, work).await.map_err(Trouble::Ours)
}

async fn in_turn<T: Send + 'static>(turns: &'static Semaphore, work: impl FnOnce() -> T + Send + 'static) -> Result<T, String> {
    let turn = turns.acquire().await.map_err(|error| error.to_string())?;
    let kept = move || {
        let _turn = turn;
        work()
    };
    tokio::task::spawn_blocking(kept).await.map_err(|error| error.to_string())
}

/// A photo's fault as an answer.
pub fn refusal(fault: &PhotoFault) -> Refused {
    let status = match fault {
        PhotoFault::TooManyBytes { .. } => StatusCode::PAYLOAD_TOO_LARGE,
        PhotoFault::Heic | PhotoFault::Format => StatusCode::UNSUPPORTED_MEDIA_TYPE,
        _ => StatusCode::UNPROCESSABLE_ENTITY,
    };
    (status, sentence(&fault.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    #[test]
    fn a_turn_lasts_as_long_as_its_work_though_the_sender_has_left() {
        static TURNS: Semaphore = Semaphore::const_new(1);
        let (go_on, told) = mpsc::channel::<()>();
        let (begun, has_begun) = mpsc::channel::<()>();
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).build().unwrap();
        runtime.block_on(async {
            let asked = tokio::spawn(in_turn(&TURNS, move || {
                begun.send(()).unwrap();
                told.recv().unwrap();
            }));
            tokio::task::spawn_blocking(move || has_begun.recv().unwrap()).await.unwrap();
            asked.abort();
            assert!(asked.await.is_err(), "the sender has left");
            assert_eq!(TURNS.available_permits(), 0, "its work still holds its memory");
            go_on.send(()).unwrap();
            assert!(TURNS.acquire().await.is_ok(), "the turn comes back when the work is done");
        });
    }
}
