//! Clients who were looked at lately.

use salon::book::{ClientBook, ClientId};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Clients who were looked at lately, so that a long history is not read for each page anew.
#[derive(Debug, Default)]
pub(crate) struct Recent(Mutex<[HashMap<ClientId, Arc<ClientBook>>; 2]>);

impl Recent {
    /// As many are held, and as many again of those who were looked at before them.
    const MOST: usize = 64;

    pub fn get(&self, id: ClientId) -> Option<Arc<ClientBook>> {
        let held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.iter().find_map(|held| held.get(&id)).cloned()
    }

    pub fn put(&self, id: ClientId, book: &ClientBook) {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if held[0].len() >= Self::MOST {
            held[1] = std::mem::take(&mut held[0]);
        }
        held[0].insert(id, Arc::new(book.clone()));
    }

    pub fn forget(&self, id: ClientId) {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.iter_mut().for_each(|held| _ = held.remove(&id));
    }
}
