//! The camera page: what is in the picture is said while it is being framed.
//!
//! The browser sends small frames, one at a time, to this machine; the finder and the reader
//! that will read the photo look at each, and it is forgotten.

use super::outline;
use super::upload::{self, Refused};
use crate::web::AppState;
use crate::web::client::names::display_name;
use crate::web::frame::house;
use crate::web::frame::page::{Shell, Trouble, page};
use askama::Template;
use axum::Json;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use desk::ReadingId;
use measure::text::{fixed, sentence};
use reading::{Framing, framing, patch_in_words, patch_list};
use serde::{Deserialize, Serialize};

/// The most bytes of one frame.
pub const MOST_FRAME_BYTES: usize = 1024 * 1024;

/// The longest side of a frame, in pixels: they are sent small.
const LONGEST_FRAME: usize = 1400;

/// The most that the photo to come may be finer than a frame.
const FINEST: f64 = 40.0;

#[derive(Template)]
#[template(path = "colour/camera.html")]
struct CameraPage {
    shell: Shell,
    back: String,
    back_says: String,
    /// Where the photo is sent.
    action: String,
    of_ring: bool,
    says: &'static str,
}

/// The camera before a photo of her ends.
pub async fn of_ends(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let client = app.salon.client(id.parse()?).await?;
    let name = display_name(&client.label);
    let house = house::house(&app.salon).await?.value;
    let template = CameraPage {
        shell: Shell::clients("Photograph her ends", &house.name),
        back: format!("/clients/{}/colour", client.id),
        back_says: format!("Colour of {name}"),
        action: format!("/clients/{}/colour/photo", client.id),
        of_ring: false,
        says: "Chart and her ends side by side on a plain grey board, the window behind you.",
    };
    Ok(page(StatusCode::OK, &template))
}

/// The camera before a photo of ends and swatch under another light.
pub async fn of_second_light(State(app): State<AppState>, Path(id): Path<String>) -> Result<Response, Trouble> {
    let reading = app.salon.reading(id.parse::<ReadingId>()?).await?;
    let house = house::house(&app.salon).await?.value;
    let template = CameraPage {
        shell: Shell::clients("Photograph ends and swatch", &house.name),
        back: format!("/readings/{}", reading.id),
        back_says: "The reading".to_owned(),
        action: format!("/readings/{}/light", reading.id),
        of_ring: false,
        says: "Chart, her ends and the swatch side by side, in the light that is to be checked.",
    };
    Ok(page(StatusCode::OK, &template))
}

/// The camera before a photo of swatches of the ring.
pub async fn of_ring(State(app): State<AppState>) -> Result<Response, Trouble> {
    let house = house::house(&app.salon).await?.value;
    let template = CameraPage {
        shell: Shell::settings("Photograph the swatches", &house.name),
        back: "/settings/ring".to_owned(),
        back_says: "Ring".to_owned(),
        action: "/settings/ring/photo".to_owned(),
        of_ring: true,
        says: "Chart and swatches side by side on a plain grey board, the window behind you.",
    };
    Ok(page(StatusCode::OK, &template))
}

/// How a frame was taken.
#[derive(Deserialize)]
pub struct LookQuery {
    /// Pixels of the photo to come for one of the frame.
    #[serde(default)]
    finer: String,
    /// Whether swatches are framed, not ends.
    #[serde(default)]
    ring: String,
}

/// What is said of one frame.
#[derive(Debug, PartialEq, Serialize)]
pub struct Look {
    /// Pixels of the frame.
    size: (usize, usize),
    /// Where the chart is asked for while none is found.
    asked: [[f64; 2]; 4],
    /// The chart, where it was found.
    chart: Option<[[f64; 2]; 4]>,
    /// Where the hair is to lie.
    hair: [[f64; 2]; 4],
    /// From the dark side to the bright one, in uneven light.
    light: Option<[[f64; 2]; 2]>,
    /// What is looked at, always in one order.
    checks: Vec<Check>,
    /// Whether nothing stands against taking it.
    fit: bool,
    /// The one thing to do now.
    advice: String,
}

/// One thing that is looked at.
#[derive(Debug, PartialEq, Serialize)]
pub struct Check {
    /// Its name.
    what: &'static str,
    /// Whether it is as it should be; nothing while that cannot be told.
    good: Option<bool>,
    /// The same in words.
    says: String,
}

