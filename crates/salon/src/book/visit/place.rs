//! Setting a sandwich: which pieces it takes, and what that writes.

use super::super::client::{ClientBook, no_such};
use super::super::client_event::{ClientEvent, SitePlaced};
use super::super::id::{ClientId, PieceId, VisitId};
use super::super::shelf::{ShelfBook, ShelfEvent, numbered_now};
use super::pieces::{Adhesive, PieceAt};
use super::state::VisitState;
use super::words::{AddedAt, ShelfPiece, Step};
use crate::Fault;
use crate::stock::{OnHand, StockLength};
use crate::words::Message;
use craft::chair::MOVED_MOST;
use craft::piece::Cut;
use craft::placement::SiteId;
use measure::RuleBook;
use measure::text::{millimetres, number};

/// A sandwich that is to be set.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Where.
    pub site: SiteId,
    /// The piece above and the piece below, where they were named.
    pub pieces: [Option<PieceId>; 2],
    /// How far it was moved along its parting, mm, + to her right.
    pub moved_mm: Option<f64>,
    /// The reason that was given for passing a limit.
    pub because: Option<String>,
}

/// What a step writes: in her stream, and on the shelf.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StepEvents {
    /// Of her stream.
    pub client: Vec<ClientEvent>,
    /// Of the shelf's.
    pub shelf: Vec<ShelfEvent>,
    /// The pieces it is about: of a sandwich the one above, then the one below.
    pub pieces: Vec<PieceId>,
}

/// What a sandwich is set from.
pub struct Placing<'a> {
    /// Whose hair.
    pub client: ClientId,
    /// Her book.
    pub book: &'a ClientBook,
    /// The shelf.
    pub shelf: &'a ShelfBook,
    /// The values in force.
    pub rules: &'a RuleBook,
    /// Makes the numbers of halves and of pieces that were counted only.
    pub new_piece: &'a mut dyn FnMut() -> PieceId,
}

/// One layer of a sandwich as the plan has it.
#[derive(Debug, Clone, Copy)]
struct Layer<'a> {
    shade: &'a str,
    length: Option<StockLength>,
    cut: Cut,
}

/// What was chosen so far for one sandwich.
#[derive(Default)]
struct Chosen {
    pieces: Vec<PieceId>,
    from_shelf: Vec<ShelfPiece>,
    cut_here: Vec<Step>,
    cut_there: Vec<(ShelfPiece, [PieceId; 2])>,
    /// Halves of pieces that were cut for this sandwich and are not used yet.
    own_halves: Vec<PieceId>,
    shelf_halves: Vec<ShelfPiece>,
    /// Pieces that were there though the shelf's records did not hold them.
    found: Vec<OnHand>,
}

/// The lot of pieces that were set and had never been recorded.
const NOT_RECORDED: &str = "not recorded";

/// Sets a sandwich at a place of the visit's plan.
///
/// *Meaning*: pieces that are not named are chosen: at a re-tape her own first, in the order
/// they came out, then the plan's shade from the shelf, lots kept together. A half that is wanted
/// is cut from a whole piece where none lies there.
///
/// *Errors*: the place or the pieces cannot be had, all at once; a limit of the trade that
/// no reason was given for.
pub fn decide_place(placing: &mut Placing, visit: &VisitState, asked: &Asked) -> Result<StepEvents, Vec<Fault>> {
    let sites = at_a_place(placing, visit)?;
    let Some(site) = sites.iter().find(|site| site.site == asked.site) else {
        return Err(vec![Fault::of(&Message::NoSiteOfPlan { name: asked.site.to_string() }, "site", "site")]);
    };
    if !placing.book.year.pieces.at_site(asked.site, |of| of == visit.plan).is_empty() {
        return Err(vec![Fault::of(&Message::SiteHoldsPieces { site: asked.site.to_string() }, "site", "one-place")]);
    }
    let most = placing.rules.value(&MOVED_MOST);
    if let Some(moved) = asked.moved_mm.filter(|moved| !(moved.is_finite() && moved.abs() <= most)) {
        let message = Message::MovedTooFar { moved: number(moved, 0), most: number(most, 0) };
        return Err(vec![Fault::of(&message, "moved_mm", "moved")]);
    }
    set(placing, visit, (sites, site), asked, None)
}

