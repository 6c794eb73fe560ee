//! Money and diary through the one door, line by line: every act, every refusal, stale
//! versions, the same key twice; years that go by; export, erasure and rebuilt views.

#[path = "../../store/tests/ground/mod.rs"]
mod ground;

use desk::acts::Ended;
use desk::{Passphrase, Place, Salon};
use serde_json::{Value, json};
use std::path::Path;

/// Boxed: a test that does forty acts would hold forty of them on its stack.
async fn told(salon: &Salon, line: &Value) -> (Value, Ended) {
    Box::pin(salon.act(&line.to_string())).await
}

async fn done(salon: &Salon, line: Value) -> Value {
    let (answer, ended) = told(salon, &line).await;
    assert_eq!(ended, Ended::Done, "{line}\n{answer}");
    answer
}

/// The rule of the first fault; nothing was written.
async fn refused(salon: &Salon, line: Value) -> String {
    let before = salon.audit().await.unwrap();
    let (answer, ended) = told(salon, &line).await;
    assert_eq!(ended, Ended::Refused, "{line}\n{answer}");
    for fault in answer["faults"].as_array().unwrap() {
        for key in ["what", "where", "rule", "cure"] {
            assert!(fault[key].as_str().is_some_and(|text| !text.is_empty()), "{answer}");
        }
    }
    assert_eq!(salon.audit().await.unwrap(), before, "nothing was written");
    answer["faults"][0]["rule"].as_str().unwrap().to_owned()
}

async fn no_act(salon: &Salon, line: Value) {
    let (answer, ended) = told(salon, &line).await;
    assert_eq!(ended, Ended::NoAct, "{line}\n{answer}");
}

fn kinds(answer: &Value) -> Vec<&str> {
    answer["events"].as_array().unwrap().iter().map(|event| event["kind"].as_str().unwrap()).collect()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap().to_owned()
}

fn visit(number: u32) -> String {
    format!("01972f3a-5b6c-7d8e-9f01-{number:012}")
}

/// A salon with a client whose set went in.
struct Ground {
    salon: Salon,
    client: String,
    person: String,
    /// Two visits of hers by that plan, both closed.
    visits: [String; 2],
    /// What her plan says: the sum of its quote, its minutes, its sandwiches.
    quote_minor: i64,
    minutes: u64,
    _folder: tempfile::TempDir,
}

async fn begun(folder: &Path) -> Salon {
    Salon::begin(&Place::Folder(folder.join("salon")), None).await.unwrap().salon
}

fn facts(name: &str) -> Value {
    json!({
        "client": {"name": name, "age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": true, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556}, "colour": {"lab_d65": [32.0, 8.0, 19.0]}
    })
}

