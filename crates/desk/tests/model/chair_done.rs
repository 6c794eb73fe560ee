//! What an act of a visit leaves behind, and what is shown of pieces.

use super::chair::{At, From, Layer, Piece, Step, Visit, day, days_between};
use super::{Line, Lot, Model};
use jiff::civil::Date;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Pieces whose numbers the salon made for an act, as it shows them.
pub type Told = BTreeMap<String, Value>;

impl Model {
    /// Takes in what was done; `told` are the pieces of hers and of the shelf whose numbers are new.
    pub fn chair_done(&mut self, line: &Line, answer: &Value, told: &Told) {
        let on = day(line.get("on"));
        match line.get("act") {
            "visit begin" => {
                let (client, kind) = (line.get("client").to_owned(), line.get("kind").to_owned());
                let sets = ["application", "re-tape"].contains(&&*kind);
                let plan = line.value["plan"].as_str().map(str::to_owned).or_else(|| if sets { None } else { self.worn(&client) });
                let visit = Visit { client, kind, plan, on, closed: None, steps: Vec::new() };
                self.visits.insert(answer["visit"].as_str().unwrap().to_owned(), visit);
            }
            "piece place" => self.placed(line, answer, told),
            "piece halve" => {
                let (id, halves) = (line.get("piece").to_owned(), ["left", "right"].map(|half| answer[half].as_str().unwrap().to_owned()));
                match self.pieces[&id].hers.clone() {
                    None => self.cut_on_shelf(&id, &halves),
                    Some(client) => {
                        let visit = self.open_visit(&client).unwrap().clone();
                        self.cut_hers(&visit, &id, &halves);
                    }
                }
            }
            "step undo" => {
                let step = self.visits.get_mut(line.get("visit")).unwrap().steps.pop().unwrap();
                assert_eq!(answer["undone"]["did"], step.did, "{answer}");
                for (id, was) in step.before {
                    match was {
                        Some(was) => _ = self.pieces.insert(id, was),
                        None => _ = self.pieces.remove(&id),
                    }
                }
                for piece in step.taken.iter().filter(|piece| !piece.half) {
                    self.lot_of(piece).pieces += 1;
                }
            }
            "visit replan" => self.visits.get_mut(line.get("visit")).unwrap().plan = Some(line.get("plan").to_owned()),
            "visit close" => self.closed(line, answer),
            _ => self.stepped(line, answer, on),
        }
    }

    fn lot_of(&mut self, piece: &Piece) -> &mut Lot {
        if !self.shelf.iter().any(|lot| piece.is_of(lot)) {
            self.shelf.push(Lot { lot: piece.lot.clone(), shade: piece.shade.clone(), length: piece.length, pieces: 0 });
        }
        self.shelf.iter_mut().find(|lot| piece.is_of(lot)).unwrap()
    }

    fn cut_on_shelf(&mut self, id: &str, halves: &[String; 2]) {
        let whole = self.pieces.remove(id).unwrap();
        self.lot_of(&whole).pieces -= 1;
        for half in halves {
            self.pieces.insert(half.clone(), Piece { half: true, parent: Some(id.to_owned()), ..whole.clone() });
        }
    }

    fn cut_hers(&mut self, visit: &str, id: &str, halves: &[String; 2]) {
        let whole = self.pieces[id].clone();
        let before = vec![(id.to_owned(), Some(whole.clone())), (halves[0].clone(), None), (halves[1].clone(), None)];
        for half in halves {
            self.pieces.insert(half.clone(), Piece { half: true, parent: Some(id.to_owned()), ..whole.clone() });
        }
        self.pieces.get_mut(id).unwrap().at = At::Halved;
        let step = Step { did: "halved", site: String::new(), days: 0, before, taken: Vec::new() };
        self.visits.get_mut(visit).unwrap().steps.push(step);
    }

