//! A client's year, act by act: from the skin test through three re-tapes to the last removal.

use desk::acts::Ended;
use desk::show::Which;
use desk::{Place, Salon};
use serde_json::{Value, json};

async fn done(salon: &Salon, line: Value) -> Value {
    let (answer, ended) = salon.act(&line.to_string()).await;
    assert_eq!(ended, Ended::Done, "{line}\n{answer}");
    answer
}

/// The rule that refuses a line; nothing may have been written.
async fn refused(salon: &Salon, line: Value) -> String {
    let before = salon.audit().await.unwrap();
    let (answer, how) = salon.act(&line.to_string()).await;
    assert_eq!(how, Ended::Refused, "{line}\n{answer}");
    assert_eq!(salon.audit().await.unwrap(), before, "nothing was written");
    for fault in answer["faults"].as_array().unwrap() {
        for key in ["what", "where", "rule", "cure"] {
            assert!(fault[key].as_str().is_some_and(|text| !text.is_empty()), "{answer}");
        }
    }
    answer["faults"][0]["rule"].as_str().unwrap().to_owned()
}

async fn holds(salon: &Salon) {
    let checks = salon.show_checks().await.unwrap();
    let broken: Vec<&Value> = checks["checks"].as_array().unwrap().iter().filter(|check| check["holds"] != true).collect();
    assert!(broken.is_empty(), "{broken:?}");
}

fn facts(extensions_before: bool) -> Value {
    json!({
        "client": {"name": "Ada Example", "age_years": 31},
        "consultation": {
            "goal": "thickness", "fullness": "natural", "styles": ["down"], "part": "centre", "ties_up": "sometimes",
            "had_extensions": extensions_before, "reacted_before": false, "allergies": [], "scalp": [], "health": [], "consent": true
        },
        "hair": {"density_per_cm2": 180, "strand": "medium", "own_length_mm": 350, "processed": "none"},
        "head": {"circumference_mm": 556}, "colour": {"lab_d65": [32.0, 8.0, 19.0]}
    })
}

struct Chair {
    salon: Salon,
    client: Value,
    _folder: tempfile::TempDir,
}

