//! A visit as it goes on: what comes out, what is seen to, what goes in, and how it ends.

use super::view::{adhesive_words, day_words, kind_words, piece_words, short};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::frame::acting::{key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use measure::text::{counted, fixed, millimetres, number};
use salon::Fault;
use salon::book::visit::{Adhesive, StepDone};
use salon::book::{BondFound, ClientBook, PieceAt, Step, VisitId, VisitKind, VisitState};
use salon::plan::SitePlan;
use serde::Deserialize;
use std::collections::BTreeSet;

#[derive(Template)]
#[template(path = "visits/visit.html")]
struct VisitPage {
    shell: Shell,
    id: String,
    client: String,
    name: String,
    heading: String,
    /// What goes by it, and since when.
    line: String,
    /// Whether what the shelf does not hold by its records may be set all the same.
    takes_found: bool,
    plan: Option<String>,
    open: bool,
    places: bool,
    saved: bool,
    faults: Vec<String>,
    typed: Typed,
    key: String,
    last: Option<String>,
    out: Vec<OutLine>,
    bag: Vec<BagLine>,
    waiting: usize,
    now: Option<PlaceLine>,
    sites: Vec<PlaceLine>,
    /// The plan's places by name: one more is set beside one of them.
    names: Vec<String>,
    placed: String,
    seen: Vec<String>,
    /// What was done, of a visit long past.
    past: Vec<String>,
    closed: Option<ClosedView>,
    /// Whether a visit of its kind has a price.
    charged: bool,
    closing_checks: bool,
}

/// A sandwich that is still to come out.
struct OutLine {
    site: String,
    pieces: String,
    days: String,
}

/// A piece that is out of her hair.
struct BagLine {
    id: String,
    short: String,
    says: String,
    adhesive: &'static str,
    worn: String,
}

/// A place of the plan.
struct PlaceLine {
    site: String,
    wher: String,
    what: String,
    state: &'static str,
    says: String,
}

struct ClosedView {
    day: String,
    checks: Vec<String>,
    next: Option<String>,
    because: Option<String>,
}

/// How a visit's page was reached.
#[derive(Deserialize)]
pub struct ShowQuery {
    saved: Option<String>,
}

/// A visit.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>, Query(query): Query<ShowQuery>) -> Result<Response, Trouble> {
    draw(&app, id.parse()?, StatusCode::OK, Typed::default(), Refused::default(), query.saved.is_some()).await
}

/// The rule by which a piece is refused that the shelf's records do not hold.
const NOT_ON_SHELF: &str = "shelf";

/// What was refused, as a page says it.
#[derive(Default)]
pub struct Refused {
    says: Vec<String>,
    not_on_shelf: bool,
}

impl From<Vec<Fault>> for Refused {
    fn from(faults: Vec<Fault>) -> Self {
        Self { says: told(&faults), not_on_shelf: faults.iter().any(|fault| fault.rule == NOT_ON_SHELF) }
    }
}

impl From<&str> for Refused {
    fn from(says: &str) -> Self {
        Self { says: vec![says.to_owned()], not_on_shelf: false }
    }
}

