//! What a person knows or keeps in a drawer: the passphrase and the recovery code.

use crate::StoreFault;
use age::secrecy::ExposeSecret;
use std::fmt;
use std::str::FromStr;
use zeroize::{Zeroize, Zeroizing};

/// The owner's passphrase; forgotten by the memory when it is dropped.
#[derive(Clone)]
pub struct Passphrase(Zeroizing<String>);

impl Passphrase {
    /// A passphrase as it was typed. One line's end at its end is left out.
    ///
    /// *Errors*: an empty one protects nothing.
    pub fn new(text: String) -> Result<Self, StoreFault> {
        let mut text = Zeroizing::new(text);
        while text.ends_with(['\n', '\r']) {
            text.pop();
        }
        if text.trim().is_empty() {
            return Err(StoreFault::PassphraseRefused("an empty passphrase protects nothing: choose some words, or none at all"));
        }
        Ok(Self(text))
    }

    pub(crate) fn bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    /// The passphrase itself, for records of the earlier kind; forgotten like this one.
    #[must_use]
    pub fn text(&self) -> Zeroizing<String> {
        self.0.clone()
    }
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase(…)")
    }
}

/// What opens a book.
#[derive(Debug, Clone)]
pub enum Opener {
    /// Nothing: the book has no passphrase.
    Nothing,
    /// The owner's passphrase.
    Passphrase(Passphrase),
    /// The printed recovery code.
    Code(RecoveryCode),
}

/// The printed code that opens the book and its backups when all else is lost.
///
/// *Meaning*: a secret of 256 bits, an X25519 identity of the age format. It is
/// printed in groups of four letters and digits; the last six are a checksum
/// that finds every slip in up to four places. With `AGE-SECRET-KEY-1` before it
/// and without the dashes it is the identity that any program for age archives
/// reads.
///
/// *Source*: key `bip173` for the checksum (Bech32), key `agev1` for the
/// identity.
#[derive(Clone)]
pub struct RecoveryCode(age::x25519::Identity);

/// What an identity's text begins with.
const IDENTITY: &str = "AGE-SECRET-KEY-1";
/// Letters and digits of the secret, the checksum included.
const LETTERS: usize = 58;
/// Letters and digits that a code is made of.
const ALPHABET: &str = "023456789ACDEFGHJKLMNPQRSTUVWXYZ";

impl RecoveryCode {
    /// The groups on the printed sheet; the last is shorter.
    pub const GROUPS: usize = LETTERS.div_ceil(4);

    /// A new code from the system's source of chance.
    pub(crate) fn generate() -> Self {
        Self(age::x25519::Identity::generate())
    }

    /// The code as it is printed. Show it once, keep it nowhere.
    #[must_use]
    pub fn printed(&self) -> Zeroizing<String> {
        let text = self.0.to_string();
        let letters = text.expose_secret().trim_start_matches(IDENTITY);
        let mut printed = Zeroizing::new(String::with_capacity(LETTERS + Self::GROUPS));
        for (i, letter) in letters.chars().enumerate() {
            if i > 0 && i % 4 == 0 {
                printed.push('-');
            }
            printed.push(letter);
        }
        printed
    }

    /// The public half: what backups are encrypted to. It opens nothing.
    #[must_use]
    pub fn recipient(&self) -> String {
        self.0.to_public().to_string()
    }

    pub(crate) const fn identity(&self) -> &age::x25519::Identity {
        &self.0
    }
}

impl FromStr for RecoveryCode {
    type Err = StoreFault;

    /// Reads a code as it was printed, in any groups, capitals or not. Letters
    /// that a code never holds are read as what they look like.
    fn from_str(text: &str) -> Result<Self, StoreFault> {
        let mut letters: Zeroizing<String> = Zeroizing::new(text.chars().filter(|c| !c.is_whitespace() && !"-–—_.".contains(*c)).collect());
        letters.make_ascii_uppercase();
        if let Some(rest) = letters.strip_prefix("AGESECRETKEY1") {
            letters = Zeroizing::new(rest.to_owned());
        }
        let mut read = Zeroizing::new(IDENTITY.to_owned());
        for (i, letter) in letters.chars().enumerate() {
            let letter = match letter {
                'O' => '0',
                'I' | '1' => 'L',
                'B' => '8',
                other => other,
            };
            if !ALPHABET.contains(letter) {
                return Err(StoreFault::NoCode(format!("group {} holds a sign that no code has", i / 4 + 1)));
            }
            read.push(letter);
        }
        let count = read.len() - IDENTITY.len();
        if count != LETTERS {
            return Err(StoreFault::NoCode(format!("it has {count} letters and digits instead of {LETTERS}")));
        }
        let identity = age::x25519::Identity::from_str(&read)
            .map_err(|_| StoreFault::NoCode("its checksum does not hold: a letter is mistyped".to_owned()))?;
        Ok(Self(identity))
    }
}

impl fmt::Debug for RecoveryCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RecoveryCode(…)")
    }
}

/// Overwrites a text that held a secret and could not be kept from being made.
pub(crate) fn forget(mut text: String) {
    text.zeroize();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_back_however_it_was_copied() {
        let code = RecoveryCode::generate();
        let printed = code.printed();
        assert_eq!(printed.split('-').count(), RecoveryCode::GROUPS);
        for text in [
            printed.to_string(),
            printed.to_lowercase(),
            printed.replace('-', " "),
            printed.replace('-', "\n"),
            format!("{IDENTITY}{}", printed.replace('-', "")),
            printed.replace('0', "o").replace('8', "B"),
        ] {
            assert_eq!(RecoveryCode::from_str(&text).unwrap().recipient(), code.recipient(), "{text}");
        }
        assert!(!format!("{code:?}").contains(&printed[..4]));
    }

    /// *Source*: key `bip173` states that the checksum finds any error in at most
    /// four characters; one and two are tried here.
    #[test]
    fn a_slip_in_one_or_two_letters_is_found() {
        let code = RecoveryCode::generate();
        let plain: Vec<char> = code.printed().replace('-', "").chars().collect();
        for first in 0..LETTERS {
            for second in (first..LETTERS).step_by(7) {
                let mut slipped = plain.clone();
                for at in [first, second] {
                    let next = ALPHABET.find(slipped[at]).unwrap() + 1;
                    slipped[at] = ALPHABET.chars().nth(next % ALPHABET.len()).unwrap();
                }
                let text: String = slipped.into_iter().collect();
                let fault = RecoveryCode::from_str(&text).unwrap_err();
                assert!(fault.to_string().contains("checksum"), "{fault}");
            }
        }
        for short in ["", "QQQQ", "not a code!"] {
            assert!(matches!(RecoveryCode::from_str(short), Err(StoreFault::NoCode(_))));
        }
    }
}
