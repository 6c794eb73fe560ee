//! Packs that came in, each with its pieces; labels for them and for a client's bag; and
//! what a reader of such a label reads.

use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::display_name;
use crate::web::frame::assets::fonts;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::visits::view::day_words;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use desk::ClientId;
use measure::text::{counted, number};
use paper::{LABELS_ON_A_SHEET, Label, labels};
use salon::book::PieceAt;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// Labels that are printed at once: four sheets.
const MOST_LABELS: usize = 4 * LABELS_ON_A_SHEET;

/// Packs that came in together, as a page and a label say them.
struct PackView {
    /// The number by which it is asked for.
    number: u64,
    day: String,
    shade: String,
    length: String,
    lot: String,
    supplier: String,
    packs: u64,
    came: String,
    /// Where its pieces are, in words.
    places: String,
    pieces: Vec<PieceView>,
}

struct PieceView {
    id: String,
    at: usize,
    wher: &'static str,
}

fn pack_view(told: &Value) -> PackView {
    let text = |key: &str| told[key].as_str().unwrap_or_default().to_owned();
    let wher = |piece: &Value| match piece["where"].as_str() {
        Some("shelf") => "on the shelf",
        Some("missing") => "missing when counted",
        _ => "no longer on the shelf",
    };
    let pieces: Vec<PieceView> = told["pieces"]
        .as_array()
        .into_iter()
        .flatten()
        .enumerate()
        .map(|(at, piece)| PieceView { id: piece["id"].as_str().unwrap_or_default().to_owned(), at: at + 1, wher: wher(piece) })
        .collect();
    let on_shelf = pieces.iter().filter(|piece| piece.wher == "on the shelf").count();
    PackView {
        number: told["pack"].as_u64().unwrap_or(0),
        day: told["on"].as_str().and_then(|day| day.parse().ok()).map_or_else(String::new, day_words),
        shade: text("shade"),
        length: format!("{} mm", number(told["length_mm"].as_f64().unwrap_or(0.0), 1)),
        lot: text("lot"),
        supplier: text("supplier"),
        packs: told["packs"].as_u64().unwrap_or(1),
        came: counted(told["came"].as_u64().unwrap_or(0), "piece", "pieces"),
        places: if pieces.is_empty() { "without numbers".to_owned() } else { format!("{on_shelf} of {} on the shelf", pieces.len()) },
        pieces,
    }
}

#[derive(Template)]
#[template(path = "shelf/packs.html")]
struct PacksPage {
    shell: Shell,
    packs: Vec<PackView>,
    /// Why no labels were printed.
    refused: Option<String>,
}

async fn draw(app: &AppState, status: StatusCode, refused: Option<String>) -> Result<Response, Trouble> {
    let told = app.salon.show_packs().await?;
    let house = house::house(&app.salon).await?.value;
    let packs = told["packs"].as_array().into_iter().flatten().map(pack_view).collect();
    Ok(page(status, &PacksPage { shell: Shell::shelf("Packs", &house.name), packs, refused }))
}

/// The packs that came in last.
pub async fn show_all(State(app): State<AppState>) -> Result<Response, Trouble> {
    draw(&app, StatusCode::OK, None).await
}

#[derive(Template)]
#[template(path = "shelf/pack.html")]
struct PackPage {
    shell: Shell,
    pack: PackView,
}

/// Packs that came in together: what a pack's label opens.
pub async fn show(State(app): State<AppState>, Path(number): Path<String>) -> Result<Response, Trouble> {
    let number = number.parse().map_err(|_| Trouble::NoPage)?;
    let pack = pack_view(&app.salon.show_pack(number).await?);
    let house = house::house(&app.salon).await?.value;
    Ok(page(StatusCode::OK, &PackPage { shell: Shell::shelf("A pack", &house.name), pack }))
}

/// The address of a page as a label's code says it: under the name by which this page was asked for.
fn address(headers: &HeaderMap, path: &str) -> String {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
    format!("http://{host}{path}")
}

fn pdf(bytes: Vec<u8>) -> Response {
    let named = [(header::CONTENT_TYPE, "application/pdf"), (header::CONTENT_DISPOSITION, "inline; filename=\"labels.pdf\"")];
    (named, bytes).into_response()
}