impl Chair {
    /// A salon with a full shelf and a client.
    async fn begun() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let salon = Salon::begin(&Place::Folder(folder.path().to_owned()), None).await.unwrap().salon;
        let on = "2026-01-05";
        let ring: Value = serde_json::from_str(include_str!("../../../casebook/ring.json")).unwrap();
        let stock: Value = serde_json::from_str(include_str!("../../../casebook/stock.json")).unwrap();
        done(
            &salon,
            json!({"act": "house set", "on": on, "name": "Chair", "currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 20,
            "pieces": {"mass_g": 2.5, "tab_width_mm": 40, "tab_height_mm": 9, "lengths_mm": [350]}}),
        )
        .await;
        done(&salon, json!({"act": "ring set", "on": on, "shades": ring["shades"]})).await;
        done(&salon, json!({"act": "prices set", "on": on, "packs": stock["packs"], "suppliers": stock["suppliers"], "currency": "EUR"}))
            .await;
        for shade in ring["shades"].as_array().unwrap() {
            for lot in ["L1", "L2"] {
                done(
                    &salon,
                    json!({"act": "pack receive", "on": on, "lot": lot, "supplier": "north", "shade": shade["code"], "length_mm": 350,
                    "pieces": 20, "packs": 2}),
                )
                .await;
            }
        }
        let consents = json!([{"purpose": "health", "wording": "h-1"}]);
        let client =
            done(&salon, json!({"act": "client add", "on": on, "facts": facts(true), "consents": consents})).await["client"].clone();
        Self { salon, client, _folder: folder }
    }

    async fn act(&self, mut line: Value, on: &str) -> Value {
        line["on"] = json!(on);
        done(&self.salon, line).await
    }

    async fn refused(&self, mut line: Value, on: &str) -> String {
        line["on"] = json!(on);
        refused(&self.salon, line).await
    }

    async fn plan(&self, on: &str) -> (Value, Vec<Value>) {
        let made = self.act(json!({"act": "plan make", "client": self.client, "seed": 1}), on).await;
        (made["plan"].clone(), made["document"]["sites"].as_array().unwrap().clone())
    }

    async fn begin(&self, kind: &str, plan: &Value, on: &str) -> Value {
        self.act(json!({"act": "visit begin", "client": self.client, "kind": kind, "plan": plan}), on).await["visit"].clone()
    }

    async fn shown(&self, on: &str) -> Value {
        self.salon.show_client(self.client.as_str().unwrap().parse().unwrap(), on.parse().unwrap()).await.unwrap()
    }

    async fn pieces(&self, which: Which, on: &str) -> Vec<Value> {
        self.salon.show_pieces(which, on.parse().unwrap()).await.unwrap()["pieces"].as_array().unwrap().clone()
    }

    async fn piece(&self, id: &Value, on: &str) -> Value {
        self.salon.show_piece(id.as_str().unwrap().parse().unwrap(), on.parse().unwrap()).await.unwrap()
    }

    async fn close(&self, visit: &Value, on: &str) -> Value {
        let line = json!({"act": "visit close", "visit": visit, "moves_freely": true, "mm_off_scalp": 5, "nothing_shows": true, "comfortable": true});
        self.act(line, on).await
    }

    async fn on_shelf(&self) -> u64 {
        let shelf = self.salon.show_shelf().await.unwrap();
        shelf["shelf"].as_array().unwrap().iter().map(|lot| lot["pieces"].as_u64().unwrap()).sum()
    }

    /// A whole set goes in; its sandwiches by their sites.
    async fn set(&self, on: &str) -> Vec<(Value, [Value; 2])> {
        let (plan, sites) = self.plan(on).await;
        let visit = self.begin("application", &plan, on).await;
        let mut set = Vec::new();
        for site in &sites {
            let placed = self.act(json!({"act": "piece place", "visit": visit, "site": site["site"]}), on).await;
            set.push((site["site"].clone(), [placed["upper"].clone(), placed["lower"].clone()]));
        }
        let closed = self.close(&visit, on).await;
        assert!(closed["next"]["due"].is_string(), "{closed}");
        set
    }
}