/// The places of the plan that a visit goes by, where something may be set at it.
pub(super) fn at_a_place<'a>(placing: &Placing<'a>, visit: &VisitState) -> Result<&'a [SitePlaced], Vec<Fault>> {
    let Some(plan) = visit.plan.and_then(|plan| placing.book.plan(plan)) else {
        return Err(vec![Fault::of(&Message::VisitNeedsPlan, "visit", "visit-plan")]);
    };
    if !visit.kind.places() {
        return Err(vec![Fault::of(&Message::NothingIsSetAt { kind: visit.kind.word().to_owned() }, "visit", "visit-kind")]);
    }
    Ok(&plan.sites)
}

/// Sets a sandwich at a place that is free.
pub(super) fn set(
    placing: &mut Placing,
    visit: &VisitState,
    (sites, site): (&[SitePlaced], &SitePlaced),
    asked: &Asked,
    added: Option<AddedAt>,
) -> Result<StepEvents, Vec<Fault>> {
    let layers = site.setting.pieces() as usize;
    let named: Vec<PieceId> = asked.pieces.iter().flatten().copied().collect();
    if named.len() == 2 && named[0] == named[1] {
        return Err(vec![Fault::of(&Message::OnePieceTwice, "lower", "one-place")]);
    }
    if layers == 1 && asked.pieces[1].is_some() {
        return Err(vec![Fault::of(&Message::OnePieceHere, "lower", "one-place")]);
    }
    let (mut chosen, mut faults) = (Chosen::default(), Vec::new());
    for layer in 0..layers {
        let wanted = Layer { shade: &site.shades[layer], length: StockLength::mm(site.length_mm), cut: site.cut };
        let outcome = match asked.pieces[layer] {
            Some(piece) => placing.named(piece, wanted, asked.because.is_some(), &mut chosen),
            None => placing.any(visit, sites, wanted, (&named, asked.because.is_some()), &mut chosen),
        };
        if let Err(mut fault) = outcome {
            fault.place = ["upper", "lower"][layer].into();
            if !faults.iter().any(|other: &Fault| other.what == fault.what) {
                faults.push(fault);
            }
        }
    }
    if faults.is_empty() { Ok(events(placing, visit.id, (asked, added), chosen)) } else { Err(faults) }
}

/// What a chosen sandwich writes.
fn events(placing: &Placing, visit: VisitId, (asked, added): (&Asked, Option<AddedAt>), chosen: Chosen) -> StepEvents {
    let mut out = StepEvents { pieces: chosen.pieces.clone(), ..StepEvents::default() };
    for mut there in chosen.found {
        let lies = placing.shelf.on_hand.iter().find(|lot| there.is_of_lot(lot)).map_or(0, |lot| lot.pieces);
        there.pieces += lies;
        out.shelf.push(ShelfEvent::Counted { there, reason: asked.because.clone().unwrap_or_default() });
    }
    out.shelf.extend(chosen.cut_there.into_iter().map(|(whole, halves)| ShelfEvent::PieceHalved { whole, halves }));
    if !chosen.from_shelf.is_empty() {
        out.shelf.push(ShelfEvent::PiecesLeft { client: placing.client, pieces: chosen.from_shelf.clone() });
    }
    let left = if chosen.from_shelf.is_empty() { 0 } else { placing.shelf.version + out.shelf.len() as u64 };
    let cut = |step| ClientEvent::StepDone { visit, step, from_shelf: Vec::new(), left: 0, because: None };
    out.client.extend(chosen.cut_here.into_iter().map(cut));
    let moved_mm = asked.moved_mm.filter(|moved| *moved != 0.0);
    let step = Step::Placed { site: asked.site, pieces: chosen.pieces, moved_mm, added };
    out.client.push(ClientEvent::StepDone { visit, step, from_shelf: chosen.from_shelf, left, because: asked.because.clone() });
    out
}

