//! Marking a photo: the chart's corners, the ends, the swatches; and reading it.

use super::flaw_view::FlawsView;
use super::mark_corners::{CHART_CORNERS, HAIR_CORNERS, MarkView, blank_swatch, number, posted};
use super::start::{self, OpenReading};
use super::upload::Stopped;
use super::{kept, of_a_photo, outline, phones, ring_photo, upload};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::{display_name, read_facts};
use crate::web::frame::notice::Notice;
use crate::web::frame::page::{Shell, Trouble, page};
use crate::web::frame::{house, swatch};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Form, Json};
use desk::{ClientId, KeptReading, NewReading, PhotoFacts, PhotoId, PhotoNote, Salon, SwatchBeside};
use measure::text::sentence;
use photo::PhotoFault;
use reading::{Beside, Flaw, Marks, ReadFault, Swatch, flaws, flaws_of_refusal, read_beside, read_swatches};
use serde::{Deserialize, Serialize};

/// The most swatches beside her ends in one photo: what a first photo leaves in question.
const MOST_BESIDE: usize = 3;

#[derive(Template)]
#[template(path = "colour/marks.html")]
struct MarksPage {
    shell: Shell,
    photo: String,
    back: String,
    back_says: String,
    heading: &'static str,
    says: &'static str,
    notice: Option<Notice>,
    width: usize,
    height: usize,
    chart_found: bool,
    of_ring: bool,
    chart: MarkView,
    hair: Option<MarkView>,
    swatches: Vec<MarkView>,
    blank_swatch: MarkView,
    shades: Vec<(String, String)>,
    needs_swatch: bool,
    flaws: FlawsView,
}

/// What was read beside the chart, or why not, with what is wrong in the picture.
type ReadWithFlaws = Result<(Beside, Vec<Flaw>), (ReadFault, Vec<Flaw>)>;

/// The photo as it is kept.
pub async fn picture(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let picture = app.salon.picture(id.parse()?).await?;
    let format = photo::format_of(&picture).unwrap_or_default();
    Ok(([(header::CONTENT_TYPE, format.media_type())], picture).into_response())
}

/// A place that was tapped.
#[derive(Deserialize)]
pub struct Tapped {
    #[serde(default)]
    x: String,
    #[serde(default)]
    y: String,
}

/// What is found where she tapped.
#[derive(Serialize)]
struct There {
    corners: Option<[[f64; 2]; 4]>,
    says: &'static str,
}

/// The chart that lies where she tapped.
pub async fn chart_there(State(app): State<AppState>, Path(id): Path<String>, Query(tapped): Query<Tapped>) -> Result<Response, Trouble> {
    let photo = app.salon.photo(id.parse()?).await?;
    let (Some(x), Some(y)) = (number(Some(&tapped.x)), number(Some(&tapped.y))) else {
        let says = "That place is none in the photo: tap on the chart.";
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, Json(There { corners: None, says })).into_response());
    };
    let found = upload::with_photo(&app.salon, photo.id, move |picture| Ok(reading::chart_at(picture, [x, y]))).await?;
    let corners = found.ok().flatten().map(|found| found.corners.map(|corner| corner.map(|v| (v * 10.0).round() / 10.0)));
    let says = match corners {
        Some(_) => "The chart that you tapped was found. Is each ring on the corner it names?",
        None => "No chart was found there by itself: drag the four rings onto its corners.",
    };
    Ok(Json(There { corners, says }).into_response())
}

/// The page on which a photo is marked.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let photo = app.salon.photo(id.parse()?).await?;
    let facts = photo.facts.clone();
    let notice = (facts.found.is_none() && facts.hair.is_none() && facts.swatches.is_empty()).then(|| Notice {
        tone: "care",
        title: "The chart was not found by itself".to_owned(),
        says: "Move the four rings onto its corners. When a corner or the whole grid is not in the photo, take it again.".to_owned(),
    });
    draw(&app, &photo, &facts, StatusCode::OK, notice).await
}

