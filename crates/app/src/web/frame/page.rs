//! Rendering: the shell round every page, and the calm pages for what goes wrong.

use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use desk::DeskFault;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use measure::text::sentence;

/// What stands round every page.
pub struct Shell {
    /// The page's title.
    pub title: String,
    /// The salon's name.
    pub house: String,
    /// Which part of the program this is.
    pub here: &'static str,
}

impl Shell {
    /// A shell among the clients.
    pub fn clients(title: impl Into<String>, house: &str) -> Self {
        Self { title: title.into(), house: house.to_owned(), here: "clients" }
    }

    /// A shell at the shelf.
    pub fn shelf(title: impl Into<String>, house: &str) -> Self {
        Self { title: title.into(), house: house.to_owned(), here: "shelf" }
    }

    /// A shell among the settings.
    pub fn settings(title: impl Into<String>, house: &str) -> Self {
        Self { title: title.into(), house: house.to_owned(), here: "settings" }
    }
}

/// Draws a page with a status.
pub fn page(status: StatusCode, template: &impl Template) -> Response {
    match template.render() {
        Ok(text) => (status, Html(text)).into_response(),
        Err(error) => {
            tracing::error!(%error, "a page could not be drawn");
            (StatusCode::INTERNAL_SERVER_ERROR, "This page could not be drawn. Nothing was lost; go back and try again.").into_response()
        }
    }
}

/// What somebody else saved meanwhile, beside what was to be saved.
pub struct Both {
    /// What is kept now.
    pub theirs: Vec<String>,
    /// What was typed or sent.
    pub yours: Vec<String>,
    /// The file that was sent, to be taken all the same without choosing it again.
    pub again: Option<Again>,
}

/// A file as it was sent, in a form of its own.
pub struct Again {
    /// Where it is sent.
    pub action: &'static str,
    /// The version that is kept now.
    pub seen: i64,
    /// How it is to be taken.
    pub how: &'static str,
    /// The file.
    pub taken: String,
    /// What the button says.
    pub says: &'static str,
}

/// Above what was changed by somebody else.
pub const CHANGED_ELSEWHERE: &str = "Changed on another tablet";

/// What is said where somebody else saved first.
pub const BOTH_BELOW: &str =
    "Somebody saved while this page was open, so yours is not saved. Both stand below; saving now replaces theirs with yours.";

#[derive(Template)]
#[template(path = "frame/fault.html")]
struct FaultPage {
    shell: Shell,
    says: String,
    way_on: &'static str,
    way_on_says: &'static str,
}

/// What a handler could not do.
pub enum Trouble {
    /// The records said no.
    Store(DeskFault),
    /// There is no such page.
    NoPage,
    /// It was given up after a minute.
    Late,
    /// Our own fault; its cause is logged, not shown.
    Ours(String),
}

impl From<salon::book::NoId> for Trouble {
    fn from(fault: salon::book::NoId) -> Self {
        Self::Store(fault.into())
    }
}

impl From<DeskFault> for Trouble {
    fn from(fault: DeskFault) -> Self {
        Self::Store(fault)
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let (status, title, says) = match self {
            Self::NoPage | Self::Store(DeskFault::Unknown(_)) => (
                StatusCode::NOT_FOUND,
                "Nothing here",
                "There is no such page or record. The address may be mistyped or the record gone.".to_owned(),
            ),
            Self::Store(fault @ DeskFault::Changed { .. }) => (StatusCode::CONFLICT, "Changed elsewhere", sentence(&fault.to_string())),
            Self::Store(fault @ DeskFault::Refused(_)) => (StatusCode::UNPROCESSABLE_ENTITY, "Not saved", sentence(&fault.to_string())),
            Self::Store(fault) => {
                tracing::error!(%fault, "the records");
                (StatusCode::INTERNAL_SERVER_ERROR, "Not saved", sentence(&fault.to_string()))
            }
            Self::Late => (
                StatusCode::SERVICE_UNAVAILABLE,
                "That took too long",
                "It took too long and was given up. What was saved before is safe; go back and try again.".to_owned(),
            ),
            Self::Ours(cause) => {
                tracing::error!(%cause, "a fault of the program");
                (
                    StatusCode::INTERNAL_SERVER_ERROR,
                    "That went wrong",
                    "The program made a mistake and noted it. What was saved before is safe; go back and try again.".to_owned(),
                )
            }
        };
        let fault = FaultPage { shell: Shell::clients(title, ""), says, way_on: "/clients", way_on_says: "To the clients" };
        page(status, &fault)
    }
}

/// A moment as it is read in the salon.
pub fn moment(ms: i64) -> String {
    Timestamp::from_millisecond(ms)
        .map(|moment| moment.to_zoned_datetime(TimeZone::system()).strftime("%-d %B %Y, %H:%M").to_string())
        .unwrap_or_default()
}
