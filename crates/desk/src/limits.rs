//! The most of anything that is taken in, so that nothing typed or sent can keep
//! the program busy for long or run a sum over. None of these is a number of the
//! trade: each lies far beyond what anybody writes.

use crate::words;
use salon::Fault;
use salon::client::ClientFile;
use salon::stock::Order;
use salon::words::Message;
use serde_json::Value;

/// The most entries of a list of facts.
const MOST_ENTRIES: usize = 60;
/// Slices of a whole set at the last visit.
const MOST_LAST_SITES: usize = 400;
/// The most letters of one answer.
const MOST_LETTERS: usize = 300;
/// The largest amount of money, in minor units; as for an order.
const MOST_MINOR: i64 = 1_000_000_000;
/// The most lines of a stock's list.
const MOST_LINES: usize = 5_000;
/// The most pieces of a line; as for an order.
const MOST_PIECES: u32 = 10_000;

/// What is beyond all measure in a client's facts.
#[must_use]
pub fn facts(file: &ClientFile) -> Vec<Fault> {
    let mut faults = Vec::new();
    let Ok(Value::Object(sections)) = serde_json::to_value(file) else { return faults };
    for (section, keys) in &sections {
        for (key, value) in keys.as_object().into_iter().flatten() {
            let place = format!("{section}.{key}");
            if let Value::Array(entries) = value {
                let most = if place == "last_visit.sites" { MOST_LAST_SITES } else { MOST_ENTRIES };
                if entries.len() > most {
                    let message = Message::ListTooLong { entries: entries.len().to_string(), most: most.to_string() };
                    faults.push(Fault::of(&message, place.clone(), "list-most"));
                }
            }
            if longest(value) > MOST_LETTERS {
                let message = Message::TextTooLong { letters: longest(value).to_string(), most: MOST_LETTERS.to_string() };
                faults.push(Fault::of(&message, place.clone(), "text-most"));
            }
            if key.ends_with("_minor") && value.as_i64().is_some_and(|minor| !(-MOST_MINOR..=MOST_MINOR).contains(&minor)) {
                let message = Message::PriceTooHigh { minor: value.to_string(), most: MOST_MINOR.to_string() };
                faults.push(Fault::of(&message, place, "money-most"));
            }
        }
    }
    faults
}

/// The letters of the longest text in a value.
fn longest(value: &Value) -> usize {
    match value {
        Value::String(text) => text.chars().count(),
        Value::Array(entries) => entries.iter().take(MOST_LAST_SITES).map(longest).max().unwrap_or(0),
        Value::Object(cells) => cells.values().map(longest).max().unwrap_or(0),
        _ => 0,
    }
}

/// Whether a stock can be taken in.
///
/// *Errors*: what is beyond all measure, where, and the cure, in one sentence.
pub fn stock(order: &Order) -> Result<(), String> {
    for (name, length) in
        [("need", order.need.len()), ("on_hand", order.on_hand.len()), ("packs", order.packs.len()), ("suppliers", order.suppliers.len())]
    {
        if length > MOST_LINES {
            return Err(
                words::Message::ListBeyond { name: name.to_owned(), lines: length.to_string(), most: MOST_LINES.to_string() }.into()
            );
        }
    }
    let is_price = |minor: i64| (0..=MOST_MINOR).contains(&minor);
    if let Some(pack) = order.packs.iter().find(|pack| !is_price(pack.price_minor)) {
        return Err(words::Message::PackPriceBeyond {
            pack: pack.id.to_string(),
            minor: pack.price_minor.to_string(),
            most: MOST_MINOR.to_string(),
        }
        .into());
    }
    let shipping = order
        .suppliers
        .iter()
        .find(|supplier| !is_price(supplier.shipping_minor) || supplier.free_over_minor.is_some_and(|minor| !is_price(minor)));
    if let Some(supplier) = shipping {
        return Err(words::Message::ShippingBeyond { supplier: supplier.id.to_string(), most: MOST_MINOR.to_string() }.into());
    }
    if let Some(held) = order.on_hand.iter().find(|held| held.pieces > MOST_PIECES) {
        return Err(words::Message::LotBeyond {
            lot: held.lot.to_string(),
            pieces: held.pieces.to_string(),
            most: MOST_PIECES.to_string(),
        }
        .into());
    }
    if let Some(pack) = order.packs.iter().find(|pack| pack.pieces > MOST_PIECES) {
        return Err(words::Message::PackBeyond {
            pack: pack.id.to_string(),
            pieces: pack.pieces.to_string(),
            most: MOST_PIECES.to_string(),
        }
        .into());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str) -> ClientFile {
        toml::from_str(text).unwrap()
    }

    #[test]
    fn a_list_beyond_all_measure_is_told_where_and_how_to_mend_it() {
        let many = |entry: &str, count: usize| vec![entry; count].join(", ");
        let avoid = |count| format!("[head]\navoid = [{}]", many("{ side = \"left\", zone = \"nape\", reason = \"scar\" }", count));
        for (text, place) in [
            (format!("[consultation]\nstyles = [{}]", many("\"down\"", 61)), "consultation.styles"),
            (format!("[consultation]\nallergies = [{}]", many("\"nuts\"", 61)), "consultation.allergies"),
            (avoid(61), "head.avoid"),
            (format!("[pieces]\nlengths_mm = [{}]", many("500", 61)), "pieces.lengths_mm"),
            (format!("[last_visit]\nsites = [{}]", many("{ above_nape_mm = 40, along_mm = 0, width_mm = 40 }", 401)), "last_visit.sites"),
            (format!("[client]\nname = \"{}\"", "x".repeat(301)), "client.name"),
            ("[prices]\nhour_minor = 9223372036854775807".to_owned(), "prices.hour_minor"),
            ("[consultation]\nbudget_minor = 1000000001".to_owned(), "consultation.budget_minor"),
        ] {
            let found = facts(&file(&text));
            assert_eq!(found.iter().map(|fault| fault.place.to_string()).collect::<Vec<_>>(), [place]);
            assert!(!found[0].what.is_empty() && !found[0].cure.is_empty());
        }
        assert_eq!(facts(&file(&avoid(60))), []);
    }

    #[test]
    fn no_stock_is_taken_whose_sums_could_run_over() {
        let order = |pack: &str, shelf: &str| -> Order {
            serde_json::from_str(&format!(
                r#"{{"currency":"EUR","suppliers":[{{"id":"s","shipping_minor":500}}],"packs":[{pack}],"on_hand":[{shelf}]}}"#
            ))
            .unwrap()
        };
        let pack = |price: &str, pieces: u32| {
            format!(r#"{{"id":"p","supplier":"s","shade":"S1","length_mm":500,"pieces":{pieces},"price_minor":{price}}}"#)
        };
        let shelf = |pieces: u64| format!(r#"{{"lot":"l","shade":"S1","length_mm":500,"pieces":{pieces}}}"#);
        assert_eq!(stock(&order(&pack("1000", 20), &shelf(10))), Ok(()));
        for (pack, shelf) in [
            (pack("9223372036854775807", 20), shelf(1)),
            (pack("-1", 20), shelf(1)),
            (pack("1", 4_294_967_295), shelf(1)),
            (pack("1", 1), shelf(4_294_967_295)),
        ] {
            assert!(stock(&order(&pack, &shelf)).is_err(), "{pack} {shelf}");
        }
    }
}
