//! The pages by their addresses: one list, so that what is tried on every page
//! is tried on a new one by itself.

use crate::web::AppState;
use axum::Router;
use axum::routing::MethodRouter;

/// Pages as they are gathered.
pub struct Pages {
    router: Router<AppState>,
    #[cfg(test)]
    addresses: Vec<&'static str>,
}

impl Pages {
    /// No pages yet.
    pub fn new() -> Self {
        Self {
            router: Router::new(),
            #[cfg(test)]
            addresses: Vec::new(),
        }
    }

    /// Adds a page at its address.
    #[must_use]
    pub fn route(mut self, address: &'static str, page: MethodRouter<AppState>) -> Self {
        #[cfg(test)]
        self.addresses.push(address);
        self.router = self.router.route(address, page);
        self
    }

    /// Adds the pages of another list.
    #[must_use]
    pub fn merge(mut self, other: Self) -> Self {
        #[cfg(test)]
        self.addresses.extend(other.addresses);
        self.router = self.router.merge(other.router);
        self
    }

    /// All of them, ready to be served.
    pub fn into_router(self) -> Router<AppState> {
        self.router
    }

    /// Their addresses.
    #[cfg(test)]
    pub fn addresses(&self) -> &[&'static str] {
        &self.addresses
    }
}
