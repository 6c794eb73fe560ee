//! What the surroundings decide: where the salon lives, where it listens, and
//! what opens it.

use crate::error::Failure;
use desk::Place;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// The usual port.
pub const PORT: u16 = 8686;

/// Where and how a salon is served.
#[derive(Debug, Clone)]
pub struct ServeSettings {
    /// The salon's folder.
    pub place: Place,
    /// Where it listens.
    pub listen: SocketAddr,
    /// What opens the salon's key, when it has a passphrase.
    pub passphrase: Option<String>,
}

/// The usual address: this machine only.
#[must_use]
pub const fn usual_listen() -> SocketAddr {
    SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), PORT)
}

/// The folder for the salon's records when none is named.
///
/// *Errors*: the system names neither a data folder nor a home.
pub fn usual_data_folder() -> Result<PathBuf, Failure> {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    set("XDG_DATA_HOME")
        .filter(|folder| folder.is_absolute())
        .or_else(|| set("HOME").map(|home| home.join(".local/share")))
        .map(|folder| folder.join("strandwright"))
        .ok_or_else(|| Failure::bad_input("there is no home folder to keep the salon in: name one with --data DIR"))
}

/// Where the salon's records are: the folder or database that was named, or the usual folder.
///
/// *Errors*: an address that cannot be used.
pub fn place(named: Option<&str>) -> Result<Place, Failure> {
    match named {
        Some(named) => named.parse().map_err(|fault: <Place as std::str::FromStr>::Err| Failure::bad_input(fault.to_string())),
        None => Ok(Place::Folder(usual_data_folder()?)),
    }
}

/// The passphrase in the environment (`STRANDWRIGHT_PASSPHRASE`), or the first
/// line of the file that `STRANDWRIGHT_PASSPHRASE_FILE` names.
///
/// *Errors*: the file cannot be read or holds nothing.
pub fn passphrase() -> Result<Option<String>, Failure> {
    if let Some(text) = std::env::var_os("STRANDWRIGHT_PASSPHRASE").filter(|text| !text.is_empty()) {
        let text = text
            .into_string()
            .map_err(|_| Failure::bad_input("STRANDWRIGHT_PASSPHRASE is no text (UTF-8): write it into a file and name that"))?;
        return Ok(Some(text));
    }
    let Some(path) = std::env::var_os("STRANDWRIGHT_PASSPHRASE_FILE").filter(|path| !path.is_empty()) else {
        return Ok(None);
    };
    let path = PathBuf::from(path);
    let text = std::fs::read_to_string(&path)
        .map_err(|error| Failure::bad_input(format!("the passphrase file {} cannot be read ({error})", path.display())))?;
    let line = text.lines().next().unwrap_or("").to_owned();
    if line.is_empty() {
        return Err(Failure::bad_input(format!("the passphrase file {} is empty: write the passphrase in its first line", path.display())));
    }
    Ok(Some(line))
}

/// Refuses an address that others could reach: there is no TLS yet, and health
/// answers must not cross a network in the open.
///
/// *Errors*: the address is not this machine's own.
pub fn check_listen(listen: SocketAddr) -> Result<(), Failure> {
    if listen.ip().is_loopback() {
        return Ok(());
    }
    Err(Failure::bad_input(format!(
        "{listen} can be reached from other machines, and without TLS health answers would cross the network in the open: \
         listen on 127.0.0.1:{} and run the program on the machine whose browser you use",
        listen.port()
    )))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_machines_own_addresses_are_served() {
        assert!(check_listen(usual_listen()).is_ok());
        assert!(check_listen("[::1]:80".parse().unwrap()).is_ok());
        for open in ["0.0.0.0:8686", "192.168.1.4:8686", "[::]:8686"] {
            let refused = check_listen(open.parse().unwrap()).unwrap_err();
            assert_eq!(refused.exit.code(), 2);
            assert!(refused.message.contains("127.0.0.1"), "{refused}");
        }
    }
}
