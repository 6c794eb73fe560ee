//! Ways on from a plan that stops short: every lever tried by itself, and pairs
//! of the three that give most, each with what it gives, costs and marks.

use super::make;
use super::supplies::Supplies;
use crate::Fault;
use crate::client::ClientFile;
use crate::plan::{Lever, Plan, WayPlan};
use crate::words::Message;
use craft::coverage::Style;
use craft::piece::USUAL_MASS;
use craft::placement::{Care, LIGHTER_PIECE, LIGHTEST_PIECE};
use measure::RuleBook;
use measure::text::{fixed, number};

/// A lever counts when it brings the plan nearer to its wish by this much, g.
const LEAST_GAIN_G: f64 = 1.0;
/// A lever counts when it brings a quote nearer to the budget by this share of it.
const LEAST_SAVING: f64 = 0.02;
/// How often a wish that the money reaches is lowered until its quote does.
const MOST_LOWERED: u32 = 4;
/// How many levers are tried in pairs.
const PAIRED: usize = 3;
/// The most ways that are told.
const MOST_TOLD: usize = 8;

/// The levers of a client's file.
fn levers(file: &ClientFile) -> Vec<Lever> {
    let consultation = file.consultation.clone().unwrap_or_default();
    let pieces = file.pieces.clone().unwrap_or_default();
    let mut levers = Vec::new();
    if pieces.single_sided != Some(true) {
        levers.push(Lever::SingleSided);
    }
    if lighter_mass(pieces.mass_g).is_some() {
        levers.push(Lever::LighterPiece);
    }
    if care_of(file).bolder().is_some() {
        levers.push(Lever::Bolder);
    }
    let styles = consultation.styles.clone().unwrap_or_default();
    if styles.len() > 1 {
        // Everybody wears her hair down at times.
        let worn = styles.iter().filter_map(|style| Style::from_word(style));
        levers.extend(worn.filter(|style| *style != Style::Down).map(Lever::Without));
    }
    if lighter_wish(&consultation.fullness, consultation.added_g, consultation.ends_circumference_mm).is_some() {
        levers.push(Lever::LighterWish);
    }
    if other_length(file).is_some() {
        levers.push(Lever::OtherLength);
    }
    levers
}

fn care_of(file: &ClientFile) -> Care {
    let word = file.consultation.as_ref().and_then(|c| c.care.clone()).unwrap_or_default();
    Care::ALL.into_iter().find(|care| care.word() == word).unwrap_or_default()
}

/// The fullness below the one that is wished for; nothing below light, nor
/// where the wish was said as a number.
fn lighter_wish(fullness: &Option<String>, added: Option<f64>, ends: Option<f64>) -> Option<&'static str> {
    if added.is_some() || ends.is_some() {
        return None;
    }
    match fullness.as_deref() {
        Some("full") => Some("natural"),
        None | Some("natural") => Some("light"),
        _ => None,
    }
}

/// The next shorter length on the shelf, where length matters.
fn other_length(file: &ClientFile) -> Option<f64> {
    let consultation = file.consultation.as_ref()?;
    if consultation.goal.as_deref() == Some("thickness") {
        return None;
    }
    let wanted = consultation.wanted_length_mm?;
    let lengths = file.pieces.as_ref()?.lengths_mm.clone()?;
    lengths.into_iter().filter(|l| *l < wanted - 1.0).max_by(f64::total_cmp)
}

/// A client's file with some levers pulled; nothing when one of them moves nothing.
#[must_use]
pub fn take(file: &ClientFile, levers: &[Lever]) -> Option<ClientFile> {
    let mut changed = file.clone();
    for lever in levers {
        let mut pieces = changed.pieces.clone().unwrap_or_default();
        let mut consultation = changed.consultation.clone().unwrap_or_default();
        match *lever {
            Lever::SingleSided => pieces.single_sided = Some(true),
            Lever::LighterPiece => pieces.mass_g = Some(lighter_mass(pieces.mass_g)?),
            Lever::Bolder => consultation.care = Some(care_of(&changed).bolder()?.word().to_owned()),
            Lever::LighterWish => {
                let lighter = lighter_wish(&consultation.fullness, consultation.added_g, consultation.ends_circumference_mm)?;
                consultation.fullness = Some(lighter.to_owned());
            }
            Lever::OtherLength => consultation.wanted_length_mm = Some(other_length(&changed)?),
            Lever::WishOf(0) => return None,
            Lever::WishOf(grams) => {
                consultation.added_g = Some(f64::from(grams));
                (consultation.fullness, consultation.ends_circumference_mm) = (None, None);
            }
            Lever::Without(style) => {
                let styles = consultation.styles.as_mut()?;
                let before = styles.len();
                styles.retain(|worn| worn != style.word());
                if styles.len() == before || styles.is_empty() {
                    return None;
                }
            }
        }
        changed.pieces = Some(pieces);
        changed.consultation = Some(consultation);
    }
    (changed != *file).then_some(changed)
}

