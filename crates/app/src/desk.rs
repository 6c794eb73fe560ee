//! The use cases: one function for each thing a technician does. Command line
//! and pages share them and hold no logic of their own.
