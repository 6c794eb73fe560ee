//! The salon's own facts: name, pieces and prices, the ring, the stock.

use super::seen_bonds::{self, CoverView};
use crate::web::AppState;
use crate::web::client::form::{NOT_WHOLE, NOT_WHOLE_SAYS, Typed, Wrong};
use crate::web::frame::house;
use crate::web::frame::notice::Notice;
use crate::web::frame::page::{Again, BOTH_BELOW, Both, CHANGED_ELSEWHERE, Shell, Trouble, page};
use crate::web::frame::swatch::{self, Swatch};
use askama::Template;
use axum::Form;
use axum::extract::{Multipart, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::Ring;
use desk::{DeskFault, House, Protection, limits};
use measure::text::{sentence, sentences};
use measure::{Currency, Money};
use salon::client::ClientFile;
use salon::stock::Order;
use serde::de::DeserializeOwned;

#[derive(Template)]
#[template(path = "settings/settings.html")]
struct SettingsPage {
    shell: Shell,
    notice: Option<Notice>,
    house: HouseForm,
    house_version: i64,
    ring: Vec<Swatch>,
    stock: Option<StockView>,
    stock_version: i64,
    both: Option<Both>,
    cover: CoverView,
    folder: String,
    locked: bool,
}

/// The salon's name, pieces and prices as they are typed.
#[derive(Default)]
struct HouseForm {
    name: String,
    fields: Vec<HouseField>,
}

struct HouseField {
    id: String,
    name: &'static str,
    label: &'static str,
    unit: String,
    value: String,
    hint: &'static str,
    error: Option<String>,
}

struct StockView {
    on_hand: Vec<StockLine>,
    packs: Vec<PackLine>,
}

struct StockLine {
    swatch: Swatch,
    length: String,
    lot: String,
    pieces: u32,
}

struct PackLine {
    swatch: Swatch,
    length: String,
    id: String,
    supplier: String,
    pieces: u32,
    price: String,
}

/// What the house form asks: name in the file, label, hint.
const HOUSE_FIELDS: &[(&str, &str, &str)] = &[
    ("prices.currency", "Currency", "Three letters, as in EUR."),
    ("prices.hour_minor", "One hour of work", ""),
    ("prices.tape_tab_minor", "One new tape tab", ""),
    ("pieces.tab_width_mm", "Tab, wide", ""),
    ("pieces.tab_height_mm", "Tab, tall", ""),
    ("pieces.mass_g", "One piece weighs", ""),
    ("pieces.lengths_mm", "Lengths on sale", "Several, with spaces between."),
];

impl HouseForm {
    fn of(name: &str, typed: &Typed, wrong: &Wrong, house: &House) -> Self {
        let fields = HOUSE_FIELDS
            .iter()
            .map(|(field, label, hint)| HouseField {
                id: field.replace('.', "-"),
                name: field,
                label,
                unit: match *field {
                    "prices.currency" => String::new(),
                    "pieces.mass_g" => "g".to_owned(),
                    field if field.starts_with("prices.") => house.currency_code(typed.one("prices.currency")),
                    _ => "mm".to_owned(),
                },
                value: typed.one(field).to_owned(),
                hint,
                error: wrong.get(*field).cloned(),
            })
            .collect();
        Self { name: name.to_owned(), fields }
    }
}

/// What differs from the settings as they are kept.
#[derive(Default)]
struct Amiss {
    notice: Option<Notice>,
    both: Option<Both>,
    house: Option<(Typed, Wrong)>,
}

async fn draw(app: &AppState, status: StatusCode, amiss: Amiss) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?;
    let ring = house::ring(&app.salon).await?;
    let stock = house::stock(&app.salon).await?;
    let house_form = match amiss.house {
        Some((typed, wrong)) => HouseForm::of(typed.one("house.name"), &typed, &wrong, &house.value),
        None => {
            let typed = Typed::of(&pieces_and_prices(&house.value), house.value.currency());
            HouseForm::of(&house.value.name, &typed, &Wrong::new(), &house.value)
        }
    };
    let template = SettingsPage {
        shell: Shell::settings("Settings", &house.value.name),
        notice: amiss.notice,
        house: house_form,
        house_version: house.version,
        stock_version: stock.version,
        both: amiss.both,
        stock: stock.value.as_ref().map(|order| stock_view(order, &ring.value)),
        ring: swatch::all(&ring.value),
        cover: seen_bonds::view(&app.salon).await?,
        folder: app.salon.place().to_string(),
        locked: app.salon.protection() == Protection::Passphrase,
    };
    Ok(page(status, &template))
}

/// The salon's pieces and prices as a client's file has them.
fn pieces_and_prices(house: &House) -> ClientFile {
    ClientFile { pieces: Some(house.pieces.clone()), prices: Some(house.prices.clone()), ..ClientFile::default() }
}

