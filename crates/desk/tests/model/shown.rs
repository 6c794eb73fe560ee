//! What is shown of a salon's book: lists, the shelf, a client.

use super::{Appointment, At, Client, Lot, Model, Piece, Visit, hers};
use jiff::civil::Date;
use serde_json::{Map, Value, json};
use std::cmp::Reverse;

impl Model {
    /// Her set in force: when it is due, and the window round that day.
    fn next(&self, client: &Client) -> Option<[Date; 3]> {
        let plans = client.plans.iter().map(|plan| &self.plans[plan]).filter(|plan| !plan.ended && plan.placed.is_some());
        let plan = plans.max_by(|a, b| a.placed.cmp(&b.placed))?;
        let day: Date = plan.placed.as_ref()?.parse().ok()?;
        Some(plan.next.unwrap_or_else(|| self.retape.map(|days| day.checked_add(jiff::Span::new().days(i64::from(days))).unwrap())))
    }

    fn lines(&self, sought: &str) -> Vec<(&String, &Client)> {
        let sought = sought.to_lowercase();
        let mut lines: Vec<_> = self.clients.iter().filter(|(_, client)| client.label.to_lowercase().contains(&sought)).collect();
        lines.sort_by_key(|(id, client)| (client.label.to_lowercase(), (*id).clone()));
        lines
    }

    pub fn list(&self, sought: &str) -> Value {
        let line = |(id, client): (&String, &Client)| json!({"id": id, "label": client.label, "next_due": self.next(client).map(|next| next[0].to_string())});
        json!({"clients": self.lines(sought).into_iter().map(line).collect::<Vec<_>>()})
    }

    pub fn due(&self, on: &str) -> Value {
        let on: Date = on.parse().unwrap();
        let mut due = Vec::new();
        for (id, client) in self.lines("") {
            let Some([day, opens, closes]) = self.next(client).filter(|next| next[1] <= on) else { continue };
            let overdue = i64::from((on - day).get_days());
            let window = [opens.to_string(), closes.to_string()];
            due.push((
                overdue,
                json!({"client": id, "label": client.label, "due": day.to_string(), "window": window, "overdue_days": overdue.max(0)}),
            ));
        }
        due.sort_by_key(|(overdue, _)| Reverse(*overdue));
        json!({"due": due.into_iter().map(|(_, line)| line).collect::<Vec<_>>()})
    }

    /// The shelf as it is shown. What is promised of it is looked at where nobody is booked for a set.
    pub fn same_shelf(&self, shown: &Value) {
        let mut lots: Vec<&Lot> = self.shelf.iter().collect();
        lots.sort_by(|a, b| (&a.shade, a.length, &a.lot).cmp(&(&b.shade, b.length, &b.lot)));
        let of = |lot: &&Lot| json!([lot.shade, lot.length as f64, lot.lot, lot.pieces]);
        let lines = shown["shelf"].as_array().unwrap();
        let has: Vec<Value> =
            lines.iter().map(|line| json!([line["shade"], line["length_mm"].as_f64(), line["lot"], line["pieces"]])).collect();
        assert_eq!(has, lots.iter().map(of).collect::<Vec<_>>());
        let sets = |held: &Appointment| !held.cancelled && ["application", "re-tape"].contains(&&*held.kind);
        let promised = self.diary.values().any(sets);
        for line in lines {
            let [pieces, reserved, free] = ["pieces", "reserved", "free"].map(|key| line[key].as_u64().unwrap());
            assert!(pieces == reserved + free && (promised || reserved == 0), "{line}");
        }
        let mut halves: Vec<&str> = shown["halves"].as_array().into_iter().flatten().map(|half| half["id"].as_str().unwrap()).collect();
        halves.sort_unstable();
        let lie: Vec<&String> = self.pieces.iter().filter(|(_, piece)| piece.at == At::Shelf && piece.half).map(|(id, _)| id).collect();
        assert_eq!(halves, lie);
    }

    /// Compares what is shown of a client with what she is.
    pub fn same_client(&self, shown: &Value, (id, on): (&str, &str), client: &Client) {
        let sections = shown["facts"].as_object().unwrap().iter().filter(|(_, section)| !section.is_null());
        let facts: Map<String, Value> = sections
            .map(|(name, section)| {
                let said = section
                    .as_object()
                    .unwrap()
                    .iter()
                    .filter(|(_, value)| !value.is_null())
                    .map(|(key, value)| (key.clone(), value.clone()));
                (name.clone(), Value::Object(said.collect()))
            })
            .collect();
        assert_eq!(Value::Object(facts), client.said.json(), "{id}");
        assert_eq!((&shown["label"], &shown["version"]), (&json!(client.label), &json!(self.version(&hers(id)))));
        let consents: Map<String, Value> =
            client.consents.iter().map(|(purpose, (wording, on))| (purpose.clone(), json!({"wording": wording, "on": on}))).collect();
        assert_eq!(shown["consents"], Value::Object(consents));
        let read = |(on, found): &(String, String)| json!({"on": on, "found": found});
        let tests: Vec<Value> = client
            .tests
            .iter()
            .map(|test| json!({"lot": test.lot, "place": "left ear", "set_on": test.set_on, "read": test.read.last().map(read), "readings": test.read.iter().map(read).collect::<Vec<_>>()}))
            .collect();
        assert_eq!(shown["skin_tests"], json!(tests));
        let plans: Vec<Value> = client
            .plans
            .iter()
            .map(|plan| json!({"plan": plan, "placed_on": self.plans[plan].placed, "sites": self.sites.len()}))
            .collect();
        assert_eq!(shown["plans"], json!(plans));
        let visits: Vec<Value> = shown["visits"]
            .as_array()
            .unwrap()
            .iter()
            .map(|visit| json!([visit["visit"], visit["kind"], visit["on"], visit["closed_on"], visit["plan"]]))
            .collect();
        let had = self.visits.iter().filter(|(_, visit)| visit.client == id);
        let told = |(at, visit): (&String, &Visit)| {
            json!([at, visit.kind, visit.on.to_string(), visit.closed.map(|day| day.to_string()), visit.plan])
        };
        assert_eq!(visits, had.map(told).collect::<Vec<_>>());
        let hair = |piece: &Piece| piece.hers.as_deref() == Some(id) && matches!(piece.at, At::Hair { .. });
        if self.pieces.values().any(hair) {
            self.same_pieces(&json!({"pieces": shown["pieces"]}), on, hair);
        }
        assert_eq!(shown["next"]["due"], json!(self.next(client).map(|next| next[0].to_string())), "{id}");
    }
}