/// Draws a visit's page with what was typed and what is wrong with it.
pub async fn draw(
    app: &AppState,
    id: VisitId,
    status: StatusCode,
    typed: Typed,
    refused: Refused,
    saved: bool,
) -> Result<Response, Trouble> {
    let (client, book) = app.salon.book_of_visit(id).await?;
    let house = house::house(&app.salon).await?.value;
    let visit = book.year.visit(id).ok_or(Trouble::NoPage)?;
    // Of a visit long past the events tell what was done; its plan's places would say nothing.
    let is_past = !visit.is_open() && visit.steps.is_empty();
    let past = if is_past { app.salon.steps_of(client, id).await? } else { Vec::new() };
    let sites: Vec<SitePlan> = match visit.plan {
        Some(plan) if visit.kind.places() && !is_past => app.salon.plan(plan).await?.1.plan.sites,
        _ => Vec::new(),
    };
    let names = sites.iter().map(|site| site.site.to_string()).collect();
    let mut lines: Vec<PlaceLine> = sites.iter().map(|site| place_line(&book, visit, site)).collect();
    lines.extend(added_lines(&book, visit));
    let now = sites.iter().map(|site| place_line(&book, visit, site)).find(|line| line.state == "to come").filter(|_| visit.is_open());
    let bag = bag(&book);
    let plan = visit.plan.map(|plan| plan.to_string());
    let template = VisitPage {
        shell: Shell::clients("Visit", &house.name),
        id: id.to_string(),
        client: client.to_string(),
        name: display_name(&book.label),
        heading: format!("{}, {}", kind_words(visit.kind), day_words(visit.on)),
        line: visit.because.as_ref().map_or_else(String::new, |because| format!("Begun all the same: {because}")),
        takes_found: refused.not_on_shelf,
        plan,
        open: visit.is_open(),
        places: visit.kind.places(),
        saved,
        faults: refused.says,
        typed,
        key: key(),
        last: visit.steps.last().map(|done| step_words(&book, &done.step)),
        out: out(&book, visit),
        waiting: bag.iter().filter(|line| line.adhesive != adhesive_words(Adhesive::New)).count(),
        bag,
        now,
        placed: match lines.len() {
            0 => format!("{} in", counted(visit.tally.placed, "sandwich", "sandwiches")),
            all => format!("{} of {} in", visit.tally.placed, counted(all, "sandwich", "sandwiches")),
        },
        sites: lines,
        names,
        seen: visit
            .steps
            .iter()
            .filter(|done| matches!(done.step, Step::Regrown { .. } | Step::ScalpSeen { .. }))
            .map(|done| step_words(&book, &done.step))
            .collect(),
        past: past.iter().map(|step| step_words(&book, step)).collect(),
        closing_checks: visit.tally.placed > 0,
        closed: closed(visit),
        charged: visit.kind.sets(),
    };
    Ok(page(status, &template))
}

/// What is still to come out: what was there before the visit, in the order it went in.
fn out(book: &ClientBook, visit: &VisitState) -> Vec<OutLine> {
    if !visit.is_open() || visit.kind == VisitKind::Application {
        return Vec::new();
    }
    let today = desk::today();
    let mut seen = BTreeSet::new();
    let mut lines = Vec::new();
    for (_, piece) in desk::show::in_site_order(book) {
        let PieceAt::Hair { site, plan, since, .. } = &piece.at else { continue };
        let before = *plan != visit.plan || *since < visit.on || visit.placed(*site).is_none();
        if before && seen.insert((*plan, *site)) {
            let days = counted(today.days_since(*since).max(0), "day", "days");
            lines.push(OutLine { site: site.to_string(), pieces: piece_words(&book.year.pieces, piece), days });
        }
    }
    lines
}

fn bag(book: &ClientBook) -> Vec<BagLine> {
    let pieces = &book.year.pieces;
    let line = |id| {
        let piece = pieces.get(id)?;
        Some(BagLine {
            id: id.to_string(),
            short: short(id),
            says: piece_words(pieces, piece),
            adhesive: adhesive_words(piece.adhesive),
            worn: format!("worn {}, {}", counted(piece.cycles, "time", "times"), counted(piece.days_worn, "day", "days")),
        })
    };
    pieces.in_bag().into_iter().filter_map(line).collect()
}

fn place_line(book: &ClientBook, visit: &VisitState, site: &SitePlan) -> PlaceLine {
    let half = if site.piece.cut.is_half() { "halves of " } else { "" };
    let shades: Vec<&str> = site.shades().collect();
    let shade = match shades[..] {
        [one] => format!("one piece of {one} with a strip"),
        [over, under] if over == under => format!("{half}{over}"),
        [over, under] => format!("{half}{over} over {under}"),
        _ => String::new(),
    };
    let (state, says) = match visit.placed(site.site) {
        Some(_) if book.year.pieces.at_site(site.site, |of| of == visit.plan).is_empty() => ("out", "taken out again".to_owned()),
        Some(done) => ("in", moved_words(done)),
        None if visit.skipped(site.site) => ("free", "left free".to_owned()),
        None if visit.is_open() => ("to come", String::new()),
        None => ("left open", String::new()),
    };
    PlaceLine {
        site: site.site.to_string(),
        wher: format!("{} mm up, {}, {}", number(site.above_nape.to_mm(), 0), site.along_words(), site.side.words()),
        what: format!("{shade}, {}", millimetres(site.piece.length)),
        state,
        says,
    }
}

