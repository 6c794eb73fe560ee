//! A plan judged from outside: random ordinary clients, and what a technician
//! would look for in every plan made for them.
//!
//! Everything is read from the plan as JSON and measured on the skin from its
//! own coordinates. Nothing here asks the planner why it did what it did, so an
//! error there cannot hide here. The trade's numbers are written out where they
//! are used, each with where it comes from, for the same reason.

// The tests and the benchmark share this folder, and each leaves a part unused.
#![allow(dead_code)]

pub mod clients;
pub mod facts;
pub mod means;
pub mod mirror;
pub mod neat;
pub mod open;
pub mod panel;
pub mod seen;
pub mod skin;
pub mod told;

use clients::{Client, Shelf};
use measure::RuleBook;
use salon::make::make;
use serde_json::Value;

/// A client with the plan that was made for her.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Who she is.
    pub client: Client,
    /// The plan, as `plan.json` holds it.
    pub plan: Value,
    /// The scalp that is written beside it, as OBJ.
    pub scalp: String,
}

/// Makes a client's plan as the command line does.
pub fn try_on(client: Client, shelf: &Shelf) -> Trial {
    let made = make(&client.facts, &shelf.supplies(), 1, &RuleBook::standard());
    let made = made.unwrap_or_else(|faults| panic!("{}: her facts are ordinary and were refused: {faults:?}", client.name));
    let plan = serde_json::to_value(&made.plan).unwrap();
    Trial { client, plan, scalp: made.scalp_obj.unwrap_or_default() }
}

/// Something that does not hold.
#[derive(Debug, Clone)]
pub struct Complaint {
    /// Which check says so: a fact of the trade (T1 to T21) or a word for it.
    pub of: &'static str,
    /// What was found, with its figures.
    pub says: String,
}

impl Complaint {
    /// A complaint of a check.
    pub fn new(of: &'static str, says: impl Into<String>) -> Self {
        Self { of, says: says.into() }
    }
}

impl std::fmt::Display for Complaint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.of, self.says)
    }
}

/// The number under a key.
pub fn number(of: &Value, key: &str, place: &str) -> Result<f64, Complaint> {
    let found = &of[key];
    found.as_f64().ok_or_else(|| Complaint::new("shape", format!("{place}: no number under \"{key}\" but {found}")))
}

/// The text under a key.
pub fn text<'v>(of: &'v Value, key: &str, place: &str) -> Result<&'v str, Complaint> {
    let found = &of[key];
    found.as_str().ok_or_else(|| Complaint::new("shape", format!("{place}: no text under \"{key}\" but {found}")))
}

/// The list under a key.
pub fn list<'v>(of: &'v Value, key: &str, place: &str) -> Result<&'v Vec<Value>, Complaint> {
    let found = &of[key];
    let short: String = found.to_string().chars().take(60).collect();
    found.as_array().ok_or_else(|| Complaint::new("shape", format!("{place}: no list under \"{key}\" but {short}")))
}

/// A point of the skin.
pub fn point(of: &Value, place: &str) -> Result<skin::P, Complaint> {
    let three = of.as_array().filter(|three| three.len() == 3);
    let read = |k: usize| three.and_then(|three| three[k].as_f64());
    match (read(0), read(1), read(2)) {
        (Some(x), Some(y), Some(z)) => Ok([x, y, z]),
        _ => Err(Complaint::new("shape", format!("{place}: {of} is no point [x, y, z]"))),
    }
}

/// The row of points under a key.
pub fn points(of: &Value, key: &str, place: &str) -> Result<Vec<skin::P>, Complaint> {
    let all = list(of, key, place)?;
    all.iter().map(|p| point(p, &format!("{place}.{key}"))).collect()
}

/// Runs a piece of work for each of `count` numbers on every processor, and
/// gives the answers in order.
pub fn on_every_processor<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    use std::sync::Mutex;
    use std::sync::atomic::{AtomicUsize, Ordering};
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::new());
    let workers = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at >= count {
                        break;
                    }
                    let answer = work(at);
                    done.lock().unwrap().push((at, answer));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap();
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, answer)| answer).collect()
}
