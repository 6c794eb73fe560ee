//! Visits and pieces, told plainly: where each piece is, which visit goes on, what was done at it.
//!
//! What the salon may choose (a lot of the shelf, new numbers) is learnt from its answer and held
//! against what it promised; all else is said beforehand.

use super::{Events, Line, Lot, Model, Refusals};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// A place of the plan that every client's plan is.
#[derive(Debug, Clone)]
pub struct Site {
    pub name: String,
    pub half: bool,
    pub shades: Vec<String>,
    pub length: u64,
}

#[derive(Debug, Clone, PartialEq)]
pub enum At {
    Shelf,
    Hair {
        site: String,
        plan: Option<String>,
        upper: bool,
        since: Date,
    },
    /// In the order in which they came out.
    Bag(u64),
    Retired,
    Lost,
    Halved,
    Missing,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    pub shade: String,
    pub length: u64,
    pub lot: String,
    pub half: bool,
    pub parent: Option<String>,
    pub cycles: u64,
    /// Days worn before it was set last.
    pub days: i64,
    pub tape: &'static str,
    pub at: At,
    pub hers: Option<String>,
    /// By which event of the shelf it came in.
    pub received: u64,
}

impl Piece {
    pub fn of_lot(lot: &Lot, received: u64) -> Self {
        Self {
            shade: lot.shade.clone(),
            length: lot.length,
            lot: lot.lot.clone(),
            half: false,
            parent: None,
            cycles: 0,
            days: 0,
            tape: "new",
            at: At::Shelf,
            hers: None,
            received,
        }
    }

    pub fn is_of(&self, lot: &Lot) -> bool {
        (&self.shade, self.length, &self.lot) == (&lot.shade, lot.length, &lot.lot)
    }

    pub fn serves(&self, layer: &Layer) -> bool {
        self.shade == layer.shade && self.length == layer.length
    }

    /// Where it is, in the contract's word.
    pub const fn word(&self) -> &'static str {
        match self.at {
            At::Shelf => "shelf",
            At::Hair { .. } => "hair",
            At::Bag(_) => "bag",
            At::Retired => "retired",
            At::Lost => "lost",
            At::Halved => "halved",
            At::Missing => "missing",
        }
    }
}

#[derive(Debug, Clone)]
pub struct Visit {
    pub client: String,
    pub kind: String,
    pub plan: Option<String>,
    pub on: Date,
    pub closed: Option<Date>,
    pub steps: Vec<Step>,
}

impl Visit {
    pub fn sets(&self) -> bool {
        ["application", "re-tape"].contains(&&*self.kind)
    }

    pub fn placed(&self) -> usize {
        self.steps.iter().filter(|step| step.did == "placed").count()
    }
}

#[derive(Debug, Clone)]
pub struct Step {
    pub did: &'static str,
    pub site: String,
    pub days: i64,
    /// Its pieces as they were; nothing where it made them.
    pub before: Vec<(String, Option<Piece>)>,
    /// Those that it took from the shelf.
    pub taken: Vec<Piece>,
}

pub struct Layer {
    pub shade: String,
    pub length: u64,
    pub half: bool,
}

/// From where a layer's piece is had.
#[derive(Debug, Clone, PartialEq)]
pub enum From {
    Known(String),
    /// A half of hers that is cut for it; whether it is the first of the two.
    HersCut(String, bool),
    /// A half that lies on the shelf.
    Half,
    /// A whole one from the shelf, or the first half of one; whether any record holds it.
    Shelf {
        cut: bool,
        recorded: bool,
    },
    /// The second half of one that was cut for the layer above.
    SecondHalf,
}

pub fn day(text: &str) -> Date {
    text.parse().unwrap()
}

pub fn days_between(from: Date, to: Date) -> i64 {
    i64::from((to - from).get_days()).max(0)
}

impl Model {
    pub fn worn(&self, client: &str) -> Option<String> {
        let hers = self.clients[client].plans.iter().map(|id| &self.plans[id]).filter(|plan| !plan.ended && plan.placed.is_some());
        hers.max_by(|a, b| a.placed.cmp(&b.placed)).map(|plan| plan.id.clone())
    }

    pub fn open_visit(&self, client: &str) -> Option<&String> {
        self.visits.iter().find(|(_, visit)| visit.client == client && visit.closed.is_none()).map(|(id, _)| id)
    }

    /// The day before which no visit of hers begins.
    pub fn last_visit(&self, client: &str) -> Option<Date> {
        self.visits.values().filter(|visit| visit.client == client).map(|visit| visit.on).max()
    }