    fn placed(&mut self, line: &Line, answer: &Value, told: &Told) {
        let (id, on) = (line.get("visit").to_owned(), day(line.get("on")));
        let visit = self.visits[&id].clone();
        let site = self.sites.iter().find(|site| site.name == line.get("site")).unwrap().clone();
        let from = self.had_from(line, &visit, &site).unwrap();
        let (mut before, mut taken) = (Vec::new(), Vec::new());
        let ids: Vec<String> = ["upper", "lower"].iter().take(from.len()).map(|layer| answer[layer].as_str().unwrap().to_owned()).collect();
        // Those that lie there unrecorded are counted first.
        for (at, had) in from.iter().enumerate() {
            if matches!(had, From::Shelf { recorded: false, .. }) {
                let lot = Lot { lot: "not recorded".to_owned(), shade: site.shades[at].clone(), length: site.length, pieces: 0 };
                self.lot_of(&Piece::of_lot(&lot, 0)).pieces += 1;
            }
        }
        for (at, (piece, had)) in ids.iter().zip(&from).enumerate() {
            let layer = Layer { shade: site.shades[at].clone(), length: site.length, half: site.half };
            match had {
                From::Known(known) => assert_eq!(piece, known, "{answer}"),
                From::HersCut(whole, true) => {
                    let halves = self.halves_told(piece, whole, told);
                    self.cut_hers(&id, whole, &halves);
                }
                From::HersCut(whole, false) => assert_eq!(self.pieces[piece].parent.as_ref(), Some(whole), "{answer}"),
                From::Half | From::SecondHalf => assert!(self.pieces[piece].half && self.pieces[piece].serves(&layer), "{answer}"),
                From::Shelf { cut, recorded } => {
                    let whole = if *cut { told[piece]["parent"].as_str().unwrap().to_owned() } else { piece.clone() };
                    let named = [line.get("upper"), line.get("lower")];
                    self.whole_taken(&visit, (&whole, &told[piece], *recorded), &layer, (&named, &taken));
                    if *cut {
                        let halves = self.halves_told(piece, &whole, told);
                        self.cut_on_shelf(&whole, &halves);
                    }
                }
            }
            let lay = self.pieces[piece].clone();
            if lay.at == At::Shelf {
                if !lay.half {
                    self.lot_of(&lay).pieces -= 1;
                }
                taken.push(lay.clone());
            }
            before.push((piece.clone(), Some(lay)));
            let (plan, upper, since) = (visit.plan.clone(), at == 0, on);
            let now = self.pieces.get_mut(piece).unwrap();
            (now.hers, now.cycles) = (Some(visit.client.clone()), now.cycles + 1);
            now.at = At::Hair { site: site.name.clone(), plan, upper, since };
        }
        self.visits.get_mut(&id).unwrap().steps.push(Step { did: "placed", site: site.name, days: 0, before, taken });
    }

    /// The two halves of a piece, the one that was set first.
    fn halves_told(&self, set: &str, whole: &str, told: &Told) -> [String; 2] {
        let other = told.iter().find(|(id, piece)| *id != set && piece["parent"] == whole && !self.pieces.contains_key(*id));
        [set.to_owned(), other.unwrap_or_else(|| panic!("{whole} has one half")).0.clone()]
    }

