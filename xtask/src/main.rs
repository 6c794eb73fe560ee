//! Documents generated from the code.
//!
//! `cargo run -p xtask -- rules` prints `docs/rules.md`: every number of the
//! trade with its range, grade and source. The tidy test compares the file with
//! what this prints, so the page cannot go stale.

fn main() -> std::process::ExitCode {
    match std::env::args().nth(1).as_deref() {
        Some("rules") => {
            print!("{}", xtask::rules_page());
            std::process::ExitCode::SUCCESS
        }
        _ => {
            eprintln!("usage: cargo run -p xtask -- rules > docs/rules.md");
            std::process::ExitCode::from(2)
        }
    }
}
