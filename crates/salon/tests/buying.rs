//! Buying against two judges that are slow and obviously right: trying every
//! purchase, and integer optimisation by the crate `microlp`.

mod optimised;

use proptest::prelude::*;
use salon::stock::{BuyFault, Need, OnHand, Order, Pack, Purchase, StockLength, Supplier, buy};
use std::collections::BTreeMap;

fn mm(value: f64) -> StockLength {
    StockLength::mm(value).unwrap()
}

fn pack(id: &str, supplier: &str, shade: &str, pieces: u32, price_minor: i64) -> Pack {
    Pack { id: id.into(), supplier: supplier.into(), shade: shade.into(), length_mm: mm(500.0), pieces, price_minor, available: None }
}

fn need(shade: &str, pieces: u32) -> Need {
    Need { shade: shade.into(), length_mm: mm(500.0), pieces }
}

fn order(need: Vec<Need>, packs: Vec<Pack>, suppliers: Vec<(&str, i64, Option<i64>)>) -> Order {
    let suppliers = suppliers
        .into_iter()
        .map(|(id, shipping_minor, free_over_minor)| Supplier { id: id.into(), shipping_minor, free_over_minor })
        .collect();
    Order { need, on_hand: Vec::new(), packs, suppliers, currency: measure::Currency::new("EUR").unwrap() }
}

fn bought(purchase: &Purchase) -> Vec<(&str, u32)> {
    purchase.buy.iter().map(|line| (line.id.as_str(), line.packs)).collect()
}

/// What a purchase costs, reckoned from the order alone.
fn true_cost(order: &Order, counts: &[u32]) -> i64 {
    let mut goods: BTreeMap<&str, i64> = BTreeMap::new();
    for (pack, &count) in order.packs.iter().zip(counts) {
        if count > 0 {
            *goods.entry(pack.supplier.as_str()).or_default() += pack.price_minor * i64::from(count);
        }
    }
    let shipping: i64 = order
        .suppliers
        .iter()
        .filter_map(|supplier| goods.get(supplier.id.as_str()).map(|sum| (supplier, *sum)))
        .map(|(supplier, sum)| match supplier.free_over_minor {
            Some(over) if sum >= over => 0,
            _ => supplier.shipping_minor,
        })
        .sum();
    goods.values().sum::<i64>() + shipping
}

fn meets(order: &Order, counts: &[u32]) -> bool {
    let key = |shade: &str, length: StockLength| (shade.to_owned(), length);
    let mut open: BTreeMap<_, i64> = BTreeMap::new();
    for need in &order.need {
        *open.entry(key(&need.shade, need.length_mm)).or_default() += i64::from(need.pieces);
    }
    for held in &order.on_hand {
        *open.entry(key(&held.shade, held.length_mm)).or_default() -= i64::from(held.pieces);
    }
    for (pack, &count) in order.packs.iter().zip(counts) {
        *open.entry(key(&pack.shade, pack.length_mm)).or_default() -= i64::from(count * pack.pieces);
    }
    open.values().all(|left| *left <= 0)
}

/// The least cost by trying every purchase whose goods alone are no dearer
/// than the best so far. Prices must be above zero.
fn judge_by_trying(order: &Order) -> Option<(i64, u32)> {
    fn go(order: &Order, counts: &mut Vec<u32>, goods: i64, best: &mut Option<(i64, u32)>) {
        if best.is_some_and(|(cost, _)| goods > cost) {
            return;
        }
        let at = counts.len();
        if at == order.packs.len() {
            if meets(order, counts) {
                let this = (true_cost(order, counts), counts.iter().sum());
                if best.is_none_or(|known| this < known) {
                    *best = Some(this);
                }
            }
            return;
        }
        let most = order.packs[at].available.unwrap_or(30);
        for count in 0..=most.min(30) {
            counts.push(count);
            go(order, counts, goods + order.packs[at].price_minor * i64::from(count), best);
            counts.pop();
        }
    }
    // Every pack bought as often as any need could ask, or as there are of it:
    // when that does not meet the needs nothing does.
    let most_needed = order.need.iter().map(|need| need.pieces).sum::<u32>();
    let counts: Vec<u32> = order.packs.iter().map(|p| p.available.unwrap_or(u32::MAX).min(most_needed.div_ceil(p.pieces))).collect();
    if !meets(order, &counts) {
        return None;
    }
    let mut best = Some((true_cost(order, &counts), counts.iter().sum()));
    go(order, &mut Vec::new(), 0, &mut best);
    best
}