#[tokio::test]
async fn a_set_is_followed_from_the_pack_through_three_retapes_to_the_removal() {
    let chair = Chair::begun().await;
    let shelf_before = chair.on_shelf().await;
    let mut days = ["2026-02-25", "2026-04-15", "2026-06-03"].iter();
    let set = chair.set("2026-01-07").await;
    holds(&chair.salon).await;
    let pieces: usize = set.iter().map(|(_, pieces)| pieces.iter().filter(|piece| !piece.is_null()).count()).sum();
    let halves = chair.pieces(Which::Of(chair.client.as_str().unwrap().parse().unwrap()), "2026-01-08").await;
    assert_eq!(halves.iter().filter(|piece| piece["where"] == "hair").count(), pieces);
    // In her hair in the order of the map, the one above first.
    let shown = chair.shown("2026-01-08").await;
    let order: Vec<&Value> = shown["pieces"].as_array().unwrap().iter().map(|piece| &piece["id"]).collect();
    assert_eq!(order, set.iter().flat_map(|(_, pieces)| pieces).collect::<Vec<_>>());
    assert!(chair.on_shelf().await < shelf_before);

    let (mut before, mut expected) = (set.clone(), std::collections::BTreeMap::new());
    for (_, pieces) in &set {
        for piece in pieces {
            expected.insert(piece.as_str().unwrap().to_owned(), 1);
        }
    }
    for on in days.by_ref().copied() {
        let (plan, sites) = chair.plan(on).await;
        again_and_new(&chair, &plan).await;
        let visit = chair.begin("re-tape", &plan, on).await;
        let mut out = Vec::new();
        for (site, pieces) in &before {
            let taken =
                chair.act(json!({"act": "piece take out", "visit": visit, "site": site, "state": "held", "shed_hairs": 7}), on).await;
            assert_eq!([&taken["upper"], &taken["lower"]], [&pieces[0], &pieces[1]]);
            out.extend(pieces.iter().cloned());
        }
        let (site, _) = &before[0];
        chair.act(json!({"act": "regrowth measure", "visit": visit, "site": site, "mm": 17}), on).await;
        for piece in &out {
            chair.act(json!({"act": "piece clean", "visit": visit, "piece": piece}), on).await;
            chair.act(json!({"act": "piece re-tape", "visit": visit, "piece": piece}), on).await;
        }
        let shelf = chair.on_shelf().await;
        let mut now = Vec::new();
        for site in &sites {
            let placed = chair.act(json!({"act": "piece place", "visit": visit, "site": site["site"]}), on).await;
            now.push((site["site"].clone(), [placed["upper"].clone(), placed["lower"].clone()]));
        }
        let used: Vec<&Value> = now.iter().flat_map(|(_, pieces)| pieces).collect();
        let again: Vec<&&Value> = used.iter().filter(|piece| out.contains(piece)).collect();
        assert_eq!(again.len(), out.len().min(used.len()), "her own pieces go in first");
        assert_eq!(shelf - chair.on_shelf().await, used.len().saturating_sub(again.len()) as u64);
        for piece in &used {
            *expected.entry(piece.as_str().unwrap().to_owned()).or_insert(0) += 1;
        }
        let closed = chair.close(&visit, on).await;
        assert!(closed["next"]["due"].as_str().unwrap() > on, "{closed}");
        holds(&chair.salon).await;
        before = now;
    }

    // The next plan knows where the slices were, and her own growth.
    let (_, kept) = chair.salon.plan(chair.plan("2026-07-20").await.0.as_str().unwrap().parse().unwrap()).await.unwrap();
    assert_eq!(kept.client.last_visit.unwrap().sites.unwrap().len(), before.len());
    assert_eq!(kept.observed.rests_on().0, 3);

    let on = "2026-07-22";
    let visit = chair.begin("removal", &Value::Null, on).await;
    assert_eq!(chair.refused(json!({"act": "visit close", "visit": visit}), on).await, "all-out");
    for (site, _) in &before {
        chair.act(json!({"act": "piece take out", "visit": visit, "site": site, "state": "held"}), on).await;
    }
    let closed = chair.act(json!({"act": "visit close", "visit": visit}), on).await;
    assert_eq!(closed["next"], Value::Null);
    assert_eq!(chair.shown(on).await["next"], Value::Null, "nothing is due any more");
    for (id, cycles) in expected {
        let piece = chair.piece(&json!(id), on).await;
        assert_eq!(piece["cycles"], cycles, "{piece}");
        let worn = |kind: &str| piece["events"].as_array().unwrap().iter().filter(|event| event["kind"] == kind).count();
        assert_eq!((worn("placed"), worn("taken_out")), (cycles, cycles), "{piece}");
        let days: u64 = piece["events"].as_array().unwrap().iter().filter_map(|event| event["days"].as_u64()).sum();
        assert_eq!(piece["days_worn"].as_u64(), Some(days));
        assert!(["pack_received", "piece_halved"].contains(&piece["events"][0]["kind"].as_str().unwrap()), "{piece}");
    }
    holds(&chair.salon).await;
}

/// What a re-tape's plan buys is what her own pieces do not serve, and its quote is a re-tape's.
async fn again_and_new(chair: &Chair, plan: &Value) {
    let (_, kept) = chair.salon.plan(plan.as_str().unwrap().parse().unwrap()).await.unwrap();
    let (plan, packs) = (&kept.plan, &kept.shelf.as_ref().unwrap().packs);
    let all: u32 = salon::plan::whole_pieces(&plan.sites).values().sum();
    let again: u32 = plan.again.iter().map(|own| own.pieces).sum();
    let buy = plan.buy.as_ref().unwrap();
    let bought: u32 = buy.buy.iter().map(|b| b.packs * packs.iter().find(|pack| pack.id == b.id).unwrap().pieces).sum();
    let left: u32 = buy.left_over.iter().map(|left| left.pieces).sum();
    let new = buy.from_stock.iter().map(|lot| lot.pieces).sum::<u32>() + bought - left;
    assert!(2 * again > all, "{again} of {all} pieces go back");
    assert_eq!(again + new, all);
    let quote = plan.quote.as_ref().unwrap();
    assert_eq!(quote.again_pieces, again);
    let tape = quote.lines.iter().find(|line| line.what == "New tape").unwrap();
    assert_eq!(tape.amount_minor, 20 * i64::from(again));
    let invoice = salon::book::lines_of_visit(salon::book::VisitKind::Retape, quote).unwrap();
    assert_eq!(invoice.iter().map(|line| line.minor).sum::<i64>(), quote.total_minor);
}

