//! A client's visits, newest first; beginning one; what is in her hair.

use super::view::{day_words, kind_words};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::client::sent::OfClient;
use crate::web::frame::acting::{act, key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::ClientId;
use measure::text::counted;
use salon::book::visit::{HerPiece, Pieces};
use salon::book::{ClientBook, VisitKind, VisitState};
use serde_json::json;
use std::collections::BTreeMap;

#[derive(Template)]
#[template(path = "visits/list.html")]
struct VisitsPage {
    shell: Shell,
    client: String,
    name: String,
    /// What she wears and when it is due.
    line: String,
    open: Option<(String, String)>,
    faults: Vec<String>,
    /// Whether a reason lets it go ahead.
    asks_reason: bool,
    kinds: Vec<(&'static str, String, bool)>,
    plans: Vec<(String, String, bool)>,
    because: String,
    /// The day on which her set is due, where one is in.
    due_day: String,
    key: String,
    visits: Vec<VisitLine>,
    /// Visits in other records of hers: which, what she is called there, its visits.
    others: Vec<(String, String, Vec<VisitLine>)>,
    /// Whether this record is set aside, and nothing is begun in it.
    set_aside: bool,
    lots: Vec<LotLine>,
}

struct VisitLine {
    id: String,
    kind: String,
    day: String,
    says: String,
}

/// Pieces of one lot that are hers.
struct LotLine {
    shade: String,
    length: String,
    lot: String,
    /// In her hair, in her bag, and gone.
    counts: [usize; 3],
    cycles: String,
    days: String,
    first: String,
}

fn visit_line(visit: &VisitState) -> VisitLine {
    let tally = visit.tally;
    let mut says = Vec::new();
    if tally.taken_out > 0 {
        says.push(format!("{} out", counted(tally.taken_out, "sandwich", "sandwiches")));
    }
    if tally.placed > 0 {
        says.push(format!("{} in", counted(tally.placed, "sandwich", "sandwiches")));
    }
    if tally.skipped > 0 {
        says.push(format!("{} left free", counted(tally.skipped, "place", "places")));
    }
    if tally.new_pieces > 0 {
        says.push(format!("{} from the shelf", counted(tally.new_pieces, "piece", "pieces")));
    }
    match visit.closed.as_ref() {
        None => says.push("not closed yet".to_owned()),
        Some(closed) => says.extend(closed.next.map(|next| format!("next {}", day_words(next.due)))),
    }
    VisitLine { id: visit.id.to_string(), kind: kind_words(visit.kind), day: day_words(visit.on), says: says.join(", ") }
}

/// A lot: its shade, its length and its number.
type Lot = (String, String, String);
/// Pieces with their numbers.
type Numbered<'a> = Vec<(String, &'a HerPiece)>;

fn lots(book: &ClientBook) -> Vec<LotLine> {
    let today = desk::today();
    let mut by_lot: BTreeMap<Lot, Numbered> = BTreeMap::new();
    for (id, piece) in book.year.pieces.iter() {
        let origin = book.year.pieces.origin(piece);
        let key = (origin.shade.clone(), measure::text::millimetres(origin.length_mm.length()), origin.lot.clone());
        by_lot.entry(key).or_default().push((id.to_string(), piece));
    }
    let line = |((shade, length, lot), pieces): (Lot, Numbered)| {
        let count = |words: &[&str]| pieces.iter().filter(|(_, piece)| words.contains(&piece.at.word())).count();
        let worn = pieces.iter().map(|(_, piece)| Pieces::days_worn(piece, today)).max().unwrap_or(0);
        let cycles = pieces.iter().map(|(_, piece)| piece.cycles).max().unwrap_or(0);
        LotLine {
            shade,
            length,
            lot,
            counts: [count(&["hair"]), count(&["bag"]), count(&["retired", "lost"])],
            cycles: counted(cycles, "time", "times"),
            days: counted(worn, "day", "days"),
            first: pieces[0].0.clone(),
        }
    };
    by_lot.into_iter().map(line).collect()
}

async fn draw(app: &AppState, id: ClientId, status: StatusCode, typed: &Typed, faults: Vec<String>) -> Result<Response, Trouble> {
    let book = app.salon.book_of(id).await?;
    let house = house::house(&app.salon).await?.value;
    let in_hair = book.year.pieces.in_hair();
    let next = app.salon.next_date(&book);
    let mut line = match in_hair {
        0 => "No piece of hers is recorded in her hair.".to_owned(),
        count => format!("Wears {}.", counted(count, "piece", "pieces")),
    };
    if let Some((due, window)) = next {
        line += &format!(" Due {}, between {} and {}.", day_words(due), day_words(window[0]), day_words(window[1]));
    }
    let open = book.year.open().map(|visit| (visit.id.to_string(), format!("{}, begun {}", kind_words(visit.kind), day_words(visit.on))));
    let chosen = |word: &str| match typed.one("kind") {
        "" => word == if in_hair > 0 { "re-tape" } else { "application" },
        kind => kind == word,
    };
    let newest = book.plans.last().map(|plan| plan.id.to_string()).unwrap_or_default();
    let wanted = if typed.one("plan").is_empty() { newest } else { typed.one("plan").to_owned() };
    let plans = book.plans.iter().rev().map(|plan| {
        let id = plan.id.to_string();
        let says = format!("{}, {}", moment(plan.made_ms), counted(plan.sites.len(), "sandwich", "sandwiches"));
        let is = id == wanted;
        (id, says, is)
    });
    let mut others = Vec::new();
    for other in app.salon.other_records(id).await? {
        let its = app.salon.book_of(other.id).await?;
        others.push((other.id.to_string(), display_name(&other.label), its.year.visits.iter().rev().map(visit_line).collect()));
    }
    let template = VisitsPage {
        shell: Shell::clients("Visits", &house.name),
        client: id.to_string(),
        name: display_name(&book.label),
        line,
        open,
        asks_reason: !faults.is_empty() || !typed.one("because").is_empty(),
        faults,
        kinds: VisitKind::ALL.iter().map(|kind| (kind.word(), kind_words(*kind), chosen(kind.word()))).collect(),
        plans: plans.collect(),
        because: typed.one("because").to_owned(),
        due_day: next.map_or_else(String::new, |(due, _)| due.to_string()),
        key: key(),
        visits: book.year.visits.iter().rev().map(visit_line).collect(),
        others,
        set_aside: book.same.kept.is_some(),
        lots: lots(&book),
    };
    Ok(page(status, &template))
}

/// Her visits.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    draw(&app, id.parse()?, StatusCode::OK, &Typed::default(), Vec::new()).await
}

/// Begins a visit.
pub async fn begin(State(app): State<AppState>, OfClient(id, typed): OfClient) -> Result<Response, Trouble> {
    let kind = typed.one("kind");
    let Some(kind) = VisitKind::from_word(kind) else {
        return draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, &typed, vec!["Say what the visit is for.".to_owned()]).await;
    };
    let mut line = json!({"act": "visit begin", "client": id, "kind": kind.word()});
    for key in ["plan", "because", "key"].into_iter().filter(|key| !typed.one(key).is_empty() && (*key != "plan" || kind.sets())) {
        line[key] = json!(typed.one(key));
    }
    match act(&app, line).await? {
        Ok(done) => Ok(Redirect::to(&format!("/visits/{}", done["visit"].as_str().unwrap_or_default())).into_response()),
        Err(faults) => draw(&app, id, StatusCode::UNPROCESSABLE_ENTITY, &typed, told(&faults)).await,
    }
}