fn counts_of(order: &Order, purchase: &Purchase) -> Vec<u32> {
    let of = |pack: &Pack| purchase.buy.iter().find(|line| line.id == pack.id).map_or(0, |line| line.packs);
    order.packs.iter().map(of).collect()
}

fn purchase_is_what_it_says(order: &Order, purchase: &Purchase) {
    let counts = counts_of(order, purchase);
    assert!(meets(order, &counts), "the needs are met");
    assert_eq!(true_cost(order, &counts), purchase.cost_minor);
    assert_eq!(purchase.goods_minor + purchase.shipping_minor, purchase.cost_minor);
    for (pack, count) in order.packs.iter().zip(&counts) {
        assert!(pack.available.is_none_or(|most| *count <= most));
    }
    for taken in &purchase.from_stock {
        let held = order.on_hand.iter().find(|held| held.lot == taken.lot).unwrap();
        assert!(taken.pieces <= held.pieces);
    }
    let pieces_in: u32 = counts.iter().zip(&order.packs).map(|(count, pack)| count * pack.pieces).sum();
    let from_stock: u32 = purchase.from_stock.iter().map(|taken| taken.pieces).sum();
    let left: u32 = purchase.left_over.iter().map(|left| left.pieces).sum();
    let needed: u32 = order.need.iter().map(|need| need.pieces).sum();
    assert_eq!(pieces_in + from_stock, needed + left, "every piece is accounted for");
}

