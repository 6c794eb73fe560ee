//! What may happen at a visit: beginning it, its steps but the setting, taking one back, ending it.

use super::super::World;
use super::super::client::{ClientBook, SkinTest, no_such};
use super::super::client_event::{ClientEvent, SkinFound};
use super::super::day::Day;
use super::super::id::{ClientId, PieceId, PlanId, VisitId};
use super::super::shelf::ShelfEvent;
use super::pieces::PieceAt;
use super::place::StepEvents;
use super::state::VisitState;
use super::words::{BondFound, ClosingChecks, NextDate, Step, VisitKind};
use crate::Fault;
use crate::words::Message;
use craft::chair::sits_off_scalp;
use craft::growth::{GrownOut, growth_of};
use craft::load::BOND_OFF_SCALP;
use craft::placement::SiteId;
use craft::suitability::patch_test::{Look, PatchLog, PatchStatus, SkinReading};
use measure::text::number;
use measure::{Days, Length, RuleBook};

/// What stands in the way of setting anything on that day, if anything does.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gate {
    /// What the consultation says against it.
    pub stopped: Option<String>,
    /// Whether a skin test is owed.
    pub skin_test_owed: bool,
}

/// How far her last skin test has come; nothing where none was set.
#[must_use]
pub fn skin_status(tests: &[SkinTest], rules: &RuleBook) -> Option<PatchStatus> {
    let test = tests.last()?;
    let look = |(on, found): &(Day, SkinFound)| Look {
        after: Days::days(on.days_since(test.set_on) as f64),
        seen: if *found == SkinFound::Clear { SkinReading::Clear } else { SkinReading::Reacted },
    };
    Some(PatchLog { looks: test.read.iter().map(look).collect() }.status(rules))
}

/// Begins a visit. What is to be looked at is told beside the event.
///
/// *Errors*: another goes on; it goes by a plan and none is named; a limit that protects
/// her, where no reason was given for passing it.
pub fn decide_begin(
    book: &ClientBook,
    (visit, kind, plan): (VisitId, VisitKind, Option<PlanId>),
    gate: &Gate,
    because: Option<String>,
    (world, rules): (&World, &RuleBook),
) -> Result<(Vec<ClientEvent>, Vec<String>), Vec<Fault>> {
    let mut faults = Vec::new();
    if let Some(open) = book.year.open() {
        faults.push(Fault::of(
            &Message::VisitIsOpen { kind: open.kind.word().to_owned(), day: open.on.to_string() },
            "client",
            "visit-open",
        ));
    }
    if let Some(last) = book.year.visits.last().filter(|last| world.on < last.on) {
        faults.push(Fault::of(&Message::VisitBeforeLast { day: last.on.to_string() }, "on", "visit-day"));
    }
    match plan.map(|plan| book.plan(plan)) {
        Some(None) => faults.push(no_such("plan")),
        None if kind.sets() => faults.push(Fault::of(&Message::VisitNeedsPlan, "plan", "visit-plan")),
        _ => {}
    }
    let mut cautions = Vec::new();
    if because.is_none() {
        stops(book, kind, gate, rules, &mut faults);
    }
    if kind == VisitKind::Application && gate.skin_test_owed && skin_status(&book.skin_tests, rules) == Some(PatchStatus::Incomplete) {
        cautions.push(Message::SkinTestHalfRead.to_string());
    }
    if kind == VisitKind::Application && book.year.pieces.in_hair() > 0 {
        cautions.push(Message::SetStillIn { pieces: book.year.pieces.in_hair() }.to_string());
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok((vec![ClientEvent::VisitBegun { visit, visit_kind: kind, plan, by: world.by, because }], cautions))
}

/// Limits that protect her: each may be passed with a reason.
fn stops(book: &ClientBook, kind: VisitKind, gate: &Gate, rules: &RuleBook, faults: &mut Vec<Fault>) {
    if !kind.sets() {
        return;
    }
    if let Some(says) = &gate.stopped {
        faults.push(Fault::of(&Message::VerdictStops { says: says.clone() }, "client", "verdict"));
    }
    let status = skin_status(&book.skin_tests, rules);
    if status == Some(PatchStatus::Reacted) {
        faults.push(Fault::of(&Message::SkinTestReacted, "client", "skin-test"));
    } else if kind == VisitKind::Application && gate.skin_test_owed {
        match status {
            None => faults.push(Fault::of(&Message::SkinTestMissing, "client", "skin-test")),
            Some(PatchStatus::Waiting) => faults.push(Fault::of(&Message::SkinTestUnread, "client", "skin-test")),
            _ => {}
        }
    }
}

/// The open visit of a number.
///
/// *Errors*: there is none; it is closed; the day lies before it.
pub fn open_visit(book: &ClientBook, id: VisitId, on: Day) -> Result<&VisitState, Vec<Fault>> {
    let visit = book.year.visit(id).ok_or_else(|| vec![no_such("visit")])?;
    if !visit.is_open() {
        return Err(vec![Fault::of(&Message::VisitIsClosed, "visit", "visit-closed")]);
    }
    if on < visit.on {
        return Err(vec![Fault::of(&Message::StepBeforeVisit { day: visit.on.to_string() }, "on", "visit-day")]);
    }
    Ok(visit)
}

fn done(visit: VisitId, step: Step, because: Option<String>) -> StepEvents {
    let pieces = step.pieces();
    StepEvents { client: vec![ClientEvent::StepDone { visit, step, from_shelf: Vec::new(), left: 0, because }], shelf: Vec::new(), pieces }
}

/// Leaves a place of the plan free.
///
/// *Errors*: it is no place of the plan; it is set; no reason.
pub fn decide_skip(book: &ClientBook, visit: &VisitState, site: SiteId, reason: &str) -> Result<StepEvents, Vec<Fault>> {
    let plan = visit.plan.and_then(|plan| book.plan(plan));
    if plan.is_none_or(|plan| !plan.sites.iter().any(|known| known.site == site)) {
        return Err(vec![Fault::of(&Message::NoSiteOfPlan { name: site.to_string() }, "site", "site")]);
    }
    if !book.year.pieces.at_site(site, |of| of == visit.plan).is_empty() {
        return Err(vec![Fault::of(&Message::SiteHoldsPieces { site: site.to_string() }, "site", "one-place")]);
    }
    if reason.trim().is_empty() {
        return Err(vec![Fault::of(&Message::ReasonMissing, "reason", "reason")]);
    }
    Ok(done(visit.id, Step::Skipped { site, reason: reason.trim().to_owned() }, None))
}

/// Takes a sandwich out.
///
/// *Errors*: nothing of hers is there.
pub fn decide_take_out(
    book: &ClientBook,
    visit: &VisitState,
    (site, found, shed_hairs): (SiteId, BondFound, Option<u32>),
    on: Day,
) -> Result<StepEvents, Vec<Fault>> {
    // Of two places that two plans call alike, the one that was there before the visit.
    let before = book.year.pieces.at_site(site, |of| of != visit.plan);
    let pieces = if before.is_empty() { book.year.pieces.at_site(site, |_| true) } else { before };
    let Some(since) = pieces.first().and_then(|piece| since(book, *piece)) else {
        return Err(vec![Fault::of(&Message::NothingAtSite { site: site.to_string() }, "site", "one-place")]);
    };
    let days = u32::try_from(on.days_since(since).max(0)).unwrap_or(u32::MAX);
    Ok(done(visit.id, Step::TakenOut { site, pieces, found, shed_hairs, days }, None))
}

fn since(book: &ClientBook, piece: PieceId) -> Option<Day> {
    match book.year.pieces.get(piece)?.at {
        PieceAt::Hair { since, .. } => Some(since),
        _ => None,
    }
}

/// What is done to a piece that is out of her hair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Care {
    /// The old adhesive is rubbed off.
    Clean,
    /// New adhesive is put on.
    Retape,
    /// It is put aside for good.
    Retire {
        /// Why.
        reason: String,
    },
}

