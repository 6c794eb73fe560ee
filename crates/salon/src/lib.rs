//! What happened and what is promised: clients, stock, quotes, diary, plans.

pub mod book;
pub mod client;
pub mod consultation;
pub mod diary;
pub mod fault;
pub mod make;
pub mod plan;
pub mod quote;
pub mod stock;
pub mod words;

pub use fault::{Fault, Place};
