//! What was worked out last, kept at hand for whoever asks for it again.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// The last few of something that takes a while, each by its key; the oldest goes first.
pub struct AtHand<K, T, const MOST: usize>(Mutex<VecDeque<(K, Arc<T>)>>);

impl<K, T, const MOST: usize> Default for AtHand<K, T, MOST> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: PartialEq, T, const MOST: usize> AtHand<K, T, MOST> {
    /// What was kept under a key, where it is still there.
    pub fn of(&self, key: &K) -> Option<Arc<T>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(known, _)| known == key).map(|(_, made)| made.clone())
    }

    /// Keeps what was made under its key, in the place of what was kept there.
    pub fn keep(&self, key: K, made: T) -> Arc<T> {
        let made = Arc::new(made);
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.retain(|(known, _)| *known != key);
        kept.push_back((key, made.clone()));
        if kept.len() > MOST {
            kept.pop_front();
        }
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_goes_and_what_is_made_anew_takes_its_place() {
        let kept: AtHand<u8, &str, 2> = AtHand::default();
        kept.keep(1, "one");
        kept.keep(2, "two");
        kept.keep(1, "one again");
        kept.keep(3, "three");
        assert_eq!(kept.of(&1).as_deref(), Some(&"one again"));
        assert_eq!((kept.of(&2), kept.of(&3).as_deref()), (None, Some(&"three")));
    }
}