async fn draw(
    app: &AppState,
    photo: &PhotoNote,
    facts: &PhotoFacts,
    status: StatusCode,
    notice: Option<Notice>,
) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let chart = facts.chart.unwrap_or_else(|| outline::usual_chart(facts.size));
    let hair = facts.hair.unwrap_or_else(|| outline::usual_hair(&chart, facts.size));
    let of_ring = photo.client.is_none();
    let (back, back_says, shell) = match photo.client {
        Some(client) => {
            let client = app.salon.client(client).await?;
            let name = display_name(&client.label);
            let back = match &facts.second_of {
                Some(first) => format!("/readings/{first}"),
                None => format!("/clients/{}/colour", client.id),
            };
            (back, format!("Colour of {name}"), Shell::clients("Mark the photo", &house.name))
        }
        None => ("/settings/ring".to_owned(), "Ring".to_owned(), Shell::settings("Mark the swatches", &house.name)),
    };
    let template = MarksPage {
        shell,
        photo: photo.id.to_string(),
        back,
        back_says,
        heading: if of_ring { "Mark the swatches" } else { "Mark the photo" },
        says: if of_ring {
            "First the chart, then a box over the hair of each swatch."
        } else {
            "First the chart, then her ends. Only the ends: that is where the new hair must match."
        },
        notice,
        width: facts.size.0,
        height: facts.size.1,
        chart_found: facts.found.is_some(),
        of_ring,
        chart: MarkView::of("chart", &CHART_CORNERS, &chart),
        hair: (!of_ring).then(|| MarkView::of("hair", &HAIR_CORNERS, &hair)),
        swatches: facts.swatches.iter().map(MarkView::swatch).collect(),
        blank_swatch: blank_swatch(&chart, &hair, facts.size, of_ring),
        shades: ring.shades.iter().map(|shade| (shade.code.clone(), swatch::spoken(shade))).collect(),
        needs_swatch: facts.second_of.is_some(),
        flaws: FlawsView::of(&facts.flaws, facts.size, &[chart.as_slice(), if of_ring { &[] } else { &hair }].concat()),
    };
    Ok(page(status, &template))
}

/// Takes the marks, keeps them, and reads the colour there.
pub async fn read(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let mut photo = app.salon.photo(id.parse()?).await?;
    let mut facts = photo.facts.clone();
    let of_ring = photo.client.is_none();
    let marks = match posted(&Typed::posted(pairs), of_ring) {
        Ok(marks) => marks,
        Err(says) => return refuse(&app, &photo, &facts, says).await,
    };
    facts.chart = Some(marks.chart);
    facts.hair = (!of_ring).then_some(marks.hair);
    facts.swatches = marks.swatches;
    facts.flaws = Vec::new();
    kept::note(&app.salon, &photo, &facts).await?;
    photo = app.salon.photo(photo.id).await?;
    if of_ring {
        return measure(&app, &photo, facts, marks.chart).await;
    }
    let says = match facts.swatches.as_slice() {
        [] if facts.second_of.is_some() => "Mark the swatch too: a second light is checked on ends and swatch together.",
        swatches if swatches.iter().any(|swatch| swatch.code.is_empty()) => "Say which shade the swatch beside her ends is.",
        swatches if swatches.len() > MOST_BESIDE => {
            "Lay no more than three swatches beside her ends: the first photo says which are in question."
        }
        swatches if (1..swatches.len()).any(|i| swatches[..i].iter().any(|other| other.code == swatches[i].code)) => {
            "Two boxes have the same code: give each its own."
        }
        _ => "",
    };
    if !says.is_empty() {
        return refuse(&app, &photo, &facts, says.to_owned()).await;
    }
    let marks = Marks { chart_corners: marks.chart, hair: marks.hair.to_vec(), strands: None, leave_out: Vec::new() };
    match read_ends(&app, &photo, &facts, marks).await? {
        Ok(reading) => Ok(Redirect::to(&reading).into_response()),
        Err((fault, seen)) => refuse_seen(&app, &photo, facts, &fault, seen).await,
    }
}

/// Refuses for what was seen in the photo, and notes where it was seen.
async fn refuse_seen(
    app: &AppState,
    photo: &PhotoNote,
    mut facts: PhotoFacts,
    fault: &PhotoFault,
    seen: Vec<Flaw>,
) -> Result<Response, Trouble> {
    let drawn = !seen.is_empty();
    if drawn {
        facts.flaws = seen;
        kept::note(&app.salon, photo, &facts).await?;
    }
    // What is drawn stands in words beside its number.
    refuse(app, photo, &facts, if drawn { String::new() } else { sentence(&fault.to_string()) }).await
}

