//! Visits as acts: begun, done step by step, closed; each piece followed by its number.

use super::{Decided, Line, Stop, no_act, quoted, word};
use crate::written::{Act, new_id};
use crate::{DeskFault, Salon};
use craft::placement::SiteId;
use craft::suitability::judge;
use craft::suitability::patch_test::PatchStatus;
use measure::RuleBook;
use salon::Fault;
use salon::book::visit::decide::{
    Care, decide_care, decide_regrown, decide_scalp, decide_skip, decide_take_out, decide_undo, open_visit, skin_status,
};
use salon::book::visit::next::next_date;
use salon::book::visit::{
    Asked, AskedToAdd, Gate, Placing, StepEvents, decide_add, decide_begin, decide_close, decide_halve, decide_place, decide_replan,
};
use salon::book::{BondFound, ClientBook, ClientId, ClosingChecks, PieceId, PlanId, ShelfBook, ShelfEvent, VisitId, VisitKind, World};
use salon::words::Message;
use serde_json::{Value, json};
use std::sync::Arc;

/// The longest reason that is kept, in letters.
const LONGEST_REASON: usize = 1000;

/// Her book while a visit goes on, and the visit.
struct AtVisit {
    client: ClientId,
    book: ClientBook,
    visit: VisitId,
}

impl Salon {
    /// Does an act of a visit.
    pub(super) async fn visited(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        match line.name {
            "visit begin" => self.visit_begun(line, world).await,
            "visit replan" => {
                let at = self.at_visit(line, world).await?;
                let plan: PlanId = line.needed("plan")?;
                let events = decide_replan(&at.book, at.open(world)?, plan).map_err(DeskFault::from)?;
                Ok(self.client_act(at.client, at.book, events, world))
            }
            "visit close" => self.visit_closed(line, world).await,
            "piece place" => self.placed(line, world).await,
            "piece add" => self.added(line, world).await,
            "piece halve" => self.halved(line, world).await,
            "step undo" => self.undone(line, world).await,
            _ => self.stepped(line, world).await,
        }
    }

    /// Her book, the visit that a line names, and that it goes on.
    async fn at_visit(&self, line: &mut Line, world: &World) -> Result<AtVisit, Stop> {
        let visit: VisitId = line.needed("visit")?;
        let client = self.client_with(visit.0, "visit").await?;
        let book = self.client_book(client, None).await?;
        line.still("the client", book.version)?;
        let at = AtVisit { client, book, visit };
        at.open(world)?;
        Ok(at)
    }

    async fn visit_begun(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let (client, book) = self.hers(line).await?;
        let kind = visit_kind(line)?;
        let plan: Option<PlanId> = line.asked("plan")?;
        let worn = crate::client_line::worn(&book.plans).map(|(plan, _)| plan.id);
        let plan = plan.or(if kind.sets() { None } else { worn });
        let rules = RuleBook::standard();
        let gate = self.gate((client, &book), kind, world).await?;
        let visit = VisitId(new_id());
        let (events, cautions) =
            decide_begin(&book, (visit, kind, plan), &gate, because(line)?, (world, &rules)).map_err(DeskFault::from)?;
        let decided = self.client_act(client, book, events, world).with("visit", visit.to_string());
        Ok(if cautions.is_empty() { decided } else { decided.with("cautions", json!(cautions)) })
    }

    /// What stands in the way of setting anything that day.
    async fn gate(&self, (client, book): (ClientId, &ClientBook), kind: VisitKind, world: &World) -> Result<Gate, Stop> {
        if !kind.sets() {
            return Ok(Gate::default());
        }
        let mut gate = self.gate_of(book, world).await?;
        // What another record of hers says protects her no less.
        for (_, other) in self.other_books(client, book).await? {
            let reacted = skin_status(&other.skin_tests, &RuleBook::standard()) == Some(PatchStatus::Reacted);
            let says = if reacted { Some(Message::SkinTestReacted.to_string()) } else { self.gate_of(&other, world).await?.stopped };
            let told = says.map(|says| Message::SetAsideStops { says }.to_string());
            gate.stopped = gate.stopped.or(told);
        }
        Ok(gate)
    }

    /// What one record of hers has against it.
    async fn gate_of(&self, book: &ClientBook, world: &World) -> Result<Gate, DeskFault> {
        let (health, _) = self.health(book, "visit begin", None).await?;
        let file = self.house_book().await?.house.0.complete(&book.facts.file_on(world.on, health.as_ref()));
        // Facts that do not stand together any more made the plan that is named: it was judged then.
        let Ok(facts) = file.check() else { return Ok(Gate::default()) };
        let judged = judge(&facts.answers, &RuleBook::standard());
        let stopped = (!judged.verdict.allows_a_plan()).then(|| format!("{}. {}", judged.verdict.words(), judged.says));
        Ok(Gate { stopped, skin_test_owed: judged.limits.patch_test.is_some() })
    }