    /// A whole piece that the salon chose from the shelf: of the plan's shade, from a lot that was begun, one
    /// with a number where one lies there.
    fn whole_taken(
        &mut self,
        visit: &Visit,
        (id, told, recorded): (&str, &Value, bool),
        layer: &Layer,
        (named, taken): (&[&str; 2], &[Piece]),
    ) {
        let lot = Lot {
            lot: told["lot"].as_str().unwrap().to_owned(),
            shade: told["shade"].as_str().unwrap().to_owned(),
            length: told["length_mm"].as_f64().unwrap() as u64,
            pieces: 0,
        };
        assert_eq!((&lot.shade, lot.length), (&layer.shade, layer.length), "{told}");
        let free = |lot: &Lot| {
            let named =
                named.iter().filter_map(|id| self.pieces.get(*id)).filter(|piece| piece.at == At::Shelf && !piece.half && piece.is_of(lot));
            lot.pieces > named.count() as u64
        };
        if recorded {
            let begun = visit.steps.iter().flat_map(|step| &step.taken).chain(taken);
            let begun: BTreeSet<&String> = begun.filter(|piece| piece.serves(layer)).map(|piece| &piece.lot).collect();
            let such = |held: &&Lot| (&held.shade, held.length) == (&layer.shade, layer.length) && free(held);
            let on: Vec<&String> = self.shelf.iter().filter(such).map(|held| &held.lot).collect();
            assert!(on.contains(&&lot.lot), "{told} lies in no such lot");
            let kept_together = begun.contains(&lot.lot) || !on.iter().any(|there| begun.contains(there));
            assert!(kept_together, "{told}: lots {begun:?} were begun");
        } else {
            assert_eq!(lot.lot, "not recorded");
        }
        if !self.pieces.contains_key(id) {
            let numbered =
                |(id, piece): (&String, &Piece)| piece.at == At::Shelf && !piece.half && piece.is_of(&lot) && !named.contains(&&**id);
            assert!(!recorded || !self.pieces.iter().any(numbered), "{told}: a piece with a number lies there");
            self.pieces.insert(id.to_owned(), Piece::of_lot(&lot, 0));
        }
    }

    fn stepped(&mut self, line: &Line, answer: &Value, on: Date) {
        let id = line.get("visit").to_owned();
        let (visit, site, piece) = (self.visits[&id].clone(), line.get("site").to_owned(), line.get("piece").to_owned());
        let (mut before, mut days) = (Vec::new(), 0);
        let mut change = |model: &mut Self, id: &str, change: &dyn Fn(&mut Piece)| {
            before.push((id.to_owned(), Some(model.pieces[id].clone())));
            change(model.pieces.get_mut(id).unwrap());
        };
        let did = match line.get("act") {
            "piece skip" => "skipped",
            "regrowth measure" => "regrown",
            "scalp see" => "scalp_seen",
            "piece clean" => {
                change(self, &piece, &|piece| piece.tape = "off");
                "cleaned"
            }
            "piece re-tape" => {
                change(self, &piece, &|piece| piece.tape = "new");
                "retaped"
            }
            "piece retire" => {
                change(self, &piece, &|piece| piece.at = At::Retired);
                "retired"
            }
            _ => {
                let out = self.comes_out(&visit, &site);
                days = days_between(out[0].1, on);
                let ids: Vec<Value> = out.iter().map(|(id, _)| json!(id)).collect();
                assert_eq!([&answer["upper"], &answer["lower"]], [&ids[0], ids.get(1).unwrap_or(&Value::Null)], "{answer}");
                for (id, since) in &out {
                    let order = self.out;
                    self.out += 1;
                    let at = if line.get("state") == "lost" { At::Lost } else { At::Bag(order) };
                    let more = days_between(*since, on);
                    change(self, id, &|piece| (piece.at, piece.tape, piece.days) = (at.clone(), "worn", piece.days + more));
                }
                "taken_out"
            }
        };
        self.visits.get_mut(&id).unwrap().steps.push(Step { did, site, days, before, taken: Vec::new() });
    }

