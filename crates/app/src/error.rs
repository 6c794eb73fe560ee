//! How a command ends when it does not end well: one sentence, one exit code.

use std::fmt;

/// The exit codes of the command line, as its contract lists them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// The thing asked for cannot be done.
    CannotBeDone,
    /// Wrong use or bad input.
    BadInput,
    /// No salon there.
    NoSalon,
    /// In use by another process.
    InUse,
    /// Wrong passphrase.
    WrongPassphrase,
    /// Damaged.
    Damaged,
    /// Written by a newer version.
    Newer,
}

impl Exit {
    /// The number that the process ends with.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::CannotBeDone => 1,
            Self::BadInput => 2,
            Self::NoSalon => 10,
            Self::InUse => 11,
            Self::WrongPassphrase => 12,
            Self::Damaged => 13,
            Self::Newer => 14,
        }
    }

    /// How the process ends for what the records say, by their own number; all that
    /// has none cannot be done.
    #[must_use]
    pub fn of(code: u8) -> Self {
        let of_the_records = [Self::NoSalon, Self::InUse, Self::WrongPassphrase, Self::Damaged, Self::Newer];
        of_the_records.into_iter().find(|exit| exit.code() == code).unwrap_or(Self::CannotBeDone)
    }
}

/// Why a command ends without having done what was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// How the process ends.
    pub exit: Exit,
    /// What is wrong, where, and how to mend it; a line a fault.
    pub message: String,
}

impl Failure {
    /// Wrong use or bad input.
    #[must_use]
    pub fn bad_input(message: impl Into<String>) -> Self {
        Self { exit: Exit::BadInput, message: message.into() }
    }

    /// The input is sound, but what it asks for cannot be done.
    #[must_use]
    pub fn cannot(message: impl Into<String>) -> Self {
        Self { exit: Exit::CannotBeDone, message: message.into() }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Failure {}
