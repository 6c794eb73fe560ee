//! What stands at the head of every page.

use crate::words;
use serde::Serialize;

/// Whose paper it is: what stands at the head of every page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Heading {
    /// The salon's name.
    pub salon: Option<String>,
    /// The client's name or number, as the salon calls her.
    pub client: Option<String>,
    /// The day the set goes in, when it is known.
    pub date: Option<jiff::civil::Date>,
}

/// The head of every page, as its template reads it.
#[derive(Debug, Serialize)]
pub(crate) struct Head {
    salon: String,
    client: String,
    date: Option<String>,
}

impl Head {
    pub fn of(heading: &Heading) -> Self {
        Self {
            salon: heading.salon.as_deref().map(words::one_line).unwrap_or_default(),
            client: heading.client.as_deref().map(words::one_line).unwrap_or_default(),
            date: heading.date.map(words::long_date),
        }
    }
}
