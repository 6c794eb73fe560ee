//! The consultation's pages: parts, drafts, consent, signature, letter and copy.

use super::asking::Asking;
use axum::body::Body;
use axum::http::{Method, StatusCode};
use desk::{ClientId, Place, Salon};
use salon::book::{Purpose, Signed};
use salon::client::ClientFile;
use serde_json::Value;

/// A consultation begun from the list of clients, and where it stands.
async fn begun(asking: &Asking) -> String {
    let answer = asking.send("/clients/consultation", &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    answer.header("location").strip_suffix("/before").unwrap().to_owned()
}

fn id_of(talk: &str) -> ClientId {
    talk.split('/').nth(2).unwrap().parse().unwrap()
}

async fn facts(asking: &Asking, talk: &str) -> ClientFile {
    asking.app().salon.heard(id_of(talk)).await.unwrap().file
}

/// What a page holds under a name.
fn value(page: &str, name: &str) -> String {
    let (_, rest) = page.split_once(&format!("name=\"{name}\" value=\"")).unwrap_or_else(|| panic!("no {name} in {page}"));
    rest.split('"').next().unwrap().to_owned()
}

/// Every question that a page asks, whole.
fn whole(page: &str, asked: &[&str], pairs: &[(&str, &str)], then: &str) -> Vec<(String, String)> {
    let mut all = vec![("was".to_owned(), value(page, "was")), ("then".to_owned(), then.to_owned())];
    all.extend(asked.iter().map(|name| ("asked".to_owned(), (*name).to_owned())));
    all.extend(pairs.iter().map(|(name, said)| ((*name).to_owned(), (*said).to_owned())));
    all.push(("all_here".to_owned(), "yes".to_owned()));
    all
}

async fn send(asking: &Asking, path: &str, pairs: &[(String, String)]) -> (u16, String, String) {
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|(name, said)| (name.as_str(), said.as_str())).collect();
    let answer = asking.send(path, &pairs).await;
    let to = answer.header("location").to_owned();
    let (status, text) = answer.told();
    (status, text, to)
}

const BEFORE: [&str; 3] = ["client.name", "client.age_years", "consultation.had_extensions"];
const LIFE: [&str; 6] = [
    "consultation.ties_up",
    "consultation.styles",
    "consultation.part",
    "consultation.sport_per_week",
    "consultation.swims",
    "consultation.hot_tools",
];

const HEALTH: [&str; 6] = [
    "consultation.reacted_before",
    "consultation.allergies",
    "consultation.scalp",
    "consultation.health",
    "consultation.postpartum_months",
    "consultation.patch_test",
];
const AGREEMENT: [&str; 3] = ["consultation.returns_weeks", "consultation.budget_minor", "consultation.consent"];

/// Saves a part as it is shown, with some answers.
async fn saved(asking: &Asking, path: &str, asked: &[&str], pairs: &[(&str, &str)], then: &str) -> (u16, String, String) {
    let (_, page) = asking.get(path).await;
    send(asking, path, &whole(&page, asked, pairs, then)).await
}

async fn agree(asking: &Asking, talk: &str) {
    assert_eq!(asking.post(&format!("{talk}/agree"), &[("answer", "yes")]).await.0, 303);
}

