//! A visit as it stands, and what its events make of it.

use super::super::day::{Day, Stood};
use super::super::id::{PersonId, PieceId, PlanId, VisitId};
use super::observed::Observed;
use super::pieces::{Adhesive, HerPiece, PieceAt, Pieces};
use super::words::{BondFound, ClosingChecks, NextDate, ShelfPiece, Step, VisitKind};
use craft::placement::SiteId;
use serde::{Deserialize, Serialize};

/// Closed visits whose steps are held; those of earlier ones stand in the events.
const WITH_STEPS: usize = 2;

/// One step as it was done, and how its pieces were before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepDone {
    /// The version of the event that says so.
    pub version: u64,
    /// Minutes of that day since midnight, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minute: Option<u16>,
    /// What was done.
    pub step: Step,
    /// The reason that was given for passing a limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    /// Its pieces as they were before; held while the visit is open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    before: Vec<(PieceId, Option<HerPiece>)>,
    /// Those that came from the shelf for it; held while the visit is open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub from_shelf: Vec<ShelfPiece>,
}

/// How a visit ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Closed {
    /// The day.
    pub on: Day,
    /// Minutes of that day since midnight, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minute: Option<u16>,
    /// What was seen before she left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checks: Option<ClosingChecks>,
    /// When the set is due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<NextDate>,
    /// The reason that was given for passing a limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
}

/// A visit as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct VisitState {
    /// Which.
    pub id: VisitId,
    /// What for.
    pub kind: VisitKind,
    /// By which plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<PlanId>,
    /// The day.
    pub on: Day,
    /// Minutes of that day since midnight, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minute: Option<u16>,
    /// Who did it.
    pub by: PersonId,
    /// The reason that was given for passing a limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    /// What was done, in its order; of earlier visits only how much.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<StepDone>,
    /// Sandwiches set and taken out, and sites skipped.
    #[serde(default)]
    pub tally: Tally,
    /// How it ended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed: Option<Closed>,
}

/// How much was done at a visit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Sandwiches set.
    pub placed: u32,
    /// Places left free.
    pub skipped: u32,
    /// Sandwiches taken out.
    pub taken_out: u32,
    /// Pieces that came from the shelf.
    pub new_pieces: u32,
    /// Pieces that got new adhesive.
    pub retaped: u32,
}

impl VisitState {
    /// Whether it goes on.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.closed.is_none()
    }

    /// The step that set a site at this visit, where one did.
    #[must_use]
    pub fn placed(&self, site: SiteId) -> Option<&StepDone> {
        self.steps.iter().rev().find(|done| matches!(&done.step, Step::Placed { site: at, .. } if *at == site))
    }

    /// Whether a site was left free and not set since.
    #[must_use]
    pub fn skipped(&self, site: SiteId) -> bool {
        let last = self.steps.iter().rev().find(|done| match &done.step {
            Step::Placed { site: at, .. } | Step::Skipped { site: at, .. } => *at == site,
            _ => false,
        });
        last.is_some_and(|done| matches!(done.step, Step::Skipped { .. }))
    }

    fn tally(&self) -> Tally {
        let mut tally = Tally::default();
        for done in &self.steps {
            match &done.step {
                Step::Placed { .. } => tally.placed += 1,
                Step::Skipped { site, .. } if self.skipped(*site) => tally.skipped += 1,
                Step::TakenOut { .. } => tally.taken_out += 1,
                Step::Retaped { .. } => tally.retaped += 1,
                _ => {}
            }
            tally.new_pieces += done.from_shelf.len() as u32;
        }
        tally
    }
}

/// A step on its way into the book.
pub struct NewStep {
    /// The visit.
    pub visit: VisitId,
    /// What was done.
    pub step: Step,
    /// Pieces that came from the shelf for it, and the version of the shelf's event.
    pub from_shelf: (Vec<ShelfPiece>, u64),
    /// The reason that was given for passing a limit.
    pub because: Option<String>,
}

/// Her visits, her pieces, and what was learnt from them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Year {
    /// Her visits, oldest first.
    pub visits: Vec<VisitState>,
    /// Her pieces.
    pub pieces: Pieces,
    /// What was seen of her hair and bonds.
    #[serde(default)]
    pub observed: Observed,
}

impl Year {
    /// A visit.
    #[must_use]
    pub fn visit(&self, id: VisitId) -> Option<&VisitState> {
        self.visits.iter().find(|visit| visit.id == id)
    }