/// Looks at one frame. Nothing of it is kept.
pub async fn look(Query(query): Query<LookQuery>, frame: Result<Bytes, BytesRejection>) -> Result<Response, Trouble> {
    let refused = |(status, says): Refused| Ok((status, Json(serde_json::json!({ "says": says }))).into_response());
    let Ok(frame) = frame else {
        return refused((StatusCode::PAYLOAD_TOO_LARGE, "The picture is too large to be looked at while framing.".to_owned()));
    };
    let finer = query.finer.parse::<f64>().ok().filter(|finer| finer.is_finite()).unwrap_or(1.0).clamp(1.0, FINEST);
    let of_ring = !query.ring.is_empty();
    let seen = upload::at_a_glance(move || {
        let photo = photo::open_photo(&frame)?;
        let (width, height) = photo.size();
        if width.max(height) > LONGEST_FRAME {
            return Err(photo::PhotoFault::TooLarge { width: width as u32, height: height as u32 });
        }
        let found = framing(&photo, finer, |chart| outline::usual_hair(chart, (width, height)));
        Ok(said(&found, (width, height), of_ring))
    })
    .await?;
    match seen {
        Ok(look) => Ok(Json(look).into_response()),
        Err(fault) => refused(upload::refusal(&fault)),
    }
}

/// What a frame comes to in words.
fn said(found: &Framing, size: (usize, usize), of_ring: bool) -> Look {
    let judged = [chart(found), size_of(found, of_ring), light(found), whites(found), darkness(found)];
    let advice = judged.iter().find_map(|(_, advice)| advice.clone()).unwrap_or_else(|| "All is right. Hold still.".to_owned());
    let asked = outline::guide_chart(size);
    let hair = found.ends.unwrap_or_else(|| outline::usual_hair(&asked, size));
    let checks = judged.into_iter().map(|(check, _)| check).collect();
    Look { size, asked, chart: found.chart, hair, light: found.light, fit: found.is_fit(), checks, advice }
}

/// What is looked at, and what to do where it is not as it should be.
type Judged = (Check, Option<String>);

fn good(what: &'static str, says: &str) -> Judged {
    (Check { what, good: Some(true), says: says.to_owned() }, None)
}

fn bad(what: &'static str, says: impl Into<String>, advice: &str) -> Judged {
    (Check { what, good: Some(false), says: says.into() }, Some(sentence(advice)))
}

/// While no chart was found the rest cannot be told.
fn open(what: &'static str) -> Judged {
    (Check { what, good: None, says: "Told once the chart is found.".to_owned() }, None)
}

fn chart(found: &Framing) -> Judged {
    let what = "Chart";
    match (&found.chart, &found.why, found.covered.as_slice()) {
        (None, _, _) if found.too_dark => {
            bad(what, "Nothing to be seen.", "The picture is nearly black: see whether something covers the lens")
        }
        (None, _, _) => bad(what, "Not found yet.", "Lay the chart flat, all of it in the picture, nothing over it"),
        (Some(_), Some(why), _) => bad(what, "Does not read.", why),
        (Some(_), None, [one]) => bad(
            what,
            "Partly covered.",
            &format!("{}, does not look like itself: take away what lies on it, or the shadow", patch_in_words(*one)),
        ),
        (Some(_), None, [_, ..]) => bad(
            what,
            "Partly covered.",
            &format!("{} do not look like themselves: take away what lies on them, or the shadow", patch_list(&found.covered)),
        ),
        (Some(_), None, []) => good(what, "Found."),
    }
}

fn size_of(found: &Framing, of_ring: bool) -> Judged {
    let what = "Size";
    if found.chart.is_none() {
        open(what)
    } else if found.too_small {
        bad(what, "Too small.", "Go nearer, until board, chart and hair fill the picture")
    } else if found.too_near {
        bad(
            what,
            "Too near.",
            if of_ring {
                "Go back a little: chart and swatches must both fit"
            } else {
                "Go back a little: chart and her ends must both fit"
            },
        )
    } else {
        good(what, "Large enough.")
    }
}