/// The sandwiches that were added to the plan's at this visit and are in.
fn added_lines(book: &ClientBook, visit: &VisitState) -> Vec<PlaceLine> {
    let line = |done: &StepDone| match &done.step {
        Step::Placed { site, pieces, added: Some(at), .. } => {
            let is_in = !book.year.pieces.at_site(*site, |of| of == visit.plan).is_empty();
            let side = if at.along_mm < 0.0 { "left" } else { "right" };
            Some(PlaceLine {
                site: site.to_string(),
                wher: format!("{} mm up, {} mm to her {side}", number(at.up_mm, 0), number(at.along_mm.abs(), 0)),
                what: pieces
                    .first()
                    .and_then(|id| book.year.pieces.get(*id))
                    .map_or_else(String::new, |piece| piece_words(&book.year.pieces, piece)),
                state: if is_in { "in" } else { "out" },
                says: "added".to_owned(),
            })
        }
        _ => None,
    };
    visit.steps.iter().filter_map(line).collect()
}

fn moved_words(done: &StepDone) -> String {
    match &done.step {
        Step::Placed { moved_mm: Some(moved), .. } => {
            let side = if *moved > 0.0 { "right" } else { "left" };
            format!("moved {} mm to her {side}", number(moved.abs(), 0))
        }
        _ => String::new(),
    }
}

/// A step in a few words.
fn step_words(book: &ClientBook, step: &Step) -> String {
    let piece = |id| book.year.pieces.get(id).map_or_else(String::new, |piece| piece_words(&book.year.pieces, piece));
    match step {
        Step::Placed { site, added: Some(_), .. } => format!("{site} in, added"),
        Step::Placed { site, .. } => format!("{site} in"),
        Step::Skipped { site, reason } => format!("{site} left free: {reason}"),
        Step::TakenOut { site, found: BondFound::Held, .. } => format!("{site} out"),
        Step::TakenOut { site, found, .. } => format!("{site} out, {}", found.word()),
        Step::Cleaned { piece: id } => format!("cleaned: {}", piece(*id)),
        Step::Retaped { piece: id } => format!("re-taped: {}", piece(*id)),
        Step::Retired { piece: id, reason } => format!("retired: {}, {reason}", piece(*id)),
        Step::Halved { piece: id, .. } => format!("cut in half: {}", piece(*id)),
        Step::Regrown { site, mm, days } => format!("{} mm grown at {site} in {}", number(*mm, 1), counted(*days, "day", "days")),
        Step::ScalpSeen { region, found } => format!("{region}: {found}"),
    }
}

fn closed(visit: &VisitState) -> Option<ClosedView> {
    let closed = visit.closed.as_ref()?;
    let said = |yes: bool, so: &str, not: &str| if yes { so } else { not }.to_owned();
    let checks = closed.checks.map_or_else(Vec::new, |checks| {
        vec![
            said(checks.moves_freely, "every bond moves freely", "a bond pulls"),
            format!("{} mm off the scalp", fixed(checks.mm_off_scalp, 0)),
            said(checks.nothing_shows, "nothing shows tied up", "something shows tied up"),
            said(checks.comfortable, "comfortable", "not comfortable"),
        ]
    });
    let next = closed.next.map(|next| {
        let [from, to] = next.window.map(day_words);
        format!("{}, between {from} and {to}", day_words(next.due))
    });
    Some(ClosedView { day: day_words(closed.on), checks, next, because: closed.because.clone() })
}
