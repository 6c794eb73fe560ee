//! What stands above a page when something was done, or was not.

/// A notice; `frame/notice.html` shows it.
pub struct Notice {
    /// How it looks: `stop`, `care` or `good`.
    pub tone: &'static str,
    /// Its heading.
    pub title: String,
    /// What it says.
    pub says: String,
}