async fn refuse(app: &AppState, photo: &PhotoNote, facts: &PhotoFacts, says: String) -> Result<Response, Trouble> {
    let notice = Notice {
        tone: "stop",
        title: "Not read yet".to_owned(),
        says: format!("{says} The photo and your marks are kept.").trim().to_owned(),
    };
    draw(app, photo, facts, StatusCode::UNPROCESSABLE_ENTITY, Some(notice)).await
}

/// Reads ends and swatches, keeps the reading, and says where to go on.
async fn read_ends(
    app: &AppState,
    photo: &PhotoNote,
    facts: &PhotoFacts,
    marks: Marks,
) -> Result<Result<String, (PhotoFault, Vec<Flaw>)>, Trouble> {
    let Some(client) = photo.client else { return Err(Trouble::NoPage) };
    let (asked, swatches) = (marks.clone(), facts.swatches.clone());
    let work = move |picture: &reading::Picture| -> Result<ReadWithFlaws, PhotoFault> {
        Ok(match read_beside(picture, &asked, &swatches) {
            Ok(beside) => {
                let seen = flaws(picture, &asked, &beside.reading);
                Ok((beside, seen))
            }
            Err(fault) => {
                let seen = flaws_of_refusal(picture, &asked, &fault);
                Err((fault, seen))
            }
        })
    };
    let (beside, seen) = match upload::with_photo(&app.salon, photo.id, work).await? {
        Ok(Ok(read)) => read,
        Ok(Err((fault, seen))) => return Ok(Err((fault.into(), seen))),
        Err(fault) => return Ok(Err((fault, Vec::new()))),
    };
    // One swatch alone, as for a second light, is asked for by name: without it there is no answer.
    if let ([_], [unread]) = (facts.swatches.as_slice(), beside.unread.as_slice()) {
        let says = ReadFault::Swatch { code: unread.code.clone(), why: unread.why.clone() };
        return Ok(Err((says.into(), seen)));
    }
    let nearest =
        |near: &reading::Ranked| SwatchBeside { code: near.code.clone(), lab_d65: near.lab_d65, uncertainty_de00: near.uncertainty_de00 };
    let swatch = beside.ranking.first().map(nearest);
    let kept = KeptReading::Photo {
        reading: Box::new(beside.reading),
        marks,
        swatch,
        ranking: if facts.swatches.len() > 1 { beside.ranking } else { Vec::new() },
        unread: beside.unread,
        second_of: facts.second_of.clone(),
        flaws: seen.clone(),
    };
    let facts = PhotoFacts { flaws: seen, ..facts.clone() };
    kept::note(&app.salon, photo, &facts).await?;
    if let Some(off) = kept.chart_off() {
        phones::note_chart(&app.salon, photo, &facts, off).await?;
    }
    let new = NewReading { client, photo: Some(photo.id), kept: kept.clone() };
    let before = in_force_from(app, photo).await?;
    let earlier: Vec<String> = start::readings(&app.salon, client)
        .await?
        .iter()
        .filter(|reading| reading.line.photo == Some(photo.id))
        .map(|reading| reading.line.id.to_string())
        .collect();
    let id = app.salon.keep_reading(&new).await?;
    phones::carry(&app.salon, &earlier, &id.to_string()).await?;
    if before {
        let reading = OpenReading { line: app.salon.reading(id).await?, kept };
        start::put_reading_in_force(&app.salon, &reading).await?;
    }
    Ok(Ok(match &facts.second_of {
        Some(first) => format!("/readings/{first}#lights"),
        None => format!("/readings/{id}"),
    }))
}

/// Keeps a photo of known marks with what is read from it.
///
/// *Errors*: a photo or marks that cannot be read, in words.
pub async fn keep_reading(salon: &Salon, client: ClientId, photo: Vec<u8>, marks: Marks) -> Result<(), String> {
    let facts = PhotoFacts { hair: <[[f64; 2]; 4]>::try_from(marks.hair.clone()).ok(), ..PhotoFacts::default() };
    let photo = match upload::keep_photo(salon, Some(client), photo, facts).await {
        Ok(photo) => photo,
        Err(Stopped::Refused((_, says))) => return Err(says),
        Err(Stopped::Failed(_)) => return Err("it could not be kept".to_owned()),
    };
    let asked = marks.clone();
    let read = upload::with_photo(salon, photo, move |picture| Ok(reading::read(picture, &asked)?)).await;
    let reading = read.map_err(|_| "it could not be opened".to_owned())?.map_err(|fault| fault.to_string())?;
    let kept = KeptReading::Photo {
        reading: Box::new(reading),
        marks,
        swatch: None,
        ranking: Vec::new(),
        unread: Vec::new(),
        second_of: None,
        flaws: Vec::new(),
    };
    salon.keep_reading(&NewReading { client, photo: Some(photo), kept }).await.map_err(|fault| fault.to_string())?;
    Ok(())
}