/// The house's tax and what it asks ahead; prices with the tax in them, or not; none, where nothing is said.
async fn ground(house: Value) -> Ground {
    let folder = tempfile::tempdir().unwrap();
    let salon = begun(folder.path()).await;
    let mut set = json!({"act": "house set", "on": "2026-03-02", "name": "Chair", "currency": "EUR", "hour_minor": 6000, "zone": "Europe/Paris",
        "pieces": {"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350, 450]}});
    set.as_object_mut().unwrap().extend(house.as_object().unwrap().clone());
    done(&salon, set).await;
    let person =
        text(&done(&salon, json!({"act": "person add", "on": "2026-03-02", "name": "Ines", "role": "technician"})).await["person"]);
    let consents = json!([{"purpose": "health", "wording": "h-1"}]);
    let added = done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": facts("Ada Example"), "consents": consents})).await;
    let client = text(&added["client"]);
    let planned = done(&salon, json!({"act": "plan make", "on": "2026-03-02", "client": client})).await;
    let (quote_minor, minutes) = {
        let quote = &planned["document"]["quote"];
        (quote["total_minor"].as_i64().unwrap(), quote["minutes"].as_u64().unwrap())
    };
    assert!(quote_minor > 0 && minutes > 60);
    done(&salon, json!({"act": "plan place day", "on": "2026-03-09", "plan": planned["plan"], "day": "2026-03-09"})).await;
    let mut visits = [String::new(), String::new()];
    for visit in &mut visits {
        let begin = json!({"act": "visit begin", "on": "2026-03-09", "client": client, "kind": "application", "plan": planned["plan"]});
        *visit = text(&done(&salon, begin).await["visit"]);
        done(&salon, json!({"act": "visit close", "on": "2026-03-09", "visit": visit})).await;
    }
    Ground { salon, client, person, visits, quote_minor, minutes, _folder: folder }
}

async fn holds(salon: &Salon) {
    let checks = salon.show_checks().await.unwrap();
    let checks = checks["checks"].as_array().unwrap();
    assert!(checks.iter().all(|check| check["holds"] == true), "{checks:?}");
    assert!(checks.iter().any(|check| check["says"] == "invoice numbers count from one and none is left out"));
    assert!(checks.iter().any(|check| check["says"] == "nobody is booked twice at one time"));
}

async fn day_book(salon: &Salon, from: &str, to: &str) -> Value {
    salon.show_day_book(from.parse().unwrap(), to.parse().unwrap()).await.unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn an_invoice_is_made_paid_and_given_back() {
    let ground = ground(json!({"tax_percent": 8.875, "prices_include_tax": false, "deposit_percent": 30})).await;
    let (salon, client) = (&ground.salon, &ground.client);
    let make = |number: usize| json!({"act": "invoice make", "on": "2026-03-09", "client": client, "visit": ground.visits[number - 1]});
    let mut first = make(1);
    first["key"] = json!("the first");
    let made = done(salon, first.clone()).await;
    assert_eq!(kinds(&made), ["invoice_made"]);
    // In whole numbers, by another way than the program's: n/d half up is floor of (2n+d)/2d.
    let half_up = |n: i64, d: i64| (2 * n + d).div_euclid(2 * d);
    let tax = half_up(ground.quote_minor * 8875, 100_000);
    let total = ground.quote_minor + tax;
    assert_eq!((made["invoice"].as_u64(), made["total_minor"].as_i64(), made["tax_minor"].as_i64()), (Some(1), Some(total), Some(tax)));
    assert_eq!(made["deposit_minor"].as_i64(), Some(half_up(total * 30, 100)));
    assert_eq!(done(salon, first).await, made, "the same key twice is one invoice");
    assert_eq!(refused(salon, make(1)).await, "one-invoice");
    let mut early = make(2);
    early["on"] = json!("2026-03-08");
    assert_eq!(refused(salon, early).await, "invoice-day");
    let mut stale = make(2);
    stale["version"] = json!(0);
    assert_eq!(refused(salon, stale).await, "stale");
    let mut nobody = make(2);
    nobody["client"] = json!(visit(99));
    assert_eq!(refused(salon, nobody).await, "unknown");
    for (key, wrong) in [("visit", json!("today")), ("visit", json!(7)), ("client", json!("Ada")), ("due", json!("2026-02-30"))] {
        let mut line = make(2);
        line[key] = wrong;
        no_act(salon, line).await;
    }
    let mut named = make(2);
    (named["name"], named["due"], named["version"]) = (json!("A. Example & daughter"), json!("2026-03-23"), json!(1));
    assert_eq!(done(salon, named).await["invoice"], 2);

    let pay = |act: &str, number: u64, minor: i64| json!({"act": act, "on": "2026-03-10", "at": "11:00", "invoice": number, "minor": minor, "by": "card"});
    let mut deposit = pay("payment take", 1, 1000);
    (deposit["key"], deposit["person"]) = (json!("deposit"), json!(ground.person));
    let paid = done(salon, deposit.clone()).await;
    assert_eq!((paid["paid_minor"].as_i64(), paid["owed_minor"].as_i64()), (Some(1000), Some(total - 1000)));
    assert_eq!((paid["total_minor"].as_i64(), paid["tax_minor"].as_i64(), paid["version"].as_u64()), (Some(total), Some(tax), Some(3)));
    assert_eq!(done(salon, deposit).await, paid);
    for (act, number, minor, rule) in [
        ("payment take", 1, 0, "sums"),
        ("payment take", 1, -1, "sums"),
        ("payment take", 1, i64::MIN, "sums"),
        ("payment take", 1, total - 999, "owed"),
        ("payment take", 1, i64::MAX, "owed"),
        ("payment take", 3, 5, "unknown"),
        ("payment take", 0, 5, "unknown"),
        ("payment return", 1, 1001, "paid"),
        ("payment return", 1, 0, "sums"),
        ("payment return", 2, 1, "paid"),
        ("payment return", 9, 1, "unknown"),
    ] {
        assert_eq!(refused(salon, pay(act, number, minor)).await, rule, "{act} {minor}");
    }
    let mut stale = pay("payment take", 1, 5);
    stale["version"] = json!(2);
    assert_eq!(refused(salon, stale).await, "stale");
    let mut beads = pay("payment take", 1, 5);
    beads["by"] = json!("beads");
    no_act(salon, beads).await;
    let mut odd = pay("payment take", 1, 5);
    odd["minor"] = json!(5.5);
    no_act(salon, odd).await;
    let mut stranger = pay("payment take", 1, 5);
    stranger["person"] = json!(visit(98));
    assert_eq!(refused(salon, stranger).await, "unknown");
    assert_eq!(done(salon, pay("payment return", 1, 400)).await["owed_minor"].as_i64(), Some(total - 600));
    done(salon, pay("payment take", 1, total - 600)).await;
    assert_eq!(refused(salon, pay("payment take", 1, 1)).await, "owed");

    let book = day_book(salon, "2026-03-09", "2026-03-10").await;
    let invoices: Vec<Value> = book["invoices"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| json!([line["invoice"], line["on"], line["total_minor"], line["tax_minor"]]))
        .collect();
    assert_eq!(invoices, [json!([1, "2026-03-09", total, tax]), json!([2, "2026-03-09", total, tax])]);
    let payments: Vec<i64> = book["payments"].as_array().unwrap().iter().map(|line| line["minor"].as_i64().unwrap()).collect();
    assert_eq!(payments, [1000, 400, total - 600]);
    let totals = &book["totals"];
    assert_eq!(
        (totals["currency"].as_str(), totals["total_minor"].as_i64(), totals["tax_minor"].as_i64()),
        (Some("EUR"), Some(2 * total), Some(2 * tax))
    );
    assert_eq!((totals["taken_minor"].as_i64(), totals["returned_minor"].as_i64()), (Some(total + 400), Some(400)));
    assert_eq!((totals["card_minor"].as_i64(), totals["cash_minor"].as_i64()), (Some(total), Some(0)));
    let none = day_book(salon, "2026-03-11", "2026-04-10").await;
    assert_eq!((none["invoices"].as_array().unwrap().len(), none["totals"]["total_minor"].as_i64()), (0, Some(0)));
    assert!(salon.show_day_book("2026-03-10".parse().unwrap(), "2026-03-09".parse().unwrap()).await.is_err());
    holds(salon).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn prices_may_hold_the_tax_already_and_a_plan_without_a_price_makes_no_invoice() {
    let ground = ground(json!({"tax_percent": 20, "prices_include_tax": true})).await;
    let salon = &ground.salon;
    let made = done(salon, json!({"act": "invoice make", "on": "2026-03-09", "client": ground.client, "visit": ground.visits[0]})).await;
    assert_eq!(made["total_minor"].as_i64(), Some(ground.quote_minor));
    assert_eq!(made["tax_minor"].as_i64(), Some((2 * ground.quote_minor * 20 + 120).div_euclid(240)));
    assert!(made.get("deposit_minor").is_none());
    let other = done(salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Bea Example"}}})).await;
    let invoice = |visit: &Value| json!({"act": "invoice make", "on": "2026-03-09", "client": other["client"], "visit": visit});
    assert_eq!(refused(salon, invoice(&json!(ground.visits[1]))).await, "unknown", "that visit is another client's");
    let looked = done(salon, json!({"act": "visit begin", "on": "2026-03-09", "client": other["client"], "kind": "consultation"})).await;
    assert_eq!(refused(salon, invoice(&looked["visit"])).await, "price", "it goes on");
    done(salon, json!({"act": "visit close", "on": "2026-03-09", "visit": looked["visit"]})).await;
    assert_eq!(refused(salon, invoice(&looked["visit"])).await, "price", "it went by no plan");
    assert_eq!(refused(salon, json!({"act": "house set", "on": "2026-03-02", "tax_percent": 19.60001})).await, "house");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_appointment_is_booked_moved_and_cancelled() {
    let ground = ground(json!({})).await;
    let (salon, client) = (&ground.salon, &ground.client);
    let book = |kind: &str, day: &str, at: &str| json!({"act": "appointment book", "on": "2026-03-02", "client": client, "kind": kind, "day": day, "at": at, "person": ground.person});
    let mut first = book("application", "2026-03-10", "10:30");
    first["key"] = json!("first");
    let booked = done(salon, first.clone()).await;
    assert_eq!(kinds(&booked), ["appointment_booked"]);
    assert_eq!(booked["minutes"].as_u64(), Some(ground.minutes), "as long as her plan's quote says");
    assert_eq!(done(salon, first).await, booked);
    let appointment = text(&booked["appointment"]);
    let diary = async |on: &str| salon.show_diary(on.parse().unwrap()).await.unwrap()["diary"].as_array().unwrap().clone();
    let of_day = diary("2026-03-10").await;
    let line = &of_day[0];
    let ends = 10 * 60 + 30 + ground.minutes;
    assert_eq!(of_day.len(), 1);
    assert_eq!(
        (line["appointment"].as_str(), line["client"].as_str(), line["label"].as_str()),
        (Some(&*appointment), Some(&**client), Some("Ada Example"))
    );
    assert_eq!((line["kind"].as_str(), line["at"].as_str()), (Some("application"), Some("10:30")));
    assert_eq!((line["minutes"].as_u64(), line["person"].as_str()), (Some(ground.minutes), Some(&*ground.person)));
    assert_eq!(text(&line["ends"]), format!("{:02}:{:02}", ends / 60, ends % 60));

    let edit = |mut line: Value, key: &str, value: Value| {
        line[key] = value;
        line
    };
    let taken = book("consultation", "2026-03-10", "11:00");
    assert_eq!(refused(salon, taken.clone()).await, "one-place");
    for (line, rule) in [
        (book("consultation", "2026-03-01", "11:00"), "past-day"),
        (book("consultation", "2036-03-01", "11:00"), "diary-ahead"),
        (edit(taken.clone(), "minutes", json!(0)), "minutes"),
        (edit(taken.clone(), "minutes", json!(u32::MAX)), "midnight"),
        (edit(taken.clone(), "person", json!(visit(98))), "unknown"),
        (edit(taken.clone(), "client", json!(visit(99))), "unknown"),
        (edit(taken.clone(), "version", json!(0)), "stale"),
    ] {
        assert_eq!(refused(salon, line).await, rule);
    }
    for (key, wrong) in [
        ("at", json!("25:00")),
        ("at", json!("9:00")),
        ("day", json!("2026-02-30")),
        ("kind", json!("party")),
        ("minutes", json!(-5)),
        ("minutes", json!(1e12)),
    ] {
        no_act(salon, edit(taken.clone(), key, wrong)).await;
    }
    // Somebody else is free; without a person it is whoever acts.
    let mut owner = taken.clone();
    owner.as_object_mut().unwrap().remove("person");
    let second = done(salon, owner).await;
    let far = edit(book("check", "2036-03-03", "11:00"), "because", json!("her silver wedding"));
    done(salon, far).await;
    let newcomer = done(salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Bea Example"}}})).await;
    let unplanned = edit(book("re-tape", "2026-03-11", "11:00"), "client", newcomer["client"].clone());
    assert_eq!(refused(salon, unplanned.clone()).await, "minutes");
    assert_eq!(done(salon, edit(unplanned, "minutes", json!(90))).await["minutes"], 90);

    let moving = |more: Value| {
        let mut line = json!({"act": "appointment move", "on": "2026-03-03", "appointment": appointment});
        line.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        line
    };
    for (line, rule) in [
        (moving(json!({"day": "2026-03-02"})), "past-day"),
        (moving(json!({"person": "00000000-0000-0000-0000-000000000000"})), "unknown"),
        (moving(json!({"day": "2026-03-11", "at": "10:45"})), "one-place"),
        (moving(json!({"minutes": 1400})), "midnight"),
        (moving(json!({"client": newcomer["client"], "at": "09:00"})), "appointment"),
        (moving(json!({"version": 1, "at": "09:00"})), "stale"),
        (json!({"act": "appointment move", "on": "2026-03-03", "appointment": visit(97), "at": "09:00"}), "unknown"),
        (json!({"act": "appointment cancel", "on": "2026-03-03", "appointment": visit(97)}), "unknown"),
    ] {
        assert_eq!(refused(salon, line).await, rule);
    }
    let moved = done(salon, moving(json!({"day": "2026-03-12", "at": "09:15", "client": client}))).await;
    assert_eq!((kinds(&moved), moved["minutes"].as_u64()), (vec!["appointment_moved"], Some(ground.minutes)));
    assert_eq!(kinds(&done(salon, moving(json!({"at": "09:15"}))).await), Vec::<&str>::new(), "it stands there already");
    assert_eq!(done(salon, moving(json!({"minutes": 60}))).await["minutes"], 60);
    assert_eq!((diary("2026-03-12").await[0]["at"].as_str(), diary("2026-03-10").await.len()), (Some("09:15"), 1));
    let cancel = json!({"act": "appointment cancel", "on": "2026-03-03", "appointment": appointment, "reason": "she has a cold"});
    assert_eq!(kinds(&done(salon, cancel.clone()).await), ["appointment_cancelled"]);
    assert_eq!(refused(salon, cancel).await, "cancelled");
    assert_eq!(refused(salon, moving(json!({"at": "12:00"}))).await, "cancelled");
    assert!(diary("2026-03-12").await.is_empty());
    done(salon, json!({"act": "appointment cancel", "on": "2026-03-03", "appointment": second["appointment"]})).await;
    holds(salon).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn years_later_the_answers_are_the_same() {
    let ground = ground(json!({})).await;
    let (salon, client) = (&ground.salon, &ground.client);
    done(salon, json!({"act": "invoice make", "on": "2026-03-09", "client": client, "visit": ground.visits[0]})).await;
    done(salon, json!({"act": "payment take", "on": "2026-03-09", "invoice": 1, "minor": ground.quote_minor, "by": "cash"})).await;
    let booking = |on: &str, day: &str, at: &str| json!({"act": "appointment book", "on": on, "client": client, "kind": "check", "day": day, "at": at});
    let old = done(salon, booking("2026-03-09", "2026-03-20", "10:00")).await;
    // Two years go by.
    done(salon, json!({"act": "invoice make", "on": "2028-03-09", "client": client, "visit": ground.visits[1]})).await;
    done(salon, booking("2028-03-09", "2028-03-20", "10:00")).await;
    // What the books in force hold no longer is found in the events.
    assert_eq!(
        refused(salon, json!({"act": "invoice make", "on": "2028-03-10", "client": client, "visit": ground.visits[0]})).await,
        "one-invoice"
    );
    assert_eq!(refused(salon, json!({"act": "payment take", "on": "2028-03-10", "invoice": 1, "minor": 1, "by": "cash"})).await, "owed");
    let back = |minor: i64| json!({"act": "payment return", "on": "2028-03-10", "invoice": 1, "minor": minor, "by": "card"});
    assert_eq!(refused(salon, back(ground.quote_minor + 1)).await, "paid");
    assert_eq!(done(salon, back(100)).await["owed_minor"], 100);
    assert_eq!(salon.show_diary("2026-03-20".parse().unwrap()).await.unwrap()["diary"].as_array().unwrap().len(), 1);
    assert_eq!(refused(salon, booking("2026-03-10", "2026-03-20", "10:10")).await, "one-place");
    let moved =
        json!({"act": "appointment move", "on": "2028-03-10", "appointment": old["appointment"], "day": "2028-03-20", "at": "10:05"});
    assert_eq!(refused(salon, moved.clone()).await, "one-place");
    let mut free = moved;
    free["at"] = json!("15:00");
    done(salon, free).await;
    let of_day = salon.show_diary("2028-03-20".parse().unwrap()).await.unwrap();
    assert_eq!(of_day["diary"].as_array().unwrap().len(), 2);
    assert!(salon.show_diary("2026-03-20".parse().unwrap()).await.unwrap()["diary"].as_array().unwrap().is_empty());
    holds(salon).await;
    salon.rebuild_views().await.unwrap();
    holds(salon).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn erased_she_leaves_the_diary_and_stays_in_the_books_as_the_law_asks() {
    let ground = ground(json!({"tax_percent": 20})).await;
    let (salon, client) = (&ground.salon, &ground.client);
    done(salon, json!({"act": "invoice make", "on": "2026-03-09", "client": client, "visit": ground.visits[0]})).await;
    for (day, on) in [("2026-03-20", "2026-03-09"), ("2026-05-20", "2026-03-09")] {
        done(salon, json!({"act": "appointment book", "on": on, "client": client, "kind": "check", "day": day, "at": "10:00", "key": day}))
            .await;
    }
    // Out in open files and back, money and diary are the same.
    let folders = tempfile::tempdir().unwrap();
    let (first, second) = (folders.path().join("first"), folders.path().join("second"));
    salon.export(&first).await.unwrap();
    let imported = Salon::import(&first, &Place::Folder(folders.path().join("imported")), None).await.unwrap().salon;
    holds(&imported).await;
    imported.export(&second).await.unwrap();
    imported.close().await;
    for stream in ["money", "diary"] {
        let read = |folder: &Path| std::fs::read_to_string(folder.join(stream).join("events.jsonl")).unwrap();
        assert_eq!(read(&first), read(&second));
        assert!(read(&first).lines().count() > 0);
        // An event that could not be read again is refused.
        std::fs::write(
            second.join(stream).join("events.jsonl"),
            "{\"format\":1,\"by\":\"00000000-0000-0000-0000-000000000000\",\"event\":{\"on\":\"2026-03-02\",\"kind\":\"danced\"}}\n",
        )
        .unwrap();
        assert!(Salon::import(&second, &Place::Folder(folders.path().join(format!("odd-{stream}"))), None).await.is_err());
    }
    let erased = done(salon, json!({"act": "client erase", "on": "2026-04-01", "client": client, "reason": "she asked"})).await;
    assert_eq!(kinds(&erased), ["client_erased", "appointment_cancelled"]);
    let kept = erased["kept"].as_array().unwrap();
    assert_eq!(kept.len(), 3);
    assert!(text(&kept[2]).contains("invoices (1)"), "{kept:?}");
    let book = day_book(salon, "2026-03-01", "2026-12-31").await;
    assert_eq!((book["invoices"][0]["invoice"].as_u64(), book["invoices"][0]["name"].as_str()), (Some(1), Some("Ada Example")));
    // What is past stays in the diary, without a name; what was to come is gone.
    let past = salon.show_diary("2026-03-20".parse().unwrap()).await.unwrap();
    assert_eq!(past["diary"].as_array().unwrap().len(), 1);
    assert!(past["diary"][0]["label"].is_null());
    assert!(salon.show_diary("2026-05-20".parse().unwrap()).await.unwrap()["diary"].as_array().unwrap().is_empty());
    assert_eq!(
        refused(
            salon,
            json!({"act": "appointment book", "on": "2026-04-01", "client": client, "kind": "check", "day": "2026-05-20", "at": "10:00"})
        )
        .await,
        "unknown"
    );
    assert_eq!(
        refused(salon, json!({"act": "invoice make", "on": "2026-04-01", "client": client, "visit": ground.visits[1]})).await,
        "unknown"
    );
    // What she still owes can be paid.
    done(salon, json!({"act": "payment take", "on": "2026-04-02", "invoice": 1, "minor": 5, "by": "cash"})).await;
    holds(salon).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn on_a_database_the_same_lines_give_the_same_books() {
    let server = ground::server();
    let phrase = Passphrase::new("four words and more".to_owned()).unwrap();
    let salon = Salon::begin(&server.place(), Some(&phrase)).await.unwrap().salon;
    let client =
        done(&salon, json!({"act": "client add", "on": "2026-03-02", "facts": {"client": {"name": "Ada Example"}}})).await["client"]
            .clone();
    let book = |at: &str| json!({"act": "appointment book", "on": "2026-03-02", "client": client, "kind": "consultation", "day": "2026-03-03", "at": at});
    let booked = done(&salon, book("10:00")).await;
    assert_eq!(refused(&salon, book("10:20")).await, "one-place");
    done(&salon, json!({"act": "appointment move", "on": "2026-03-02", "appointment": booked["appointment"], "at": "12:00"})).await;
    done(&salon, book("10:20")).await;
    assert_eq!(refused(&salon, json!({"act": "invoice make", "on": "2026-03-09", "client": client, "visit": visit(1)})).await, "unknown");
    assert_eq!(salon.show_diary("2026-03-03".parse().unwrap()).await.unwrap()["diary"].as_array().unwrap().len(), 2);
    holds(&salon).await;
    salon.rebuild_views().await.unwrap();
    holds(&salon).await;
    salon.close().await;
}