impl Placing<'_> {
    /// Takes a piece that was named.
    fn named(&self, piece: PieceId, wanted: Layer, passes: bool, chosen: &mut Chosen) -> Result<(), Fault> {
        let hers = self.book.year.pieces.get(piece);
        let cut = match (hers, self.shelf.find(piece)) {
            (Some(hers), _) => {
                if let Some(message) = not_to_be_set(&hers.at, hers.adhesive, passes) {
                    return Err(Fault::of(&message, "piece", "piece"));
                }
                hers.cut
            }
            (None, Some(there)) => {
                let cut = there.cut;
                chosen.from_shelf.push(there);
                cut
            }
            (None, None) => return Err(Fault::of(&Message::PieceNeitherHersNorOnShelf, "piece", "one-head")),
        };
        if cut == Cut::Full && wanted.cut == Cut::Half && !passes {
            return Err(Fault::of(&Message::PieceTooWide, "piece", "cut"));
        }
        chosen.pieces.push(piece);
        Ok(())
    }

    /// Chooses a piece: hers first, then from the shelf.
    fn any(
        &mut self,
        visit: &VisitState,
        sites: &[SitePlaced],
        wanted: Layer,
        (named, passes): (&[PieceId], bool),
        chosen: &mut Chosen,
    ) -> Result<(), Fault> {
        if wanted.cut == Cut::Half && !chosen.own_halves.is_empty() {
            chosen.pieces.push(chosen.own_halves.remove(0));
            return Ok(());
        }
        if self.own(wanted, named, passes, chosen)? {
            return Ok(());
        }
        if wanted.cut == Cut::Full {
            let piece = self.whole(visit, sites, wanted, (named, &[], passes), chosen)?;
            chosen.pieces.push(piece.piece);
            chosen.from_shelf.push(piece);
            return Ok(());
        }
        let fits = |half: &ShelfPiece| is_such(&half.origin.lot_of(1), wanted);
        let is_free = |half: &&ShelfPiece| !named.contains(&half.piece) && !chosen.pieces.contains(&half.piece);
        let half = match chosen.shelf_halves.iter().position(fits) {
            Some(at) => chosen.shelf_halves.remove(at),
            None => match self.shelf.halves.iter().filter(is_free).find(|half| fits(half)).cloned() {
                Some(half) => half,
                None => {
                    let cut: Vec<PieceId> = chosen.cut_there.iter().map(|(whole, _)| whole.piece).collect();
                    let whole = self.whole(visit, sites, wanted, (named, &cut, passes), chosen)?;
                    let halves = [(self.new_piece)(), (self.new_piece)()];
                    let [first, second] =
                        halves.map(|piece| ShelfPiece { piece, cut: Cut::Half, parent: Some(whole.piece), origin: whole.origin.clone() });
                    chosen.cut_there.push((whole, halves));
                    chosen.shelf_halves.push(second);
                    first
                }
            },
        };
        chosen.pieces.push(half.piece);
        chosen.from_shelf.push(half);
        Ok(())
    }

    /// Chooses one of her own pieces, in the order they came out; whether one was.
    fn own(&mut self, wanted: Layer, named: &[PieceId], passes: bool, chosen: &mut Chosen) -> Result<bool, Fault> {
        let pieces = &self.book.year.pieces;
        let free: Vec<PieceId> =
            pieces.in_bag().into_iter().filter(|piece| !named.contains(piece) && !chosen.pieces.contains(piece)).collect();
        let of = |cut: Cut| free.iter().copied().filter(move |piece| pieces.get(*piece).is_some_and(|piece| piece.cut == cut));
        let is_new = |piece: &PieceId| pieces.get(*piece).is_some_and(|piece| piece.adhesive == Adhesive::New);
        let such = |piece: &PieceId| pieces.get(*piece).is_some_and(|piece| is_such(&pieces.origin(piece).lot_of(1), wanted));
        let best = |cut: Cut| of(cut).filter(is_new).find(such).or_else(|| of(cut).find(is_new));
        if let Some(piece) = best(wanted.cut) {
            chosen.pieces.push(piece);
            return Ok(true);
        }
        let cut_already = |piece: &PieceId| chosen.cut_here.iter().any(|step| step.pieces().first() == Some(piece));
        if let (Cut::Half, Some(whole)) = (wanted.cut, best(Cut::Full).filter(|piece| !cut_already(piece))) {
            let halves = [(self.new_piece)(), (self.new_piece)()];
            chosen.cut_here.push(Step::Halved { piece: whole, halves });
            chosen.pieces.push(halves[0]);
            chosen.own_halves.push(halves[1]);
            return Ok(true);
        }
        // A whole piece would do where a half is wanted: it is cut.
        let waiting = of(wanted.cut).count() + if wanted.cut == Cut::Half { of(Cut::Full).count() } else { 0 };
        if waiting > 0 && !passes {
            return Err(Fault::of(&Message::OwnPiecesWaitForTape { pieces: waiting }, "piece", "new-adhesive"));
        }
        Ok(false)
    }

    /// A whole piece from the shelf; with a reason, one that lies there though no record holds it.
    fn whole(
        &mut self,
        visit: &VisitState,
        sites: &[SitePlaced],
        wanted: Layer,
        (named, cut, passes): (&[PieceId], &[PieceId], bool),
        chosen: &mut Chosen,
    ) -> Result<ShelfPiece, Fault> {
        let refused = match self.whole_from_shelf(visit, sites, wanted, (named, cut), chosen) {
            Err(refused) if passes => refused,
            outcome => return outcome,
        };
        let Some(length_mm) = wanted.length else { return Err(refused) };
        let one = OnHand { lot: NOT_RECORDED.to_owned(), shade: wanted.shade.to_owned(), length_mm, pieces: 1 };
        match chosen.found.iter_mut().find(|found| found.is_of_lot(&one)) {
            Some(found) => found.pieces += 1,
            None => chosen.found.push(one.clone()),
        }
        Ok(numbered_now(&one, (self.new_piece)()))
    }

    /// A whole piece from the shelf: from the lot that this visit took from already, else from the
    /// smallest that serves all that is still to come, else from the largest.
    fn whole_from_shelf(
        &mut self,
        visit: &VisitState,
        sites: &[SitePlaced],
        wanted: Layer,
        (named, cut): (&[PieceId], &[PieceId]),
        chosen: &Chosen,
    ) -> Result<ShelfPiece, Fault> {
        let shelf = self.shelf;
        // Named for the layer below: it lies there still, and is not to be had.
        let to_be_taken: Vec<ShelfPiece> = named
            .iter()
            .filter(|piece| !chosen.pieces.contains(piece))
            .filter_map(|piece| shelf.find(*piece).filter(|piece| piece.cut == Cut::Full))
            .collect();
        let gone = |piece: PieceId| named.contains(&piece) || cut.contains(&piece) || chosen.pieces.contains(&piece);
        let of_lot = |lot: &OnHand| {
            let same = |origin: &super::words::PieceOrigin| {
                origin.lot == lot.lot && origin.shade == lot.shade && origin.length_mm == lot.length_mm
            };
            let taken = chosen.from_shelf.iter().filter(|piece| piece.cut == Cut::Full && same(&piece.origin)).count()
                + chosen.cut_there.iter().filter(|(whole, _)| same(&whole.origin)).count()
                + to_be_taken.iter().filter(|piece| same(&piece.origin)).count();
            (lot.pieces as usize).saturating_sub(taken)
        };
        let lots: Vec<&OnHand> = shelf.on_hand.iter().filter(|lot| is_such(lot, wanted) && of_lot(lot) > 0).collect();
        let used = |lot: &&&OnHand| {
            let here = visit.steps.iter().flat_map(|done| &done.from_shelf).chain(&chosen.from_shelf);
            here.filter(|piece| is_such(&piece.origin.lot_of(1), wanted)).any(|piece| piece.origin.lot == lot.lot)
        };
        let to_come = to_come(visit, sites, wanted);
        let pieces = |lot: &&&OnHand| of_lot(lot);
        let lot = lots
            .iter()
            .filter(used)
            .max_by_key(pieces)
            .or_else(|| lots.iter().filter(|lot| of_lot(lot) >= to_come).min_by_key(pieces))
            .or_else(|| lots.iter().max_by_key(pieces));
        let Some(lot) = lot else { return Err(not_on_shelf(shelf, wanted)) };
        let numbered = shelf.numbered(lot).find(|piece| !gone(piece.piece));
        Ok(numbered.unwrap_or_else(|| numbered_now(lot, (self.new_piece)())))
    }
}

