//! Measuring the ring from photos: swatches beside the chart.

use super::of_a_photo::{day, is_on};
use super::phones::{self, PhoneView};
use super::ring;
use super::upload::{self, Stopped};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::house::Versioned;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::frame::{house, swatch};
use askama::Template;
use axum::Form;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::Shade;
use desk::{Measured, PhotoFacts, PhotoNote};
use measure::text::{fixed, sentence};
use reading::SwatchReading;

#[derive(Template)]
#[template(path = "colour/measured.html")]
struct MeasuredPage {
    shell: Shell,
    version: i64,
    photo: String,
    swatches: Vec<MeasuredView>,
    usable: usize,
    phone: PhoneView,
    light: String,
    lights: Vec<String>,
    refused: String,
}

struct MeasuredView {
    code: String,
    fill: String,
    numbers: String,
    sure: String,
    known: bool,
    refused: String,
}

/// Takes a photo of swatches.
pub async fn take(State(app): State<AppState>, form: Multipart) -> Result<Response, Trouble> {
    let outcome = match upload::take(form).await {
        Ok(sent) => {
            let facts = PhotoFacts { camera: sent.camera(), ..PhotoFacts::default() };
            upload::keep_photo(&app.salon, None, sent.file, facts).await
        }
        Err(refused) => Err(Stopped::Refused(refused)),
    };
    match outcome {
        Ok(photo) => Ok(Redirect::to(&format!("/photos/{photo}")).into_response()),
        Err(Stopped::Failed(trouble)) => Err(trouble),
        Err(Stopped::Refused((status, says))) => ring::not_taken(&app, status, says).await,
    }
}

/// One swatch's reading as it is kept with the photo.
pub fn as_measured(swatch: SwatchReading) -> Measured {
    match swatch.reading {
        Ok(reading) => Measured {
            code: swatch.code,
            colour: Some((reading.lab_d65, reading.uncertainty_de00)),
            refused: String::new(),
            chart_de00: reading.residuals.chart_de00,
        },
        Err(fault) => Measured { code: swatch.code, colour: None, refused: sentence(&fault.to_string()), chart_de00: 0.0 },
    }
}

/// What the swatches came to.
pub async fn measured(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let photo = app.salon.photo(id.parse()?).await?;
    draw(&app, &photo, StatusCode::OK, String::new(), [String::new(), String::new()]).await
}

/// Keeps the swatches beside the ring, as one phone read them.
pub async fn keep_beside(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let photo = app.salon.photo(id.parse()?).await?;
    let typed = Typed::posted(pairs);
    match phones::keep_beside(&app, &photo, &typed).await? {
        Ok(()) => Ok(Redirect::to("/settings/phones").into_response()),
        Err(says) => {
            draw(&app, &photo, StatusCode::UNPROCESSABLE_ENTITY, says, ["phone", "light"].map(|name| typed.one(name).to_owned())).await
        }
    }
}

async fn draw(
    app: &AppState,
    photo: &PhotoNote,
    status: StatusCode,
    refused: String,
    [name, light]: [String; 2],
) -> Result<Response, Trouble> {
    let facts = photo.facts.clone();
    if facts.measured.is_empty() {
        return Err(Trouble::NoPage);
    }
    let house = house::house(&app.salon).await?.value;
    let Versioned { version, value: on_ring } = house::ring(&app.salon).await?;
    let swatches: Vec<MeasuredView> = facts
        .measured
        .iter()
        .map(|measured| MeasuredView {
            code: measured.code.clone(),
            fill: measured.colour.map_or_else(|| swatch::UNMEASURED.to_owned(), |(lab, _)| swatch::of_lab(lab)),
            numbers: measured
                .colour
                .map_or_else(String::new, |(lab, _)| format!("L* {}, a* {}, b* {}", fixed(lab.l, 1), fixed(lab.a, 1), fixed(lab.b, 1))),
            sure: measured.colour.map_or_else(String::new, |(_, sure)| fixed(sure, 1)),
            known: is_on(&on_ring, &measured.code),
            refused: measured.refused.clone(),
        })
        .collect();
    let known = phones::phones(&app.salon).await?.value;
    let view = PhoneView::of(&known, &photo.id.to_string(), &facts);
    let template = MeasuredPage {
        shell: Shell::settings("What the swatches came to", &house.name),
        version,
        photo: photo.id.to_string(),
        lights: known.phones.iter().flat_map(|phone| phone.rings.iter().map(|ring| ring.light.clone())).collect(),
        phone: PhoneView { name: if name.is_empty() { view.name.clone() } else { name }, ..view },
        light,
        refused,
        usable: swatches.iter().filter(|swatch| swatch.refused.is_empty()).count(),
        swatches,
    };
    Ok(page(status, &template))
}

/// Puts the measured swatches on the ring.
pub async fn keep(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let photo = app.salon.photo(id.parse()?).await?;
    let measured_by = format!("photo of {}", day(&photo));
    let shades = photo
        .facts
        .clone()
        .measured
        .into_iter()
        .filter_map(|measured| {
            let (lab, sure) = measured.colour?;
            Some(Shade {
                code: measured.code,
                name: String::new(),
                lab_d65: Some(lab),
                xyz_d65: None,
                reflectance: None,
                measured_by: Some(measured_by.clone()),
                uncertainty_de00: Some((sure * 100.0).round() / 100.0),
            })
        })
        .collect();
    ring::settle_measured(&app, shades, &Typed::posted(pairs)).await
}