#[tokio::test]
async fn a_new_client_goes_from_part_to_part_and_only_what_applies_is_asked() {
    let asking = Asking::new().await;
    let talk = begun(&asking).await;
    let before = format!("{talk}/before");
    let (status, _, to) = saved(&asking, &before, &BEFORE, &[("client.name", "Noor Example"), ("client.age_years", "17")], "next").await;
    assert_eq!((status, to), (303, format!("{talk}/wish")));
    let who = facts(&asking, &talk).await.client.unwrap();
    assert_eq!((who.name.as_deref(), who.age_years), (Some("Noor Example"), Some(17.0)));
    let asks = |page: &str, name: &str| {
        let (_, rest) = page.split_once(&format!("data-question=\"{name}\"")).unwrap();
        !rest.split('>').next().unwrap().contains("hidden disabled")
    };
    let (_, page) = asking.get(&format!("{talk}/agreement")).await;
    assert!(asks(&page, "consultation.guardian_consent") && page.contains("asked because she is under age"));
    saved(&asking, &before, &BEFORE, &[("client.age_years", "18")], "back").await;
    let (_, page) = asking.get(&format!("{talk}/agreement")).await;
    assert!(!asks(&page, "consultation.guardian_consent"));
    // What follows from an answer is not passed over.
    let wish = format!("{talk}/wish");
    let asked = ["consultation.goal", "consultation.fullness"];
    let pairs = [("consultation.goal", "length"), ("consultation.fullness", "full")];
    let (status, _, to) = saved(&asking, &wish, &asked, &pairs, "next").await;
    assert_eq!((status, to.as_str()), (303, format!("{wish}?follows=yes").as_str()));
    let (_, page) = asking.get(&to).await;
    assert!(page.contains("One more question") && asks(&page, "consultation.wanted_length_mm"));
    // An answer to a question that was not on the page stands as it was.
    let (status, _, to) = saved(&asking, &wish, &["consultation.goal"], &[("consultation.goal", "length")], "life").await;
    assert_eq!((status, to), (303, format!("{talk}/life")));
    assert_eq!(facts(&asking, &talk).await.consultation.unwrap().fullness.as_deref(), Some("full"));
    let (_, _, to) = saved(&asking, &format!("{talk}/agreement"), &AGREEMENT, &[], "next").await;
    assert_eq!(to, format!("{talk}/outcome"));
    assert_eq!(asking.get(&talk).await.0, 303);
    assert_eq!(asking.get(&format!("{talk}/head")).await.0, 404);
}

#[tokio::test]
async fn what_is_typed_outlives_the_program_and_a_refusal() {
    let asking = Asking::new().await;
    let talk = begun(&asking).await;
    let life = format!("{talk}/life");
    let (status, told) = asking.post(&format!("{life}/draft"), &[("consultation.sport_per_week", "t"), ("all_here", "yes")]).await;
    let told: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(status, 200);
    assert!(told["says"].as_str().unwrap().starts_with("Draft kept ") && told["asked"].as_array().unwrap().len() == 6, "{told}");
    assert!(told["open"].as_array().unwrap().iter().any(|name| name == "consultation.swims"), "{told}");
    assert_eq!(facts(&asking, &talk).await.consultation, None, "a draft is no fact");
    // Half a form keeps nothing.
    assert_eq!(asking.post(&format!("{life}/draft"), &[("consultation.sport_per_week", "")]).await.0, 422);
    // Opened anew, it is there.
    let (_, place) = tempfile_of(&asking).await;
    let again = Asking::over(Salon::open(&Place::Folder(place.path().to_owned()), None).await.unwrap().salon, place);
    let (_, page) = again.get(&life).await;
    assert_eq!(value(&page, "consultation.sport_per_week"), "t");
    assert!(page.contains("Draft kept"));
    let (_, page) = again.get(&format!("{talk}/outcome")).await;
    assert!(page.contains("Typed and not saved yet"));
    // Refused beside its field, it is a draft still; mended, it is a fact and no draft.
    let (status, page, _) =
        saved(&again, &life, &LIFE, &[("consultation.sport_per_week", "two"), ("consultation.swims", "true")], "next").await;
    assert_eq!(status, 422);
    assert!(page.contains("“two” is not a number") && page.contains("name=\"consultation.sport_per_week\" value=\"two\""));
    assert_eq!(value(&again.get(&life).await.1, "consultation.sport_per_week"), "two");
    let (status, ..) = saved(&again, &life, &LIFE, &[("consultation.sport_per_week", "2"), ("consultation.swims", "true")], "next").await;
    assert_eq!(status, 303);
    assert_eq!(facts(&again, &talk).await.consultation.unwrap().sport_per_week, Some(2.0));
    assert!(!again.get(&format!("{talk}/outcome")).await.1.contains("not saved yet"));
}

