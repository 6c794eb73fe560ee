//! What it costs: the packs to buy, and the quote line by line.

use desk::KeptPlan;
use measure::text::millimetres;
use measure::{Currency, Money};
use salon::plan::Plan;

/// What to buy.
pub struct BuyView {
    /// Packs to order.
    pub packs: Vec<PackView>,
    /// Her own pieces that go back in: shade, length, pieces.
    pub again: Vec<(String, String, u32)>,
    /// From the shelf.
    pub shelf: Vec<(String, String, String, u32)>,
    /// What remains of the packs.
    pub left_over: Vec<String>,
    /// Goods, shipping and both.
    pub cost: Vec<(&'static str, String)>,
    /// Whether nothing cheaper exists.
    pub proved: bool,
}

/// Packs of one kind.
pub struct PackView {
    /// How many.
    pub packs: u32,
    /// The pack's own name.
    pub id: String,
    /// Shade, length and supplier.
    pub says: String,
    /// What they cost.
    pub price: String,
}

/// What it costs.
pub struct QuoteView {
    /// What the lines come to: her first visit, or a re-tape.
    pub of: &'static str,
    /// Line by line.
    pub lines: Vec<(String, String, String)>,
    /// Together.
    pub total: String,
    /// Over the hair's life.
    pub life: Vec<(&'static str, String)>,
    /// What the budget does not reach.
    pub short: Option<String>,
    /// What it rests on.
    pub rests_on: Vec<String>,
}

/// What to buy and what the shelf gives, where the plan buys.
pub fn buy(kept: &KeptPlan) -> Option<BuyView> {
    let purchase = kept.plan.buy.as_ref()?;
    let packs = kept.shelf.as_ref().map(|order| order.packs.as_slice()).unwrap_or_default();
    Some(BuyView {
        packs: purchase
            .buy
            .iter()
            .map(|bought| {
                let pack = packs.iter().find(|pack| pack.id == bought.id);
                PackView {
                    packs: bought.packs,
                    id: bought.id.clone(),
                    says: pack.map_or_else(String::new, |pack| {
                        format!("{} · {} · {} pieces · {}", pack.shade, millimetres(pack.length_mm.length()), pack.pieces, pack.supplier)
                    }),
                    price: pack
                        .and_then(|pack| Money::minor(pack.price_minor, purchase.currency).times(i64::from(bought.packs)))
                        .map_or_else(String::new, |price| price.to_string()),
                }
            })
            .collect(),
        again: kept.plan.again.iter().map(|own| (own.shade.clone(), millimetres(own.length_mm.length()), own.pieces)).collect(),
        shelf: purchase
            .from_stock
            .iter()
            .map(|shelf| (shelf.lot.clone(), shelf.shade.clone(), millimetres(shelf.length_mm.length()), shelf.pieces))
            .collect(),
        left_over: purchase
            .left_over
            .iter()
            .map(|left| format!("{} × {} {}", left.pieces, left.shade, millimetres(left.length_mm.length())))
            .collect(),
        cost: vec![
            ("Goods", money(purchase.goods_minor, purchase.currency)),
            ("Shipping", money(purchase.shipping_minor, purchase.currency)),
            ("To pay", money(purchase.cost_minor, purchase.currency)),
        ],
        proved: purchase.proved_least,
    })
}

/// The quote, where the plan has one.
pub fn quote(plan: &Plan) -> Option<QuoteView> {
    let quote = plan.quote.as_ref()?;
    let currency = quote.currency;
    Some(QuoteView {
        of: if quote.again_pieces > 0 { "Price of this re-tape" } else { "Price of the first visit" },
        lines: quote.lines.iter().map(|line| (line.what.clone(), line.detail.clone(), money(line.amount_minor, currency))).collect(),
        total: quote.total().to_string(),
        life: vec![
            ("One re-tape", money(quote.retape_minor, currency)),
            ("The hair is worn", format!("{} weeks", quote.weeks_of_wear)),
            ("By the week of wear", money(quote.per_week_minor, currency)),
        ],
        short: quote.short_minor.map(|short| {
            let reaches = quote.sandwiches_within_budget.map_or_else(String::new, |count| format!(" It reaches {count} sandwiches."));
            format!("Her budget is {} short.{reaches}", money(short, currency))
        }),
        rests_on: quote.rests_on.clone(),
    })
}

fn money(minor: i64, currency: Currency) -> String {
    Money::minor(minor, currency).to_string()
}
