//! Published tables, carried as numbers.

pub mod chart;
pub mod spectral;
