//! Acts of visits, of the diary and of money, drawn by chance: such as a technician does, and now and
//! then one that makes no sense.

use super::{At, Line, Model, Piece, Visit};
use crate::ground::chance::Chance;
use serde_json::{Value, json};

const KINDS: [&str; 6] = ["application", "application", "re-tape", "re-tape", "check", "removal"];

/// A line of one of these acts; nothing where nobody is there for it.
pub fn drawn(chance: &mut Chance, model: &Model, days: &[&str]) -> Option<Line> {
    let mut drawing = Drawing { chance, model, days };
    let mut value = match drawing.chance.below(20) {
        0..=15 => drawing.of_a_visit(),
        16..=17 => drawing.of_the_diary(),
        _ => drawing.of_money(),
    }?;
    let takes_a_reason = ["visit begin", "visit close", "piece place", "appointment book", "appointment move"];
    if takes_a_reason.iter().any(|act| value["act"] == *act) && drawing.chance.one_in(5) {
        value["because"] = json!("she asked for it");
    }
    Some(Line::plain(value))
}

struct Drawing<'a> {
    chance: &'a mut Chance,
    model: &'a Model,
    days: &'a [&'a str],
}

impl Drawing<'_> {
    fn one<T: Clone>(&mut self, of: &[T]) -> Option<T> {
        if of.is_empty() { None } else { Some(self.chance.of(of).clone()) }
    }

    fn day(&mut self) -> String {
        (*self.chance.of(self.days)).to_owned()
    }

    /// A day from another on, mostly the next or that one itself.
    fn day_from(&mut self, from: &str) -> String {
        if self.chance.one_in(30) {
            return self.day();
        }
        let later: Vec<&str> = self.days.iter().filter(|day| **day >= from).copied().collect();
        let at = if self.chance.one_in(4) { self.chance.below(3) } else { self.chance.below(2) } as usize;
        (*later.get(at).or(later.last()).unwrap_or(&from)).to_owned()
    }

    fn client(&mut self) -> Option<String> {
        let all: Vec<&String> = self.model.clients.keys().collect();
        self.one(&all).cloned()
    }

    fn plan_of(&mut self, client: &str) -> Option<String> {
        self.one(&self.model.clients[client].plans)
    }

    fn of_a_visit(&mut self) -> Option<Value> {
        let open: Vec<&String> = self.model.visits.iter().filter(|(_, visit)| visit.closed.is_none()).map(|(id, _)| id).collect();
        if open.len() < 2 || self.chance.one_in(25) {
            return self.begin();
        }
        let all: Vec<&String> = self.model.visits.keys().collect();
        // Few visits go on at a time, so that each gets somewhere.
        let id = if self.chance.one_in(40) { self.one(&all)? } else { self.one(&open[..open.len().min(4)])? };
        let visit = &self.model.visits[id];
        let mut line = self.step(visit)?;
        line["on"] = json!(if self.chance.one_in(12) { self.day_from(&visit.on.to_string()) } else { visit.on.to_string() });
        if line["act"] != "piece halve" {
            line["visit"] = json!(id);
        }
        Some(line)
    }

    fn begin(&mut self) -> Option<Value> {
        let wearing = |id: &&String| self.model.clients[*id].plans.iter().any(|plan| self.model.plans[plan].placed.is_some());
        let twice = self.chance.one_in(12);
        let free = |id: &String| twice || self.model.open_visit(id).is_none();
        let planned = self.model.clients.iter().filter(|(id, client)| !client.plans.is_empty() && free(id));
        let planned: Vec<&String> = planned.map(|(id, _)| id).collect();
        let worn: Vec<&String> = planned.iter().filter(|id| wearing(id)).copied().collect();
        let client = match self.chance.below(10) {
            0 => self.client()?,
            1..=5 => self.one(&worn).or_else(|| planned.first().copied())?.clone(),
            _ => self.one(&planned)?.clone(),
        };
        let from = self.model.last_visit(&client).map_or_else(|| self.days[0].to_owned(), |day| day.to_string());
        let on = self.day_from(&from);
        let mut line = json!({"act": "visit begin", "on": on, "client": client, "kind": *self.chance.of(&KINDS)});
        // Now and then by another client's plan, or by none.
        let of = if self.chance.one_in(20) { self.client()? } else { client };
        if let Some(plan) = self.plan_of(&of).filter(|_| !self.chance.one_in(15)) {
            line["plan"] = json!(plan);
        }
        Some(line)
    }

    fn in_hair(&self, visit: &Visit) -> Vec<String> {
        let site = |(_, piece): (&String, &Piece)| if let At::Hair { site, .. } = &piece.at { Some(site.clone()) } else { None };
        self.model.hers_of(&visit.client).filter_map(site).collect()
    }

    fn site(&mut self) -> String {
        if self.chance.one_in(40) { "B9.1".to_owned() } else { self.chance.of(&self.model.sites).name.clone() }
    }

    /// A piece of hers that is such; now and then any piece there is.
    fn piece(&mut self, visit: &Visit, such: impl Fn(&Piece) -> bool) -> Option<String> {
        let hers: Vec<&String> = self.model.hers_of(&visit.client).filter(|(_, piece)| such(piece)).map(|(id, _)| id).collect();
        if hers.is_empty() || self.chance.one_in(20) { self.any_piece() } else { self.one(&hers).cloned() }
    }

    fn any_piece(&mut self) -> Option<String> {
        let all: Vec<&String> = self.model.pieces.keys().collect();
        self.one(&all).cloned()
    }

    fn step(&mut self, visit: &Visit) -> Option<Value> {
        let in_hair = self.in_hair(visit);
        let old = |piece: &Piece| matches!(piece.at, At::Bag(_)) && piece.tape != "new";
        let waits = self.model.hers_of(&visit.client).filter(|(_, piece)| old(piece)).count() > 0;
        let comes_out = ["re-tape", "removal"].contains(&&*visit.kind);
        Some(match self.chance.below(100) {
            0..=7 => json!({"act": "step undo"}),
            8..=11 => json!({"act": "piece skip", "site": self.site(), "reason": "tender there"}),
            12..=15 => json!({"act": "regrowth measure", "site": self.site(), "mm": 1 + self.chance.below(30)}),
            16..=17 => json!({"act": "scalp see", "region": "nape", "found": "a little red"}),
            18..=20 => json!({"act": "piece clean", "piece": self.piece(visit, old)?}),
            21..=22 => json!({"act": "piece retire", "piece": self.piece(visit, old)?, "reason": "matted"}),
            23..=25 => {
                let piece = if self.chance.one_in(2) {
                    self.piece(visit, |piece| matches!(piece.at, At::Bag(_)) && !piece.half)
                } else {
                    self.any_piece()
                };
                json!({"act": "piece halve", "piece": piece?})
            }
            26..=27 => json!({"act": "visit replan", "plan": self.plan_of(&visit.client)?}),
            28..=37 => self.close(),
            38..=57 if waits => json!({"act": "piece re-tape", "piece": self.piece(visit, old)?}),
            38..=77 if comes_out && !in_hair.is_empty() => self.take_out(&in_hair)?,
            38..=40 => self.take_out(&in_hair)?,
            _ if visit.kind == "removal" && !self.chance.one_in(10) => self.close(),
            _ => self.place(visit)?,
        })
    }

    fn take_out(&mut self, in_hair: &[String]) -> Option<Value> {
        let site = if self.chance.one_in(10) || in_hair.is_empty() { self.site() } else { self.one(in_hair)? };
        let state = *self.chance.of(&["held", "held", "slipped", "lost"]);
        Some(json!({"act": "piece take out", "site": site, "state": state}))
    }

    fn place(&mut self, visit: &Visit) -> Option<Value> {
        let set = self.in_hair(visit);
        let free: Vec<String> = self.model.sites.iter().map(|site| site.name.clone()).filter(|site| !set.contains(site)).collect();
        let site = self.one(&free).filter(|_| !self.chance.one_in(12)).unwrap_or_else(|| self.site());
        let mut line = json!({"act": "piece place", "site": site});
        let mut some = |layer: &str, drawing: &mut Self| {
            let half = drawing.model.sites.iter().any(|site| line["site"] == *site.name && site.half);
            let such = |piece: &Piece| piece.at == At::Shelf && piece.half == half;
            let lying: Vec<&String> = drawing.model.pieces.iter().filter(|(_, piece)| such(piece)).map(|(id, _)| id).collect();
            let piece = match drawing.chance.below(10) {
                0..=6 => drawing.one(&lying).cloned(),
                7..=8 => drawing.piece(visit, |piece| matches!(piece.at, At::Bag(_))),
                _ => drawing.any_piece(),
            };
            if let Some(piece) = piece {
                line[layer] = json!(piece);
            }
        };
        if self.chance.one_in(5) {
            some("upper", self);
        }
        if self.chance.one_in(5) {
            some("lower", self);
        }
        if self.chance.one_in(15) {
            line["moved_mm"] = json!(self.chance.below(120));
        }
        if line["upper"].is_string() && self.chance.one_in(15) {
            line["lower"] = line["upper"].clone();
        }
        Some(line)
    }

    fn close(&mut self) -> Value {
        if self.chance.one_in(8) {
            return json!({"act": "visit close"});
        }
        let (near, well) = (self.chance.one_in(12), !self.chance.one_in(12));
        json!({"act": "visit close", "moves_freely": well, "mm_off_scalp": if near { 1 } else { 5 }, "nothing_shows": true, "comfortable": true})
    }

    fn person(&mut self) -> Value {
        self.one(&self.model.people).filter(|_| self.chance.one_in(3)).map_or(Value::Null, Value::from)
    }

    fn of_the_diary(&mut self) -> Option<Value> {
        let on = self.day();
        let ids: Vec<&String> = self.model.diary.keys().collect();
        let time = |chance: &mut Chance| format!("{:02}:{:02}", 8 + chance.below(13), 15 * chance.below(4));
        let day = self.day_from(&on);
        match self.chance.below(10) {
            0..=4 => {
                let far = self.chance.one_in(20);
                let kind = *self.chance.of(&["consultation", "check", "application", "re-tape", "removal"]);
                let mut line = json!({"act": "appointment book", "on": on, "client": self.client()?, "kind": kind, "at": time(self.chance),
                    "day": if far { "2028-01-03" } else { &*day }, "person": self.person()});
                if self.chance.one_in(2) {
                    line["minutes"] = json!(if self.chance.one_in(15) { 900 } else { 30 * self.chance.below(8) });
                }
                Some(line)
            }
            5..=7 => {
                let mut line = json!({"act": "appointment move", "on": on, "appointment": self.one(&ids)?, "person": self.person()});
                if self.chance.one_in(2) {
                    line["day"] = json!(day);
                }
                if self.chance.one_in(2) {
                    line["at"] = json!(time(self.chance));
                }
                if self.chance.one_in(3) {
                    line["minutes"] = json!(30 * self.chance.below(6));
                }
                if self.chance.one_in(8) {
                    line["client"] = json!(self.client()?);
                }
                Some(line)
            }
            _ => Some(json!({"act": "appointment cancel", "on": on, "appointment": self.one(&ids)?, "reason": "she has a cold"})),
        }
    }

    fn of_money(&mut self) -> Option<Value> {
        let made = self.model.invoices.len() as u64;
        if made == 0 || self.chance.one_in(2) {
            let closed: Vec<(&String, &Visit)> = self.model.visits.iter().filter(|(_, visit)| self.invoices_ask_for(visit)).collect();
            let (id, visit) = self.one(&closed)?;
            let client = if self.chance.one_in(20) { self.client()? } else { visit.client.clone() };
            let on = self.day_from(&visit.on.to_string());
            return Some(json!({"act": "invoice make", "on": on, "client": client, "visit": id}));
        }
        let newest = made - self.chance.below(made.min(6));
        let number = if self.chance.one_in(30) { made + 1 } else { newest };
        let held = self.model.invoices.get(number as usize - 1);
        let (owed, paid) = held.map_or((1, 1), |held| (held.total - held.paid, held.paid));
        let part = |chance: &mut Chance, whole: i64| match chance.below(8) {
            0 => whole + 1,
            1 => 0,
            2..=4 => whole / 2,
            _ => whole,
        };
        let takes = !self.chance.one_in(4);
        let (act, minor) = if takes { ("payment take", part(self.chance, owed)) } else { ("payment return", part(self.chance, paid)) };
        Some(json!({"act": act, "on": self.day(), "invoice": number, "minor": minor, "by": *self.chance.of(&["cash", "card", "transfer"])}))
    }

    /// Of every visit an invoice is asked for, of one that goes on seldom.
    fn invoices_ask_for(&self, visit: &Visit) -> bool {
        visit.closed.is_some() || visit.steps.len() == 3
    }
}
