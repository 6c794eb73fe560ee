//! Questions about pieces: where each is, and its whole life.

use crate::written::{opened, stream_of};
use crate::{DeskFault, Salon};
use craft::placement::SiteId;
use salon::book::visit::{HerPiece, Pieces};
use salon::book::{ClientBook, ClientEvent, ClientId, Day, PieceAt, PieceId, PlanId, ShelfEvent, ShelfPiece, Step};
use serde_json::{Value, json};
use std::collections::HashMap;
use store::book::{Row, Stream};

/// Which pieces are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// All of one client.
    Of(ClientId),
    /// Those on the shelf that have a number.
    OnShelf,
    /// Those that were put aside for good.
    Retired,
    /// All there are.
    All,
}

/// A piece on the shelf, told.
pub(super) fn lying(piece: &ShelfPiece) -> Value {
    json!({
        "id": piece.piece, "shade": piece.origin.shade, "length_mm": piece.origin.length_mm, "lot": piece.origin.lot,
        "cut": piece.cut, "parent": piece.parent, "cycles": 0, "days_worn": 0, "where": "shelf",
    })
}

/// One of her pieces, told.
pub(super) fn hers(client: ClientId, book: &ClientBook, (id, piece): (PieceId, &HerPiece), on: Day) -> Value {
    let origin = book.year.pieces.origin(piece);
    let mut told = json!({
        "id": id, "shade": origin.shade, "length_mm": origin.length_mm, "lot": origin.lot,
        "cut": piece.cut, "parent": piece.parent, "cycles": piece.cycles, "days_worn": Pieces::days_worn(piece, on),
        "where": piece.at.word(), "client": client, "adhesive": piece.adhesive,
    });
    match &piece.at {
        PieceAt::Hair { site, plan, upper, since } => {
            told["site"] = json!(site);
            told["plan"] = json!(plan);
            told["layer"] = json!(if *upper { "upper" } else { "lower" });
            told["since"] = json!(since);
        }
        PieceAt::Retired { on, reason } => {
            told["retired_on"] = json!(on);
            told["reason"] = json!(reason);
        }
        PieceAt::Lost { on } => told["lost_on"] = json!(on),
        PieceAt::Bag { .. } | PieceAt::Halved => {}
    }
    told
}

/// The pieces in her hair in the order of their plan's sites, the one above first; then the others.
#[must_use]
pub fn in_site_order(book: &ClientBook) -> Vec<(PieceId, &HerPiece)> {
    let mut order: HashMap<(Option<PlanId>, SiteId), usize> = HashMap::new();
    for plan in &book.plans {
        for (at, site) in plan.sites.iter().enumerate() {
            order.insert((Some(plan.id), site.site), at);
        }
    }
    let mut all: Vec<(PieceId, &HerPiece)> =
        book.year.pieces.iter().filter(|(_, piece)| matches!(piece.at, PieceAt::Hair { .. })).collect();
    all.sort_by_key(|(id, piece)| match &piece.at {
        PieceAt::Hair { site, plan, upper, .. } => (order.get(&(*plan, *site)).copied().unwrap_or(usize::MAX), !upper, *id),
        _ => (usize::MAX, false, *id),
    });
    all
}

/// What a shelf's event says of a piece, told.
fn of_shelf(row: &Row, piece: PieceId) -> Result<Option<Value>, DeskFault> {
    let (event, stood) = opened::<ShelfEvent>(row)?;
    if !event.is_about(piece) {
        return Ok(None);
    }
    let mut told = json!({"seq": row.seq, "on": stood.on, "kind": event.kind()});
    match &event {
        ShelfEvent::PackReceived { came, supplier, .. } => {
            told["lot"] = json!(came.lot);
            told["supplier"] = json!(supplier);
        }
        ShelfEvent::PiecesLeft { client, .. } | ShelfEvent::PiecesBack { client, .. } => told["client"] = json!(client),
        ShelfEvent::PieceHalved { whole, halves } => {
            told["piece"] = json!(whole.piece);
            told["halves"] = json!(halves);
        }
        _ => {}
    }
    Ok(Some(told))
}

/// What an event of hers says of a piece, told.
fn of_hers(row: &Row, piece: PieceId, about: &mut Vec<u64>) -> Result<Option<Value>, DeskFault> {
    let (event, stood) = opened::<ClientEvent>(row)?;
    let told = json!({"seq": row.seq, "on": stood.on});
    let said = |kind: &str, more: Value| {
        let mut told = told.clone();
        told["kind"] = json!(kind);
        for (key, value) in more.as_object().into_iter().flatten().filter(|(key, _)| key.as_str() != "did") {
            told[key] = value.clone();
        }
        Ok(Some(told))
    };
    match event {
        ClientEvent::StepDone { visit, step, .. } if step.pieces().contains(&piece) => {
            about.push(stood.version);
            let mut more = json!(step);
            more["visit"] = json!(visit);
            said(step.word(), more)
        }
        ClientEvent::StepUndone { visit, step } if about.contains(&step) => said("undone", json!({"visit": visit})),
        _ => Ok(None),
    }
}

