//! The client's file: written, stored, checked, and turned into facts.

mod check;
mod fact;
mod facts;
mod file;
pub mod fitted;
pub mod readings;

pub use check::{of_the_tapes, words_of};
pub use fact::{Fact, Section};
pub use facts::{Avoid, ClientFacts, ColourAsked, Fullness, HeadFacts, LastSite, PieceFacts, Prices, Wish};
pub use file::{
    AvoidEntry, ClientFile, ClientSection, ColourSection, ConsultationSection, HairSection, HeadSection, LastSiteEntry, LastVisitSection,
    PatchLook, PiecesSection, PricesSection, TapedPartingEntry, known_keys, nearest_key,
};