    async fn visit_closed(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let at = self.at_visit(line, world).await?;
        let visit = at.open(world)?;
        let said: [Option<bool>; 3] = [line.asked("moves_freely")?, line.asked("nothing_shows")?, line.asked("comfortable")?];
        let off: Option<f64> = line.asked("mm_off_scalp")?;
        let checks = match (said, off) {
            ([Some(moves_freely), Some(nothing_shows), Some(comfortable)], Some(mm_off_scalp)) => {
                Some(ClosingChecks { moves_freely, mm_off_scalp, nothing_shows, comfortable })
            }
            ([None, None, None], None) => None,
            _ => return Err(refused(&Message::ClosingChecksMissing, "visit", "closing-checks")),
        };
        let rules = RuleBook::standard();
        let next = next_date(&at.book, visit, &rules);
        let open: Vec<String> = open_sites(&at.book, visit.plan, visit);
        let events = decide_close(&at.book, visit, (checks, next), because(line)?, (world.on, &rules)).map_err(DeskFault::from)?;
        let kind = visit.kind;
        let mut decided = self.client_act(at.client, at.book, events, world).with("next", json!(next));
        if kind.sets() && !open.is_empty() {
            decided = decided.with("left_open", json!(open));
        }
        Ok(decided)
    }

    async fn placed(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let at = self.at_visit(line, world).await?;
        let asked = Asked {
            site: site(line, "site")?,
            pieces: [line.asked("upper")?, line.asked("lower")?],
            moved_mm: line.asked("moved_mm")?,
            because: because(line)?,
        };
        let shelf = self.shelf_book().await?;
        let mut new_piece = || PieceId(new_id());
        let rules = RuleBook::standard();
        let mut placing = Placing { client: at.client, book: &at.book, shelf: &shelf, rules: &rules, new_piece: &mut new_piece };
        let events = decide_place(&mut placing, at.open(world)?, &asked).map_err(DeskFault::from)?;
        let (upper, lower) = layers(&events.pieces);
        Ok(self.step_act(at, &shelf, events, world).with("upper", upper).with("lower", lower))
    }

    async fn added(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let at = self.at_visit(line, world).await?;
        let asked = AskedToAdd {
            beside: site(line, "beside")?,
            by_mm: line.needed("by_mm")?,
            pieces: [line.asked("upper")?, line.asked("lower")?],
            because: because(line)?,
        };
        let shelf = self.shelf_book().await?;
        let mut new_piece = || PieceId(new_id());
        let rules = RuleBook::standard();
        let mut placing = Placing { client: at.client, book: &at.book, shelf: &shelf, rules: &rules, new_piece: &mut new_piece };
        let (site, events) = decide_add(&mut placing, at.open(world)?, asked).map_err(DeskFault::from)?;
        let (upper, lower) = layers(&events.pieces);
        Ok(self.step_act(at, &shelf, events, world).with("site", site.to_string()).with("upper", upper).with("lower", lower))
    }

    async fn halved(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let piece: PieceId = line.needed("piece")?;
        let shelf = self.shelf_book().await?;
        let halves = [PieceId(new_id()), PieceId(new_id())];
        let owner = if shelf.find(piece).is_some() { None } else { self.client_of_piece(piece).await? };
        let hers = match owner {
            Some(client) => Some((client, self.client_book(client, None).await?)),
            None => None,
        };
        let events = decide_halve(piece, hers.as_ref().map(|(_, book)| book), &shelf, halves).map_err(DeskFault::from)?;
        let decided = match hers {
            Some((client, book)) => self.client_act(client, book, events.client, world),
            None => on_shelf(&shelf, events.shelf),
        };
        Ok(decided.with("left", halves[0].to_string()).with("right", halves[1].to_string()))
    }

    async fn undone(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let at = self.at_visit(line, world).await?;
        let visit = at.open(world)?;
        let events = decide_undo(at.client, visit).map_err(DeskFault::from)?;
        let undone = visit.steps.last().map(|done| json!(done.step));
        let shelf = self.shelf_book().await?;
        Ok(self.step_act(at, &shelf, events, world).with("undone", undone.unwrap_or_default()))
    }

