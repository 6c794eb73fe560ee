//! What a client's file says of the photo of a reading, and noting what is found in one.

use crate::web::frame::page::Trouble;
use desk::{DeskFault, PhotoFacts, PhotoId, PhotoNote, Salon};
use photo::Format;

/// Notes where things lie in a photo. What was set last counts.
pub async fn note(salon: &Salon, photo: &PhotoNote, facts: &PhotoFacts) -> Result<(), Trouble> {
    salon.note_photo(photo.id, photo.version, facts).await?;
    Ok(())
}

/// The format that a reading's photo is kept in; of one thrown away, the usual.
pub async fn format_of(salon: &Salon, photo: Option<PhotoId>) -> Result<Format, Trouble> {
    let Some(id) = photo else { return Ok(Format::default()) };
    match salon.photo(id).await {
        Ok(photo) => Ok(photo.facts.format),
        Err(DeskFault::Unknown(_)) => Ok(Format::default()),
        Err(fault) => Err(fault.into()),
    }
}

/// The folder that a client's file names her photos in.
const FOLDER: &str = "readings/";

/// How a client's file names the photo of a reading.
pub fn file_of(reading: impl std::fmt::Display, format: Format) -> String {
    format!("{FOLDER}{reading}{}", format.suffix())
}

/// The marks that belong to a photo so named.
pub fn marks_beside(photo: &str) -> String {
    format!("{}.json", without_suffix(photo).unwrap_or(photo))
}

/// The reading that a photo so named stands for.
pub fn reading_of(photo: &str) -> Option<&str> {
    without_suffix(photo.strip_prefix(FOLDER)?)
}

fn without_suffix(photo: &str) -> Option<&str> {
    [Format::Jpeg, Format::Png, Format::WebP].iter().find_map(|format| photo.strip_suffix(format.suffix()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_named_in_a_clients_file_leads_back_to_its_reading() {
        for format in [Format::Jpeg, Format::Png, Format::WebP] {
            let photo = file_of("0190b7a0-0000-7000-8000-000000000000", format);
            assert_eq!(reading_of(&photo), Some("0190b7a0-0000-7000-8000-000000000000"));
            assert_eq!(marks_beside(&photo), "readings/0190b7a0-0000-7000-8000-000000000000.json");
        }
        for other in ["ends.jpg", "readings/x.gif", "", "readings/"] {
            assert_eq!(reading_of(other), None, "{other}");
        }
    }
}