/// Pieces of a shade and length that the plan's places still take, whole ones.
fn to_come(visit: &VisitState, sites: &[SitePlaced], wanted: Layer) -> usize {
    let open = sites.iter().filter(|site| visit.placed(site.site).is_none() && !visit.skipped(site.site));
    let layers = open.flat_map(|site| site.shades.iter().take(site.setting.pieces() as usize).map(move |shade| (shade, site)));
    let halves: u32 = layers
        .filter(|(shade, site)| shade.as_str() == wanted.shade && StockLength::mm(site.length_mm) == wanted.length)
        .map(|(_, site)| site.cut.half_pieces())
        .sum();
    halves.div_ceil(2) as usize
}

/// Whether a lot holds such pieces; a plan without shades takes any.
fn is_such(lot: &OnHand, wanted: Layer) -> bool {
    (wanted.shade.is_empty() || lot.shade == wanted.shade) && Some(lot.length_mm) == wanted.length
}

fn not_on_shelf(shelf: &ShelfBook, wanted: Layer) -> Fault {
    let length = wanted.length.map_or_else(String::new, |length| millimetres(length.length()));
    let of_shade: u32 = shelf.on_hand.iter().filter(|lot| lot.shade == wanted.shade).map(|lot| lot.pieces).sum();
    let message = Message::NotOnShelf { shade: wanted.shade.to_owned(), length, others: of_shade.to_string() };
    Fault::of(&message, "piece", "shelf")
}