impl Salon {
    /// The whole life of a piece.
    ///
    /// *Errors*: nothing has this number; the records.
    pub async fn show_piece(&self, piece: PieceId, on: Day) -> Result<Value, DeskFault> {
        let shelf = self.shelf_book().await?;
        let client = match shelf.find(piece) {
            Some(_) => None,
            None => self.client_of_piece(piece).await?,
        };
        let (mut told, from, to) = match (shelf.find(piece), client) {
            (Some(there), _) => (lying(&there), there.origin.received, shelf.version),
            (None, Some(client)) => {
                let book = self.client_book(client, None).await?;
                let hers_now = book.year.pieces.get(piece).ok_or(DeskFault::Unknown("piece"))?;
                // A half that was cut here came from the shelf as its whole.
                let whole = hers_now.parent.and_then(|parent| book.year.pieces.get(parent));
                let left = hers_now.left.or_else(|| whole.and_then(|whole| whole.left)).unwrap_or(0);
                (hers(client, &book, (piece, hers_now), on), book.year.pieces.origin(hers_now).received.or(Some(left)), left)
            }
            (None, None) if shelf.missing.contains(&piece) => (json!({"id": piece, "where": "missing"}), None, 0),
            (None, None) => return Err(DeskFault::Unknown("piece")),
        };
        let mut events = Vec::new();
        if let Some(from) = from.filter(|from| *from > 0) {
            let parent: Option<PieceId> = serde_json::from_value(told["parent"].clone()).unwrap_or(None);
            for row in self.book.read_to(Stream::Shelf, from - 1, to).await? {
                match (of_shelf(&row, piece)?, parent) {
                    (Some(event), _) => events.push(event),
                    // Before it was cut, its life was its whole's.
                    (None, Some(parent)) => events.extend(of_shelf(&row, parent)?),
                    (None, None) => {}
                }
            }
        }
        if let Some(client) = client {
            let mut about = Vec::new();
            for row in self.book.read(stream_of(client), 0).await? {
                events.extend(of_hers(&row, piece, &mut about)?);
            }
        }
        told["events"] = json!(events);
        Ok(told)
    }

    /// Pieces that have a number.
    ///
    /// *Errors*: nothing has this id; the records.
    pub async fn show_pieces(&self, which: Which, on: Day) -> Result<Value, DeskFault> {
        let mut told = Vec::new();
        if matches!(which, Which::OnShelf | Which::All) {
            told.extend(self.shelf_book().await?.pieces().map(|piece| lying(&piece)));
        }
        match which {
            Which::Of(client) => {
                let book = self.client_book(client, None).await?;
                told.extend(in_site_order(&book).into_iter().map(|piece| hers(client, &book, piece, on)));
                let bag = book.year.pieces.in_bag().into_iter().filter_map(|id| Some((id, book.year.pieces.get(id)?)));
                told.extend(bag.map(|piece| hers(client, &book, piece, on)));
                let gone = book.year.pieces.iter().filter(|(_, piece)| !matches!(piece.at, PieceAt::Hair { .. } | PieceAt::Bag { .. }));
                told.extend(gone.map(|piece| hers(client, &book, piece, on)));
            }
            Which::Retired | Which::All => {
                for line in self.all_lines().await?.iter().filter(|line| !line.1.pieces_made.is_empty()) {
                    let book = self.client_book(line.1.id, None).await?;
                    let asked = |piece: &HerPiece| which == Which::All || matches!(piece.at, PieceAt::Retired { .. });
                    told.extend(book.year.pieces.iter().filter(|(_, piece)| asked(piece)).map(|piece| hers(line.1.id, &book, piece, on)));
                }
            }
            Which::OnShelf => {}
        }
        Ok(json!({ "pieces": told }))
    }
}

/// The steps of a visit, told: the site of each with its pieces.
pub(super) fn steps(done: &[salon::book::visit::StepDone]) -> Vec<Value> {
    let told = |done: &salon::book::visit::StepDone| {
        let mut told = json!(done.step);
        if let Step::Placed { pieces, .. } | Step::TakenOut { pieces, .. } = &done.step {
            told["upper"] = json!(pieces.first());
            told["lower"] = json!(pieces.get(1));
        }
        told["version"] = json!(done.version);
        if let Some(because) = &done.because {
            told["because"] = json!(because);
        }
        told
    };
    done.iter().map(told).collect()
}