fn lighter_mass(mass: Option<f64>) -> Option<f64> {
    let lighter = (mass.unwrap_or(USUAL_MASS.value) * LIGHTER_PIECE.value * 10.0).round() / 10.0;
    (lighter >= LIGHTEST_PIECE.value).then_some(lighter)
}

/// What a lever changes, in words with its numbers.
fn says(file: &ClientFile, lever: Lever) -> String {
    match lever {
        Lever::SingleSided => Message::WaySingleSided.to_string(),
        Lever::LighterPiece => {
            let mass = lighter_mass(file.pieces.as_ref().and_then(|p| p.mass_g));
            mass.map_or_else(String::new, |mass| Message::WayLighterPieces { grams: fixed(mass, 1) }.to_string())
        }
        Lever::Bolder => match care_of(file).bolder() {
            Some(Care::Bold) => Message::WayBold.to_string(),
            _ => Message::WayUsualCare.to_string(),
        },
        Lever::LighterWish => {
            let consultation = file.consultation.clone().unwrap_or_default();
            let word = lighter_wish(&consultation.fullness, consultation.added_g, consultation.ends_circumference_mm).unwrap_or("light");
            Message::WayLighterWish { wish: word.to_owned() }.to_string()
        }
        Lever::OtherLength => {
            other_length(file).map_or_else(String::new, |mm| Message::WayOtherLength { millimetres: number(mm, 0) }.to_string())
        }
        Lever::WishOf(grams) => Message::WayLighterWish { wish: format!("{grams} g") }.to_string(),
        Lever::Without(style) => Message::WayWithoutStyle { style: style.words().to_owned() }.to_string(),
    }
}

/// Whether a plan stops short of its wish: by hair, or by money.
#[must_use]
pub fn stops_short(plan: &Plan) -> bool {
    if plan.sites.is_empty() {
        return plan.verdict.verdict.allows_a_plan();
    }
    short_of(plan) >= LEAST_GAIN_G || over_budget(plan, plan.quote.as_ref().map(|quote| quote.total_minor)) > 0
}

/// Grams that a plan lacks of its wish.
fn short_of(plan: &Plan) -> f64 {
    (plan.quantity.wished.to_g() - plan.quantity.added.to_g()).max(0.0)
}

/// By how much a price passes the budget that a plan was made for; nothing
/// where no budget was named.
fn over_budget(plan: &Plan, total_minor: Option<i64>) -> i64 {
    let budget = plan.quote.as_ref().and_then(|quote| quote.budget_minor);
    budget.zip(total_minor).map_or(0, |(budget, total)| total.saturating_sub(budget).max(0))
}

/// The ways on from a plan, those that come nearest to the wish first; where
/// only the money is short, those that come nearest to the budget.
///
/// *Meaning*: every lever by itself, then pairs of the three best; a way is
/// told when it brings more hair, or brings the plan nearer to a wish that is
/// met less. Where the money is short, the wish that it reaches is a lever too.
/// The plan itself is not changed.
///
/// *Errors*: a file that cannot be read.
pub fn ways(file: &ClientFile, supplies: &Supplies, plan: &Plan, seed: u64, book: &RuleBook) -> Result<Vec<WayPlan>, Vec<Fault>> {
    if !stops_short(plan) {
        return Ok(Vec::new());
    }
    let single: Vec<Vec<Lever>> = levers(file).into_iter().map(|lever| vec![lever]).collect();
    if short_of(plan) < LEAST_GAIN_G && !plan.sites.is_empty() {
        return Ok(ways_to_the_budget(file, supplies, plan, single, seed, book));
    }
    let brings = |way: &WayPlan| gain(plan, way) >= LEAST_GAIN_G;
    let mut ways = tried(file, supplies, single, seed, book, &brings);
    ways.sort_by(|a, b| gain(plan, b).total_cmp(&gain(plan, a)));
    let best: Vec<&WayPlan> = ways.iter().take(PAIRED).collect();
    let mut pairs = Vec::new();
    for (i, a) in best.iter().enumerate() {
        for b in &best[i + 1..] {
            pairs.push([a.levers.as_slice(), b.levers.as_slice()].concat());
        }
    }
    let together = tried(file, supplies, pairs, seed, book, &brings);
    // A pair is worth telling when it gives more than either of its levers.
    let of = |levers: &[Lever]| ways.iter().filter(|w| levers.contains(&w.levers[0])).map(|w| gain(plan, w)).fold(0.0, f64::max);
    let more: Vec<WayPlan> = together.into_iter().filter(|way| gain(plan, way) > of(&way.levers) + LEAST_GAIN_G).collect();
    ways.extend(more);
    ways.sort_by(|a, b| gain(plan, b).total_cmp(&gain(plan, a)).then(a.levers.len().cmp(&b.levers.len())));
    ways.truncate(MOST_TOLD);
    Ok(ways)
}

