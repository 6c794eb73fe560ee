//! The ring taken in from a file and given out as one.

use super::ring::{ShadeForm, add_measured, change_by, is_stale, not_taken, plain, refuse, settle, show_both};
use super::{instrument, upload};
use crate::cells;
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::house;
use crate::web::frame::page::Trouble;
use axum::extract::{Multipart, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use craft::matching::{Ring, Shade, ring_from_csv, ring_to_csv};
use measure::text::sentence;

/// Takes shades from a file: a ring as JSON or CSV, or an instrument's readings.
///
/// *Meaning*: a file that was refused since the ring had changed comes back as
/// text, so that it need not be chosen again.
pub async fn import(State(app): State<AppState>, form: Multipart) -> Result<Response, Trouble> {
    let sent = match upload::take(form).await {
        Ok(sent) => sent,
        Err((status, says)) => return not_taken(&app, status, says).await,
    };
    let bytes = if sent.file.is_empty() { sent.typed.one("taken").as_bytes() } else { &sent.file };
    let taken = match shades_of(bytes, &sent.typed) {
        Ok(taken) => taken,
        Err(says) => return refuse(&app, says, ShadeForm::default()).await,
    };
    let mut ring = house::ring(&app.salon).await?;
    let adds = sent.typed.one("how") == "add";
    if adds && let Err(fault) = taken.colours() {
        return refuse(&app, sentence(&fault.to_string()), ShadeForm::default()).await;
    }
    if taken.shades.is_empty() {
        return refuse(&app, "That file holds no shades.".to_owned(), ShadeForm::default()).await;
    }
    let change = change_by(taken.clone(), if adds { "add" } else { "replace" });
    if is_stale(&ring, &sent.typed) {
        return show_both(&app, &ring, change).await;
    }
    if adds {
        add_measured(&mut ring.value, taken.shades);
    } else {
        ring.value = taken;
    }
    settle(&app, ring, change).await
}

/// The shades in a file of any of the kinds.
///
/// *Errors*: a sentence that says what is wrong with it.
fn shades_of(bytes: &[u8], typed: &Typed) -> Result<Ring, String> {
    if bytes.is_empty() {
        return Err("Choose a file first.".to_owned());
    }
    let text = std::str::from_utf8(bytes).map_err(|_| "That is not a text file: choose a JSON, CSV or instrument text file.".to_owned())?;
    let text = text.trim_start_matches('\u{feff}');
    if text.trim_start().starts_with(['{', '[']) {
        return serde_json::from_str(text).map_err(|error| format!("That file is not a ring: {error}."));
    }
    let heading = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("").to_lowercase();
    let named = |column: &str| heading.split(',').any(|cell| cell.trim().trim_matches('"') == column);
    if named("code") && named("l") && named("a") && named("b") && !text.contains("BEGIN_DATA") {
        let ring = ring_from_csv(text).map_err(|fault| sentence(&fault.to_string()))?;
        return Ok(with_texts(ring, cells::restored));
    }
    let samples = instrument::samples(bytes, instrument::stated(typed))?;
    let shade = |sample: &colour::instrument::Sample| {
        let reflectance = instrument::reflectance(sample);
        Shade {
            code: plain(sample.name.trim(), 24),
            name: String::new(),
            lab_d65: reflectance.is_none().then_some(sample.lab_d65),
            xyz_d65: None,
            reflectance,
            measured_by: Some("instrument".to_owned()),
            uncertainty_de00: None,
        }
    };
    Ok(Ring { shades: samples.iter().map(shade).collect() })
}

/// The ring as a JSON file.
pub async fn as_json(State(app): State<AppState>) -> Result<Response, Trouble> {
    let ring = house::ring(&app.salon).await?.value;
    let text = serde_json::to_string_pretty(&ring).map_err(|error| Trouble::Ours(error.to_string()))?;
    Ok(file("ring.json", "application/json", text))
}

/// The ring as a table. Spectra travel in the JSON file only.
pub async fn as_csv(State(app): State<AppState>) -> Result<Response, Trouble> {
    let ring = with_texts(house::ring(&app.salon).await?.value, cells::defused);
    let text = ring_to_csv(&ring).map_err(|_| Trouble::NoPage)?;
    Ok(file("ring.csv", "text/csv; charset=utf-8", text))
}

/// The ring with the texts of its shades told otherwise.
fn with_texts(mut ring: Ring, told: fn(&str) -> String) -> Ring {
    for shade in &mut ring.shades {
        shade.code = told(&shade.code);
        shade.name = told(&shade.name);
        shade.measured_by = shade.measured_by.as_deref().map(told);
    }
    ring
}

fn file(name: &str, kind: &str, text: String) -> Response {
    let headers = [(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\""))];
    (headers, text).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::colour::ring::tests::shade;
    use colour::Lab;

    #[test]
    fn a_ring_given_out_in_either_form_is_taken_in_again_as_it_was() {
        let mut second = shade("S 2, \"light\"", 60.5);
        second.measured_by = Some("photo".into());
        second.uncertainty_de00 = Some(1.25);
        let ring = Ring { shades: vec![shade("S1", 30.25), second] };
        let none = Typed::default();
        assert_eq!(shades_of(ring_to_csv(&ring).unwrap().as_bytes(), &none), Ok(ring.clone()));
        assert_eq!(shades_of(serde_json::to_string(&ring).unwrap().as_bytes(), &none), Ok(ring));
    }

    /// *Source*: key `owaspcsv`: a cell that begins with one of these is reckoned
    /// by a spreadsheet.
    #[test]
    fn no_text_of_the_ring_is_a_formula_in_a_spreadsheet_and_none_is_changed_by_the_way_round() {
        let begins = ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "'=x", "plain"];
        let shades = begins.iter().enumerate().map(|(at, begin)| {
            let mut one = shade(&format!("{begin}{at}"), 30.0 + at as f64);
            one.name = format!("{begin} name");
            one.lab_d65 = Some(Lab::new(30.0 + at as f64, -3.5, 18.0));
            one.measured_by = Some((*begin).to_owned());
            one
        });
        let ring = Ring { shades: shades.filter(|shade| !shade.code.contains(['\t', '\r'])).collect() };
        let text = ring_to_csv(&with_texts(ring.clone(), cells::defused)).unwrap();
        for line in text.lines() {
            for cell in line.split(',') {
                let cell = cell.trim_matches('"');
                assert!(!cell.starts_with(['=', '+', '@', '\t', '\r']), "{line}");
                assert!(!cell.starts_with('-') || cell.parse::<f64>().is_ok(), "{line}");
            }
        }
        assert!(text.contains(",-3.5,"), "numbers stay numbers: {text}");
        assert_eq!(shades_of(text.as_bytes(), &Typed::default()), Ok(ring));
    }

    #[test]
    fn what_is_no_ring_gets_a_sentence() {
        for nonsense in
            [&b""[..], b"{", b"{\"shades\":1}", b"code,L,a,b\nS1,x,2,3\n", b"\xff", b"BEGIN_DATA\nEND_DATA\n", b"a picture of a cat"]
        {
            let says = shades_of(nonsense, &Typed::default()).unwrap_err();
            assert!(says.ends_with('.') && says.len() > 12, "{says}");
        }
    }
}
