//! Records of the earlier kind become a book, and nothing of them is lost.

use desk::{Place, Salon};
use salon::client::ClientFile;
use std::path::Path;

/// A salon made by the program before records were events: one client with two
/// versions of her facts, a photo, a reading, a plan that went in, ring and shelf.
const EARLIER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/earlier-salon");
/// Her file as that program wrote it, with the house's pieces and prices.
const FILE: &str = include_str!("data/earlier-client.toml");

fn copied(to: &Path) {
    for name in ["salon.db", "salon.key"] {
        std::fs::copy(Path::new(EARLIER).join(name), to.join(name)).unwrap();
    }
}

async fn opened(folder: &Path) -> Salon {
    Salon::open(&Place::Folder(folder.to_owned()), None).await.unwrap().salon
}

#[tokio::test]
async fn an_earlier_salon_opens_and_nothing_of_it_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    copied(folder.path());
    let place = Place::Folder(folder.path().to_owned());
    let opened_now = Salon::open(&place, None).await.unwrap();
    assert!(opened_now.code.is_some(), "a book has a recovery code, and it is told once");
    let aside = opened_now.set_aside.unwrap();
    assert_eq!(std::fs::read(aside.join("salon.db")).unwrap(), std::fs::read(Path::new(EARLIER).join("salon.db")).unwrap());
    let salon = opened_now.salon;
    all_is_there(&salon).await;
    salon.close().await;
    // And again, as a book.
    let again = Salon::open(&place, None).await.unwrap();
    assert!(again.code.is_none() && again.set_aside.is_none());
    all_is_there(&again.salon).await;
}

async fn all_is_there(salon: &Salon) {
    let house = salon.house().await.unwrap().value;
    assert_eq!(house.name, "Chair of Ash Lane");
    assert!(salon.ring().await.unwrap().value.shades.len() > 10);
    assert!(!salon.stock().await.unwrap().value.unwrap().on_hand.is_empty());
    let (clients, count) = salon.clients("ada", 10).await.unwrap();
    assert_eq!((clients.len(), count), (1, 1));
    let client = salon.client(clients[0].id).await.unwrap();
    let file: ClientFile = serde_json::from_str(&client.facts).unwrap();
    let was: ClientFile = toml::from_str(FILE).unwrap();
    let (now, was) = (house.complete(&file), was);
    assert_eq!(
        (now.client.clone().unwrap().name, &now.hair, &now.head, &now.colour),
        (was.client.clone().unwrap().name, &was.hair, &was.head, &was.colour)
    );
    assert_eq!((&now.pieces, &now.prices), (&was.pieces, &was.prices));
    let (now, was) = (now.consultation.unwrap(), was.consultation.unwrap());
    assert_eq!((now.allergies, now.scalp, now.health, now.reacted_before), (was.allergies, was.scalp, was.health, was.reacted_before));
    // What ages has aged since the day it was said.
    assert!(now.bleached_days_ago >= was.bleached_days_ago && was.bleached_days_ago == Some(40.0));
    let readings = salon.readings_of(client.id).await.unwrap();
    assert_eq!(readings.len(), 1);
    let photo = salon.photo(readings[0].photo.unwrap()).await.unwrap();
    assert!(salon.picture(photo.id).await.unwrap().starts_with(&[0xff, 0xd8]), "the picture is a JPEG");
    let plans = salon.plans_of(client.id).await.unwrap();
    assert_eq!((plans.len(), plans[0].placed_on.as_deref()), (1, Some("2026-11-20")));
    let (plan, kept) = salon.plan(plans[0].id).await.unwrap();
    assert!(!kept.plan.sites.is_empty() && plan.scalp.is_some() && kept.read.is_some() && kept.ring.is_some());
}

#[tokio::test]
async fn an_attempt_that_was_cut_short_is_made_again() {
    let folder = tempfile::tempdir().unwrap();
    copied(folder.path());
    std::fs::create_dir(folder.path().join("becoming")).unwrap();
    std::fs::write(folder.path().join("becoming/book.db"), b"half").unwrap();
    all_is_there(&opened(folder.path()).await).await;
}

#[tokio::test]
async fn a_passphrase_for_a_salon_without_one_is_refused_and_nothing_changes() {
    let folder = tempfile::tempdir().unwrap();
    copied(folder.path());
    let phrase = desk::Passphrase::new("four words and more".to_owned()).unwrap();
    let fault = Salon::open(&Place::Folder(folder.path().to_owned()), Some(&phrase)).await.unwrap_err();
    assert!(fault.to_string().contains("no passphrase"), "{fault}");
    assert!(folder.path().join("salon.db").exists() && !folder.path().join("book.key").exists());
}
