//! Every kind of event ever written can be read: one line of each, as format 1 wrote it.

use salon::book::{ClientEvent, DiaryEvent, Happened, HealthEvent, HouseEvent, MoneyEvent, ShelfEvent};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::collections::BTreeSet;

/// Written once; lines are added, none is ever changed.
const FORMAT_1: &str = include_str!("data/events-1.jsonl");

/// Every kind that can be written now, by the stream it stands in.
const KINDS: &[(&str, &[&str])] = &[
    (
        "client",
        &[
            "client_added",
            "client_named",
            "facts_changed",
            "health_kept",
            "consent_given",
            "consent_withdrawn",
            "skin_test_set",
            "skin_test_read",
            "corrected",
            "photo_kept",
            "photo_marked",
            "photo_removed",
            "colour_kept",
            "plan_made",
            "plan_placed",
            "visit_begun",
            "visit_replanned",
            "step_done",
            "step_undone",
            "visit_closed",
            "contact_set",
            "same_as",
            "not_same_as",
        ],
    ),
    ("health", &["health_answered", "plan_judged"]),
    (
        "house",
        &[
            "house_set",
            "person_added",
            "ring_set",
            "prices_set",
            "bond_seen",
            "cover_followed",
            "phones_set",
            "photo_kept",
            "photo_marked",
            "photo_removed",
            "backup_made",
            "client_erased",
        ],
    ),
    ("shelf", &["pack_received", "counted", "all_counted", "piece_halved", "pieces_left", "pieces_back", "gone_with_erased", "corrected"]),
    ("money", &["invoice_made", "payment_taken", "payment_returned"]),
    ("diary", &["appointment_booked", "appointment_moved", "appointment_cancelled"]),
];

fn there_and_back<E: Serialize + DeserializeOwned>(event: &Value) {
    let read: Happened<E> = serde_json::from_value(event.clone()).unwrap_or_else(|fault| panic!("{fault}: {event}"));
    assert_eq!(serde_json::to_value(&read).unwrap(), *event);
}

#[test]
fn every_kind_of_the_first_format_is_read_and_written_back() {
    let mut seen: BTreeSet<(String, String)> = BTreeSet::new();
    for line in FORMAT_1.lines() {
        let line: Value = serde_json::from_str(line).unwrap();
        let (stream, event) = (line["stream"].as_str().unwrap(), &line["event"]);
        match stream {
            "client" => there_and_back::<ClientEvent>(event),
            "health" => there_and_back::<HealthEvent>(event),
            "house" => there_and_back::<HouseEvent>(event),
            "money" => there_and_back::<MoneyEvent>(event),
            "diary" => there_and_back::<DiaryEvent>(event),
            _ => there_and_back::<ShelfEvent>(event),
        }
        seen.insert((stream.to_owned(), event["kind"].as_str().unwrap().to_owned()));
    }
    let all: BTreeSet<(String, String)> =
        KINDS.iter().flat_map(|(stream, kinds)| kinds.iter().map(|kind| ((*stream).to_owned(), (*kind).to_owned()))).collect();
    assert_eq!(seen, all);
}

#[test]
fn an_unknown_kind_is_refused_and_not_passed_over() {
    for stream in ["client", "house", "shelf", "money", "diary"] {
        let event = serde_json::json!({"on": "2026-03-02", "kind": "danced"});
        let refused = match stream {
            "client" => serde_json::from_value::<Happened<ClientEvent>>(event).is_err(),
            "house" => serde_json::from_value::<Happened<HouseEvent>>(event).is_err(),
            "money" => serde_json::from_value::<Happened<MoneyEvent>>(event).is_err(),
            "diary" => serde_json::from_value::<Happened<DiaryEvent>>(event).is_err(),
            _ => serde_json::from_value::<Happened<ShelfEvent>>(event).is_err(),
        };
        assert!(refused, "{stream}");
    }
}
