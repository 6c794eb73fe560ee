//! A reading as it was made: the ends beside the shades, and what to take.

use super::against_view::{Against, Around};
use super::kept::format_of;
use super::phones::{self, PhoneView};
use super::reading_view::ReadingView;
use super::start::{self, OpenReading};
use super::upload::{self, Stopped};
use crate::web::AppState;
use crate::web::client::names::{display_name, read_facts};
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::{MOST_PIECES, PIECES_UNTIL_A_PLAN};
use desk::{Client, KeptReading, PhotoFacts, ReadingId};
use salon::stock::Order;
use serde::Deserialize;

/// The longest side of the corrected hair on the page, in pixels.
const PATCH_PIXELS: u32 = 1000;

#[derive(Template)]
#[template(path = "colour/reading.html")]
struct ReadingPage {
    shell: Shell,
    view: ReadingView,
    refused: Option<String>,
}

/// How a reading is looked at.
#[derive(Default, Deserialize)]
pub struct ReadingQuery {
    #[serde(default)]
    pieces: String,
    #[serde(default)]
    show: String,
    #[serde(default)]
    light: String,
}

async fn found(app: &AppState, id: &str) -> Result<OpenReading, Trouble> {
    let line = app.salon.reading(id.parse::<ReadingId>()?).await?;
    Ok(OpenReading { kept: line.kept.clone(), line })
}

/// The reading.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>, Query(query): Query<ReadingQuery>) -> Result<Response, Trouble> {
    let reading = found(&app, &id).await?;
    draw(&app, reading, &query, StatusCode::OK, None).await
}

async fn draw(
    app: &AppState,
    reading: OpenReading,
    query: &ReadingQuery,
    status: StatusCode,
    refused: Option<String>,
) -> Result<Response, Trouble> {
    let client = app.salon.client(reading.line.client).await?;
    let house = house::house(&app.salon).await?.value;
    let on_hand = house::stock(&app.salon).await?.value.as_ref().map(Order::by_shade).unwrap_or_default();
    let planned = pieces_of_newest_plan(app, &client).await?;
    let asked = query.pieces.trim().parse::<u32>().ok().filter(|pieces| (1..=MOST_PIECES).contains(pieces));
    let colour = read_facts(&client.facts)?.colour.unwrap_or_default();
    let all = start::readings(&app.salon, client.id).await?;
    let phones = phones::phones(&app.salon).await?.value;
    let id = reading.line.id.to_string();
    let ring = house::ring(&app.salon).await?.value;
    let facts = match reading.line.photo {
        Some(photo) => app.salon.photo(photo).await.ok().map(|photo| photo.facts),
        None => None,
    };
    let phone = facts.as_ref().and_then(|facts| phones.of_photo(facts));
    let against = phones.against(&id).map(|(by, read)| Against {
        id: read.id.clone(),
        name: read.name(by),
        by_another: phone.is_some_and(|phone| phone.id != by.id),
        read: ring.as_read(&read.shades, &read.name(by)),
    });
    let photo_id = reading.line.photo.map(|photo| photo.to_string());
    let around = Around {
        ring,
        size: facts.as_ref().map(|facts| facts.size),
        against,
        read_rings: phones.phones.iter().flat_map(|phone| phone.rings.iter().map(|ring| (ring.id.clone(), ring.name(phone)))).collect(),
        phone: facts.as_ref().zip(photo_id).map(|(facts, photo)| PhoneView::of(&phones, &photo, facts)),
        on_hand,
        pieces: asked.or(planned).unwrap_or(PIECES_UNTIL_A_PLAN),
        pieces_refused: asked.is_none() && !query.pieces.trim().is_empty(),
        planned: planned.is_some(),
        show: query.show.clone(),
        light: query.light.clone(),
        in_force: start::is_in_force(&colour, &reading),
        name: display_name(&client.label),
        format: format_of(&app.salon, reading.line.photo).await?,
    };
    let shell = Shell::clients("What was read of her colour", &house.name);
    let view = tokio::task::spawn_blocking(move || ReadingView::of(&reading, &all, around))
        .await
        .map_err(|error| Trouble::Ours(error.to_string()))?;
    Ok(page(status, &ReadingPage { shell, view, refused }))
}

/// The pieces of the client's newest plan, where one placed any.
async fn pieces_of_newest_plan(app: &AppState, client: &Client) -> Result<Option<u32>, Trouble> {
    let Some(line) = app.salon.plans_of(client.id).await?.into_iter().next() else { return Ok(None) };
    let (_, kept) = app.salon.plan(line.id).await?;
    Ok(Some(kept.plan.quantity.pieces).filter(|pieces| *pieces > 0))
}

/// The hair of the photo, laid straight and corrected.
pub async fn patch(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let reading = found(&app, &id).await?;
    let (KeptReading::Photo { marks, .. }, Some(photo)) = (reading.kept, reading.line.photo) else { return Err(Trouble::NoPage) };
    let png = upload::with_photo(&app.salon, photo, move |picture| photo::corrected_patch(picture, &marks, PATCH_PIXELS))
        .await?
        .map_err(|fault| Trouble::Ours(fault.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response())
}

/// The marks as a file for the command line.
pub async fn marks_file(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let reading = found(&app, &id).await?;
    let KeptReading::Photo { marks, .. } = reading.kept else { return Err(Trouble::NoPage) };
    let text = serde_json::to_string_pretty(&marks).map_err(|error| Trouble::Ours(error.to_string()))?;
    let disposition = format!("attachment; filename=\"{}.json\"", reading.line.id);
    Ok(([(header::CONTENT_TYPE, "application/json".to_owned()), (header::CONTENT_DISPOSITION, disposition)], text).into_response())
}

/// Makes the reading the colour of her plan.
pub async fn use_it(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let reading = found(&app, &id).await?;
    if reading.kept.second_of().is_some() {
        return Err(Trouble::NoPage);
    }
    start::put_reading_in_force(&app.salon, &reading).await?;
    Ok(Redirect::to(&format!("/readings/{}", reading.line.id)).into_response())
}

/// Takes a photo of ends and swatch under another light.
pub async fn second_light(State(app): State<AppState>, Path(id): Path<String>, form: Multipart) -> Result<Response, Trouble> {
    let reading = found(&app, &id).await?;
    let outcome = match upload::take(form).await {
        Ok(sent) => {
            let facts = PhotoFacts { second_of: Some(reading.line.id.to_string()), camera: sent.camera(), ..PhotoFacts::default() };
            upload::keep_photo(&app.salon, Some(reading.line.client), sent.file, facts).await
        }
        Err(refused) => Err(Stopped::Refused(refused)),
    };
    match outcome {
        Ok(photo) => Ok(Redirect::to(&format!("/photos/{photo}")).into_response()),
        Err(Stopped::Failed(trouble)) => Err(trouble),
        Err(Stopped::Refused((status, says))) => draw(&app, reading, &ReadingQuery::default(), status, Some(says)).await,
    }
}
