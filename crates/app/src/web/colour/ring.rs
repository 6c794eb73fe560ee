//! The ring: the shades on sale, looked at and mended.

use crate::web::AppState;
use crate::web::client::form::{NOT_WHOLE, Typed};
use crate::web::frame::house::{self, Versioned};
use crate::web::frame::notice::Notice;
use crate::web::frame::page::{Again, BOTH_BELOW, Both, CHANGED_ELSEWHERE, Shell, Trouble, moment, page};
use crate::web::frame::swatch;
use askama::Template;
use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use colour::{D65, Lab};
use craft::matching::{NO_VISIBLE, Ring, Shade, too_close};
use desk::DeskFault;
use measure::text::{capital, fixed, sentence};
use serde::Deserialize;

#[derive(Template)]
#[template(path = "colour/ring.html")]
struct RingPage {
    shell: Shell,
    version: i64,
    both: Option<Both>,
    notice: Option<Notice>,
    shades: Vec<ShadeView>,
    close: Vec<String>,
    form: ShadeForm,
    photos: Vec<(String, String)>,
}

struct ShadeView {
    code: String,
    name: String,
    fill: String,
    numbers: String,
    how: String,
    spectrum: bool,
    close: bool,
}

/// A shade as it is typed.
#[derive(Default)]
pub struct ShadeForm {
    /// The code of the shade that is being changed.
    was: String,
    code: String,
    name: String,
    l: String,
    a: String,
    b: String,
    measured_by: String,
    uncertainty: String,
}

/// Which shade the form is opened with.
#[derive(Deserialize)]
pub struct RingQuery {
    #[serde(default)]
    edit: String,
}

/// The ring.
pub async fn show(State(app): State<AppState>, Query(query): Query<RingQuery>) -> Result<Response, Trouble> {
    let ring = house::ring(&app.salon).await?.value;
    let form = ring.shades.iter().find(|shade| shade.code == query.edit).map(form_of).unwrap_or_default();
    draw(&app, StatusCode::OK, None, form, None).await
}

fn form_of(shade: &Shade) -> ShadeForm {
    let lab = lab_of(shade);
    let part = |value: fn(Lab) -> f64| lab.map(|lab| format!("{}", (value(lab) * 100.0).round() / 100.0)).unwrap_or_default();
    ShadeForm {
        was: shade.code.clone(),
        code: shade.code.clone(),
        name: shade.name.clone(),
        l: part(|lab| lab.l),
        a: part(|lab| lab.a),
        b: part(|lab| lab.b),
        measured_by: shade.measured_by.clone().unwrap_or_default(),
        uncertainty: shade.uncertainty_de00.map(|sure| sure.to_string()).unwrap_or_default(),
    }
}

fn lab_of(shade: &Shade) -> Option<Lab> {
    shade.colour().ok().map(|colour| colour.to_lab(D65))
}

async fn draw(
    app: &AppState,
    status: StatusCode,
    notice: Option<Notice>,
    form: ShadeForm,
    both: Option<Both>,
) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let ring = house::ring(&app.salon).await?;
    // A shade of unknown sureness is taken to be as sure as the eye can see.
    let close = too_close(&ring.value, NO_VISIBLE.value).unwrap_or_default();
    let photos = app.salon.photos_of(None).await?;
    let template = RingPage {
        shell: Shell::settings("Ring", &house.name),
        version: ring.version,
        both,
        notice,
        shades: ring
            .value
            .shades
            .iter()
            .map(|shade| ShadeView {
                close: close.iter().any(|(one, other, _)| *one == shade.code || *other == shade.code),
                ..shade_view(shade)
            })
            .collect(),
        close: close.iter().map(|(one, other, de00)| format!("{one} and {other}, {} apart", fixed(*de00, 1))).collect(),
        form,
        photos: photos.into_iter().map(|photo| (photo.id.to_string(), moment(photo.kept_ms))).collect(),
    };
    Ok(page(status, &template))
}

fn shade_view(shade: &Shade) -> ShadeView {
    let lab = lab_of(shade);
    let sure = shade.uncertainty_de00.map(|sure| format!("sure to {}", fixed(sure, 1)));
    let how: Vec<String> = [shade.measured_by.clone(), sure].into_iter().flatten().filter(|part| !part.is_empty()).collect();
    ShadeView {
        code: shade.code.clone(),
        name: shade.name.clone(),
        fill: lab.map_or_else(|| swatch::UNMEASURED.to_owned(), swatch::of_lab),
        numbers: lab.map_or_else(String::new, |lab| format!("L* {}, a* {}, b* {}", fixed(lab.l, 1), fixed(lab.a, 1), fixed(lab.b, 1))),
        how: if how.is_empty() { "Not said how it was measured".to_owned() } else { capital(&how.join(", ")) },
        spectrum: shade.reflectance.is_some(),
        close: false,
    }
}

/// Nothing was saved; what was typed stands on the page again.
pub async fn refuse(app: &AppState, says: String, form: ShadeForm) -> Result<Response, Trouble> {
    let notice = Notice { tone: "stop", title: "Nothing was saved".to_owned(), says };
    draw(app, StatusCode::UNPROCESSABLE_ENTITY, Some(notice), form, None).await
}