/// Whether her plan is made with an earlier reading of this photo: then the
/// mended one takes its place.
async fn in_force_from(app: &AppState, photo: &PhotoNote) -> Result<bool, Trouble> {
    let Some(client) = photo.client else { return Ok(false) };
    let colour = read_facts(&app.salon.client(client).await?.facts)?.colour.unwrap_or_default();
    let all = start::readings(&app.salon, client).await?;
    Ok(all.iter().any(|reading| reading.line.photo == Some(photo.id) && start::is_in_force(&colour, reading)))
}

/// Measures the swatches of the ring.
async fn measure(app: &AppState, photo: &PhotoNote, mut facts: PhotoFacts, chart: [[f64; 2]; 4]) -> Result<Response, Trouble> {
    if let Some(says) = codes_wanting(&facts.swatches) {
        return refuse(app, photo, &facts, says).await;
    }
    let swatches = facts.swatches.clone();
    let work = move |picture: &reading::Picture| -> Result<Result<_, (ReadFault, Vec<Flaw>)>, PhotoFault> {
        Ok(read_swatches(picture, &chart, &swatches).map_err(|fault| {
            let hair = swatches.first().map(|swatch| swatch.outline.clone()).unwrap_or_default();
            let seen = flaws_of_refusal(picture, &Marks { chart_corners: chart, hair, strands: None, leave_out: Vec::new() }, &fault);
            (fault, seen)
        }))
    };
    match upload::with_photo(&app.salon, photo.id, work).await? {
        Err(fault) => refuse(app, photo, &facts, sentence(&fault.to_string())).await,
        Ok(Err((fault, seen))) => refuse_seen(app, photo, facts, &fault.into(), seen).await,
        Ok(Ok(found)) => {
            facts.measured = found.into_iter().map(ring_photo::as_measured).collect();
            kept::note(&app.salon, photo, &facts).await?;
            if let Some(off) = of_a_photo::chart_off(&facts) {
                phones::note_chart(&app.salon, photo, &facts, off).await?;
            }
            Ok(Redirect::to(&format!("/photos/{}/measured", photo.id)).into_response())
        }
    }
}

/// What is missing before swatches can be measured.
fn codes_wanting(swatches: &[Swatch]) -> Option<String> {
    if swatches.is_empty() {
        return Some("Put a box over the hair of at least one swatch.".to_owned());
    }
    if let Some(at) = swatches.iter().position(|swatch| swatch.code.is_empty()) {
        return Some(format!("Write the code of swatch {}.", at + 1));
    }
    let mut codes = std::collections::BTreeSet::new();
    let twice = swatches.iter().find(|swatch| !codes.insert(&swatch.code))?;
    Some(format!("Two boxes have the code {}: give each its own.", twice.code))
}

/// Throws a photo away with all that was read from it.
pub async fn remove(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let id: PhotoId = id.parse()?;
    let photo = app.salon.photo(id).await?;
    app.salon.remove_photo(id).await?;
    phones::forget_photo(&app.salon, &id.to_string()).await?;
    let to = photo.client.map_or_else(|| "/settings/ring".to_owned(), |client| format!("/clients/{client}/colour"));
    Ok(Redirect::to(&to).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_box_needs_a_code_of_its_own() {
        let swatch = |code: &str| Swatch { code: code.to_owned(), outline: Vec::new() };
        assert!(codes_wanting(&[]).is_some());
        assert!(codes_wanting(&[swatch("S01"), swatch("")]).unwrap().contains('2'));
        assert!(codes_wanting(&[swatch("S01"), swatch("S01")]).unwrap().contains("S01"));
        assert_eq!(codes_wanting(&[swatch("S01"), swatch("S02")]), None);
    }
}
