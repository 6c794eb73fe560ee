//! Diary and money, told plainly: who comes when, what was invoiced, paid and given back.

use super::{Events, Line, Model, Refusals};
use jiff::civil::Date;
use measure::RuleBook;
use salon::book::{VisitKind, predicted_minutes};
use serde_json::{Value, json};

#[derive(Debug, Clone, PartialEq)]
pub struct Appointment {
    pub client: String,
    pub kind: String,
    pub day: Date,
    pub at: u64,
    pub minutes: u64,
    /// Nothing where it is the owner.
    pub person: Option<String>,
    pub cancelled: bool,
}

impl Appointment {
    fn clashes(&self, other: &Self) -> bool {
        (&self.person, self.day) == (&other.person, other.day) && self.at < other.at + other.minutes && other.at < self.at + self.minutes
    }
}

#[derive(Debug, Clone)]
pub struct Invoice {
    pub on: String,
    pub visit: String,
    pub total: i64,
    pub tax: i64,
    pub paid: i64,
}

#[derive(Debug, Clone)]
pub struct Payment {
    pub invoice: u64,
    pub on: String,
    pub minor: i64,
    pub by: String,
    pub taken: bool,
}

/// What the house says of taxes: thousandths of a percent, and whether prices hold them.
#[derive(Debug, Clone, Copy, Default)]
pub struct Taxes {
    pub milli_percent: i64,
    pub included: bool,
}

pub fn minutes_of(at: &str) -> u64 {
    let (hours, minutes) = at.split_once(':').unwrap();
    hours.parse::<u64>().unwrap() * 60 + minutes.parse::<u64>().unwrap()
}

fn time_of(minutes: u64) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// The farthest day, from that of the act, that is booked without a reason.
const AHEAD: i64 = 400;

