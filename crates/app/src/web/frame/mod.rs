//! What every page stands in: its frame and its faults, its address, the guard
//! before it, the connection it goes out on, and the files that come with it.

pub mod acting;
pub mod assets;
pub mod at_hand;
pub mod guard;
pub mod house;
pub mod notice;
pub mod page;
pub mod routes;
pub mod serving;
pub mod swatch;