/// The ring's page over a file that was not taken.
pub async fn not_taken(app: &AppState, status: StatusCode, says: String) -> Result<Response, Trouble> {
    draw(app, status, Some(super::start::not_taken(says)), ShadeForm::default(), None).await
}

fn decimal(text: &str) -> Option<f64> {
    text.replace(',', ".").replace('−', "-").parse::<f64>().ok().filter(|value| value.is_finite())
}

/// A text as it may be kept.
pub fn plain(text: &str, most: usize) -> String {
    text.chars().filter(|c| !c.is_control()).take(most).collect()
}

/// Adds a shade, or changes the one of that code.
pub async fn keep(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let again = || ShadeForm {
        was: typed.one("was").to_owned(),
        code: typed.one("code").to_owned(),
        name: typed.one("name").to_owned(),
        l: typed.one("l").to_owned(),
        a: typed.one("a").to_owned(),
        b: typed.one("b").to_owned(),
        measured_by: typed.one("measured_by").to_owned(),
        uncertainty: typed.one("uncertainty").to_owned(),
    };
    if !typed.is_whole() {
        return refuse(&app, format!("{NOT_WHOLE}. What you typed is below; look through it and save again."), again()).await;
    }
    let (Some(l), Some(a), Some(b)) = (decimal(typed.one("l")), decimal(typed.one("a")), decimal(typed.one("b"))) else {
        return refuse(&app, "The shade’s colour is three numbers: L*, a* and b*, as the instrument shows them.".to_owned(), again()).await;
    };
    let code = typed.one("code");
    if code.is_empty() || code.chars().count() > 24 || code.chars().any(char::is_control) {
        return refuse(&app, "The shade needs the code that stands on its swatch, at most 24 letters.".to_owned(), again()).await;
    }
    let uncertainty_de00 = decimal(typed.one("uncertainty")).filter(|sure| *sure >= 0.0);
    if uncertainty_de00.is_none() && !typed.one("uncertainty").is_empty() {
        return refuse(&app, "How sure the colour is, is a number of dE00, or nothing.".to_owned(), again()).await;
    }
    let mut ring = house::ring(&app.salon).await?;
    let was = typed.one("was");
    let mut shade = Shade {
        code: code.to_owned(),
        name: plain(typed.one("name"), 60),
        lab_d65: Some(Lab::new(l, a, b)),
        xyz_d65: None,
        reflectance: None,
        measured_by: Some(plain(typed.one("measured_by"), 60)).filter(|text| !text.is_empty()),
        uncertainty_de00,
    };
    if let Some(before) = ring.value.shades.iter().find(|shade| shade.code == was) {
        let form = form_of(before);
        // Numbers left as they were keep the measurement behind them.
        if [&form.l, &form.a, &form.b] == [typed.one("l"), typed.one("a"), typed.one("b")] {
            shade = Shade { lab_d65: before.lab_d65, xyz_d65: before.xyz_d65, reflectance: before.reflectance.clone(), ..shade };
        }
    }
    if code != was && !was.is_empty() && ring.value.shades.iter().any(|shade| shade.code == code) {
        return refuse(&app, format!("Another shade has the code {code} already."), again()).await;
    }
    let change = Change { codes: vec![was.to_owned(), shade.code.clone()], yours: vec![in_words(&shade)], form: again(), taken: None };
    if is_stale(&ring, &typed) {
        return show_both(&app, &ring, change).await;
    }
    put_on(&mut ring.value, shade, was);
    settle(&app, ring, change).await
}

