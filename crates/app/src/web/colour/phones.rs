//! The phones that photos were taken with: the charts each has read, as evidence, and the
//! ring as it read it, to match readings against readings.

use super::kept::note;
use super::of_a_photo;
use crate::web::AppState;
use crate::web::client::form::Typed;
use crate::web::frame::house::Versioned;
use crate::web::frame::page::Trouble;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use craft::matching::{PhoneFit, ReadShade, Ring};
use desk::{ChartSeen, DeskFault, Phone, Phones, PhotoFacts, PhotoNote, ReadRing, ReadingId, Salon};
use measure::text::fixed;
use uuid::Uuid;

/// The most charts of one phone that are kept, and rings. The oldest go.
const MOST_CHARTS: usize = 200;
const MOST_RINGS: usize = 20;

/// How often a change is tried again that another tablet was quicker with.
const TRIES: usize = 4;

/// What each phone has read.
pub async fn phones(salon: &Salon) -> Result<Versioned<Phones>, DeskFault> {
    salon.phones().await
}

/// Changes it, again where another tablet was quicker.
pub async fn change(salon: &Salon, by: impl Fn(&mut Phones)) -> Result<(), DeskFault> {
    let mut left = TRIES;
    loop {
        let mut kept = phones(salon).await?;
        let before = kept.value.clone();
        by(&mut kept.value);
        if kept.value == before {
            return Ok(());
        }
        left -= 1;
        match salon.keep_phones(kept.version, &kept.value).await {
            Err(DeskFault::Changed { .. }) if left > 0 => {}
            done => return done.map(|_| ()),
        }
    }
}

/// Notes what the chart of a photo was off by, where its phone is known.
pub async fn note_chart(salon: &Salon, photo: &PhotoNote, facts: &PhotoFacts, off_de00: f64) -> Result<(), DeskFault> {
    if !off_de00.is_finite() {
        return Ok(());
    }
    let id = photo.id.to_string();
    change(salon, |phones| {
        let known = phones.of_photo(facts).map(|phone| phone.name.clone());
        let Some(name) = known.or_else(|| facts.camera.clone()) else { return };
        phones.forget(&id);
        let phone = phones.named(&name, &Uuid::now_v7().to_string());
        if phone.camera.is_none() {
            phone.camera.clone_from(&facts.camera);
        }
        phone.charts.push(ChartSeen { photo: id.clone(), kept_ms: photo.kept_ms, off_de00: (off_de00 * 100.0).round() / 100.0 });
        phone.charts.sort_by_key(|chart| chart.kept_ms);
        let over = phone.charts.len().saturating_sub(MOST_CHARTS);
        phone.charts.drain(..over);
    })
    .await
}

/// Lets a reading that takes the place of others be matched as they were.
pub async fn carry(salon: &Salon, before: &[String], now: &str) -> Result<(), DeskFault> {
    change(salon, |phones| phones.carry(before, now)).await
}

/// The ring that a plan made with a reading takes its shades from: as that reading is matched.
pub async fn ring_of(salon: &Salon, reading: Option<&str>, ring: Ring) -> Result<Ring, DeskFault> {
    let Some(reading) = reading else { return Ok(ring) };
    let kept = phones(salon).await?.value;
    let Some((phone, read)) = kept.against(reading) else { return Ok(ring) };
    let found = ring.as_read(&read.shades, &read.name(phone)).ring;
    // With no shade that was read a plan could choose no hair at all.
    Ok(if found.shades.is_empty() { ring } else { found })
}

/// Forgets the chart of a photo that is thrown away.
pub async fn forget_photo(salon: &Salon, photo: &str) -> Result<(), DeskFault> {
    change(salon, |phones| phones.forget(photo)).await
}

/// What a page of a photo says of its phone.
#[derive(Clone)]
pub struct PhoneView {
    /// The photo.
    pub photo: String,
    /// What the phone is called; empty while it is not known.
    pub name: String,
    /// What it has read so far, in words.
    pub says: String,
    /// Whether today's chart no longer fits.
    pub strays: bool,
    /// The names of all phones, to choose from.
    pub known: Vec<String>,
}

