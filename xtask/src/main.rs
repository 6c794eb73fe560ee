//! Generated documents.
fn main() {}