    fn closed(&mut self, line: &Line, answer: &Value) {
        let id = line.get("visit").to_owned();
        let visit = self.visits.get_mut(&id).unwrap();
        visit.closed = Some(day(line.get("on")));
        let visit = visit.clone();
        let seen = |visit: &Visit| visit.steps.iter().any(|step| ["taken_out", "regrown"].contains(&step.did));
        let plan = visit.plan.clone().filter(|_| visit.sets() && visit.placed() > 0);
        if let Some(plan) = plan {
            // Counted from the visit; sooner only where her own records say something.
            let observed = self.visits.values().any(|other| other.client == visit.client && other.closed.is_some() && seen(other));
            let due: Date = day(answer["next"]["due"].as_str().unwrap());
            let days = (due - visit.on).get_days();
            let [usual, opens, closes] = self.retape.map(|days| days as i32);
            assert!(days == usual || observed && (1..usual).contains(&days), "{days} days: {answer}");
            let at = |days: i32| visit.on.checked_add(jiff::Span::new().days(days)).unwrap();
            let window = [at(opens.min(days)), at(closes.max(days))];
            assert_eq!(answer["next"]["window"], json!(window.map(|day| day.to_string())), "{answer}");
            let plan = self.plans.get_mut(&plan).unwrap();
            (plan.placed, plan.ended, plan.next) = (Some(visit.on.to_string()), false, Some([due, window[0], window[1]]));
        } else {
            assert_eq!(answer["next"], Value::Null, "{answer}");
        }
        // A set is out when its last piece came out, or at a removal.
        let in_hair = self.hers_of(&visit.client).any(|(_, piece)| matches!(piece.at, At::Hair { .. }));
        let came_out = visit.kind == "removal" || visit.steps.iter().any(|step| step.did == "taken_out");
        if !in_hair && came_out {
            let hers = self.clients[&visit.client].plans.clone();
            for plan in hers {
                let plan = self.plans.get_mut(&plan).unwrap();
                plan.ended |= plan.placed.is_some();
            }
        }
    }

    /// Where a piece came from, as it is shown.
    pub fn origin(&self, id: &str) -> Value {
        let piece = &self.pieces[id];
        json!({"shade": piece.shade, "length_mm": piece.length, "lot": piece.lot, "parent": piece.parent})
    }

    /// A piece as it is shown on a day.
    pub fn same_piece(&self, shown: &Value, id: &str, on: &str) {
        let piece = &self.pieces[id];
        assert_eq!(shown["where"], piece.word(), "{shown}");
        if piece.at == At::Missing {
            return;
        }
        let since = if let At::Hair { since, .. } = piece.at { days_between(since, day(on)) } else { 0 };
        let has = json!([
            shown["shade"],
            shown["length_mm"].as_f64(),
            shown["lot"],
            shown["cut"],
            shown["parent"],
            shown["cycles"],
            shown["days_worn"]
        ]);
        let cut = if piece.half { "half" } else { "full" };
        let is = json!([piece.shade, piece.length as f64, piece.lot, cut, piece.parent, piece.cycles, piece.days + since]);
        assert_eq!(has, is, "{shown}");
        if let Some(client) = &piece.hers {
            assert_eq!((&shown["client"], &shown["adhesive"]), (&json!(client), &json!(piece.tape)), "{shown}");
        }
        if let At::Hair { site, plan, upper, since } = &piece.at {
            let layer = if *upper { "upper" } else { "lower" };
            assert_eq!(
                [&shown["site"], &shown["plan"], &shown["layer"], &shown["since"]],
                [&json!(site), &json!(plan), &json!(layer), &json!(since.to_string())],
                "{shown}"
            );
        }
    }

    /// A list of pieces as it is shown on a day: all of these, each as it is.
    pub fn same_pieces(&self, shown: &Value, on: &str, wanted: impl Fn(&Piece) -> bool) {
        let pieces = shown["pieces"].as_array().unwrap();
        let mut ids: Vec<&str> = pieces.iter().map(|piece| piece["id"].as_str().unwrap()).collect();
        ids.sort_unstable();
        let all: Vec<&str> =
            self.pieces.iter().filter(|(_, piece)| piece.at != At::Missing && wanted(piece)).map(|(id, _)| &**id).collect();
        assert_eq!(ids, all);
        pieces.iter().for_each(|piece| self.same_piece(piece, piece["id"].as_str().unwrap(), on));
    }
}