/// What is needed of each shade and what each supplier asks for sending, with no packs yet.
fn asked_of(shades: &[&str], needs: &[u32], names: &[&'static str], suppliers: &[(i64, Option<i64>)]) -> Order {
    order(
        needs.iter().enumerate().map(|(at, pieces)| need(shades[at], *pieces)).collect(),
        Vec::new(),
        suppliers.iter().enumerate().map(|(at, (ship, over))| (names[at], *ship, *over)).collect(),
    )
}

fn small_order() -> impl Strategy<Value = Order> {
    let packs = prop::collection::vec(
        (0..2_usize, prop::sample::select(vec![0_usize, 0, 1, 2]), 1..5_u32, 5..60_i64, prop::option::of(0..4_u32)),
        1..6,
    );
    let suppliers = prop::collection::vec((0..40_i64, prop::option::of(1..150_i64)), 2);
    let needs = prop::collection::vec(0..7_u32, 2);
    let shelf = prop::collection::vec((0..2_usize, 0..3_u32), 0..3);
    (packs, suppliers, needs, shelf).prop_map(|(packs, suppliers, needs, shelf)| {
        let shades = ["S01", "S02", "S03"];
        let names = ["north", "south"];
        let mut made = asked_of(&shades, &needs, &names, &suppliers);
        made.packs = packs
            .iter()
            .enumerate()
            .map(|(at, (supplier, shade, pieces, price, available))| Pack {
                available: *available,
                ..pack(&format!("p{at}"), names[*supplier], shades[*shade], *pieces, *price)
            })
            .collect();
        made.on_hand = shelf
            .iter()
            .enumerate()
            .map(|(at, (shade, pieces))| OnHand {
                lot: format!("L{at}"),
                shade: shades[*shade].into(),
                length_mm: mm(500.0),
                pieces: *pieces,
            })
            .collect();
        made
    })
}

fn shop_order() -> impl Strategy<Value = Order> {
    let packs = prop::collection::vec((0..4_usize, 0..4_usize, 4..25_u32, 400..9_000_i64), 8..16);
    let suppliers = prop::collection::vec((200..2_500_i64, prop::option::of(3_000..30_000_i64)), 4);
    let needs = prop::collection::vec(0..40_u32, 4);
    (packs, suppliers, needs).prop_map(|(packs, suppliers, needs)| {
        let names = ["east", "north", "south", "west"];
        let shades = ["S01", "S02", "S03", "S04"];
        let mut made = asked_of(&shades, &needs, &names, &suppliers);
        made.packs = packs
            .iter()
            .enumerate()
            .map(|(at, (supplier, shade, pieces, price))| pack(&format!("p{at:02}"), names[*supplier], shades[*shade], *pieces, *price))
            .collect();
        made
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_purchase_is_cheaper_than_the_one_found_by_trying_them_all(order in small_order()) {
        let judged = judge_by_trying(&order);
        match buy(&order) {
            Ok(purchase) => {
                purchase_is_what_it_says(&order, &purchase);
                prop_assert!(purchase.proved_least);
                let packs: u32 = purchase.buy.iter().map(|line| line.packs).sum();
                prop_assert_eq!(Some((purchase.cost_minor, packs)), judged);
            }
            Err(BuyFault::Short(short)) => {
                prop_assert!(!short.is_empty());
                prop_assert_eq!(judged, None);
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn the_order_of_the_lists_changes_nothing(order in small_order()) {
        let mut turned = order.clone();
        turned.packs.reverse();
        turned.suppliers.reverse();
        turned.need.reverse();
        turned.on_hand.reverse();
        prop_assert_eq!(buy(&order), buy(&turned));
    }

    #[test]
    fn more_on_the_shelf_never_costs_more(order in small_order(), pieces in 1..4_u32) {
        let mut richer = order.clone();
        richer.on_hand.push(OnHand { lot: "new".into(), shade: "S01".into(), length_mm: mm(500.0), pieces });
        if let Ok(before) = buy(&order) {
            let after = buy(&richer).unwrap();
            prop_assert!(after.cost_minor <= before.cost_minor);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn integer_optimisation_finds_nothing_cheaper(order in shop_order()) {
        if let Ok(purchase) = buy(&order) {
            purchase_is_what_it_says(&order, &purchase);
            prop_assert!(purchase.proved_least);
            prop_assert_eq!(Some(purchase.cost_minor), optimised::least_cost(&order, None));
        }
    }
}

#[test]
fn buying_one_pack_more_can_save_the_shipping() {
    // Two packs: 200 and shipping 60. Three packs: 300, shipping waived from 290,
    // but 300 is dearer than 260. With shipping 120 the third pack pays.
    let make = |shipping| order(vec![need("S05", 4)], vec![pack("a", "north", "S05", 2, 100)], vec![("north", shipping, Some(290))]);
    assert_eq!(bought(&buy(&make(60)).unwrap()), [("a", 2)]);
    let saved = buy(&make(120)).unwrap();
    assert_eq!((bought(&saved), saved.cost_minor, saved.shipping_minor), (vec![("a", 3)], 300, 0));
    assert_eq!(saved.left_over[0].pieces, 2);
}

#[test]
fn a_pack_of_another_shade_can_save_the_shipping() {
    let packs = vec![pack("a", "north", "S05", 4, 250), pack("b", "north", "S09", 1, 60)];
    let purchase = buy(&order(vec![need("S05", 4)], packs, vec![("north", 100, Some(310))])).unwrap();
    assert_eq!((bought(&purchase), purchase.cost_minor), (vec![("a", 1), ("b", 1)], 310));
}

#[test]
fn a_scarce_pack_is_bought_to_the_last_and_another_fills_the_rest() {
    // Five pieces: two cheap packs of two, which is all there are, and one dear pack.
    let mut packs = vec![pack("a", "north", "S05", 2, 50), pack("b", "north", "S05", 2, 5)];
    packs[1].available = Some(2);
    let purchase = buy(&order(vec![need("S05", 5)], packs, vec![("north", 0, None)])).unwrap();
    assert_eq!((bought(&purchase), purchase.cost_minor), (vec![("a", 1), ("b", 2)], 60));
}

#[test]
fn shipping_is_waived_at_the_threshold_itself_and_not_a_cent_below() {
    let make = |over| order(vec![need("S05", 2)], vec![pack("a", "north", "S05", 2, 100)], vec![("north", 10, Some(over))]);
    assert_eq!(buy(&make(100)).unwrap().shipping_minor, 0);
    assert_eq!(buy(&make(101)).unwrap().shipping_minor, 10);
}

#[test]
fn the_shelf_is_used_first_and_opened_packs_before_full_ones() {
    let mut made = order(vec![need("S05", 6)], vec![pack("a", "north", "S05", 10, 900)], vec![("north", 100, None)]);
    let held = |lot: &str, pieces| OnHand { lot: lot.into(), shade: "S05".into(), length_mm: mm(500.0), pieces };
    made.on_hand = vec![held("full", 20), held("opened", 4)];
    let purchase = buy(&made).unwrap();
    assert_eq!(purchase.cost_minor, 0);
    let taken: Vec<(&str, u32)> = purchase.from_stock.iter().map(|t| (t.lot.as_str(), t.pieces)).collect();
    assert_eq!(taken, [("opened", 4), ("full", 2)]);
}

#[test]
fn what_cannot_be_met_is_named_with_how_many_are_short() {
    let mut made = order(vec![need("S05", 9), need("S07", 3)], vec![pack("a", "north", "S05", 4, 100)], vec![("north", 0, None)]);
    made.packs[0].available = Some(2);
    let BuyFault::Short(short) = buy(&made).unwrap_err() else { panic!("short") };
    let named: Vec<(&str, u32)> = short.iter().map(|s| (s.shade.as_str(), s.pieces)).collect();
    assert_eq!(named, [("S05", 1), ("S07", 3)]);
}

#[test]
fn the_shape_is_that_of_the_contract() {
    let text = r#"{"need":[{"shade":"S05","length_mm":500,"pieces":18}],
        "on_hand":[{"lot":"L7","shade":"S05","length_mm":500.0,"pieces":2}],
        "packs":[{"id":"p1","supplier":"north","shade":"S05","length_mm":500,"pieces":20,"price_minor":8900,"available":3}],
        "suppliers":[{"id":"north","shipping_minor":1200,"free_over_minor":25000}],"currency":"EUR"}"#;
    let made: Order = serde_json::from_str(text).unwrap();
    let answer = serde_json::to_value(buy(&made).unwrap()).unwrap();
    assert_eq!(answer["buy"], serde_json::json!([{"id": "p1", "packs": 1}]));
    assert_eq!(answer["from_stock"], serde_json::json!([{"lot": "L7", "shade": "S05", "length_mm": 500, "pieces": 2}]));
    assert_eq!(answer["left_over"], serde_json::json!([{"shade": "S05", "length_mm": 500, "pieces": 4}]));
    assert_eq!((answer["goods_minor"].as_i64(), answer["cost_minor"].as_i64()), (Some(8900), Some(10100)));
    assert_eq!(answer["proved_least"], serde_json::json!(true));
    assert!(serde_json::from_str::<Order>(r#"{"needs":[],"currency":"EUR"}"#).is_err());
}

#[test]
fn an_impossible_order_is_told_all_its_faults() {
    let mut made = order(vec![need("S05", 4)], vec![pack("a", "nobody", "S05", 0, -5)], vec![("north", -1, None)]);
    made.packs.push(pack("a", "north", "S05", 2, 100));
    let BuyFault::Order(faults) = buy(&made).unwrap_err() else { panic!("faults") };
    assert_eq!(faults.len(), 5);
}

#[test]
fn the_largest_prices_do_not_run_over() {
    let mut made = order(
        vec![need("S05", 10_000)],
        vec![pack("a", "north", "S05", 1, 1_000_000_000)],
        vec![("north", 1_000_000_000, Some(1_000_000_000))],
    );
    assert_eq!(buy(&made).unwrap().cost_minor, 10_000_000_000_000);
    made.packs[0].price_minor += 1;
    assert!(matches!(buy(&made), Err(BuyFault::Order(_))));
}