#[tokio::test]
async fn a_step_taken_back_leaves_shelf_and_pieces_as_they_were() {
    let chair = Chair::begun().await;
    let on = "2026-01-07";
    let (plan, sites) = chair.plan(on).await;
    let visit = chair.begin("application", &plan, on).await;
    assert_eq!(chair.refused(json!({"act": "step undo", "visit": visit}), on).await, "undo");
    let before = (chair.salon.show_shelf().await.unwrap(), chair.pieces(Which::All, on).await);
    let site = &sites[0]["site"];
    let placed = chair.act(json!({"act": "piece place", "visit": visit, "site": site}), on).await;
    assert_ne!(chair.salon.show_shelf().await.unwrap(), before.0);
    assert_eq!(chair.refused(json!({"act": "piece place", "visit": visit, "site": site}), on).await, "one-place");
    assert_eq!(chair.refused(json!({"act": "piece skip", "visit": visit, "site": site, "reason": "sore"}), on).await, "one-place");
    let undone = chair.act(json!({"act": "step undo", "visit": visit}), on).await;
    assert_eq!((&undone["undone"]["did"], &undone["undone"]["site"]), (&json!("placed"), site));
    assert_eq!((chair.salon.show_shelf().await.unwrap(), chair.pieces(Which::All, on).await), before);
    holds(&chair.salon).await;
    // The same pieces again, by number.
    let again = json!({"act": "piece place", "visit": visit, "site": site, "upper": placed["lower"], "lower": placed["upper"]});
    assert_eq!(chair.act(again, on).await["upper"], placed["lower"]);
    let life = chair.piece(&placed["upper"], on).await;
    let kinds: Vec<&str> = life["events"].as_array().unwrap().iter().map(|event| event["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["pack_received", "pieces_left", "pieces_back", "pieces_left", "placed", "undone", "placed"]);
}

#[tokio::test]
async fn one_more_than_planned_is_set_beside_and_the_next_plan_knows_its_slice() {
    let chair = Chair::begun().await;
    let on = "2026-01-07";
    let (plan, sites) = chair.plan(on).await;
    let visit = chair.begin("application", &plan, on).await;
    let last = |row: &str| sites.iter().rfind(|site| site["site"].as_str().unwrap().starts_with(row)).unwrap();
    let (beside, name) = (last("B1.")["site"].clone(), last("B1.")["site"].as_str().unwrap().to_owned());
    let add = |by: f64| json!({"act": "piece add", "visit": visit, "beside": beside, "by_mm": by});
    // A slice bears one sandwich, in the plan or in her hair; elsewhere and nowhere are no places.
    assert_eq!(chair.refused(add(10.0), on).await, "one-slice");
    assert_eq!(chair.refused(add(0.0), on).await, "usual-along");
    assert_eq!(chair.refused(add(900.0), on).await, "usual-along");
    assert_eq!(chair.refused(json!({"act": "piece add", "visit": visit, "beside": "B1.99", "by_mm": 60}), on).await, "site");
    let shelf = chair.on_shelf().await;
    let added = chair.act(add(60.0), on).await;
    let number = |name: &str| name.split_once('.').unwrap().1.parse::<u32>().unwrap();
    let first = added["site"].as_str().unwrap().to_owned();
    assert_eq!(number(&first), number(&name) + 1);
    assert!(chair.on_shelf().await < shelf);
    assert_eq!(chair.refused(add(62.0), on).await, "one-slice");
    let mut passed = add(62.0);
    passed["because"] = json!("her hair is twice as thick there");
    assert_eq!(number(chair.act(passed, on).await["site"].as_str().unwrap()), number(&name) + 2);
    chair.act(json!({"act": "step undo", "visit": visit}), on).await;
    // Where the plan's neighbour is left free, its slice is free too.
    assert_eq!(chair.refused(add(-2.0), on).await, "one-slice");
    chair.act(json!({"act": "piece skip", "visit": visit, "site": beside, "reason": "sore"}), on).await;
    chair.act(add(-2.0), on).await;
    chair.act(json!({"act": "step undo", "visit": visit}), on).await;
    chair.close(&visit, on).await;
    holds(&chair.salon).await;

    let (again, _) = chair.plan("2026-02-25").await;
    let (_, kept) = chair.salon.plan(again.as_str().unwrap().parse().unwrap()).await.unwrap();
    let last_visit = kept.client.last_visit.unwrap().sites.unwrap();
    let near = sites.iter().find(|site| site["site"] == beside).unwrap();
    let along = near["along_mm"].as_f64().unwrap() + 60.0;
    assert_eq!(last_visit.len(), 1);
    assert_eq!((last_visit[0].above_nape_mm, last_visit[0].along_mm), (near["above_nape_mm"].as_f64(), Some(along)));
    // It comes out by its name, as any other.
    let visit = chair.begin("removal", &Value::Null, "2026-02-26").await;
    let out = chair.act(json!({"act": "piece take out", "visit": visit, "site": first, "state": "held"}), "2026-02-26").await;
    assert_eq!(out["upper"], added["upper"]);
    holds(&chair.salon).await;
}

#[tokio::test]
async fn what_protects_her_stops_a_visit_until_a_reason_is_kept() {
    let chair = Chair::begun().await;
    let change = |before: bool| json!({"act": "client change", "client": chair.client, "facts": facts(before)});
    chair.act(change(false), "2026-01-06").await;
    let on = "2026-01-12";
    let (plan, sites) = chair.plan(on).await;
    let begin = json!({"act": "visit begin", "client": chair.client, "kind": "application", "plan": plan});
    assert_eq!(chair.refused(begin.clone(), on).await, "skin-test");
    chair.act(json!({"act": "skin test set", "client": chair.client, "lot": "L1", "place": "behind the left ear"}), "2026-01-08").await;
    assert_eq!(chair.refused(begin.clone(), on).await, "skin-test");
    chair.act(json!({"act": "skin test read", "client": chair.client, "found": "clear"}), "2026-01-10").await;
    assert_eq!(chair.refused(json!({"act": "skin test read", "client": chair.client, "found": "clear"}), "2026-01-10").await, "skin-test");
    chair.act(json!({"act": "skin test read", "client": chair.client, "found": "redness"}), on).await;
    assert_eq!(chair.refused(begin.clone(), on).await, "skin-test");
    let mut passed = begin;
    passed["because"] = json!("her doctor wrote that it was the plaster");
    let visit = chair.act(passed, on).await["visit"].clone();
    assert_eq!(chair.shown(on).await["visits"][0]["because"], "her doctor wrote that it was the plaster");
    // One visit at a time, and none before it.
    assert_eq!(chair.refused(json!({"act": "visit begin", "client": chair.client, "kind": "check"}), on).await, "visit-open");
    let place = json!({"act": "piece place", "visit": visit, "site": sites[0]["site"]});
    assert_eq!(chair.refused(place.clone(), "2026-01-11").await, "visit-day");
    chair.act(place, on).await;
    // The closing checks are facts of the trade (T9, T6): each stops by itself.
    let close = |free: bool, mm: f64, shows: bool, well: bool| json!({"act": "visit close", "visit": visit, "moves_freely": free, "mm_off_scalp": mm, "nothing_shows": shows, "comfortable": well});
    for line in [close(false, 5.0, true, true), close(true, 2.0, true, true), close(true, 5.0, false, true), close(true, 5.0, true, false)]
    {
        assert_eq!(chair.refused(line, on).await, "closing-checks");
    }
    assert_eq!(chair.refused(json!({"act": "visit close", "visit": visit}), on).await, "closing-checks");
    let closed = chair.act(close(true, 5.0, true, true), on).await;
    assert_eq!(closed["left_open"].as_array().unwrap().len(), sites.len() - 1);
    assert_eq!(chair.refused(json!({"act": "step undo", "visit": visit}), on).await, "visit-closed");
}

#[tokio::test]
async fn a_piece_stays_with_one_head_and_in_one_place() {
    let chair = Chair::begun().await;
    let set = chair.set("2026-01-07").await;
    let (on, other_on) = ("2026-02-25", "2026-02-26");
    let (site, pieces) = &set[0];
    let consents = json!([{"purpose": "health", "wording": "h-1"}]);
    let other = chair.act(json!({"act": "client add", "facts": facts(true), "consents": consents}), on).await["client"].clone();
    let plan = chair.act(json!({"act": "plan make", "client": other, "seed": 1}), other_on).await;
    let visit =
        chair.act(json!({"act": "visit begin", "client": other, "kind": "application", "plan": plan["plan"]}), other_on).await["visit"]
            .clone();
    let hers = json!({"act": "piece place", "visit": visit, "site": plan["sites"][0], "upper": pieces[0], "lower": pieces[1]});
    assert_eq!(chair.refused(hers, other_on).await, "one-head");
    let twice = json!({"act": "piece place", "visit": visit, "site": plan["sites"][0], "upper": pieces[0], "lower": pieces[0]});
    assert_eq!(chair.refused(twice, other_on).await, "one-place");
    assert_eq!(
        chair.refused(json!({"act": "piece retire", "visit": visit, "piece": pieces[0], "reason": "matted"}), other_on).await,
        "one-head"
    );

    let plan = chair.plan(on).await.0;
    let visit = chair.begin("re-tape", &plan, on).await;
    assert_eq!(chair.refused(json!({"act": "piece halve", "piece": pieces[0]}), on).await, "cut");
    assert_eq!(chair.refused(json!({"act": "piece clean", "visit": visit, "piece": pieces[0]}), on).await, "one-place");
    chair.act(json!({"act": "piece take out", "visit": visit, "site": site, "state": "slipped"}), on).await;
    assert_eq!(chair.refused(json!({"act": "piece take out", "visit": visit, "site": site, "state": "held"}), on).await, "one-place");
    let (lost, _) = &set[1];
    chair.act(json!({"act": "piece take out", "visit": visit, "site": lost, "state": "lost"}), on).await;
    assert_eq!(chair.piece(&set[1].1[0], on).await["where"], "lost");
    // New adhesive before it goes back in (T18).
    let place = json!({"act": "piece place", "visit": visit, "site": set[0].0, "upper": pieces[0], "lower": pieces[1]});
    assert_eq!(chair.refused(place.clone(), on).await, "piece");
    assert_eq!(chair.refused(json!({"act": "piece place", "visit": visit, "site": set[0].0}), on).await, "new-adhesive");
    let halved = chair.act(json!({"act": "piece halve", "piece": pieces[0]}), on).await;
    let half = chair.piece(&halved["left"], on).await;
    assert_eq!((&half["parent"], &half["cut"], &half["days_worn"]), (&pieces[0], &json!("half"), &json!(49)));
    assert_eq!(chair.piece(&pieces[0], on).await["where"], "halved");
    assert_eq!(chair.refused(json!({"act": "piece halve", "piece": halved["left"]}), on).await, "cut");
    assert_eq!(chair.refused(json!({"act": "piece re-tape", "visit": visit, "piece": pieces[0]}), on).await, "one-place");
    chair.act(json!({"act": "piece retire", "visit": visit, "piece": pieces[1], "reason": "matted"}), on).await;
    let retired = chair.pieces(Which::Retired, on).await;
    assert_eq!((retired.len(), &retired[0]["id"]), (1, &pieces[1]));
    for mm in [0.2, 90.0] {
        assert_eq!(chair.refused(json!({"act": "regrowth measure", "visit": visit, "site": site, "mm": mm}), on).await, "growth");
    }
    holds(&chair.salon).await;

    // Erased, her pieces are out of the books, and what is left still adds up.
    chair.act(json!({"act": "client erase", "client": chair.client, "reason": "she asked"}), on).await;
    holds(&chair.salon).await;
}

#[tokio::test]
async fn pieces_of_a_count_get_their_numbers_as_they_are_taken() {
    let chair = Chair::begun().await;
    let on = "2026-01-07";
    let (plan, sites) = chair.plan(on).await;
    let shade = &sites[0]["piece"]["shade"];
    for lot in ["L1", "L2"] {
        chair.act(json!({"act": "shelf count", "shade": shade, "length_mm": 350, "lot": lot, "pieces": 0, "reason": "moved"}), on).await;
    }
    let visit = chair.begin("application", &plan, on).await;
    let place = json!({"act": "piece place", "visit": visit, "site": sites[0]["site"]});
    assert_eq!(chair.refused(place.clone(), on).await, "shelf");
    chair.act(json!({"act": "shelf count", "shade": shade, "length_mm": 350, "lot": "L9", "pieces": 2, "reason": "found"}), on).await;
    let placed = chair.act(place, on).await;
    assert_eq!(chair.piece(&placed["upper"], on).await["lot"], "L9");
    chair.act(json!({"act": "step undo", "visit": visit}), on).await;
    let lying = chair.piece(&placed["upper"], on).await;
    assert_eq!(lying["where"], "shelf");
    holds(&chair.salon).await;
    // Whole pieces that lie there are cut there.
    let halved = chair.act(json!({"act": "piece halve", "piece": placed["upper"]}), on).await;
    assert_eq!(chair.piece(&halved["right"], on).await["cut"], "half");
    holds(&chair.salon).await;
}

#[tokio::test]
async fn pieces_that_no_record_holds_are_set_with_a_reason_and_add_up() {
    let chair = Chair::begun().await;
    let on = "2026-01-07";
    let (plan, sites) = chair.plan(on).await;
    chair.act(json!({"act": "shelf count all", "on_hand": []}), on).await;
    let visit = chair.begin("application", &plan, on).await;
    for site in &sites {
        let place = json!({"act": "piece place", "visit": visit, "site": site["site"]});
        assert_eq!(chair.refused(place.clone(), on).await, "shelf");
        let mut found = place;
        found["because"] = json!("the pack was not recorded");
        let placed = chair.act(found, on).await;
        assert_eq!(chair.piece(&placed["upper"], on).await["lot"], "not recorded");
        holds(&chair.salon).await;
    }
    assert_eq!(chair.on_shelf().await, 0);
}

#[tokio::test]
async fn what_a_booked_client_will_need_is_reserved_until_she_was_there() {
    let chair = Chair::begun().await;
    let on = "2026-01-07";
    let (_, sites) = chair.plan(on).await;
    let halves: u64 = sites.iter().map(|site| if site["piece"]["cut"] == "half" { 2 } else { 4 }).sum();
    let reserved = async || {
        let shelf = chair.salon.show_shelf().await.unwrap();
        for lot in shelf["shelf"].as_array().unwrap() {
            assert_eq!(lot["pieces"].as_u64().unwrap(), lot["reserved"].as_u64().unwrap() + lot["free"].as_u64().unwrap(), "{lot}");
        }
        shelf["shelf"].as_array().unwrap().iter().map(|lot| lot["reserved"].as_u64().unwrap()).sum::<u64>()
    };
    assert_eq!(reserved().await, 0);
    let booked = chair
        .act(json!({"act": "appointment book", "client": chair.client, "kind": "application", "day": "2026-01-12", "at": "09:00"}), on)
        .await;
    // An odd half of a shade takes a whole piece.
    let promised = reserved().await;
    assert!(promised >= halves / 2 && promised < halves / 2 + 4, "{promised} for {halves} halves");
    chair.act(json!({"act": "appointment cancel", "appointment": booked["appointment"]}), on).await;
    assert_eq!(reserved().await, 0);
    chair
        .act(json!({"act": "appointment book", "client": chair.client, "kind": "application", "day": "2026-01-12", "at": "09:00"}), on)
        .await;
    assert_eq!(reserved().await, promised);
    chair.set("2026-01-12").await;
    assert_eq!(reserved().await, 0);
}
