//! A consent as it is shown: the words, and when and how it was given.

use salon::book::{ClientBook, ConsentState, Purpose, Signed, Wording};

/// A consent as it is shown.
pub struct ConsentView {
    pub title: &'static str,
    pub says: &'static [&'static str],
    pub version: &'static str,
    /// When and how it was given, where it was.
    pub given: Option<String>,
}

/// What is asked for a purpose, and whether it was given.
pub fn consent_view(book: &ClientBook, purpose: Purpose) -> Option<ConsentView> {
    let wording = Wording::now(purpose)?;
    let given = book.consents.get(&purpose).map(given_words);
    Some(ConsentView { title: wording.title, says: wording.says, version: wording.version, given })
}

/// When and how a consent was given, and the version of the words.
pub fn given_words(given: &ConsentState) -> String {
    let at = given.minute.map(|minute| format!(", {:02}:{:02}", minute / 60, minute % 60)).unwrap_or_default();
    let how = match &given.signed {
        Some(Signed::Drawn(_)) => "Signed on the screen".to_owned(),
        Some(Signed::Typed(name)) => format!("Signed by typing “{name}”"),
        None => "Said and noted".to_owned(),
    };
    format!("{how} on {}{at}, words {}.", crate::web::visits::view::day_words(given.on), given.wording)
}