/// Labels of the packs that were ticked, one for each pack.
pub async fn pack_labels(
    State(app): State<AppState>,
    headers: HeaderMap,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let used = match typed.one("used") {
        "" => Some(0),
        text => text.parse::<usize>().ok().filter(|used| *used < LABELS_ON_A_SHEET),
    };
    let mut wanted = Vec::new();
    for number in typed.all("pack") {
        let number = number.parse().map_err(|_| Trouble::NoPage)?;
        let pack = pack_view(&app.salon.show_pack(number).await?);
        let label = Label {
            heading: format!("{} {}", pack.shade, pack.length),
            lines: vec![format!("Lot {}", pack.lot), pack.supplier.clone(), pack.day.clone(), format!("Pack {}", pack.number)],
            code: address(&headers, &format!("/shelf/packs/{}", pack.number)),
        };
        // One more than are printed at once is enough to know that they are too many.
        let room = (MOST_LABELS + 1).saturating_sub(wanted.len());
        wanted.extend(std::iter::repeat_n(label, (pack.packs as usize).min(room)));
    }
    let refused = match used {
        Some(_) if wanted.len() > MOST_LABELS => Some(format!(
            "More than {MOST_LABELS} labels are wanted, {} sheets: tick fewer packs at a time.",
            MOST_LABELS / LABELS_ON_A_SHEET
        )),
        None => Some(format!("Labels used already: write a whole number from 0 to {}.", LABELS_ON_A_SHEET - 1)),
        Some(_) if wanted.is_empty() => Some("Tick the packs that labels are wanted for.".to_owned()),
        Some(_) => None,
    };
    let (Some(used), None) = (used, refused.clone()) else {
        return draw(&app, StatusCode::UNPROCESSABLE_ENTITY, refused).await;
    };
    let house = house::house(&app.salon).await?.value;
    let set = labels(&wanted, used, Some(&house.name), &fonts()).map_err(|fault| Trouble::Ours(fault.to_string()))?;
    Ok(pdf(set))
}

/// How many labels of the sheet are gone already.
#[derive(Deserialize)]
pub struct UsedQuery {
    used: Option<usize>,
}

/// The label for the bag of a client's pieces: what it holds now, lot by lot.
pub async fn bag_label(
    State(app): State<AppState>,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(query): Query<UsedQuery>,
) -> Result<Response, Trouble> {
    let id: ClientId = id.parse()?;
    let book = app.salon.book_of(id).await?;
    let mut lots: BTreeMap<String, usize> = BTreeMap::new();
    let in_bag = book.year.pieces.iter().filter(|(_, piece)| matches!(piece.at, PieceAt::Bag { .. }));
    for (_, piece) in in_bag {
        let origin = book.year.pieces.origin(piece);
        *lots.entry(format!("{}, {}", origin.shade, measure::text::millimetres(origin.length_mm.length()))).or_default() += 1;
    }
    let all = lots.values().sum::<usize>();
    let mut lines = vec![if all == 0 { "Her pieces".to_owned() } else { format!("Her {}", counted(all, "piece", "pieces")) }];
    lines.extend(lots.into_iter().take(3).map(|(lot, count)| format!("{count} × {lot}")));
    lines.push(format!("Printed {}", day_words(desk::today())));
    let label = Label { heading: display_name(&book.label), lines, code: address(&headers, &format!("/clients/{id}/visits")) };
    let house = house::house(&app.salon).await?.value;
    let set = labels(&[label], query.used.unwrap_or(0), Some(&house.name), &fonts()).map_err(|fault| Trouble::Ours(fault.to_string()))?;
    Ok(pdf(set))
}

/// The page that a code or a number names; nothing where it names none of ours.
fn page_of(read: &str) -> Option<String> {
    let read = read.trim();
    let path = match read.split_once("://") {
        Some((_, rest)) => rest.split_once('/').map(|(_, path)| format!("/{path}"))?,
        None => format!("/pieces/{read}"),
    };
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    match parts.as_slice() {
        ["shelf", "packs", number] => number.parse::<u64>().ok().map(|number| format!("/shelf/packs/{number}")),
        ["clients", id, "visits"] => id.parse::<ClientId>().ok().map(|id| format!("/clients/{id}/visits")),
        ["pieces", id] => id.parse::<salon::book::PieceId>().ok().map(|id| format!("/pieces/{id}")),
        _ => None,
    }
}

/// Opens what a label says: its code as a reader types it, or a piece's number.
pub async fn read(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    match page_of(typed.one("code")) {
        Some(path) => Ok(Redirect::to(&path).into_response()),
        None => {
            let says = "This is no label of this salon: read its code, or type a piece's number as its page shows it.".to_owned();
            super::page::draw(&app, StatusCode::UNPROCESSABLE_ENTITY, typed, Some(("read", vec![says])), false).await
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_opens_its_page_and_no_other() {
        let id = "01a22e1d-0000-7000-8000-0000000000aa";
        assert_eq!(page_of(" http://127.0.0.1:8686/shelf/packs/7 ").as_deref(), Some("/shelf/packs/7"));
        assert_eq!(page_of(&format!("http://salon.example/clients/{id}/visits")), Some(format!("/clients/{id}/visits")));
        assert_eq!(page_of(id), Some(format!("/pieces/{id}")));
        for other in
            ["", "x", "7", "https://elsewhere.example/", "http://a/shelf/packs/-1", "http://a/clients/x/visits", "javascript://a/settings"]
        {
            assert_eq!(page_of(other), None, "{other}");
        }
    }
}
