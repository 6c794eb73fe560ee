//! The page of the phones: what each has read, and the ring as it read it.

use super::phones::{change, fit_says, phones, plain};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use crate::web::frame::swatch;
use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use colour::{D65, ciede2000};
use craft::matching::Ring;
use desk::{Phone, ReadRing};
use measure::text::fixed;

#[derive(Template)]
#[template(path = "colour/phones.html")]
struct PhonesPage {
    shell: Shell,
    phones: Vec<PhoneCard>,
}

/// One phone on its page.
struct PhoneCard {
    id: String,
    name: String,
    camera: String,
    says: String,
    strays: bool,
    charts: Vec<ChartBar>,
    rings: Vec<RingCard>,
}

/// One chart as a bar of a hundred.
struct ChartBar {
    when: String,
    off: String,
    wide: String,
}

/// The ring as a phone read it.
struct RingCard {
    id: String,
    light: String,
    says: String,
    shades: Vec<RingLine>,
}

/// One shade, catalogue beside reading.
struct RingLine {
    code: String,
    own: String,
    read: String,
    apart: String,
}

/// The most charts shown of one phone, the newest.
const SHOWN_CHARTS: usize = 12;

/// The phones.
pub async fn show(State(app): State<AppState>) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let kept = phones(&app.salon).await?.value;
    let template =
        PhonesPage { shell: Shell::settings("Phones", &house.name), phones: kept.phones.iter().map(|phone| card(phone, &ring)).collect() };
    Ok(page(StatusCode::OK, &template))
}

fn card(phone: &Phone, ring: &Ring) -> PhoneCard {
    let shown = &phone.charts[phone.charts.len().saturating_sub(SHOWN_CHARTS)..];
    let most = shown.iter().map(|chart| chart.off_de00).fold(1.0, f64::max);
    let (says, strays) = phone.charts.last().map_or_else(Default::default, |last| fit_says(phone, &last.photo));
    PhoneCard {
        id: phone.id.clone(),
        name: phone.name.clone(),
        camera: phone.camera.clone().filter(|camera| *camera != phone.name).unwrap_or_default(),
        says: says.replace("Today’s", "The last").replace("today’s", "the last"),
        strays,
        charts: shown
            .iter()
            .rev()
            .map(|chart| ChartBar {
                when: moment(chart.kept_ms),
                off: fixed(chart.off_de00, 1),
                wide: fixed(100.0 * chart.off_de00 / most, 0),
            })
            .collect(),
        rings: phone.rings.iter().map(|read| ring_card(read, ring)).collect(),
    }
}

fn ring_card(read: &ReadRing, ring: &Ring) -> RingCard {
    let own = |code: &str| {
        ring.shades.iter().find(|shade| shade.code == code).and_then(|shade| shade.colour().ok()).map(|colour| colour.to_lab(D65))
    };
    let aparts: Vec<f64> = read.shades.iter().filter_map(|shade| Some(ciede2000(own(&shade.code)?, shade.lab_d65))).collect();
    let of_ring = read.shades.iter().filter(|shade| ring.shades.iter().any(|own| own.code == shade.code)).count();
    let mean = aparts.iter().sum::<f64>() / aparts.len().max(1) as f64;
    RingCard {
        id: read.id.clone(),
        light: read.light.clone(),
        says: format!(
            "{of_ring} of the ring’s {} shades{}",
            ring.shades.len(),
            if aparts.is_empty() { String::new() } else { format!(", on average {} from their own colours", fixed(mean, 1)) }
        ),
        shades: read
            .shades
            .iter()
            .map(|shade| RingLine {
                code: shade.code.clone(),
                own: own(&shade.code).map_or_else(|| swatch::UNMEASURED.to_owned(), swatch::of_lab),
                read: swatch::of_lab(shade.lab_d65),
                apart: own(&shade.code).map_or_else(|| "not on the ring".to_owned(), |own| fixed(ciede2000(own, shade.lab_d65), 1)),
            })
            .collect(),
    }
}

/// Names a phone, forgets one, or forgets the ring as it read it.
pub async fn mend(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let (id, name) = (typed.one("id").to_owned(), plain(typed.one("name")));
    let what = typed.one("do").to_owned();
    change(&app.salon, |phones| match what.as_str() {
        "name" if !name.is_empty() => {
            // Two names that become one are one phone: what each has read is joined.
            let same = phones.phones.iter().position(|phone| phone.id != id && phone.name.to_lowercase() == name.to_lowercase());
            let joined = same.map(|at| phones.phones.remove(at));
            let Some(phone) = phones.phones.iter_mut().find(|phone| phone.id == id) else { return };
            phone.name.clone_from(&name);
            if let Some(other) = joined {
                phone.camera = phone.camera.take().or(other.camera);
                phone.charts.extend(other.charts);
                phone.charts.sort_by_key(|chart| chart.kept_ms);
                phone.rings.extend(other.rings);
            }
        }
        "forget" => phones.phones.retain(|phone| phone.id != id),
        "forget-ring" => phones.phones.iter_mut().for_each(|phone| phone.rings.retain(|ring| ring.id != id)),
        _ => {}
    })
    .await?;
    Ok(Redirect::to("/settings/phones").into_response())
}
