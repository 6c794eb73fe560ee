//! `demo` and `serve`: the pages.

use super::rim;
use crate::error::Failure;
use crate::settings::{self, ServeSettings};
use crate::web;
use clap::Args;
use rustix::fs::Mode;
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
    write_for_the_owner_alone();
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
    write_for_the_owner_alone();
    let settings =
        ServeSettings { place: settings::place(args.data.as_deref())?, listen: args.listen, passphrase: settings::passphrase()? };
    wait_for(web::serve(settings, announce))
}

fn announce(address: &str) {
    // A reader that went away does not stop the salon.
    let _ = rim::print(&format!("{address}\n"));
}

/// Whatever the program writes from here on can be read by its owner only.
fn write_for_the_owner_alone() {
    rustix::process::umask(Mode::RWXG | Mode::RWXO);
}

/// Does the work to its end; what is then still being computed beside it is
/// left, and ends with the process.
fn wait_for(work: impl Future<Output = Result<(), Failure>>) -> Result<(), Failure> {
    let workers = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::cannot(format!("the program cannot start its workers ({error})")))?;
    let outcome = workers.block_on(work);
    workers.shutdown_background();
    outcome
}

/// Asks the desktop to open the address; where there is none, the printed address is enough.
fn open_in_browser(address: &str) {
    for opener in ["xdg-open", "open"] {
        let asked = Command::new(opener)
            .env_remove("STRANDWRIGHT_PASSPHRASE")
            .arg(address)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        if asked.is_ok() {
            return;
        }
    }
    eprintln!("No browser was found to open: go to {address} yourself.");
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    #[test]
    fn a_plan_in_the_making_does_not_keep_the_program_from_ending() {
        let (go_on, told) = mpsc::channel::<()>();
        let (begun, has_begun) = mpsc::channel::<()>();
        let (ended, has_ended) = mpsc::channel();
        std::thread::spawn(move || {
            let outcome = wait_for(async move {
                tokio::task::spawn_blocking(move || {
                    begun.send(()).unwrap();
                    // The plan, which takes as long as it likes.
                    let _ = told.recv();
                });
                tokio::task::spawn_blocking(move || has_begun.recv().unwrap()).await.unwrap();
                Ok(())
            });
            ended.send(outcome).unwrap();
        });
        // As long as the plan's leave is held here it has not ended.
        let outcome = has_ended.recv_timeout(std::time::Duration::from_secs(60));
        drop(go_on);
        assert_eq!(outcome, Ok(Ok(())));
    }
}