    pub fn hers_of<'a>(&'a self, client: &'a str) -> impl Iterator<Item = (&'a String, &'a Piece)> {
        self.pieces.iter().filter(move |(_, piece)| piece.hers.as_deref() == Some(client))
    }

    /// Her pieces at a place: the newest there, the one above first.
    fn at_site(&self, client: &str, site: &str, of: impl Fn(&Option<String>) -> bool) -> Vec<(String, Date)> {
        let mut found: Vec<(Date, &Option<String>, bool, &String)> = Vec::new();
        for (id, piece) in self.hers_of(client) {
            if let At::Hair { site: there, plan, upper, since } = &piece.at
                && there == site
                && of(plan)
            {
                found.push((*since, plan, !upper, id));
            }
        }
        let newest = found.iter().map(|(since, plan, ..)| (*since, *plan)).max();
        found.retain(|(since, plan, ..)| Some((*since, *plan)) == newest);
        found.sort_unstable();
        found.into_iter().map(|(since, _, _, id)| (id.clone(), since)).collect()
    }

    /// What comes out at a place: what was there before the visit goes before what it set.
    pub fn comes_out(&self, visit: &Visit, site: &str) -> Vec<(String, Date)> {
        let before = self.at_site(&visit.client, site, |plan| *plan != visit.plan);
        if before.is_empty() { self.at_site(&visit.client, site, |_| true) } else { before }
    }

    pub fn chair(&self, line: &Line) -> Result<Events, Refusals> {
        match line.get("act") {
            "visit begin" => return self.begins(line),
            "piece halve" => return self.halves(line.get("piece")),
            _ => {}
        }
        let visit = self.visits.get(line.get("visit")).ok_or(vec!["unknown"])?;
        let (site, on, stream) = (line.get("site"), day(line.get("on")), super::hers(&visit.client));
        if visit.closed.is_some() {
            return Err(vec!["visit-closed"]);
        }
        if on < visit.on {
            return Err(vec!["visit-day"]);
        }
        let done = || Ok(vec![(stream.clone(), "step_done")]);
        let is_site = visit.plan.is_some() && self.sites.iter().any(|known| known.name == site);
        let set_already = !self.at_site(&visit.client, site, |plan| *plan == visit.plan).is_empty();
        match line.get("act") {
            "piece place" => self.places(line, visit),
            "piece skip" if !is_site => Err(vec!["site"]),
            "piece skip" if set_already => Err(vec!["one-place"]),
            "piece take out" if self.comes_out(visit, site).is_empty() => Err(vec!["one-place"]),
            "piece skip" | "piece take out" | "scalp see" => done(),
            "piece clean" | "piece re-tape" | "piece retire" => match self.pieces.get(line.get("piece")) {
                Some(piece) if piece.hers.as_deref() == Some(&*visit.client) => {
                    if matches!(piece.at, At::Bag(_)) {
                        done()
                    } else {
                        Err(vec!["one-place"])
                    }
                }
                _ => Err(vec!["one-head"]),
            },
            "regrowth measure" => match self.grew_for(visit, site, on) {
                None => Err(vec!["one-place"]),
                // Hair grows between a tenth and eight tenths of a millimetre a day; a week says something.
                Some(days) if days >= 7 && (0.1..=0.8).contains(&(line.value["mm"].as_f64().unwrap() / days as f64)) => done(),
                Some(_) => Err(vec!["growth"]),
            },
            "step undo" => {
                let last = visit.steps.last().ok_or(vec!["undo"])?;
                let mut events = vec![(stream, "step_undone")];
                if !last.taken.is_empty() {
                    events.push(("shelf".to_owned(), "pieces_back"));
                }
                Ok(events)
            }
            "visit replan" => {
                let plan = line.get("plan");
                if !self.clients[&visit.client].plans.iter().any(|hers| hers == plan) {
                    return Err(vec!["unknown"]);
                }
                Ok(if visit.plan.as_deref() == Some(plan) { Vec::new() } else { vec![(stream, "visit_replanned")] })
            }
            _ => self.closes(line, visit),
        }
    }

    fn begins(&self, line: &Line) -> Result<Events, Refusals> {
        let (client, kind) = (line.get("client"), line.get("kind"));
        let sets = ["application", "re-tape"].contains(&kind);
        let hers = &self.clients[client];
        let mut rules = Vec::new();
        if line.value["plan"].is_string() && !hers.plans.iter().any(|plan| plan == line.get("plan")) {
            return Err(vec!["unknown"]);
        }
        if self.open_visit(client).is_some() {
            rules.push("visit-open");
        }
        if self.last_visit(client).is_some_and(|last| day(line.get("on")) < last) {
            rules.push("visit-day");
        }
        if sets && !line.value["plan"].is_string() {
            rules.push("visit-plan");
        }
        let reacted = hers.tests.last().is_some_and(|test| test.read.iter().any(|(_, found)| found != "clear"));
        if sets && reacted && !line.value["because"].is_string() {
            rules.push("skin-test");
        }
        if rules.is_empty() { Ok(vec![(super::hers(client), "visit_begun")]) } else { Err(rules) }
    }

    fn halves(&self, id: &str) -> Result<Events, Refusals> {
        let piece = self.pieces.get(id).filter(|piece| piece.at != At::Missing).ok_or(vec!["unknown"])?;
        match (&piece.at, piece.half, &piece.hers) {
            (At::Shelf, false, _) => Ok(vec![("shelf".to_owned(), "piece_halved")]),
            (At::Bag(_), false, Some(client)) if self.open_visit(client).is_some() => Ok(vec![(super::hers(client), "step_done")]),
            _ => Err(vec!["cut"]),
        }
    }

    /// How many days something grew at a place.
    fn grew_for(&self, visit: &Visit, site: &str, on: Date) -> Option<i64> {
        let still = self.at_site(&visit.client, site, |_| true).first().map(|(_, since)| *since).filter(|since| *since < on);
        let out = || visit.steps.iter().rev().find(|step| step.did == "taken_out" && step.site == site).map(|step| step.days);
        still.map(|since| days_between(since, on)).or_else(out)
    }

    fn closes(&self, line: &Line, visit: &Visit) -> Result<Events, Refusals> {
        let (because, said) = (line.value["because"].is_string(), line.value["comfortable"].is_boolean());
        let mut rules = Vec::new();
        let well = ["moves_freely", "nothing_shows", "comfortable"].iter().all(|check| line.value[check] == true);
        let near = line.value["mm_off_scalp"].as_f64().is_some_and(|mm| mm < 3.0);
        let asked = visit.placed() > 0 && (visit.sets() || visit.kind == "check");
        if asked && !said || said && !because && (!well || near) {
            rules.push("closing-checks");
        }
        let still_in = self.hers_of(&visit.client).any(|(_, piece)| match &piece.at {
            At::Hair { since, plan, .. } => visit.kind == "removal" || *since < visit.on || *plan != visit.plan,
            _ => false,
        });
        if ["re-tape", "removal"].contains(&&*visit.kind) && still_in && !because {
            rules.push("all-out");
        }
        if !rules.is_empty() {
            return Err(rules);
        }
        let mut events = Vec::new();
        let plan = visit.plan.as_ref().filter(|_| visit.sets() && visit.placed() > 0);
        // Also where a set of that day had come out again.
        let stands = |plan: &String| self.plans[plan].placed == Some(visit.on.to_string()) && !self.plans[plan].ended;
        if plan.is_some_and(|plan| !stands(plan)) {
            events.push((super::hers(&visit.client), "plan_placed"));
        }
        events.push((super::hers(&visit.client), "visit_closed"));
        Ok(events)
    }

    fn places(&self, line: &Line, visit: &Visit) -> Result<Events, Refusals> {
        if visit.plan.is_none() {
            return Err(vec!["visit-plan"]);
        }
        let site = self.sites.iter().find(|site| site.name == line.get("site")).ok_or(vec!["site"])?;
        if !(visit.sets() || visit.kind == "check") {
            return Err(vec!["visit-kind"]);
        }
        let moved = line.value["moved_mm"].as_f64().unwrap_or(0.0);
        let named = |layer: &str| line.value[layer].as_str();
        if !self.at_site(&visit.client, &site.name, |plan| *plan == visit.plan).is_empty() {
            return Err(vec!["one-place"]);
        }
        if moved.abs() > 100.0 {
            return Err(vec!["moved"]);
        }
        if named("upper").is_some() && named("upper") == named("lower") {
            return Err(vec!["one-place"]);
        }
        let from = self.had_from(line, visit, site)?;
        let cut_here = from.iter().filter(|from| matches!(from, From::HersCut(_, true))).count();
        let mut events: Events = (0..=cut_here).map(|_| (super::hers(&visit.client), "step_done")).collect();
        let mut shelf = |kind, times: usize| events.extend((0..times).map(|_| ("shelf".to_owned(), kind)));
        let found: BTreeSet<&String> = from
            .iter()
            .enumerate()
            .filter(|(_, from)| matches!(from, From::Shelf { recorded: false, .. }))
            .map(|(layer, _)| &site.shades[layer])
            .collect();
        shelf("counted", found.len());
        shelf("piece_halved", from.iter().filter(|from| matches!(from, From::Shelf { cut: true, .. })).count());
        shelf("pieces_left", usize::from(from.iter().any(|from| self.is_from_shelf(from))));
        Ok(events)
    }

    fn is_from_shelf(&self, from: &From) -> bool {
        match from {
            From::Known(id) => self.pieces[id].at == At::Shelf,
            From::HersCut(..) => false,
            _ => true,
        }
    }

    /// From where each layer of a sandwich is had: as named; else her own with new tape, in the order they
    /// came out; else the shelf's.
    pub fn had_from(&self, line: &Line, visit: &Visit, site: &Site) -> Result<Vec<From>, Refusals> {
        let passes = line.value["because"].is_string();
        let (mut from, mut rules) = (Vec::new(), BTreeSet::new());
        for (at, name) in ["upper", "lower"].into_iter().take(site.shades.len()).enumerate() {
            let layer = Layer { shade: site.shades[at].clone(), length: site.length, half: site.half };
            let had = match line.value[name].as_str() {
                Some(id) => self.named(id, &visit.client, &layer, passes),
                None => self.chosen(line, visit, &layer, &from, passes),
            };
            match had {
                Ok(had) => from.push(had),
                Err(rule) => _ = rules.insert(rule),
            }
        }
        if rules.is_empty() { Ok(from) } else { Err(rules.into_iter().collect()) }
    }

    fn named(&self, id: &str, client: &str, layer: &Layer, passes: bool) -> Result<From, &'static str> {
        let piece = self.pieces.get(id).ok_or("one-head")?;
        match &piece.at {
            At::Shelf => {}
            _ if piece.hers.as_deref() != Some(client) => return Err("one-head"),
            At::Bag(_) if piece.tape == "new" || passes => {}
            _ => return Err("piece"),
        }
        if layer.half && !piece.half && !passes { Err("cut") } else { Ok(From::Known(id.to_owned())) }
    }

    fn chosen(&self, line: &Line, visit: &Visit, layer: &Layer, so_far: &[From], passes: bool) -> Result<From, &'static str> {
        if let Some(From::HersCut(whole, true)) = so_far.first() {
            return Ok(From::HersCut(whole.clone(), false));
        }
        let used =
            |id: &String| ["upper", "lower"].iter().any(|name| line.value[name] == **id) || so_far.contains(&From::Known(id.clone()));
        let mut bag: Vec<(u64, &String, &Piece)> = self
            .hers_of(&visit.client)
            .filter_map(|(id, piece)| if let At::Bag(order) = piece.at { Some((order, id, piece)) } else { None })
            .filter(|(_, id, _)| !used(id))
            .collect();
        bag.sort_by_key(|(order, id, _)| (*order, *id));
        let first = |half: bool| {
            let taped = |(_, _, piece): &&(u64, &String, &Piece)| piece.half == half && piece.tape == "new";
            let such = bag.iter().filter(taped).find(|(_, _, piece)| piece.serves(layer));
            such.or_else(|| bag.iter().find(taped)).map(|(_, id, _)| (*id).clone())
        };
        if let Some(own) = first(layer.half) {
            return Ok(From::Known(own));
        }
        if let Some(whole) = first(false).filter(|_| layer.half) {
            return Ok(From::HersCut(whole, true));
        }
        if !passes && bag.iter().any(|(_, _, piece)| layer.half || !piece.half) {
            return Err("new-adhesive");
        }
        // What the layer above takes of the same shade is there no more.
        let so_far = if self.same_shades(line) { so_far } else { &[] };
        if layer.half {
            if so_far.iter().any(|from| matches!(from, From::Shelf { cut: true, .. })) {
                return Ok(From::SecondHalf);
            }
            let lying = |(id, piece): &(&String, &Piece)| piece.at == At::Shelf && piece.half && piece.serves(layer) && !used(id);
            let taken = so_far.iter().filter(|from| **from == From::Half).count();
            if self.pieces.iter().filter(lying).count() > taken {
                return Ok(From::Half);
            }
        }
        let there: u64 =
            self.shelf.iter().filter(|lot| (&lot.shade, lot.length) == (&layer.shade, layer.length)).map(|lot| lot.pieces).sum();
        let named = ["upper", "lower"].iter().filter_map(|name| self.pieces.get(line.value[name].as_str()?));
        let named = named.filter(|piece| piece.at == At::Shelf && !piece.half && piece.serves(layer)).count();
        let taken = so_far.iter().filter(|from| matches!(from, From::Shelf { recorded: true, .. })).count();
        let recorded = there > (named + taken) as u64;
        if recorded || passes { Ok(From::Shelf { cut: layer.half, recorded }) } else { Err("shelf") }
    }

    fn same_shades(&self, line: &Line) -> bool {
        self.sites
            .iter()
            .find(|site| site.name == line.get("site"))
            .is_some_and(|site| site.shades.iter().all(|shade| *shade == site.shades[0]))
    }
}