fn stock_view(order: &Order, ring: &Ring) -> StockView {
    let length = |mm: f64| format!("{mm} mm");
    StockView {
        on_hand: order
            .on_hand
            .iter()
            .map(|shelf| StockLine {
                swatch: swatch::of(ring, &shelf.shade),
                length: length(shelf.length_mm.to_mm()),
                lot: shelf.lot.clone(),
                pieces: shelf.pieces,
            })
            .collect(),
        packs: order
            .packs
            .iter()
            .map(|pack| PackLine {
                swatch: swatch::of(ring, &pack.shade),
                length: length(pack.length_mm.to_mm()),
                id: pack.id.clone(),
                supplier: pack.supplier.clone(),
                pieces: pack.pieces,
                price: Money::minor(pack.price_minor, order.currency).to_string(),
            })
            .collect(),
    }
}

/// The settings.
pub async fn show(State(app): State<AppState>) -> Result<Response, Trouble> {
    draw(&app, StatusCode::OK, Amiss::default()).await
}

fn kept(part: &str) -> Response {
    Redirect::to(&format!("/settings#{part}")).into_response()
}

/// Nothing was kept; what was typed stands on the page again.
async fn refuse(app: &AppState, says: String, amiss: Amiss) -> Result<Response, Trouble> {
    let notice = Some(Notice { tone: "stop", title: "Nothing was saved".to_owned(), says });
    draw(app, StatusCode::UNPROCESSABLE_ENTITY, Amiss { notice, ..amiss }).await
}

/// Keeps a setting, or shows that somebody else changed it or that it could not be written.
async fn settle(app: &AppState, outcome: Result<i64, DeskFault>, part: &str, amiss: Amiss) -> Result<Response, Trouble> {
    let (status, tone, title, says) = match outcome {
        Ok(_) => return Ok(kept(part)),
        Err(DeskFault::Changed { .. }) => (StatusCode::CONFLICT, "care", CHANGED_ELSEWHERE, BOTH_BELOW.to_owned()),
        Err(fault) => {
            tracing::error!(%fault, "a setting could not be saved");
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                "stop",
                "Not saved",
                format!("{} What you typed is still below.", sentence(&fault.to_string())),
            )
        }
    };
    let both = amiss.both.filter(|_| status == StatusCode::CONFLICT);
    draw(app, status, Amiss { notice: Some(Notice { tone, title: title.to_owned(), says }), both, ..amiss }).await
}

/// The salon's own facts as somebody else saved them, and as they were typed here.
async fn both_houses(app: &AppState, typed: &Typed) -> Result<Both, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let file = pieces_and_prices(&house);
    let kept = Typed::of(&file, house.currency());
    let mut both = Both { theirs: Vec::new(), yours: Vec::new(), again: None };
    let mut add = |label: &str, theirs: &str, yours: &str| {
        if theirs != yours {
            let or_open = |text: &str| if text.is_empty() { "left open".to_owned() } else { text.to_owned() };
            both.theirs.push(format!("{label}: {}", or_open(theirs)));
            both.yours.push(format!("{label}: {}", or_open(yours)));
        }
    };
    add("Salon name", &house.name, typed.one("house.name"));
    for (field, label, _) in HOUSE_FIELDS {
        add(label, kept.one(field), typed.one(field));
    }
    Ok(both)
}

/// Keeps name, pieces and prices.
pub async fn keep_house(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let seen = typed.one("seen").parse().unwrap_or(0);
    if !typed.is_whole() {
        let house = house::house(&app.salon).await?.value;
        let file = pieces_and_prices(&house);
        let named = Typed::posted(vec![("house.name".to_owned(), house.name.clone())]);
        let half = typed.over(named.over(Typed::of(&file, house.currency())));
        let notice = Some(Notice { tone: "stop", title: NOT_WHOLE.to_owned(), says: NOT_WHOLE_SAYS.to_owned() });
        return draw(&app, StatusCode::UNPROCESSABLE_ENTITY, Amiss { notice, house: Some((half, Wrong::new())), ..Amiss::default() }).await;
    }
    let mut wrong = Wrong::new();
    let currency_text = typed.one("prices.currency");
    let currency = Currency::new(currency_text);
    if !currency_text.is_empty() && currency.is_none() {
        wrong.insert("prices.currency".to_owned(), "Write the currency's three letters in capitals, as in EUR.".to_owned());
    }
    let file = typed.file(currency).unwrap_or_else(|faults| {
        wrong.extend(faults);
        ClientFile::default()
    });
    if let Err(faults) = file.check() {
        for fault in faults {
            let Some(field) = fault.place.fact().map(|fact| fact.key().to_owned()) else { continue };
            if HOUSE_FIELDS.iter().any(|(name, ..)| *name == field) && !typed.one(&field).is_empty() {
                wrong.insert(field, sentences(&fault.what, &fault.cure));
            }
        }
    }
    if !wrong.is_empty() {
        let says = "The fields that cannot be right say why. What you typed is still there.".to_owned();
        return refuse(&app, says, Amiss { house: Some((typed, wrong)), ..Amiss::default() }).await;
    }
    let house = House {
        name: typed.one("house.name").chars().filter(|c| !c.is_control()).take(80).collect(),
        pieces: file.pieces.unwrap_or_default(),
        prices: file.prices.unwrap_or_default(),
        // What this page does not ask stays as it is.
        ..house::house(&app.salon).await?.value
    };
    let outcome = app.salon.keep_house(seen, &house).await;
    let both = if matches!(outcome, Err(DeskFault::Changed { .. })) { Some(both_houses(&app, &typed).await?) } else { None };
    settle(&app, outcome, "house", Amiss { both, house: Some((typed, Wrong::new())), ..Amiss::default() }).await
}