fn light(found: &Framing) -> Judged {
    let what = "Light";
    if !found.readable {
        return open(what);
    }
    let Some([dark, bright]) = found.light else { return good(what, "Even.") };
    let (x, y) = (bright[0] - dark[0], bright[1] - dark[1]);
    let side = match (x.abs() > y.abs(), x > 0.0, y > 0.0) {
        (true, true, _) => "at the right",
        (true, false, _) => "at the left",
        (false, _, true) => "below",
        (false, _, false) => "above",
    };
    let times = fixed(found.light_range, 1);
    bad(what, format!("Uneven: {times} times as bright {side}."), "Turn so that the window is behind you: the light is uneven")
}

fn whites(found: &Framing) -> Judged {
    let what = "Whites";
    match found.too_bright.as_slice() {
        _ if !found.readable => open(what),
        [] => good(what, "Not too bright."),
        [one] => bad(
            what,
            "Too bright.",
            &format!("{}, is too bright to count: tap on it to make the picture darker, or turn it out of the glare", patch_in_words(*one)),
        ),
        some => bad(
            what,
            "Too bright.",
            &format!("{} are too bright to count: tap on them to make the picture darker, or turn them out of the glare", patch_list(some)),
        ),
    }
}

fn darkness(found: &Framing) -> Judged {
    let what = "Brightness";
    if found.too_dark {
        return bad(what, "Too dark.", "Go to a window: this is too dark for dark hair");
    }
    if found.readable { good(what, "Light enough.") } else { open(what) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found() -> Framing {
        let chart = [[40.0, 100.0], [280.0, 100.0], [280.0, 260.0], [40.0, 260.0]];
        Framing {
            chart: Some(chart),
            ends: Some(outline::usual_hair(&chart, (640, 480))),
            readable: true,
            light_range: 1.1,
            ..Framing::of_nothing()
        }
    }

    #[test]
    fn uneven_light_is_said_by_its_bright_side() {
        for (line, side) in [
            ([[0.0, 0.0], [500.0, 30.0]], "at the right"),
            ([[500.0, 0.0], [0.0, 30.0]], "at the left"),
            ([[0.0, 400.0], [50.0, 30.0]], "above"),
            ([[0.0, 0.0], [50.0, 300.0]], "below"),
        ] {
            let look = said(&Framing { light: Some(line), light_range: 1.84, ..found() }, (640, 480), false);
            assert_eq!(look.checks[2].says, format!("Uneven: 1.8 times as bright {side}."));
        }
    }

    #[test]
    fn each_fault_has_its_own_advice_and_what_is_right_has_none() {
        let advice = |change: &dyn Fn(&mut Framing)| {
            let mut framing = found();
            change(&mut framing);
            let look = said(&framing, (640, 480), false);
            assert_eq!(look.checks.len(), 5);
            assert!(look.checks.iter().all(|check| check.says.ends_with('.')) && look.advice.ends_with('.'), "{look:?}");
            assert_eq!(look.fit, look.checks.iter().all(|check| check.good == Some(true)), "{look:?}");
            look.advice
        };
        assert_eq!(advice(&|_| ()), "All is right. Hold still.");
        for (change, word) in [
            (
                &(|f: &mut Framing| {
                    f.chart = None;
                    f.readable = false;
                }) as &dyn Fn(&mut Framing),
                "Lay the chart flat",
            ),
            (
                &|f| {
                    f.chart = None;
                    f.readable = false;
                    f.too_dark = true;
                },
                "black",
            ),
            (
                &|f| {
                    f.readable = false;
                    f.why = Some("the chart's corners are turned".to_owned());
                },
                "turned",
            ),
            (&|f| f.covered = vec![0], "brown patch, first in the first row, does"),
            (&|f| f.covered = vec![0, 5], "do not look"),
            (&|f| f.too_small = true, "nearer"),
            (&|f| f.too_near = true, "Go back"),
            (&|f| f.light = Some([[0.0, 0.0], [500.0, 30.0]]), "window is behind"),
            (&|f| f.too_bright = vec![18], "white patch"),
            (&|f| f.too_bright = vec![18, 19], "are too bright"),
            (&|f| f.too_dark = true, "window"),
        ] {
            let says = advice(change);
            assert!(says.contains(word), "{word}: {says}");
        }
    }
}