    /// The steps that touch neither the shelf nor a place still to be chosen.
    async fn stepped(&self, line: &mut Line, world: &World) -> Result<Decided, Stop> {
        let at = self.at_visit(line, world).await?;
        let rules = RuleBook::standard();
        let (book, visit) = (&at.book, at.open(world)?);
        let text = |line: &mut Line, key: &str| line.needed::<String>(key).and_then(|text| short(text, key));
        let events = match line.name {
            "piece skip" => decide_skip(book, visit, site(line, "site")?, &text(line, "reason")?),
            "piece take out" => {
                let found = word(&line.needed::<String>("state")?, BondFound::from_word, "state", "held, slipped, lost")?;
                decide_take_out(book, visit, (site(line, "site")?, found, line.asked("shed_hairs")?), world.on)
            }
            "piece clean" => decide_care(book, visit, line.needed("piece")?, Care::Clean),
            "piece re-tape" => decide_care(book, visit, line.needed("piece")?, Care::Retape),
            "piece retire" => {
                let piece = line.needed("piece")?;
                decide_care(book, visit, piece, Care::Retire { reason: text(line, "reason")? })
            }
            "regrowth measure" => decide_regrown(book, visit, (site(line, "site")?, line.needed("mm")?), (world.on, &rules)),
            "scalp see" => decide_scalp(visit, &text(line, "region")?, &text(line, "found")?),
            other => return Err(no_act(&crate::words::Message::ActUnlisted { act: quoted(other) }, "act")),
        };
        let events = events.map_err(DeskFault::from)?;
        let (upper, lower) = layers(&events.pieces);
        let shelf = self.shelf_book().await?;
        let taken_out = line.name == "piece take out";
        let decided = self.step_act(at, &shelf, events, world);
        Ok(if taken_out { decided.with("upper", upper).with("lower", lower) } else { decided })
    }

    /// What a step writes in her stream and on the shelf, in one act.
    fn step_act(&self, at: AtVisit, shelf: &Arc<ShelfBook>, events: StepEvents, world: &World) -> Decided {
        let mut decided = self.client_act(at.client, at.book, events.client, world);
        if !events.shelf.is_empty() {
            decided.act = decided.act.shelf_at(shelf.version, events.shelf);
        }
        decided
    }

    /// Whose a piece is that is no longer on the shelf; nothing where no client has it.
    ///
    /// *Meaning*: the clients' lines hold the moments in which the numbers of their pieces were
    /// made; only those with the right moment are looked through.
    pub(crate) async fn client_of_piece(&self, piece: PieceId) -> Result<Option<ClientId>, DeskFault> {
        let moment = salon::book::visit::pieces::made_at(piece);
        for line in self.all_lines().await?.iter().filter(|line| line.1.pieces_made.binary_search(&moment).is_ok()) {
            let book = self.client_book(line.1.id, None).await?;
            if book.year.pieces.get(piece).is_some() {
                return Ok(Some(line.1.id));
            }
        }
        Ok(None)
    }
}

impl AtVisit {
    fn open(&self, world: &World) -> Result<&salon::book::VisitState, Stop> {
        Ok(open_visit(&self.book, self.visit, world.on).map_err(DeskFault::from)?)
    }
}

fn on_shelf(shelf: &ShelfBook, events: Vec<ShelfEvent>) -> Decided {
    Decided::new(Act::default().shelf_at(shelf.version, events), store::book::Stream::Shelf)
}

/// Places of the plan that were neither set nor left free.
fn open_sites(book: &ClientBook, plan: Option<PlanId>, visit: &salon::book::VisitState) -> Vec<String> {
    let sites = plan.and_then(|plan| book.plan(plan)).map_or(&[][..], |plan| &plan.sites);
    let open = sites.iter().filter(|site| visit.placed(site.site).is_none() && !visit.skipped(site.site));
    open.map(|site| site.site.to_string()).collect()
}

fn visit_kind(line: &mut Line) -> Result<VisitKind, Stop> {
    let words = "consultation, colour, application, check, re-tape, removal";
    word(&line.needed::<String>("kind")?, VisitKind::from_word, "kind", words)
}

/// The place that a line names; a text that is none is no place of any plan.
fn site(line: &mut Line, key: &str) -> Result<SiteId, Stop> {
    let name: String = line.needed(key)?;
    name.parse().map_err(|_| refused(&Message::NoSiteOfPlan { name }, key, "site"))
}

/// The reason for passing a limit, where one was given.
fn because(line: &mut Line) -> Result<Option<String>, Stop> {
    let reason = line.asked::<String>("because")?.map(|reason| reason.trim().to_owned()).filter(|reason| !reason.is_empty());
    reason.map(|reason| short(reason, "because")).transpose()
}

fn short(text: String, key: &str) -> Result<String, Stop> {
    if text.chars().count() <= LONGEST_REASON {
        return Ok(text);
    }
    Err(refused(&Message::ReasonTooLong { most: LONGEST_REASON.to_string() }, key, "reason"))
}

fn refused(message: &Message, place: &str, rule: &str) -> Stop {
    Stop::Fault(DeskFault::Refused(vec![Fault::of(message, place, rule)]))
}

fn layers(pieces: &[PieceId]) -> (Value, Value) {
    let at = |at: usize| pieces.get(at).map_or(Value::Null, |piece| json!(piece));
    (at(0), at(1))
}
