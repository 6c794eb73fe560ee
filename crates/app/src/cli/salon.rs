//! `demo` and `serve`: the pages.

use super::rim;
use crate::error::Failure;
use crate::settings::{self, ServeSettings};
use crate::web;
use clap::Args;
use std::future::Future;
use std::net::SocketAddr;
use std::process::{Command, Stdio};

/// How the invented salon is shown.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Where it listens.
    #[arg(long, default_value_t = settings::usual_listen())]
    listen: SocketAddr,
    /// Open it in the browser of this machine.
    #[arg(long)]
    open: bool,
}

/// Where the salon's records are and where they are served.
#[derive(Debug, Args)]
pub struct ServeArgs {
    /// The salon's folder; the user's own data folder when not named.
    #[arg(long)]
    data: Option<String>,
    /// Where it listens.
    #[arg(long, default_value_t = settings::usual_listen())]
    listen: SocketAddr,
}

/// Serves the invented salon until stopped.
///
/// *Errors*: no folder or port can be had.
pub fn demo(args: DemoArgs) -> Result<(), Failure> {
    wait_for(web::demo(args.listen, move |address| {
        announce(address);
        eprintln!("An invented salon; it is gone when you stop it with Ctrl-C.");
        if args.open {
            open_in_browser(address);
        }
    }))
}

/// Serves the salon's own records until stopped.
///
/// *Errors*: the records cannot be opened (their own exit codes), or the address cannot be used.
pub fn serve(args: ServeArgs) -> Result<(), Failure> {
    let settings = ServeSettings { place: settings::place(args.data.as_deref())?, listen: args.listen, passphrase: settings::passphrase()? };
    wait_for(web::serve(settings, announce))
}

fn announce(address: &str) {
    // A reader that went away does not stop the salon.
    let _ = rim::print(&format!("{address}\n"));
}

fn wait_for(work: impl Future<Output = Result<(), Failure>>) -> Result<(), Failure> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::cannot(format!("the program cannot start its workers ({error})")))?
        .block_on(work)
}

/// Asks the desktop to open the address; where there is none, the printed address is enough.
fn open_in_browser(address: &str) {
    for opener in ["xdg-open", "open"] {
        let asked = Command::new(opener).arg(address).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
        if asked.is_ok() {
            return;
        }
    }
    eprintln!("No browser was found to open: go to {address} yourself.");
}