impl Model {
    /// An appointment as a line would have it.
    fn wanted(&self, line: &Line) -> Result<Appointment, &'static str> {
        let (client, kind) = (line.get("client").to_owned(), line.get("kind").to_owned());
        let sandwiches = (!self.clients[&client].plans.is_empty()).then_some(self.sites.len() as u32);
        let word = VisitKind::from_word(&kind).unwrap();
        let predicted = || predicted_minutes(word, sandwiches, &RuleBook::standard()).map(u64::from);
        let minutes = line.value["minutes"].as_u64().or_else(predicted).ok_or("minutes")?;
        let person = line.value["person"].as_str().map(str::to_owned);
        let (day, at) = (line.get("day").parse().unwrap(), minutes_of(line.get("at")));
        Ok(Appointment { client, kind, day, at, minutes, person, cancelled: false })
    }

    fn moved(&self, line: &Line, was: &Appointment) -> Appointment {
        let text = |key: &str| line.value[key].as_str();
        Appointment {
            day: text("day").map_or(was.day, |day| day.parse().unwrap()),
            at: text("at").map_or(was.at, minutes_of),
            minutes: line.value["minutes"].as_u64().unwrap_or(was.minutes),
            person: text("person").map_or_else(|| was.person.clone(), |person| Some(person.to_owned())),
            ..was.clone()
        }
    }

    fn may_stand(&self, booked: &Appointment, but: &str, line: &Line) -> Result<(), Refusals> {
        let on: Date = line.get("on").parse().unwrap();
        let mut rules = Vec::new();
        if booked.day < on {
            rules.push("past-day");
        }
        if i64::from((booked.day - on).get_days()) > AHEAD && !line.value["because"].is_string() {
            rules.push("diary-ahead");
        }
        if booked.minutes == 0 {
            rules.push("minutes");
        } else if booked.at + booked.minutes > 24 * 60 {
            rules.push("midnight");
        }
        if rules.is_empty() && self.diary.iter().any(|(id, other)| id != but && !other.cancelled && other.clashes(booked)) {
            rules.push("one-place");
        }
        if rules.is_empty() { Ok(()) } else { Err(rules) }
    }

    pub fn till(&self, line: &Line) -> Result<Events, Refusals> {
        let unknown_person = line.value["person"].as_str().is_some_and(|person| !self.people.iter().any(|known| known == person));
        match line.get("act") {
            "appointment book" => {
                if unknown_person {
                    return Err(vec!["unknown"]);
                }
                let booked = self.wanted(line).map_err(|rule| vec![rule])?;
                self.may_stand(&booked, "", line)?;
                Ok(vec![("diary".to_owned(), "appointment_booked")])
            }
            "appointment move" | "appointment cancel" => {
                let held = self.diary.get(line.get("appointment")).ok_or(vec!["unknown"])?;
                if line.value["client"].as_str().is_some_and(|client| client != held.client) {
                    return Err(vec!["appointment"]);
                }
                if unknown_person {
                    return Err(vec!["unknown"]);
                }
                if held.cancelled {
                    return Err(vec!["cancelled"]);
                }
                if line.get("act") == "appointment cancel" {
                    return Ok(vec![("diary".to_owned(), "appointment_cancelled")]);
                }
                let moved = self.moved(line, held);
                if moved == *held {
                    return Ok(Vec::new());
                }
                self.may_stand(&moved, line.get("appointment"), line)?;
                Ok(vec![("diary".to_owned(), "appointment_moved")])
            }
            "invoice make" => self.invoiced(line).map(|_| vec![("money".to_owned(), "invoice_made")]),
            _ => self.pays(line),
        }
    }

    /// The invoice that a line asks for.
    fn invoiced(&self, line: &Line) -> Result<Invoice, Refusals> {
        let (id, client, on) = (line.get("visit"), line.get("client"), line.get("on"));
        let visit = self.visits.get(id).filter(|visit| visit.client == client).ok_or(vec!["unknown"])?;
        if visit.closed.is_none() || visit.plan.is_none() {
            return Err(vec!["price"]);
        }
        let sum = match &*visit.kind {
            "application" => self.quote[0],
            "re-tape" => self.quote[1],
            _ => return Err(vec!["sums"]),
        };
        let mut rules = Vec::new();
        if self.invoices.iter().any(|invoice| invoice.visit == id) {
            rules.push("one-invoice");
        }
        if visit.on.to_string().as_str() > on {
            rules.push("invoice-day");
        }
        if sum <= 0 {
            rules.push("sums");
        }
        if !rules.is_empty() {
            return Err(rules);
        }
        // Half a minor unit is rounded up: n/d half up is the floor of (2n+d)/2d.
        let (rate, whole) = (self.taxes.milli_percent, 100_000);
        let half_up = |n: i64, d: i64| (2 * n + d).div_euclid(2 * d);
        let tax = if self.taxes.included { half_up(sum * rate, whole + rate) } else { half_up(sum * rate, whole) };
        let total = if self.taxes.included { sum } else { sum + tax };
        Ok(Invoice { on: on.to_owned(), visit: id.to_owned(), total, tax, paid: 0 })
    }

    fn pays(&self, line: &Line) -> Result<Events, Refusals> {
        let minor = line.value["minor"].as_i64().unwrap();
        if minor <= 0 {
            return Err(vec!["sums"]);
        }
        let number = line.value["invoice"].as_u64().unwrap() as usize;
        let invoice = number.checked_sub(1).and_then(|at| self.invoices.get(at)).ok_or(vec!["unknown"])?;
        match line.get("act") {
            "payment take" if minor > invoice.total - invoice.paid => Err(vec!["owed"]),
            "payment take" => Ok(vec![("money".to_owned(), "payment_taken")]),
            _ if minor > invoice.paid => Err(vec!["paid"]),
            _ => Ok(vec![("money".to_owned(), "payment_returned")]),
        }
    }

    pub fn till_done(&mut self, line: &Line, answer: &Value) {
        match line.get("act") {
            "appointment book" => {
                let booked = self.wanted(line).unwrap();
                assert_eq!(answer["minutes"], booked.minutes, "{answer}");
                self.diary.insert(answer["appointment"].as_str().unwrap().to_owned(), booked);
            }
            "appointment move" => {
                let moved = self.moved(line, &self.diary[line.get("appointment")]);
                self.diary.insert(line.get("appointment").to_owned(), moved);
            }
            "appointment cancel" => self.diary.get_mut(line.get("appointment")).unwrap().cancelled = true,
            "invoice make" => {
                let made = self.invoiced(line).unwrap();
                let number = self.invoices.len() + 1;
                assert_eq!(
                    (&answer["invoice"], &answer["total_minor"], &answer["tax_minor"]),
                    (&json!(number), &json!(made.total), &json!(made.tax))
                );
                self.invoices.push(made);
            }
            act => {
                let (number, minor, taken) =
                    (line.value["invoice"].as_u64().unwrap(), line.value["minor"].as_i64().unwrap(), act == "payment take");
                let invoice = &mut self.invoices[number as usize - 1];
                invoice.paid += if taken { minor } else { -minor };
                assert_eq!((&answer["paid_minor"], &answer["owed_minor"]), (&json!(invoice.paid), &json!(invoice.total - invoice.paid)));
                let (on, by) = (line.get("on").to_owned(), line.get("by").to_owned());
                self.payments.push(Payment { invoice: number, on, minor, by, taken });
            }
        }
    }

    /// Hers from a day on that stand.
    pub fn to_come(&self, client: &str, on: &str) -> Vec<String> {
        let on: Date = on.parse().unwrap();
        let stands = |held: &Appointment| held.client == client && held.day >= on && !held.cancelled;
        self.diary.iter().filter(|(_, held)| stands(held)).map(|(id, _)| id.clone()).collect()
    }

    /// The diary of a day as it is shown.
    pub fn same_diary(&self, shown: &Value, on: &str) {
        let on: Date = on.parse().unwrap();
        let lines = shown["diary"].as_array().unwrap();
        let mut begins: Vec<&str> = Vec::new();
        let mut ids: Vec<&str> = Vec::new();
        for line in lines {
            let id = line["appointment"].as_str().unwrap();
            let held = self.diary.get(id).unwrap_or_else(|| panic!("nobody booked {line}"));
            let label = self.clients.get(&held.client).map(|client| &client.label);
            let is = [json!(held.client), json!(label), json!(held.kind), json!(held.minutes), json!(time_of(held.at + held.minutes))];
            assert_eq!([&line["client"], &line["label"], &line["kind"], &line["minutes"], &line["ends"]], is.each_ref());
            if let Some(person) = &held.person {
                assert_eq!(line["person"], json!(person));
            }
            assert_eq!(line["at"], json!(time_of(held.at)));
            begins.push(line["at"].as_str().unwrap());
            ids.push(id);
        }
        assert!(begins.is_sorted(), "{begins:?}");
        ids.sort_unstable();
        let all: Vec<&String> = self.diary.iter().filter(|(_, held)| held.day == on && !held.cancelled).map(|(id, _)| id).collect();
        assert_eq!(ids, all, "{on}");
    }

    /// The day book of a span of days as it is shown.
    pub fn same_day_book(&self, shown: &Value, from: &str, to: &str) {
        let within = |on: &String| (from..=to).contains(&on.as_str());
        let mut sums = [0_i64; 7];
        let mut invoices = Vec::new();
        for (invoice, number) in self.invoices.iter().zip(1..) {
            if within(&invoice.on) {
                (sums[0], sums[1]) = (sums[0] + invoice.total, sums[1] + invoice.tax);
                invoices.push(json!([number, invoice.on, invoice.total, invoice.tax]));
            }
        }
        let mut payments = Vec::new();
        for paid in self.payments.iter().filter(|paid| within(&paid.on)) {
            let kind = if paid.taken { "taken" } else { "returned" };
            payments.push(json!([paid.invoice, paid.on, paid.minor, paid.by, kind]));
            sums[if paid.taken { 2 } else { 3 }] += paid.minor;
            let way = ["cash", "card", "transfer"].iter().position(|way| *way == paid.by).unwrap();
            sums[4 + way] += if paid.taken { paid.minor } else { -paid.minor };
        }
        let picked = |list: &str, keys: &[&str]| -> Vec<Value> {
            shown[list].as_array().unwrap().iter().map(|line| keys.iter().map(|key| line[key].clone()).collect()).collect()
        };
        assert_eq!(picked("invoices", &["invoice", "on", "total_minor", "tax_minor"]), invoices);
        assert_eq!(picked("payments", &["invoice", "on", "minor", "by", "kind"]), payments);
        let keys = ["total_minor", "tax_minor", "taken_minor", "returned_minor", "cash_minor", "card_minor", "transfer_minor"];
        assert_eq!(keys.map(|key| shown["totals"][key].as_i64().unwrap()), sums);
    }
}
