//! What is tried on every page, and pages held against acts.

pub mod asking;
mod every_page;
mod people;
mod same_events;
mod two_tablets;
