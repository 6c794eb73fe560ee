//! What every page works with.

use super::plan::held::{LaidOut, Making, Papers, Ways};
use desk::Salon;
use std::sync::Arc;

/// What every page works with.
#[derive(Clone)]
pub struct AppState {
    pub salon: Arc<Salon>,
    pub making: Arc<Making>,
    pub papers: Arc<Papers>,
    pub laid_out: Arc<LaidOut>,
    pub ways: Arc<Ways>,
    pub placing: Arc<tokio::sync::Mutex<()>>,
}

impl AppState {
    pub fn of(salon: Salon) -> Self {
        Self {
            salon: Arc::new(salon),
            making: Arc::default(),
            papers: Arc::default(),
            laid_out: Arc::default(),
            ways: Arc::default(),
            placing: Arc::default(),
        }
    }
}
