//! What is tried on every page, and pages held against acts.

pub mod asking;
mod consultation;
mod every_page;
mod packs;
mod people;
mod same_events;
mod two_tablets;