    /// The visit that goes on, where one does.
    #[must_use]
    pub fn open(&self) -> Option<&VisitState> {
        self.visits.iter().rev().find(|visit| visit.is_open())
    }

    /// The last closed visit at which a set went in.
    #[must_use]
    pub fn last_set(&self) -> Option<&VisitState> {
        self.visits.iter().rev().find(|visit| !visit.is_open() && visit.kind.sets() && visit.tally.placed > 0)
    }

    fn visit_mut(&mut self, id: VisitId) -> Option<&mut VisitState> {
        self.visits.iter_mut().find(|visit| visit.id == id)
    }

    /// Begins a visit.
    pub(in super::super) fn begin(&mut self, id: VisitId, kind: VisitKind, of: (Option<PlanId>, PersonId, Option<String>), now: Stood) {
        let (plan, by, because) = of;
        let (steps, tally) = (Vec::new(), Tally::default());
        self.visits.push(VisitState { id, kind, plan, on: now.on, minute: now.minute, by, because, steps, tally, closed: None });
    }

    /// Lets a visit go on by another plan.
    pub(in super::super) fn replan(&mut self, id: VisitId, plan: PlanId) {
        if let Some(visit) = self.visit_mut(id) {
            visit.plan = Some(plan);
        }
    }

    /// Puts a step in force.
    pub(in super::super) fn step(&mut self, new: NewStep, now: Stood) {
        let NewStep { visit: id, step, from_shelf: (from_shelf, left), because } = new;
        let plan = self.visit(id).and_then(|visit| visit.plan);
        let before = step.pieces().into_iter().map(|piece| (piece, self.pieces.get(piece).cloned())).collect();
        for piece in &from_shelf {
            self.pieces.take_in(piece, left);
        }
        let pieces = &mut self.pieces;
        match &step {
            Step::Placed { site, pieces: set, .. } => {
                for (layer, piece) in set.iter().enumerate() {
                    pieces.set(*piece, PieceAt::Hair { site: *site, plan, upper: layer == 0, since: now.on });
                }
            }
            Step::TakenOut { pieces: out, found, .. } => {
                for piece in out {
                    pieces.take_out(*piece, *found == BondFound::Lost, now.on);
                }
            }
            Step::Cleaned { piece } => pieces.adhere(*piece, Adhesive::Off),
            Step::Retaped { piece } => pieces.adhere(*piece, Adhesive::New),
            Step::Retired { piece, reason } => pieces.retire(*piece, now.on, reason.clone()),
            Step::Halved { piece, halves } => pieces.halve(*piece, *halves),
            Step::Skipped { .. } | Step::Regrown { .. } | Step::ScalpSeen { .. } => {}
        }
        if let Some(visit) = self.visit_mut(id) {
            visit.steps.push(StepDone { version: now.version, minute: now.minute, step, because, before, from_shelf });
            visit.tally = visit.tally();
        }
    }

    /// Takes a visit's last step back.
    pub(in super::super) fn undo(&mut self, id: VisitId) {
        let Some(done) = self.visit_mut(id).and_then(|visit| visit.steps.pop()) else { return };
        for (piece, was) in done.before {
            self.pieces.put_back(piece, was);
        }
        if let Some(visit) = self.visit_mut(id) {
            visit.tally = visit.tally();
        }
    }

    /// Ends a visit.
    pub(in super::super) fn close(&mut self, id: VisitId, closed: Closed) {
        let Some(at) = self.visits.iter().position(|visit| visit.id == id) else { return };
        self.observed.learn(self.visits[at].steps.iter().map(|done| &done.step));
        let visit = &mut self.visits[at];
        visit.closed = Some(closed);
        for done in &mut visit.steps {
            done.before.clear();
            done.from_shelf.clear();
        }
        // Where the slices of the set in her hair lie is asked until another goes in.
        let set = self.last_set().map(|visit| visit.id);
        let held = |visit: &VisitState| !visit.is_open() && !visit.steps.is_empty() && Some(visit.id) != set;
        let with_steps: Vec<usize> = (0..self.visits.len()).rev().filter(|at| held(&self.visits[*at])).collect();
        for at in with_steps.into_iter().skip(WITH_STEPS) {
            self.visits[at].steps = Vec::new();
        }
    }
}