/// The salon closed, and its folder for another to open.
async fn tempfile_of(asking: &Asking) -> (Salon, tempfile::TempDir) {
    let copy = tempfile::tempdir().unwrap();
    asking.app().salon.close().await;
    let walk = |from: &std::path::Path| std::fs::read_dir(from).unwrap().flatten().collect::<Vec<_>>();
    for entry in walk(asking.folder()) {
        if entry.path().is_file() {
            std::fs::copy(entry.path(), copy.path().join(entry.file_name())).unwrap();
        }
    }
    let own = tempfile::tempdir().unwrap();
    (Salon::begin(&Place::Folder(own.path().to_owned()), None).await.unwrap().salon, copy)
}

#[tokio::test]
async fn two_tablets_see_each_other_on_one_part_and_do_not_disturb_on_two() {
    let asking = Asking::new().await;
    let talk = begun(&asking).await;
    let (life, before) = (format!("{talk}/life"), format!("{talk}/before"));
    let (_, page) = asking.get(&life).await;
    assert_eq!(saved(&asking, &before, &BEFORE, &[("client.name", "Ada Example")], "next").await.0, 303);
    let mine = whole(&page, &LIFE, &[("consultation.swims", "true")], "next");
    assert_eq!(send(&asking, &life, &mine).await.0, 303, "another part was saved meanwhile");
    assert_eq!(send(&asking, &life, &mine).await.0, 303, "the same, sent twice");
    let theirs = whole(&page, &LIFE, &[("consultation.swims", "false")], "next");
    let (status, text, _) = send(&asking, &life, &theirs).await;
    assert_eq!(status, 409);
    assert!(text.contains("Changed on another tablet") && text.contains("Swims: Theirs: "), "{text}");
    let said = |file: ClientFile| file.consultation.unwrap().swims;
    assert_eq!(said(facts(&asking, &talk).await), Some(true), "nothing was replaced unseen");
    // Sent again as it is shown now, it replaces theirs.
    let again = whole(&text, &LIFE, &[("consultation.swims", "false")], "next");
    assert_eq!(send(&asking, &life, &again).await.0, 303);
    assert_eq!(said(facts(&asking, &talk).await), Some(false));
}

#[tokio::test]
async fn health_is_neither_asked_nor_kept_before_she_agrees_and_goes_when_she_does_not() {
    let asking = Asking::new().await;
    let talk = begun(&asking).await;
    let (health, draft) = (format!("{talk}/health"), format!("{talk}/health/draft"));
    let scalp = [("consultation.scalp", "sore"), ("asked", "consultation.scalp"), ("all_here", "yes")];
    let (_, page) = asking.get(&health).await;
    assert!(!page.contains("name=\"consultation.scalp\"") && page.contains("Ask her first") && page.contains("health-1"));
    assert_eq!(asking.post(&draft, &scalp).await.0, 422);
    assert_eq!(asking.post(&health, &scalp).await.0, 422);
    assert_eq!(asking.app().salon.book_of(id_of(&talk)).await.unwrap().health, None);
    assert_eq!(asking.post(&format!("{talk}/agree"), &[]).await.0, 422);
    agree(&asking, &talk).await;
    let given = asking.app().salon.book_of(id_of(&talk)).await.unwrap().consents[&Purpose::Health].clone();
    assert!(given.wording == "health-1" && given.minute.is_some());
    assert_eq!(asking.post(&draft, &scalp).await.0, 200);
    let (_, page) = asking.get(&health).await;
    assert!(page.contains("value=\"sore\" checked"), "the draft is shown");
    let (status, _, to) = saved(&asking, &health, &HEALTH, &[("consultation.scalp", "sore")], "next").await;
    assert_eq!((status, to), (303, format!("{talk}/agreement")));
    assert!(asking.get(&format!("{talk}/outcome")).await.1.contains("A letter to take along"));
    assert_eq!(asking.post(&format!("{talk}/agree"), &[("answer", "no")]).await.0, 422, "not without a tick");
    assert_eq!(asking.post(&format!("{talk}/agree"), &[("answer", "no"), ("sure", "yes")]).await.0, 303);
    let book = asking.app().salon.book_of(id_of(&talk)).await.unwrap();
    assert!(book.health.is_none() && !book.consents.contains_key(&Purpose::Health));
    assert!(!asking.get(&format!("{talk}/outcome")).await.1.contains("sore"));
}