impl PhoneView {
    /// Of a photo.
    pub fn of(phones: &Phones, photo: &str, facts: &PhotoFacts) -> Self {
        let found = phones.of_photo(facts);
        let (says, strays) = found.map_or_else(Default::default, |phone| fit_says(phone, photo));
        Self {
            photo: photo.to_owned(),
            name: found.map(|phone| phone.name.clone()).unwrap_or_default(),
            says,
            strays,
            known: phones.phones.iter().map(|phone| phone.name.clone()).collect(),
        }
    }
}

fn charts(count: usize) -> String {
    if count == 1 { "one chart".to_owned() } else { format!("{count} charts") }
}

/// What the charts of a phone say of a photo's, and whether it no longer fits.
pub fn fit_says(phone: &Phone, photo: &str) -> (String, bool) {
    let read = format!("This phone has read {}", charts(phone.charts.len()));
    match phone.fit(photo) {
        None if phone.charts.is_empty() => (String::new(), false),
        None => (format!("{read}."), false),
        Some((today, PhoneFit::TooFew)) => {
            (format!("{read}; today’s is off by {}. A few more, and it can be said what is usual.", fixed(today, 1)), false)
        }
        Some((today, PhoneFit::Fits(usual))) => {
            (format!("{read}, usually off by about {}; today’s, off by {}, is as usual.", fixed(usual, 1), fixed(today, 1)), false)
        }
        Some((today, PhoneFit::Strays(usual))) => (
            format!(
                "{read}, usually off by about {}. Today’s is off by {} and no longer fits: look at the light, wipe lens and chart, and see whether the camera uses another mode or filter.",
                fixed(usual, 1),
                fixed(today, 1)
            ),
            true,
        ),
    }
}

/// A name as it may be kept.
pub fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(60).collect::<String>().trim().to_owned()
}

/// Says with which phone a photo was taken.
pub async fn say_phone(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let typed = Typed::posted(pairs);
    let photo = app.salon.photo(id.parse()?).await?;
    let mut facts = photo.facts.clone();
    let name = plain(typed.one("phone"));
    let back = match typed.one("reading").parse::<ReadingId>() {
        Ok(reading) => format!("/readings/{reading}#read"),
        Err(_) => format!("/photos/{}/measured", photo.id),
    };
    if !name.is_empty() {
        let id = photo.id.to_string();
        change(&app.salon, |phones| {
            let seen = phones.phones.iter().flat_map(|phone| &phone.charts).find(|chart| chart.photo == id).cloned();
            phones.forget(&id);
            let phone = phones.named(&name, &Uuid::now_v7().to_string());
            phone.charts.extend(seen);
            phone.charts.sort_by_key(|chart| chart.kept_ms);
        })
        .await?;
        facts.phone = phones(&app.salon)
            .await?
            .value
            .phones
            .iter()
            .find(|phone| phone.name.to_lowercase() == name.to_lowercase())
            .map(|phone| phone.id.clone());
        note(&app.salon, &photo, &facts).await?;
        if let Some(off) = off_of(&app, &photo, &facts).await? {
            note_chart(&app.salon, &photo, &facts, off).await?;
        }
    }
    Ok(Redirect::to(&back).into_response())
}

/// What the chart of a photo was off by when it was last read.
async fn off_of(app: &AppState, photo: &PhotoNote, facts: &PhotoFacts) -> Result<Option<f64>, Trouble> {
    let Some(client) = photo.client else { return Ok(of_a_photo::chart_off(facts)) };
    let all = super::start::readings(&app.salon, client).await?;
    Ok(all.iter().rev().find(|reading| reading.line.photo == Some(photo.id)).and_then(|reading| reading.kept.chart_off()))
}

