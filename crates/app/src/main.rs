//! The command line and the local web application.
fn main() {}
