//! What happened, as events, and what is in force of it.
//!
//! *Invariants*: all that changes a record goes through a `decide_…` function and
//! `apply`; a later event corrects an earlier one, nothing is overwritten; the
//! world (day, actor) is handed in. Each event has a kind and each kind a format
//! number; what was ever written can be read.

pub mod appointments;
pub mod client;
pub mod client_event;
pub mod colour;
pub mod consent;
pub mod contact;
pub mod day;
pub mod facts;
pub mod health;
pub mod house;
pub mod id;
pub mod lots;
pub mod money;
pub mod people;
pub mod same_person;
pub mod shelf;
pub mod tax;
pub mod visit;

pub use appointments::{
    Appointment, Booked, DiaryBook, DiaryEvent, Moved, TimeOfDay, decide_booked, decide_cancelled, decide_moved, predicted_minutes,
};
pub use client::{
    ClientBook, FactsChange, FactsDecided, PhotoState, PlanState, ReadingState, SkinTest, decide_consent, decide_corrected, decide_facts,
    decide_placed, decide_skin_read, no_such,
};
pub use client_event::{ClientEvent, MadeFrom, SitePlaced, SkinFound};
pub use colour::{ChartSeen, KeptReading, Measured, Phone, Phones, PhotoFacts, ReadRing, SwatchBeside, target_of};
pub use consent::{ConsentState, Purpose, Signature, Signed, WORDINGS, Wording, typed_signature};
pub use contact::{Birthday, Contact};
pub use day::{AsOf, Day, NoDay, Stood, minute_of};
pub use facts::{Facts, FactsSection, HealthAnswers};
pub use health::{HealthBook, HealthEvent, PlanJudged};
pub use house::{House, HouseBook, HouseEvent, PriceList, Role, SeenBond};
pub use id::{AppointmentId, BlobRef, ClientId, HealthId, NoId, PersonId, PhotoId, PieceId, PlanId, ReadingId, VisitId};
pub use lots::LotsBook;
pub use money::{
    Asked, Invoice, InvoiceLine, InvoiceMade, MoneyBook, MoneyEvent, PaidBy, decide_invoice, decide_returned, decide_taken, lines_of_visit,
};
pub use people::{decide_contact, decide_merge, decide_part, decide_takes};
pub use same_person::SamePerson;
pub use shelf::{ShelfBook, ShelfEvent, decide_shelf_corrected, order};
pub use tax::{Percent, Tax};
pub use visit::{BondFound, ClosingChecks, NextDate, PieceAt, ShelfPiece, Step, VisitKind, VisitState, Year};

use serde::{Deserialize, Serialize};

/// The format of events now: the shape of what each says.
pub const FORMAT: u32 = 1;

/// What a decision needs to know of the world.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct World {
    /// The salon's day.
    pub on: Day,
    /// The time of that day, `10:30`, where it was said.
    pub at: Option<String>,
    /// Who acts.
    pub by: PersonId,
}

/// An event with the moment it happened, as it is sealed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Happened<E> {
    /// The salon's day.
    pub on: Day,
    /// The time of that day, where it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// What happened.
    #[serde(flatten)]
    pub what: E,
}

/// The version that a change began from, and the one in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// What was shown.
    pub seen: u64,
    /// What is in force.
    pub now: u64,
}
