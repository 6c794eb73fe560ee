//! Words of visits as pages say them.

use measure::text::{capital, millimetres};
use salon::book::visit::{Adhesive, HerPiece, Pieces};
use salon::book::{Day, PieceId, VisitKind};

/// A day as it is read: `2 March 2026`.
pub fn day_words(day: Day) -> String {
    let text = day.to_string();
    text.parse::<jiff::civil::Date>().map_or(text, |date| date.strftime("%-d %B %Y").to_string())
}

/// What a visit is for.
pub fn kind_words(kind: VisitKind) -> String {
    capital(match kind {
        VisitKind::Colour => "colour reading",
        VisitKind::Check => "check-up",
        kind => kind.word(),
    })
}

/// A piece in a line of text: its shade, length and cut.
pub fn piece_words(pieces: &Pieces, piece: &HerPiece) -> String {
    let origin = pieces.origin(piece);
    let half = if piece.cut.is_half() { "half of " } else { "" };
    format!("{half}{}, {}, lot {}", origin.shade, millimetres(origin.length_mm.length()), origin.lot)
}

/// How its adhesive is.
pub const fn adhesive_words(adhesive: Adhesive) -> &'static str {
    match adhesive {
        Adhesive::New => "new adhesive",
        Adhesive::Worn => "worn adhesive",
        Adhesive::Off => "rubbed off, no adhesive",
    }
}

/// The end of a number, by which a label is told from its neighbours.
pub fn short(id: PieceId) -> String {
    let text = id.to_string();
    text[text.len() - 6..].to_owned()
}
