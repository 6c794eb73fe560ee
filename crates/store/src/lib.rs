//! The records, encrypted, on one machine.