/// Keeps measured swatches as what one phone made of them in one light, beside the ring.
///
/// *Errors*: no phone or no light, as a sentence.
pub async fn keep_beside(app: &AppState, photo: &PhotoNote, typed: &Typed) -> Result<Result<(), String>, Trouble> {
    let (name, light) = (plain(typed.one("phone")), plain(typed.one("light")));
    if name.is_empty() || light.is_empty() {
        return Ok(Err("Say which phone it was and in which light, as “my phone” and “by the window”: a reading is matched only against readings of the same phone in the same light.".to_owned()));
    }
    let mut facts = photo.facts.clone();
    let read: Vec<ReadShade> = facts
        .measured
        .iter()
        .filter_map(|measured| {
            let (lab_d65, sure) = measured.colour?;
            Some(ReadShade { code: measured.code.clone(), lab_d65, uncertainty_de00: (sure * 100.0).round() / 100.0 })
        })
        .collect();
    change(&app.salon, |phones| {
        let phone = phones.named(&name, &Uuid::now_v7().to_string());
        let at = phone.rings.iter().position(|ring| ring.light.to_lowercase() == light.to_lowercase()).unwrap_or_else(|| {
            if phone.rings.len() >= MOST_RINGS {
                phone.rings.remove(0);
            }
            phone.rings.push(ReadRing { id: Uuid::now_v7().to_string(), light: light.clone(), shades: Vec::new() });
            phone.rings.len() - 1
        });
        let shades = &mut phone.rings[at].shades;
        for shade in &read {
            shades.retain(|known| known.code != shade.code);
            shades.push(shade.clone());
        }
        shades.sort_by(|p, q| p.code.cmp(&q.code));
    })
    .await?;
    let kept = phones(&app.salon).await?.value;
    facts.phone = kept.phones.iter().find(|phone| phone.name.to_lowercase() == name.to_lowercase()).map(|phone| phone.id.clone());
    note(&app.salon, photo, &facts).await?;
    if let Some(off) = of_a_photo::chart_off(&facts) {
        note_chart(&app.salon, photo, &facts, off).await?;
    }
    Ok(Ok(()))
}

/// Says what a reading is matched against.
pub async fn match_against(
    State(app): State<AppState>,
    Path(id): Path<String>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Trouble> {
    let reading = app.salon.reading(id.parse::<ReadingId>()?).await?;
    let typed = Typed::posted(pairs);
    let (id, ring) = (reading.id.to_string(), typed.one("ring").to_owned());
    change(&app.salon, |phones| {
        if phones.ring(&ring).is_some() {
            phones.against.insert(id.clone(), ring.clone());
        } else {
            phones.against.remove(&id);
        }
    })
    .await?;
    Ok(Redirect::to(&format!("/readings/{id}#take")).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phone(name: &str, camera: Option<&str>, offs: &[f64]) -> Phone {
        let charts =
            offs.iter().enumerate().map(|(at, off)| ChartSeen { photo: format!("p{at}"), kept_ms: at as i64, off_de00: *off }).collect();
        Phone { id: name.to_owned(), name: name.to_owned(), camera: camera.map(str::to_owned), charts, rings: Vec::new() }
    }

    #[test]
    fn a_photo_belongs_to_the_phone_that_was_said_before_the_one_its_file_names() {
        let phones = Phones { phones: vec![phone("one", Some("Heron H7"), &[]), phone("two", None, &[])], ..Phones::default() };
        let facts = |camera: Option<&str>, said: Option<&str>| PhotoFacts {
            camera: camera.map(str::to_owned),
            phone: said.map(str::to_owned),
            ..PhotoFacts::default()
        };
        let of = |facts: &PhotoFacts| phones.of_photo(facts).map(|phone| phone.name.clone());
        assert_eq!(of(&facts(Some("Heron H7"), None)).as_deref(), Some("one"));
        assert_eq!(of(&facts(Some("Heron H7"), Some("two"))).as_deref(), Some("two"));
        assert_eq!(of(&facts(None, None)), None, "of two files without a name nothing is known");
    }

    #[test]
    fn a_phone_says_what_is_usual_once_it_knows_and_when_a_chart_no_longer_fits() {
        let says = |offs: &[f64]| fit_says(&phone("one", None, offs), &format!("p{}", offs.len() - 1));
        assert!(says(&[2.0, 2.2]).0.contains("A few more"));
        let (usual, strays) = says(&[2.0, 2.2, 2.1, 2.3]);
        assert!(usual.contains("4 charts, usually off by about 2.1") && usual.contains("as usual") && !strays, "{usual}");
        let (odd, strays) = says(&[2.0, 2.2, 2.1, 4.9]);
        assert!(odd.contains("no longer fits") && odd.contains("4.9") && strays, "{odd}");
        // What came later says nothing of a chart before it.
        assert!(fit_says(&phone("one", None, &[2.0, 9.0, 9.0, 9.0]), "p0").0.contains("A few more"));
    }
}
