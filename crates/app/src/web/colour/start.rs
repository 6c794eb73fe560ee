//! A client's colour: the three ways to it, what is in force, and the readings
//! over her visits.

use super::upload::{self, Stopped};
use super::{kept, words};
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::client::names::{display_name, read_facts};
use crate::web::frame::notice::Notice;
use crate::web::frame::page::{Shell, Trouble, moment, page};
use crate::web::frame::{house, swatch};
use askama::Template;
use axum::Form;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::{Ring, fading};
use desk::{Client, ClientId, FiledReading, KeptReading, PhotoFacts, ReadingId, Salon};
use measure::text::fixed;
use salon::client::ColourSection;

#[derive(Template)]
#[template(path = "colour/start.html")]
struct StartPage {
    shell: Shell,
    id: String,
    name: String,
    notice: Option<Notice>,
    in_force: Option<InForce>,
    unread: Vec<(String, String)>,
    visits: Vec<Visit>,
    shades: Vec<(String, String, bool)>,
    samples: Vec<SampleView>,
}

/// The colour her plan is made with.
pub struct InForce {
    fill: String,
    says: String,
    link: Option<String>,
}

/// One reading among those of her visits.
struct Visit {
    id: String,
    when: String,
    how: &'static str,
    fill: String,
    sure: String,
    moved: String,
    in_force: bool,
}

/// One sample of an instrument's file, to choose from.
pub struct SampleView {
    /// Its name in the file.
    pub name: String,
    /// Its screen colour.
    pub fill: String,
    /// Its numbers.
    pub says: String,
    /// The whole of it, to be posted back.
    pub document: String,
}

/// A reading opened, with the line of the records it stands in.
pub struct OpenReading {
    /// The line.
    pub line: FiledReading,
    /// What was read.
    pub kept: KeptReading,
}

/// Every reading of a client, oldest first.
pub async fn readings(salon: &Salon, client: ClientId) -> Result<Vec<OpenReading>, Trouble> {
    let lines = salon.readings_of(client).await?;
    lines.into_iter().map(|line| Ok(OpenReading { kept: line.kept.clone(), line })).collect()
}

/// The page as it is kept.
pub async fn show(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    draw(&app, &client, StatusCode::OK, None, Vec::new()).await
}

/// The page, perhaps with a notice, or with the samples of a file to choose from.
pub async fn draw(
    app: &AppState,
    client: &Client,
    status: StatusCode,
    notice: Option<Notice>,
    samples: Vec<SampleView>,
) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?.value;
    let file = read_facts(&client.facts)?;
    let colour = file.colour.clone().unwrap_or_default();
    let all = readings(&app.salon, client.id).await?;
    let mut unread = Vec::new();
    for photo in app.salon.photos_of(Some(client.id)).await? {
        if all.iter().all(|reading| reading.line.photo != Some(photo.id)) {
            unread.push((photo.id.to_string(), moment(photo.kept_ms)));
        }
    }
    let earlier = match colour.photo.as_deref().and_then(kept::reading_of).and_then(|id| id.parse::<ReadingId>().ok()) {
        Some(id) => app.salon.reading(id).await.ok(),
        None => None,
    };
    let template = StartPage {
        shell: Shell::clients("Her colour", &house.name),
        id: client.id.to_string(),
        name: display_name(&client.label),
        notice,
        in_force: in_force(&colour, &all, &ring, earlier.as_ref()),
        unread,
        visits: visits(&colour, &all),
        shades: ring
            .shades
            .iter()
            .map(|shade| (shade.code.clone(), swatch::spoken(shade), colour.shade.as_ref() == Some(&shade.code)))
            .collect(),
        samples,
    };
    Ok(page(status, &template))
}

fn in_force(colour: &ColourSection, all: &[OpenReading], ring: &Ring, earlier: Option<&FiledReading>) -> Option<InForce> {
    if let Some(photo) = &colour.photo {
        let found = kept::reading_of(photo).and_then(|id| all.iter().find(|reading| reading.line.id.to_string() == id));
        return Some(match found {
            Some(reading) => InForce {
                fill: swatch::of_lab(reading.kept.lab_d65()),
                says: format!("Read from her photo of {}", moment(reading.line.seen_ms)),
                link: Some(format!("/readings/{}", reading.line.id)),
            },
            None => InForce {
                fill: swatch::UNMEASURED.to_owned(),
                says: match earlier {
                    Some(_) => "An earlier reading of a photo that was read again since".to_owned(),
                    None => "A photo that was thrown away: choose anew below".to_owned(),
                },
                link: earlier.map(|earlier| format!("/readings/{}", earlier.id)),
            },
        });
    }
    if let Some(code) = &colour.shade {
        return Some(InForce { fill: swatch::of(ring, code).fill, says: format!("Matched by eye: {code}"), link: None });
    }
    let &[l, a, b] = colour.lab_d65.as_deref()? else { return None };
    let lab = colour::Lab::new(l, a, b);
    let of_file = all.iter().find(|reading| is_in_force(colour, reading));
    Some(InForce {
        fill: swatch::of_lab(lab),
        says: match of_file {
            Some(reading) => format!("By instrument, {}", moment(reading.line.seen_ms)),
            None => "Typed in as an instrument showed it".to_owned(),
        },
        link: of_file.map(|reading| format!("/readings/{}", reading.line.id)),
    })
}

