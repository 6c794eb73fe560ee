//! A client's name and facts, as every page of hers reads them.

use crate::web::frame::page::Trouble;
use desk::DeskFault;
use salon::client::ClientFile;

/// A client's name, or what stands for it.
pub fn display_name(label: &str) -> String {
    if label.trim().is_empty() { "Client without a name".to_owned() } else { label.to_owned() }
}

/// The facts of a client as a file again.
pub fn read_facts(facts: &str) -> Result<ClientFile, Trouble> {
    serde_json::from_str(facts).map_err(|error| Trouble::Store(DeskFault::damaged("a client's facts", &error)))
}
