//! The desk: one function for each act that a technician does.
//!
//! Floor 5: it loads what a decision needs, lets `salon` decide, keeps what was
//! decided, and answers. It is the only door to what is kept; pages and commands
//! parse, call one function, and show. It holds no rule of its own.
//!
//! *Invariants*: one act is one transaction; an act that was decided from what is
//! no longer in force writes nothing; a client's health is read only after that
//! was recorded.

pub mod acts;
mod before;
mod client_books;
mod client_line;
mod clients;
mod consultation;
pub mod contacts;
mod day_book;
mod day_page;
mod drafts;
mod erasing;
mod export;
mod fault;
mod house;
mod kept_plan;
mod known;
pub mod limits;
mod making;
mod opening;
mod packed;
mod people;
mod photos;
mod plans;
mod recent;
mod safety;
mod salon_book;
mod short;
pub mod show;
mod states;
mod views;
mod visit_for_invoice;
mod visits;
mod words;
mod written;

pub use client_line::ClientLine;
pub use clients::{Client, Consent, HEALTH_WORDING};
pub use consultation::Heard;
pub use drafts::{Draft, TypedAnswers};
pub use erasing::Which as WhichRecords;
pub use fault::DeskFault;
pub use house::{SeenBonds, Versioned};
pub use kept_plan::{ForPlan, KeptPlan, MadeFrom};
pub use making::{CALENDAR_FILE, PlanInput, Planned, calendar, files, in_words, made_for, plan, plan_json, ways};
pub use people::{CONTACT_WORDING, OtherRecord};
pub use photos::{FiledReading, NewPhoto, NewReading, PhotoNote};
pub use plans::{NewPlan, Plan, PlanLine};
pub use safety::{LastBackup, RecordsNow};
pub use salon::book::colour::{ChartSeen, KeptReading, Measured, Phone, Phones, PhotoFacts, ReadRing, SwatchBeside};
pub use salon::book::{Birthday, Contact};
pub use salon::book::{ClientId, House, PhotoId, PlanId, Purpose, ReadingId, SeenBond};
pub use salon_book::{Opened, Salon};
pub use store::Protection;
pub use store::book::{Opener, Passphrase, Place, RecoveryCode};
pub use written::{event_of, today};