/// Whether her plan is made with this reading.
pub fn is_in_force(colour: &ColourSection, reading: &OpenReading) -> bool {
    match &reading.kept {
        KeptReading::Photo { .. } => colour.photo.as_deref().and_then(kept::reading_of) == Some(&reading.line.id.to_string()),
        KeptReading::Instrument { lab_d65, .. } => colour.lab_d65.as_deref() == Some(&rounded(*lab_d65)),
    }
}

/// A colour as it stands in a client's file: no more places than anyone measures.
fn rounded(lab: colour::Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b].map(|v| (v * 100.0).round() / 100.0)
}

fn visits(colour: &ColourSection, all: &[OpenReading]) -> Vec<Visit> {
    let own: Vec<&OpenReading> = all.iter().filter(|reading| reading.kept.second_of().is_none()).collect();
    let colours: Vec<(colour::Lab, f64)> =
        own.iter().map(|reading| (reading.kept.lab_d65(), reading.kept.uncertainty().unwrap_or(0.0))).collect();
    own.iter()
        .zip(fading(&colours))
        .enumerate()
        .map(|(at, (reading, fading))| Visit {
            id: reading.line.id.to_string(),
            when: moment(reading.line.seen_ms),
            how: if matches!(reading.kept, KeptReading::Photo { .. }) { "By photo" } else { "By instrument" },
            fill: swatch::of_lab(reading.kept.lab_d65()),
            sure: reading.kept.uncertainty().map_or_else(String::new, |sure| format!("sure to {}", fixed(sure, 1))),
            moved: if at == 0 { String::new() } else { words::moved(&fading) },
            in_force: is_in_force(colour, reading),
        })
        .collect()
}

/// Takes a photo of her ends.
pub async fn take_photo(State(app): State<AppState>, Path(id): Path<String>, form: Multipart) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let outcome = match upload::take(form).await {
        Ok(sent) => {
            let facts = PhotoFacts { camera: sent.camera(), ..PhotoFacts::default() };
            upload::keep_photo(&app.salon, Some(client.id), sent.file, facts).await
        }
        Err(refused) => Err(Stopped::Refused(refused)),
    };
    match outcome {
        Ok(photo) => Ok(Redirect::to(&format!("/photos/{photo}")).into_response()),
        Err(Stopped::Failed(trouble)) => Err(trouble),
        Err(Stopped::Refused((status, says))) => draw(&app, &client, status, Some(not_taken(says)), Vec::new()).await,
    }
}

/// The notice over a page whose file was not taken.
pub fn not_taken(says: String) -> Notice {
    Notice { tone: "stop", title: "The file was not taken".to_owned(), says }
}

/// Takes the shade that was matched by eye.
pub async fn by_eye(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let typed = Typed::posted(pairs);
    let code = typed.one("shade");
    let ring = house::ring(&app.salon).await?.value;
    if !ring.shades.iter().any(|shade| shade.code == code) {
        let says = "Choose a shade of your ring first.".to_owned();
        let notice = Notice { tone: "stop", title: "No shade was chosen".to_owned(), says };
        return draw(&app, &client, StatusCode::UNPROCESSABLE_ENTITY, Some(notice), Vec::new()).await;
    }
    put_in_force(&app.salon, &client, ColourSection { shade: Some(code.to_owned()), ..ColourSection::default() }).await?;
    Ok(Redirect::to(&format!("/clients/{}/colour", client.id)).into_response())
}

/// Makes a reading the colour of her plan.
pub async fn put_reading_in_force(salon: &Salon, reading: &OpenReading) -> Result<(), Trouble> {
    let client = salon.client(reading.line.client).await?;
    let section = match &reading.kept {
        KeptReading::Photo { .. } => {
            let photo = kept::file_of(reading.line.id, kept::format_of(salon, reading.line.photo).await?);
            ColourSection { marks: Some(kept::marks_beside(&photo)), photo: Some(photo), ..ColourSection::default() }
        }
        KeptReading::Instrument { lab_d65, .. } => ColourSection { lab_d65: Some(rounded(*lab_d65).to_vec()), ..ColourSection::default() },
    };
    put_in_force(salon, &client, section).await
}

async fn put_in_force(salon: &Salon, client: &Client, section: ColourSection) -> Result<(), Trouble> {
    let mut file = read_facts(&client.facts)?;
    if file.colour.as_ref() == Some(&section) {
        return Ok(());
    }
    file.colour = Some(section);
    salon.change_client(client.id, client.version, &client.label, &file, Vec::new()).await?;
    Ok(())
}