/// Cleans, tapes anew or puts aside one of her pieces.
///
/// *Errors*: it is not hers; it is in her hair, or is worn no more.
pub fn decide_care(book: &ClientBook, visit: &VisitState, piece: PieceId, care: Care) -> Result<StepEvents, Vec<Fault>> {
    let Some(hers) = book.year.pieces.get(piece) else {
        return Err(vec![Fault::of(&Message::PieceNotHers, "piece", "one-head")]);
    };
    let message = match &hers.at {
        PieceAt::Bag { .. } => None,
        PieceAt::Hair { site, .. } => Some(Message::PieceIsInHair { site: site.to_string() }),
        at => Some(Message::PieceIsNoMore { state: at.word().to_owned() }),
    };
    if let Some(message) = message {
        return Err(vec![Fault::of(&message, "piece", "one-place")]);
    }
    let step = match care {
        Care::Clean => Step::Cleaned { piece },
        Care::Retape => Step::Retaped { piece },
        Care::Retire { reason } if reason.trim().is_empty() => return Err(vec![Fault::of(&Message::ReasonMissing, "reason", "reason")]),
        Care::Retire { reason } => Step::Retired { piece, reason: reason.trim().to_owned() },
    };
    Ok(done(visit.id, step, None))
}

/// Notes how much had grown at a site since it was set, from the scalp, less the room it had then.
///
/// *Errors*: nothing was there; no hair grows so.
pub fn decide_regrown(
    book: &ClientBook,
    visit: &VisitState,
    (site, mm): (SiteId, f64),
    (on, rules): (Day, &RuleBook),
) -> Result<StepEvents, Vec<Fault>> {
    let in_hair = book.year.pieces.at_site(site, |_| true).first().and_then(|piece| since(book, *piece));
    let in_hair = in_hair.filter(|since| on > *since).map(|since| on.days_since(since));
    let out_today = visit.steps.iter().rev().find_map(|done| match &done.step {
        Step::TakenOut { site: at, days, .. } if *at == site => Some(i64::from(*days)),
        _ => None,
    });
    let Some(days) = in_hair.or(out_today) else {
        return Err(vec![Fault::of(&Message::NothingAtSite { site: site.to_string() }, "site", "one-place")]);
    };
    let worn = Days::days(days as f64);
    let measure = GrownOut { set: Length::ZERO, found: Length::mm(mm), worn };
    if let Err(fault) = growth_of(&[measure], rules) {
        return Err(vec![Fault::of(&Message::RegrowthNone { says: fault.to_string() }, "mm", "growth")]);
    }
    Ok(done(visit.id, Step::Regrown { site, mm, days: u32::try_from(days).unwrap_or(0) }, None))
}

