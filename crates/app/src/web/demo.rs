//! The invented salon: filled from the case book, gone when the program ends.

use crate::error::Failure;
use crate::logbook::Logbook;
use crate::settings;
use crate::web::plan::making;
use crate::web::{AppState, failure, run};
use craft::matching::Ring;
use desk::{ClientId, DeskFault, House, Place, Purpose, Salon};
use rust_embed::RustEmbed;
use salon::client::{ClientFile, PiecesSection};
use salon::stock::Order;
use std::net::SocketAddr;
use std::time::Duration;
use tokio::net::TcpListener;

#[derive(RustEmbed)]
#[folder = "../../casebook/"]
#[include = "ring.json"]
#[include = "stock.json"]
#[include = "*/client.toml"]
#[include = "*/ends.jpg"]
#[include = "*/ends.json"]
struct CaseBook;

/// The longest that one plan of the invented clients is waited for.
const LONGEST_PLAN: Duration = Duration::from_secs(120);

/// Serves an invented salon until the program is asked to stop; its folder is
/// removed then.
///
/// *Meaning*: when `listen` is taken, any free port is used. `ready` is told
/// the address.
///
/// *Errors*: no temporary folder, or no port at all.
pub async fn demo(listen: SocketAddr, ready: impl FnOnce(&str)) -> Result<(), Failure> {
    settings::check_listen(listen)?;
    crate::web::check_assets()?;
    let folder = tempfile::Builder::new()
        .prefix("strandwright-demo-")
        .tempdir()
        .map_err(|error| Failure::cannot(format!("no temporary folder can be made ({error}): check the space left")))?;
    let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.map_err(failure)?.salon;
    Logbook::on_terminal().keep();
    let clients = fill(&salon).await?;
    let listener = match TcpListener::bind(listen).await {
        Ok(listener) => listener,
        Err(_) => crate::web::listen(SocketAddr::new(listen.ip(), 0)).await?,
    };
    let outcome = run(listener, salon, ready, |app| plan_all(app, clients)).await;
    folder.close().map_err(|error| Failure::cannot(format!("the invented salon's folder cannot be removed ({error})")))?;
    outcome
}

pub(super) async fn fill(salon: &Salon) -> Result<Vec<ClientId>, Failure> {
    let ring: Ring = carried("ring.json", |text| serde_json::from_str(text).map_err(|error| error.to_string()))?;
    let stock: Order = carried("stock.json", |text| serde_json::from_str(text).map_err(|error| error.to_string()))?;
    let mut names: Vec<String> = CaseBook::iter().filter(|name| name.ends_with("client.toml")).map(Into::into).collect();
    names.sort();
    let mut house = House { name: "Salon Seven Rows (invented)".to_owned(), ..House::default() };
    let mut clients = Vec::new();
    for name in names {
        let mut file: ClientFile = carried(&name, |text| toml::from_str(text).map_err(|error| error.to_string()))?;
        // Ring and stock are the salon's own here, not files beside hers.
        if let Some(PiecesSection { ring, stock, .. }) = file.pieces.as_mut() {
            (*ring, *stock) = (None, None);
        }
        if house.prices == Default::default() {
            house.prices = file.prices.clone().unwrap_or_default();
            house.pieces = file.pieces.clone().unwrap_or_default();
        }
        let label = file.client.as_ref().and_then(|section| section.name.clone()).unwrap_or_default();
        let agrees = vec![(Purpose::Health, desk::HEALTH_WORDING.to_owned())];
        let client = salon.add_client(&label, &file, agrees).await.map_err(failure)?;
        let story = name.trim_end_matches("client.toml");
        if let Some(photo) = CaseBook::get(&format!("{story}ends.jpg")) {
            let marks = carried(&format!("{story}ends.json"), |text| serde_json::from_str(text).map_err(|error| error.to_string()))?;
            let kept = crate::web::colour::marks::keep_reading(salon, client, photo.data.into_owned(), marks).await;
            kept.map_err(|why| Failure::cannot(format!("the case book's {story}ends.jpg: {why}")))?;
        }
        clients.push(client);
    }
    let kept: Result<(), DeskFault> = async {
        salon.keep_house(0, &house).await?;
        salon.keep_ring(0, &ring).await?;
        salon.keep_stock(0, &stock).await?;
        Ok(())
    }
    .await;
    kept.map_err(failure)?;
    Ok(clients)
}

fn carried<T>(name: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<T, Failure> {
    let file = CaseBook::get(name).ok_or_else(|| Failure::cannot(format!("the case book carries no {name}: build the program again")))?;
    read(&String::from_utf8_lossy(&file.data)).map_err(|error| Failure::cannot(format!("the case book's {name}: {error}")))
}

/// Makes every invented client's plan, one after the other.
async fn plan_all(app: AppState, clients: Vec<ClientId>) {
    for client in clients {
        if let Ok(mut job) = making::start(&app, client).await {
            job.wait(LONGEST_PLAN).await;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn one_of_the_invented_clients_has_a_colour_read_from_a_photo() {
        let place = tempfile::tempdir().unwrap();
        let salon = Salon::begin(&Place::Folder(place.path().to_owned()), None).await.unwrap().salon;
        let mut readings = 0;
        for client in fill(&salon).await.unwrap() {
            readings += salon.readings_of(client).await.unwrap().len();
        }
        assert_eq!(readings, 1);
    }

    #[tokio::test]
    async fn the_invented_salon_is_filled_from_the_case_book() {
        let place = tempfile::tempdir().unwrap();
        let salon = Salon::begin(&Place::Folder(place.path().to_owned()), None).await.unwrap().salon;
        let clients = fill(&salon).await.unwrap();
        assert!(clients.len() >= 6);
        assert!(!salon.ring().await.unwrap().value.shades.is_empty());
        assert!(salon.stock().await.unwrap().value.is_some());
        let house = salon.house().await.unwrap().value;
        assert!(house.currency().is_some());
        for client in clients {
            let file: ClientFile = serde_json::from_str(&salon.client(client).await.unwrap().facts).unwrap();
            house.complete(&file).check().unwrap();
        }
    }
}
