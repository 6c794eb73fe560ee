//! The client's file: written, stored, checked, and turned into facts.

mod check;
pub(crate) mod fact;
mod facts;
mod file;
pub mod fitted;
pub mod readings;

pub use check::of_the_tapes;
pub use fact::{Fact, Section, words_of};
pub use facts::{Avoid, ClientFacts, ColourAsked, Fullness, HeadFacts, LastSite, PieceFacts, Prices, Wish};
pub use file::{
    AvoidEntry, ClientFile, ClientSection, ColourSection, ConsultationSection, HairSection, HeadSection, LastSiteEntry, LastVisitSection,
    PatchLook, PiecesSection, PricesSection, TapedPartingEntry, known_keys, nearest_key,
};
