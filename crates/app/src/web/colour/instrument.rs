//! A reading from an instrument's text file.

use super::start::{self, SampleView, not_taken};
use super::upload;
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::notice::Notice;
use crate::web::frame::page::Trouble;
use crate::web::frame::swatch;
use axum::Form;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use colour::instrument::{Conditions, Sample, read_instrument};
use colour::{Light, Observer};
use craft::matching::Reflectance;
use desk::{Client, KeptReading, NewReading};
use measure::text::{fixed, sentence};

/// The most samples that are offered to choose from.
const MOST_OFFERED: usize = 60;

/// Light and observer that the sender states, where she does.
pub fn stated(typed: &Typed) -> Option<Conditions> {
    let light = Light::named(typed.one("light")).filter(|light| [Light::D50, Light::D65].contains(light))?;
    let observer = match typed.one("observer") {
        "2" => Observer::TwoDegrees,
        "10" => Observer::TenDegrees,
        _ => return None,
    };
    Some(Conditions { light, observer })
}

/// The samples of an instrument's file.
///
/// *Errors*: a sentence that says what is wrong with it.
pub fn samples(bytes: &[u8], conditions: Option<Conditions>) -> Result<Vec<Sample>, String> {
    if bytes.is_empty() {
        return Err("Choose a file first.".to_owned());
    }
    let text = std::str::from_utf8(bytes).map_err(|_| "That is not a text file: export the readings as text (CGATS or CSV).".to_owned())?;
    read_instrument(text, conditions).map_err(|fault| sentence(&fault.to_string()))
}

/// A sample's spectrum as it is kept.
pub fn reflectance(sample: &Sample) -> Option<Reflectance> {
    let spectrum = sample.spectrum.as_ref()?;
    let nm = (0..spectrum.values().len()).map(|i| 380.0 + 5.0 * i as f64).collect();
    Some(Reflectance { nm, value: spectrum.values().to_vec() })
}

fn kept(sample: &Sample) -> KeptReading {
    KeptReading::Instrument {
        sample: sample.name.chars().filter(|c| !c.is_control()).take(80).collect(),
        lab_d65: sample.lab_d65,
        reflectance: reflectance(sample),
        carried: sample.carried,
    }
}

/// Takes an instrument's file: its one sample, or a choice among several.
pub async fn take_file(State(app): State<AppState>, Path(id): Path<String>, form: Multipart) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let sent = match upload::take(form).await {
        Ok(sent) => sent,
        Err((status, says)) => return start::draw(&app, &client, status, Some(not_taken(says)), Vec::new()).await,
    };
    let found = match samples(&sent.file, stated(&sent.typed)) {
        Ok(found) => found,
        Err(says) => {
            return start::draw(&app, &client, StatusCode::UNPROCESSABLE_ENTITY, Some(not_taken(says)), Vec::new()).await;
        }
    };
    if let [sample] = found.as_slice() {
        return keep(&app, &client, &kept(sample)).await;
    }
    let offered = found
        .iter()
        .take(MOST_OFFERED)
        .map(|sample| {
            let lab = sample.lab_d65;
            Ok(SampleView {
                name: sample.name.clone(),
                fill: swatch::of_lab(lab),
                says: format!("L* {}, a* {}, b* {}", fixed(lab.l, 1), fixed(lab.a, 1), fixed(lab.b, 1)),
                document: serde_json::to_string(&kept(sample)).map_err(|error| Trouble::Ours(error.to_string()))?,
            })
        })
        .collect::<Result<Vec<_>, Trouble>>()?;
    let says = match found.len() {
        many if many > MOST_OFFERED => {
            format!("The file holds {many} readings; the first {MOST_OFFERED} are below. Choose the one of her ends.")
        }
        many => format!("The file holds {many} readings. Choose the one of her ends below."),
    };
    let notice = Notice { tone: "care", title: "Which of them is hers?".to_owned(), says };
    start::draw(&app, &client, StatusCode::OK, Some(notice), offered).await
}

/// Takes the one sample that was chosen among several.
pub async fn take_sample(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let typed = Typed::posted(pairs);
    match serde_json::from_str::<KeptReading>(typed.one("sample")) {
        Ok(kept @ KeptReading::Instrument { .. }) if sound(&kept) => keep(&app, &client, &kept).await,
        _ => {
            let notice = not_taken("That reading cannot be used: choose the file again.".to_owned());
            start::draw(&app, &client, StatusCode::UNPROCESSABLE_ENTITY, Some(notice), Vec::new()).await
        }
    }
}

/// Whether what came back is a colour that can be matched.
fn sound(kept: &KeptReading) -> bool {
    let spectrum = match kept {
        KeptReading::Instrument { reflectance: Some(reflectance), .. } => reflectance.spectrum().is_ok(),
        _ => true,
    };
    spectrum && kept.lab_d65().is_in_range()
}

async fn keep(app: &AppState, client: &Client, kept: &KeptReading) -> Result<Response, Trouble> {
    if !sound(kept) {
        let notice = not_taken("The reading is no colour that hair has: measure it again.".to_owned());
        return start::draw(app, client, StatusCode::UNPROCESSABLE_ENTITY, Some(notice), Vec::new()).await;
    }
    let new = NewReading { client: client.id, photo: None, kept: kept.clone() };
    let id = app.salon.keep_reading(&new).await?;
    Ok(Redirect::to(&format!("/readings/{id}")).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spectrum_is_kept_as_it_was_measured() {
        let heading: Vec<String> = (0..31).map(|i| format!("nm{}", 400 + 10 * i)).collect();
        let values: Vec<String> = (0..31).map(|i| format!("{:.3}", 0.05 + 0.01 * f64::from(i))).collect();
        let text = format!("name,{}\nends,{}\n", heading.join(","), values.join(","));
        let found = samples(text.as_bytes(), None).unwrap();
        let again = reflectance(&found[0]).unwrap().spectrum().unwrap();
        assert_eq!(&again, found[0].spectrum.as_ref().unwrap());
        assert!(sound(&kept(&found[0])));
    }

    #[test]
    fn what_is_no_instrument_file_gets_a_sentence() {
        for nonsense in [&b""[..], b"\xff\xfe\x00", b"hello", b"L,a,b\n1,2\n", b"L,a,b\n30,8,18\n"] {
            let says = samples(nonsense, None).unwrap_err();
            assert!(says.ends_with('.') && says.len() > 15, "{says}");
        }
        let both = Typed::posted(vec![("light".into(), "D65".into()), ("observer".into(), "2".into())]);
        assert_eq!(samples(b"L,a,b\n30,8,18\n", stated(&both)).unwrap().len(), 1);
    }
}