/// Takes the whole stock from a file.
pub async fn import_stock(State(app): State<AppState>, upload: Multipart) -> Result<Response, Trouble> {
    let (typed, order) = match uploaded::<Order>(upload, "a stock").await {
        Ok(sent) => sent,
        Err(says) => return refuse(&app, says, Amiss::default()).await,
    };
    if let Err(says) = limits::stock(&order) {
        return refuse(&app, says, Amiss::default()).await;
    }
    let kept = house::stock(&app.salon).await?;
    let seen = typed.one("seen").parse().unwrap_or(-1);
    let outcome = app.salon.keep_stock(seen, &order).await;
    let both = Both {
        theirs: kept.value.as_ref().map_or_else(|| vec!["No stock".to_owned()], stock_in_words),
        yours: stock_in_words(&order),
        again: Some(Again {
            action: "/settings/stock/import",
            seen: kept.version,
            how: "",
            taken: serde_json::to_string(&order).map_err(|error| Trouble::Ours(error.to_string()))?,
            says: "Replace theirs with yours",
        }),
    };
    settle(&app, outcome, "stock", Amiss { both: Some(both), ..Amiss::default() }).await
}

/// A stock in a few lines, enough to tell two of them apart.
fn stock_in_words(order: &Order) -> Vec<String> {
    const MOST_LOTS: usize = 40;
    let pieces: u64 = order.on_hand.iter().map(|held| u64::from(held.pieces)).sum();
    let mut lines = vec![format!("{pieces} pieces on the shelf in {} lots; {} packs on sale", order.on_hand.len(), order.packs.len())];
    let lots = order.on_hand.iter().take(MOST_LOTS);
    lines.extend(lots.map(|held| format!("{} {} mm, lot {}: {}", held.shade, held.length_mm.to_mm(), held.lot, held.pieces)));
    if order.on_hand.len() > MOST_LOTS {
        lines.push(format!("and {} more lots", order.on_hand.len() - MOST_LOTS));
    }
    lines
}

/// The first file of an upload as a value of a known shape, with what was typed
/// beside it. A file that was refused once comes back as text, named `taken`.
async fn uploaded<T: DeserializeOwned>(mut upload: Multipart, what: &str) -> Result<(Typed, T), String> {
    let unreadable = |error: axum::extract::multipart::MultipartError| format!("The file could not be taken in: {}.", error.body_text());
    let (mut pairs, mut file) = (Vec::new(), Vec::new());
    while let Some(field) = upload.next_field().await.map_err(unreadable)? {
        let name = field.name().unwrap_or("").to_owned();
        let bytes = field.bytes().await.map_err(unreadable)?;
        match name.as_str() {
            "file" if file.is_empty() => file = bytes.to_vec(),
            "file" => {}
            "taken" => file = bytes.to_vec(),
            _ => pairs.push((name, String::from_utf8_lossy(&bytes).into_owned())),
        }
    }
    if file.is_empty() {
        return Err("Choose a JSON file first.".to_owned());
    }
    let text = std::str::from_utf8(&file).map_err(|_| "That is not a text file: choose the JSON file.".to_owned())?;
    let value = serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|error| format!("That file is not {what}: {error}."))?;
    Ok((Typed::posted(pairs), value))
}

/// The stock as a file.
pub async fn export_stock(State(app): State<AppState>) -> Result<Response, Trouble> {
    let stock = house::stock(&app.salon).await?.value.ok_or(Trouble::NoPage)?;
    as_file("stock.json", &stock)
}

fn as_file(name: &str, value: &impl serde::Serialize) -> Result<Response, Trouble> {
    let text = serde_json::to_string_pretty(value).map_err(|error| Trouble::Ours(error.to_string()))?;
    let headers =
        [(header::CONTENT_TYPE, "application/json".to_owned()), (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\""))];
    Ok((headers, text).into_response())
}