#[tokio::test]
async fn she_signs_on_the_pad_or_by_name_and_finds_it_on_her_copy() {
    let asking = Asking::new().await;
    let talk = begun(&asking).await;
    let path = format!("{talk}/agreement");
    let asked = ["consultation.returns_weeks", "consultation.consent"];
    let sign = |pairs: &'static [(&'static str, &'static str)]| saved(&asking, &path, &asked, pairs, "sign");
    let weeks = ("consultation.returns_weeks", "7");
    for (pairs, says) in [
        (&[("consultation.returns_weeks", "7")][..], "There is no signature yet"),
        (&[("signature.name", "Ada <Example>")], "Tick that her typed name stands"),
        (&[("signature.drawn", "{\"strokes\":[[[1,1]]]}")], "there is no signature yet"),
        (&[("signature.drawn", "{")], "did not come whole"),
        (&[("consultation.consent", "false"), ("signature.drawn", "{\"strokes\":[[[1,1],[2,2]]]}")], "does not agree"),
        (&[("signature.drawn", "{\"strokes\":[[[1,1],[2000,2]]]}")], "no signature as the pad draws one"),
    ] {
        let (status, text, _) = sign(pairs).await;
        assert_eq!(status, 422, "{pairs:?}");
        assert!(text.to_lowercase().contains(&says.to_lowercase()), "{pairs:?}: {text}");
        let typed = pairs.iter().find(|(name, _)| name.starts_with("signature.")).map_or("", |(_, said)| said);
        let shown = typed.replace('"', "&#34;").replace('<', "&#60;").replace('>', "&#62;");
        assert!(text.contains(&format!("value=\"{shown}\"")), "{typed} is lost: {text}");
    }
    let consents = || async { asking.app().salon.book_of(id_of(&talk)).await.unwrap().consents };
    assert!(!consents().await.contains_key(&Purpose::Work));
    let (status, _, to) = saved(&asking, &path, &asked, &[weeks, ("signature.drawn", "{\"strokes\":[[[1,1],[900,300]]]}")], "sign").await;
    assert_eq!((status, to), (303, format!("{path}#signed")));
    let given = consents().await[&Purpose::Work].clone();
    assert!(matches!(given.signed, Some(Signed::Drawn(_))) && given.wording == "work-1" && given.minute.is_some());
    let said = facts(&asking, &talk).await.consultation.unwrap();
    assert_eq!((said.consent, said.returns_weeks), (Some(true), Some(7.0)));
    let (_, page) = asking.get(&path).await;
    assert!(page.contains("Signed on the screen on ") && !page.contains("data-pad"));
    for (method, at) in [(Method::GET, "copy"), (Method::POST, "letter")] {
        let answer = asking.ask(method, &format!("{talk}/{at}"), "application/x-www-form-urlencoded", Body::empty()).await;
        let expected = if at == "copy" { StatusCode::OK } else { StatusCode::NOT_FOUND };
        assert_eq!(answer.status, expected, "{at}: nothing refers");
        assert!(at == "letter" || answer.bytes.starts_with(b"%PDF"));
    }
    // A no takes it back, and the name typed does as well.
    assert_eq!(saved(&asking, &path, &asked, &[weeks, ("consultation.consent", "false")], "agreement").await.0, 303);
    assert!(!consents().await.contains_key(&Purpose::Work));
    let by_name = [weeks, ("consultation.consent", "true"), ("signature.name", "Ada Example"), ("signature.stands", "yes")];
    assert_eq!(saved(&asking, &path, &asked, &by_name, "sign").await.0, 303);
    assert_eq!(consents().await[&Purpose::Work].signed, Some(Signed::Typed("Ada Example".into())));
}