/// The ways on from a set that is dearer than the budget: the wish that the
/// money reaches, and every lever that brings the price nearer to it.
fn ways_to_the_budget(
    file: &ClientFile,
    supplies: &Supplies,
    plan: &Plan,
    single: Vec<Vec<Lever>>,
    seed: u64,
    book: &RuleBook,
) -> Vec<WayPlan> {
    let Some(quote) = &plan.quote else { return Vec::new() };
    let over = over_budget(plan, Some(quote.total_minor));
    let left = |way: &WayPlan| over_budget(plan, way.total_minor);
    // A set that is cheaper because it stops short of its own wish is no way on.
    let meets = |way: &WayPlan| way.wished.to_g() - way.added.to_g() < LEAST_GAIN_G;
    let saves =
        |way: &WayPlan| meets(way) && way.total_minor.is_some() && (over - left(way)) as f64 >= LEAST_SAVING * quote.total_minor as f64;
    let mut ways = tried(file, supplies, single, seed, book, &saves);
    ways.extend(within_budget(file, supplies, plan, seed, book));
    // What fits first, and of that the most hair.
    ways.sort_by(|a, b| left(a).cmp(&left(b)).then(b.added.to_g().total_cmp(&a.added.to_g())));
    ways.truncate(MOST_TOLD);
    ways
}

/// A wish whose quote the budget reaches: first by the share that it reaches of
/// the whole, then lower by what was still too dear.
fn within_budget(file: &ClientFile, supplies: &Supplies, plan: &Plan, seed: u64, book: &RuleBook) -> Option<WayPlan> {
    let quote = plan.quote.as_ref()?;
    let (budget, reaches) = (quote.budget_minor?, quote.sandwiches_within_budget?);
    let each = plan.quantity.added.to_g() / f64::from(plan.quantity.sandwiches.max(1));
    let mut grams = (each * f64::from(reaches)).floor();
    for _ in 0..MOST_LOWERED {
        let found = way(file, supplies, &[Lever::WishOf(grams as u32)], seed, book)?;
        let total = found.total_minor?;
        if total <= budget {
            return Some(found);
        }
        grams = (grams * budget as f64 / total as f64).floor().min(grams - 1.0);
    }
    None
}

/// How much nearer to its wish a way brings the plan, g.
fn gain(plan: &Plan, way: &WayPlan) -> f64 {
    short_of(plan) - (way.wished.to_g() - way.added.to_g()).max(0.0)
}

/// Plans with levers pulled, two at a time, in the order given; only those worth telling.
fn tried(
    file: &ClientFile,
    supplies: &Supplies,
    all: Vec<Vec<Lever>>,
    seed: u64,
    book: &RuleBook,
    worth: &(dyn Fn(&WayPlan) -> bool + Sync),
) -> Vec<WayPlan> {
    let one = |levers: &Vec<Lever>| way(file, supplies, levers, seed, book).filter(|way| worth(way));
    let half = all.len().div_ceil(2);
    std::thread::scope(|scope| {
        let first = scope.spawn(|| all[..half].iter().map(one).collect::<Vec<_>>());
        let second: Vec<_> = all[half..].iter().map(one).collect();
        let first = first.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        first.into_iter().chain(second).flatten().collect()
    })
}

fn way(file: &ClientFile, supplies: &Supplies, levers: &[Lever], seed: u64, book: &RuleBook) -> Option<WayPlan> {
    let changed = take(file, levers)?;
    let facts = changed.check().ok()?;
    let plan = make(&facts, supplies, seed, book).ok()?.plan;
    if plan.sites.is_empty() {
        return None;
    }
    let words: Vec<String> = levers.iter().map(|lever| says(file, *lever)).collect();
    let says = words.iter().enumerate().map(|(i, w)| if i == 0 { w.clone() } else { lower_first(w) }).collect::<Vec<_>>().join(", and ");
    Some(WayPlan {
        levers: levers.to_vec(),
        says,
        added: plan.quantity.added,
        wished: plan.quantity.wished,
        pieces: plan.quantity.pieces,
        sandwiches: plan.quantity.sandwiches,
        total_minor: plan.quote.as_ref().map(|quote| quote.total_minor),
        cautions: plan.cautions.iter().map(|caution| caution.site).collect::<std::collections::BTreeSet<_>>().len() as u32,
    })
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