/// Notes what was seen of her scalp.
///
/// *Errors*: nothing was said.
pub fn decide_scalp(visit: &VisitState, region: &str, found: &str) -> Result<StepEvents, Vec<Fault>> {
    for (text, place) in [(region, "region"), (found, "found")] {
        if text.trim().is_empty() {
            return Err(vec![Fault::of(&Message::SayWhatWasSeen, place, "scalp")]);
        }
    }
    Ok(done(visit.id, Step::ScalpSeen { region: region.trim().to_owned(), found: found.trim().to_owned() }, None))
}

/// Takes a visit's last step back; pieces that came from the shelf for it lie there again.
///
/// *Errors*: nothing was done yet.
pub fn decide_undo(client: ClientId, visit: &VisitState) -> Result<StepEvents, Vec<Fault>> {
    let Some(last) = visit.steps.last() else { return Err(vec![Fault::of(&Message::NothingToUndo, "visit", "undo")]) };
    let back = (!last.from_shelf.is_empty()).then(|| ShelfEvent::PiecesBack { client, pieces: last.from_shelf.clone() });
    Ok(StepEvents {
        client: vec![ClientEvent::StepUndone { visit: visit.id, step: last.version }],
        shelf: back.into_iter().collect(),
        pieces: last.step.pieces(),
    })
}

/// Lets a visit go on by another plan of hers: one made around what is in.
///
/// *Errors*: no such plan.
pub fn decide_replan(book: &ClientBook, visit: &VisitState, plan: PlanId) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    book.plan(plan).ok_or_else(|| vec![no_such("plan")])?;
    Ok(if visit.plan == Some(plan) { Vec::new() } else { vec![ClientEvent::VisitReplanned { visit: visit.id, plan }] })
}

/// Ends a visit.
///
/// *Errors*: the closing checks are not said where pieces were set; one of them is not as it
/// has to be, or a set that should be out is in, and no reason was given.
pub fn decide_close(
    book: &ClientBook,
    visit: &VisitState,
    (checks, next): (Option<ClosingChecks>, Option<NextDate>),
    because: Option<String>,
    (on, rules): (Day, &RuleBook),
) -> Result<Vec<ClientEvent>, Vec<Fault>> {
    let mut faults = Vec::new();
    let set_anything = visit.tally.placed > 0;
    match &checks {
        None if set_anything && visit.kind.places() => faults.push(Fault::of(&Message::ClosingChecksMissing, "visit", "closing-checks")),
        Some(checks) if because.is_none() => unmet(checks, rules, &mut faults),
        _ => {}
    }
    if because.is_none() {
        let still_in = book.year.pieces.iter().filter(|(_, piece)| match piece.at {
            PieceAt::Hair { since, plan, .. } => visit.kind == VisitKind::Removal || since < visit.on || plan != visit.plan,
            _ => false,
        });
        let still_in = still_in.count();
        if matches!(visit.kind, VisitKind::Retape | VisitKind::Removal) && still_in > 0 {
            faults.push(Fault::of(&Message::StillIn { pieces: still_in }, "visit", "all-out"));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut events = Vec::new();
    if let Some(plan) = visit.plan.filter(|_| visit.kind.sets() && set_anything).and_then(|plan| book.plan(plan))
        && (plan.placed_on != Some(visit.on) || plan.ended_on.is_some())
    {
        events.push(ClientEvent::PlanPlaced { plan: plan.id, day: Some(visit.on) });
    }
    debug_assert!(on >= visit.on, "the visit was found open on that day");
    events.push(ClientEvent::VisitClosed { visit: visit.id, checks, next, because });
    Ok(events)
}

/// What of the closing checks is not as it has to be (T9, T6).
fn unmet(checks: &ClosingChecks, rules: &RuleBook, faults: &mut Vec<Fault>) {
    let mut unless = |holds: bool, message: Message, place: &str| {
        if !holds {
            faults.push(Fault::of(&message, place, "closing-checks"));
        }
    };
    unless(checks.moves_freely, Message::BondsPull, "moves_freely");
    unless(checks.comfortable, Message::NotComfortable, "comfortable");
    unless(checks.nothing_shows, Message::SomethingShows, "nothing_shows");
    let off = Message::BondsTooNear { mm: number(checks.mm_off_scalp, 1), asked: number(rules.value(&BOND_OFF_SCALP), 0) };
    unless(sits_off_scalp(Length::mm(checks.mm_off_scalp), rules), off, "mm_off_scalp");
}
