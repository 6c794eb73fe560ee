//! The day book, an invoice of a visit, and payments.

use crate::web::AppState;
use crate::web::client::answers::amount;
use crate::web::client::form::Typed;
use crate::web::frame::acting::{act, key, told};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::visits::view::day_words;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use measure::{Currency, Money};
use salon::book::{Day, VisitId};
use serde::Deserialize;
use serde_json::{Value, json};

#[derive(Template)]
#[template(path = "money/money.html")]
struct MoneyPage {
    shell: Shell,
    from: String,
    to: String,
    saved: bool,
    faults: Vec<String>,
    invoices: Vec<InvoiceLine>,
    payments: Vec<(String, u64, String, String)>,
    totals: Vec<(&'static str, String)>,
    typed: Typed,
    key: String,
}

struct InvoiceLine {
    number: u64,
    on: String,
    name: String,
    total: String,
    tax: String,
}

/// Which days.
#[derive(Deserialize, Default)]
pub struct DaysQuery {
    from: Option<String>,
    to: Option<String>,
    saved: Option<String>,
}

fn money(told: &Value, key: &str, otherwise: Option<Currency>) -> String {
    let minor = told[key].as_i64().unwrap_or(0);
    let currency = told["currency"].as_str().and_then(Currency::new).or(otherwise);
    currency.map_or_else(|| measure::text::number(minor as f64, 0), |currency| Money::minor(minor, currency).to_string())
}

fn day(told: &Value) -> String {
    told["on"].as_str().and_then(|on| on.parse().ok()).map_or_else(String::new, day_words)
}

/// The sums of a day book, as its page names them.
const SUMS: [(&str, &str); 4] =
    [("total_minor", "Invoiced"), ("tax_minor", "Of it tax"), ("taken_minor", "Taken"), ("returned_minor", "Given back")];

async fn draw(app: &AppState, query: &DaysQuery, status: StatusCode, typed: Typed, mut faults: Vec<String>) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let mut read = |said: &Option<String>, otherwise: Day| match said.as_deref().filter(|said| !said.is_empty()).map(str::parse::<Day>) {
        None => otherwise,
        Some(Ok(day)) => day,
        Some(Err(fault)) => {
            faults.push(measure::text::sentence(&fault.to_string()));
            otherwise
        }
    };
    let from = read(&query.from, desk::today());
    let to = read(&query.to, from).max(from);
    let book = app.salon.show_day_book(from, to).await?;
    let own = house.currency();
    let each = |key: &str| book[key].as_array().cloned().unwrap_or_default();
    let invoice = |told: &Value| InvoiceLine {
        number: told["invoice"].as_u64().unwrap_or(0),
        on: day(told),
        name: told["name"].as_str().unwrap_or_default().to_owned(),
        total: money(told, "total_minor", own),
        tax: money(told, "tax_minor", own),
    };
    let payment = |told: &Value| {
        let way = told["by"].as_str().unwrap_or_default().to_owned();
        let back = if told["kind"] == "returned" { "given back, " } else { "" };
        (day(told), told["invoice"].as_u64().unwrap_or(0), money(told, "minor", own), format!("{back}{way}"))
    };
    let totals = &book["totals"];
    let status = if status == StatusCode::OK && !faults.is_empty() { StatusCode::UNPROCESSABLE_ENTITY } else { status };
    let template = MoneyPage {
        shell: Shell { title: "Money".to_owned(), house: house.name, here: "money" },
        from: from.to_string(),
        to: to.to_string(),
        saved: query.saved.is_some(),
        faults,
        invoices: each("invoices").iter().map(invoice).collect(),
        payments: each("payments").iter().map(payment).collect(),
        totals: SUMS.iter().filter(|(key, _)| totals[*key].is_i64()).map(|(key, says)| (*says, money(totals, key, own))).collect(),
        typed,
        key: key(),
    };
    Ok(page(status, &template))
}

/// The day book of some days; today's where none are named.
pub async fn show(State(app): State<AppState>, Query(query): Query<DaysQuery>) -> Result<Response, Trouble> {
    draw(&app, &query, StatusCode::OK, Typed::default(), Vec::new()).await
}

/// Takes a payment, or gives one back.
pub async fn payment(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let currency = house::house(&app.salon).await?.value.currency();
    let name = if typed.one("what") == "return" { "payment return" } else { "payment take" };
    let mut wrong = Vec::new();
    let number = typed.one("invoice").parse::<u64>();
    if number.is_err() {
        wrong.push(format!("“{}” is no invoice number: write it in digits.", typed.one("invoice")));
    }
    let minor = amount(typed.one("amount"), currency);
    if let Err(says) = &minor {
        wrong.push(says.clone());
    }
    let (Ok(number), Ok(minor)) = (number, minor) else {
        return draw(&app, &DaysQuery::default(), StatusCode::UNPROCESSABLE_ENTITY, typed, wrong).await;
    };
    let mut line = json!({"act": name, "invoice": number, "minor": minor, "by": typed.one("by")});
    if !typed.one("key").is_empty() {
        line["key"] = json!(typed.one("key"));
    }
    match act(&app, line).await {
        Ok(Ok(_)) => Ok(Redirect::to("/money?saved=yes").into_response()),
        Ok(Err(faults)) => draw(&app, &DaysQuery::default(), StatusCode::UNPROCESSABLE_ENTITY, typed, told(&faults)).await,
        Err(Trouble::NoPage) => {
            let says = vec![format!("There is no invoice {number}: look at its number again.")];
            draw(&app, &DaysQuery::default(), StatusCode::UNPROCESSABLE_ENTITY, typed, says).await
        }
        Err(trouble) => Err(trouble),
    }
}

/// Makes the invoice of a visit.
pub async fn invoice(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let id: VisitId = id.parse()?;
    let (client, _) = app.salon.book_of_visit(id).await?;
    let typed = Typed::posted(pairs);
    let mut line = json!({"act": "invoice make", "client": client, "visit": id});
    if !typed.one("key").is_empty() {
        line["key"] = json!(typed.one("key"));
    }
    match act(&app, line).await? {
        Ok(_) => Ok(Redirect::to("/money?saved=yes").into_response()),
        Err(faults) => draw(&app, &DaysQuery::default(), StatusCode::UNPROCESSABLE_ENTITY, Typed::default(), told(&faults)).await,
    }
}