/// A change of the ring as it is told where it is not kept.
#[derive(Default)]
pub struct Change {
    /// The shades it is about; all of them when it names none.
    codes: Vec<String>,
    /// What it comes to.
    yours: Vec<String>,
    /// What was typed.
    form: ShadeForm,
    /// The shades of a file or photo, and how they are to be taken.
    taken: Option<(Ring, &'static str)>,
}

/// Whether somebody changed the ring after the page was opened.
pub fn is_stale(ring: &Versioned<Ring>, typed: &Typed) -> bool {
    typed.one("seen").parse::<i64>() != Ok(ring.version)
}

/// A shade in one line.
fn in_words(shade: &Shade) -> String {
    let view = shade_view(shade);
    let parts = [format!("{} {}", view.code, view.name).trim().to_owned(), view.numbers, view.how];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

/// The ring as somebody else saved it, beside what was to be saved.
pub async fn show_both(app: &AppState, ring: &Versioned<Ring>, change: Change) -> Result<Response, Trouble> {
    let shades = || ring.value.shades.iter();
    let theirs: Vec<String> = if change.codes.is_empty() {
        shades().map(in_words).collect()
    } else {
        shades().filter(|shade| change.codes.contains(&shade.code)).map(in_words).collect()
    };
    let again = match change.taken {
        Some((taken, how)) => Some(Again {
            action: "/settings/ring/import",
            seen: ring.version,
            how,
            taken: serde_json::to_string(&taken).map_err(|error| Trouble::Ours(error.to_string()))?,
            says: if how == "add" { "Add yours all the same" } else { "Replace theirs with yours" },
        }),
        None => None,
    };
    let theirs = if theirs.is_empty() { vec![format!("No such shade; {} on the ring", ring.value.shades.len())] } else { theirs };
    let notice = Notice { tone: "care", title: CHANGED_ELSEWHERE.to_owned(), says: BOTH_BELOW.to_owned() };
    draw(app, StatusCode::CONFLICT, Some(notice), change.form, Some(Both { theirs, yours: change.yours, again })).await
}

/// Puts a shade on the ring in the place of the one it was, or at the end.
fn put_on(ring: &mut Ring, shade: Shade, was: &str) {
    let place =
        ring.shades.iter().position(|other| other.code == was).or_else(|| ring.shades.iter().position(|other| other.code == shade.code));
    match place {
        Some(at) => ring.shades[at] = shade,
        None => ring.shades.push(shade),
    }
}

/// Puts measured shades on the ring; a shade that is on it keeps its name.
pub fn add_measured(ring: &mut Ring, shades: Vec<Shade>) {
    for mut shade in shades {
        if let Some(known) = ring.shades.iter().find(|known| known.code == shade.code).filter(|_| shade.name.is_empty()) {
            shade.name.clone_from(&known.name);
        }
        let code = shade.code.clone();
        put_on(ring, shade, &code);
    }
}

/// Keeps the ring, or says why not.
pub async fn settle(app: &AppState, ring: Versioned<Ring>, change: Change) -> Result<Response, Trouble> {
    if let Err(fault) = ring.value.colours()
        && !ring.value.shades.is_empty()
    {
        return refuse(app, sentence(&fault.to_string()), change.form).await;
    }
    match app.salon.keep_ring(ring.version, &ring.value).await {
        Ok(_) => Ok(Redirect::to("/settings/ring").into_response()),
        Err(DeskFault::Changed { .. }) => {
            let ring = house::ring(&app.salon).await?;
            show_both(app, &ring, change).await
        }
        Err(fault) => {
            tracing::error!(%fault, "the ring could not be saved");
            let notice = Notice {
                tone: "stop",
                title: "Not saved".to_owned(),
                says: format!("{} What you typed is still below.", sentence(&fault.to_string())),
            };
            draw(app, StatusCode::INTERNAL_SERVER_ERROR, Some(notice), change.form, None).await
        }
    }
}

/// Keeps the shades that a photo gave.
pub async fn settle_measured(app: &AppState, shades: Vec<Shade>, typed: &Typed) -> Result<Response, Trouble> {
    let mut ring = house::ring(&app.salon).await?;
    let change = change_by(Ring { shades }, "add");
    if is_stale(&ring, typed) {
        return show_both(app, &ring, change).await;
    }
    add_measured(&mut ring.value, change.taken.iter().flat_map(|(taken, _)| taken.shades.clone()).collect());
    settle(app, ring, change).await
}

/// A change that puts shades on the ring or in its place.
pub fn change_by(taken: Ring, how: &'static str) -> Change {
    let codes = if how == "add" { taken.shades.iter().map(|shade| shade.code.clone()).collect() } else { Vec::new() };
    Change { codes, yours: taken.shades.iter().map(in_words).collect(), form: ShadeForm::default(), taken: Some((taken, how)) }
}

/// Takes a shade off the ring.
pub async fn remove(State(app): State<AppState>, Form(pairs): Form<Vec<(String, String)>>) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let mut ring = house::ring(&app.salon).await?;
    let code = typed.one("code").to_owned();
    let change = Change { yours: vec![format!("{code} taken off the ring")], codes: vec![code.clone()], ..Change::default() };
    if is_stale(&ring, &typed) {
        return show_both(&app, &ring, change).await;
    }
    ring.value.shades.retain(|shade| shade.code != code);
    settle(&app, ring, change).await
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A shade of a ring.
    pub(in crate::web::colour) fn shade(code: &str, l: f64) -> Shade {
        let lab_d65 = Some(Lab::new(l, 8.0, 18.0));
        Shade {
            code: code.into(),
            name: format!("Name of {code}"),
            lab_d65,
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: None,
        }
    }

    #[test]
    fn a_shade_measured_again_keeps_its_name_and_its_place() {
        let mut ring = Ring { shades: vec![shade("S1", 30.0), shade("S2", 40.0)] };
        let again = Shade { name: String::new(), ..shade("S1", 31.0) };
        add_measured(&mut ring, vec![again, Shade { name: String::new(), ..shade("S3", 50.0) }]);
        let told: Vec<(&str, &str, f64)> =
            ring.shades.iter().map(|shade| (shade.code.as_str(), shade.name.as_str(), shade.lab_d65.unwrap().l)).collect();
        assert_eq!(told, [("S1", "Name of S1", 31.0), ("S2", "Name of S2", 40.0), ("S3", "", 50.0)]);
    }
}