/// Why one of her pieces is not to be set, where that is so.
fn not_to_be_set(at: &PieceAt, adhesive: Adhesive, passes: bool) -> Option<Message> {
    match at {
        PieceAt::Bag { .. } if adhesive == Adhesive::New || passes => None,
        PieceAt::Bag { .. } => Some(Message::PieceHasNoNewTape),
        PieceAt::Hair { site, .. } => Some(Message::PieceIsInHair { site: site.to_string() }),
        PieceAt::Retired { .. } | PieceAt::Lost { .. } | PieceAt::Halved => Some(Message::PieceIsNoMore { state: at.word().to_owned() }),
    }
}

/// Cuts a piece in half: one on the shelf, or one of hers while a visit of hers goes on.
///
/// *Errors*: it is in hair, cut or put aside already; nothing has this number.
pub fn decide_halve(piece: PieceId, book: Option<&ClientBook>, shelf: &ShelfBook, halves: [PieceId; 2]) -> Result<StepEvents, Vec<Fault>> {
    let of = |message: Message| vec![Fault::of(&message, "piece", "cut")];
    if let Some(whole) = shelf.find(piece) {
        if whole.cut == Cut::Half {
            return Err(of(Message::HalfIsNotCut));
        }
        return Ok(StepEvents { shelf: vec![ShelfEvent::PieceHalved { whole, halves }], client: Vec::new(), pieces: halves.to_vec() });
    }
    let Some((book, hers)) = book.and_then(|book| book.year.pieces.get(piece).map(|hers| (book, hers))) else {
        return Err(vec![no_such("piece")]);
    };
    match &hers.at {
        PieceAt::Bag { .. } if hers.cut == Cut::Half => Err(of(Message::HalfIsNotCut)),
        PieceAt::Bag { .. } => {
            let Some(visit) = book.year.open() else { return Err(of(Message::NoVisitIsOpen)) };
            let step = Step::Halved { piece, halves };
            let event = ClientEvent::StepDone { visit: visit.id, step, from_shelf: Vec::new(), left: 0, because: None };
            Ok(StepEvents { client: vec![event], shelf: Vec::new(), pieces: halves.to_vec() })
        }
        PieceAt::Hair { site, .. } => Err(of(Message::PieceIsInHair { site: site.to_string() })),
        at => Err(of(Message::PieceIsNoMore { state: at.word().to_owned() })),
    }
}
