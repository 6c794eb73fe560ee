//! A plan as the page shows it: the verdict first, then numbers, map, places,
//! colour, money and steps. Nothing is decided here.

use super::check::by_label;
use super::clients::display_name;
use super::fields::style_name;
use super::page::moment;
use super::plan_first::{self, FirstView};
use super::plan_map::{self, MapView};
use super::swatch;
use craft::coverage::Style;
use craft::piece::{USUAL_MASS, USUAL_WIDTH};
use craft::placement::Care;
use craft::suitability::plausible::DENSITY;
use craft::suitability::{Effect, Met, Verdict};
use desk::KeptPlan;
use measure::{Currency, Money};
use paper::words::{capital, millimetres, number, spoken};
use salon::plan::{LevelPlan, Plan, ProfilePoint, RowPlan, SetByHand, SitePlan};
use std::collections::BTreeMap;

/// The whole page.
pub struct PlanView {
    /// Her name.
    pub name: String,
    /// Her page.
    pub client: String,
    /// The plan's own address.
    pub id: String,
    /// When it was made.
    pub made: String,
    /// Whether her facts changed since.
    pub outdated: bool,
    /// The verdict.
    pub verdict: VerdictView,
    /// Faults with their cures.
    pub faults: Vec<FaultView>,
    /// What was missing or looks unlikely.
    pub warnings: Vec<String>,
    /// What the technician set herself, in a sentence.
    pub by_hand: Option<String>,
    /// The plan it was made from, where there is one.
    pub before: Option<String>,
    /// The way on that was taken, in words.
    pub taken: Option<String>,
    /// What stands first.
    pub first: FirstView,
    /// Whether anything was placed.
    pub placed: bool,
    /// The map in three panels; nothing for plans of before, and when nothing was placed.
    pub map: Option<MapView>,
    /// The one-sheet drawing of a plan of before.
    pub old_map: Option<String>,
    /// What the map bends.
    pub distortion: String,
    /// The styles she wears: word and name.
    pub worn: Vec<(String, String)>,
    /// What may be tried otherwise.
    pub what_if: WhatIfView,
    /// The rows with their sites.
    pub rows: Vec<RowView>,
    /// The shades.
    pub colour: ColourView,
    /// How much hair.
    pub quantity: QuantityView,
    /// What to buy.
    pub buy: Option<BuyView>,
    /// What it costs.
    pub quote: Option<QuoteView>,
    /// The steps by phase.
    pub phases: Vec<PhaseView>,
    /// What sets the re-tape day.
    pub retape_because: Vec<String>,
    /// The papers.
    pub papers: Vec<PaperView>,
}

/// The verdict.
pub struct VerdictView {
    /// `go`, `limits` or `halt`.
    pub tone: &'static str,
    /// The rules met that stop or limit, gravest first.
    pub reasons: Vec<Reason>,
    /// The rules met that are only told.
    pub notes: Vec<Reason>,
    /// What was not answered.
    pub unanswered: Vec<String>,
}

/// A rule that an answer met.
pub struct Reason {
    /// What it says.
    pub says: String,
    /// What was answered.
    pub because: String,
    /// Why the rule stands.
    pub reason: String,
    /// What to do first.
    pub next: String,
    /// How well it is founded.
    pub grade: String,
}

/// A fault with its cure.
pub struct FaultView {
    /// What.
    pub what: String,
    /// The cure.
    pub cure: String,
}

/// The values that may be tried otherwise, as the plan has them.
pub struct WhatIfView {
    /// Hairs on a square centimetre.
    pub density: String,
    /// The least and the most that anyone has.
    pub density_range: (f64, f64),
    /// Width of the tab, mm.
    pub tab_width: String,
    /// Mass of one piece, g.
    pub mass: String,
    /// How full.
    pub levels: Vec<ChoiceView>,
    /// How much is dared.
    pub cares: Vec<ChoiceView>,
    /// Every style, those she wears switched on.
    pub styles: Vec<ChoiceView>,
}

/// One thing that may be switched on.
pub struct ChoiceView {
    /// Its word in the facts.
    pub value: &'static str,
    /// Its name.
    pub name: String,
    /// Whether it is on.
    pub on: bool,
}

/// A row with its sites.
pub struct RowView {
    /// Its number in the order of work.
    pub row: u32,
    /// What it is called.
    pub title: String,
    /// How it is set.
    pub says: String,
    /// How its line is found.
    pub parting: String,
    /// Its sites.
    pub sites: Vec<SiteView>,
}

/// A site.
pub struct SiteView {
    /// Its name.
    pub site: String,
    /// Where along the parting.
    pub place: String,
    /// The shade and length.
    pub piece: String,
    /// The shades' swatches.
    pub swatches: Vec<String>,
    /// Its numbers.
    pub facts: Vec<(&'static str, String)>,
    /// How well it is hidden, by style: words, share, bar width of a hundred.
    pub hidden: Vec<(String, String, String)>,
    /// Why it is there.
    pub because: Vec<String>,
    /// What the models mark.
    pub cautions: Vec<String>,
}

/// The shades.
pub struct ColourView {
    /// The colour of the ends on the screen, where it is known.
    pub ends: Option<String>,
    /// The reading it was made with: its address, and when the hair was seen.
    pub read: Option<(String, String)>,
    /// Each shade of the mix.
    pub mix: Vec<MixView>,
    /// How near the mix comes.
    pub apart: String,
    /// The nearest single shades.
    pub nearest: Vec<(String, String, String)>,
    /// What to know.
    pub notes: Vec<String>,
}

/// One shade of the mix.
pub struct MixView {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its screen colour.
    pub fill: String,
    /// Its pieces.
    pub pieces: String,
}

/// How much hair.
pub struct QuantityView {
    /// The drawing of thickness along the length.
    pub profile: Option<Profile>,
    /// The three levels.
    pub levels: Vec<LevelView>,
    /// What the numbers rest on.
    pub notes: Vec<String>,
}

/// Thickness along the length, before and after, as it is drawn.
pub struct Profile {
    /// The outline before, as an SVG path.
    pub before: String,
    /// The outline after.
    pub after: String,
    /// Marks along the length: place, words.
    pub marks: Vec<(String, String)>,
    /// Thickness after at the nape and near the ends, in words.
    pub says: String,
}

/// A level of the wish.
pub struct LevelView {
    /// Its name.
    pub name: String,
    /// Whether it is the one asked for.
    pub asked: bool,
    /// Its grams.
    pub added: String,
    /// Its pieces.
    pub pieces: u32,
    /// The gathered ends.
    pub ends: String,
}

/// What to buy.
pub struct BuyView {
    /// Packs to order.
    pub packs: Vec<PackView>,
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

/// The steps of one phase.
pub struct PhaseView {
    /// The phase in words.
    pub name: &'static str,
    /// Its steps.
    pub steps: Vec<StepView>,
}

/// One step.
pub struct StepView {
    /// Its number.
    pub id: u32,
    /// What is done.
    pub what: String,
    /// How.
    pub how: String,
    /// The caution.
    pub caution: Option<String>,
    /// What is looked at before going on.
    pub confirm: Option<String>,
    /// Whether nothing goes on before it.
    pub stop: bool,
}

/// A paper to download.
pub struct PaperView {
    /// Its file.
    pub file: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub says: &'static str,
}

const PAPERS: &[PaperView] = &[
    PaperView { file: "run-sheet.pdf", name: "Run sheet", says: "Every step at the chair, to print" },
    PaperView { file: "head-map.svg", name: "Head map", says: "Every site, as a drawing" },
    PaperView { file: "quote.pdf", name: "Quote", says: "For the client" },
    PaperView { file: "aftercare.pdf", name: "Aftercare", says: "For the client to take home" },
    PaperView { file: "retape.ics", name: "Re-tape date", says: "For a calendar" },
    PaperView { file: "plan.json", name: "Plan as data", says: "Every number, for other programs" },
    PaperView { file: "scalp.obj", name: "Scalp", says: "The fitted skin as a mesh in mm" },
];

impl PlanView {
    /// The page of a kept plan.
    pub fn of(plan: &desk::Plan, kept: KeptPlan, client: &desk::Client) -> Self {
        let placed = kept.plan.verdict.verdict.allows_a_plan() && !kept.plan.sites.is_empty();
        let made = &kept.plan;
        Self {
            name: display_name(&client.label),
            client: client.id.to_string(),
            id: plan.id.to_string(),
            made: moment(plan.made_ms),
            outdated: plan.facts_version != client.version,
            verdict: verdict(made),
            faults: made
                .faults
                .iter()
                // A refusal stands in the verdict already.
                .filter(|_| made.verdict.verdict.allows_a_plan())
                .map(|fault| FaultView {
                    what: sentence(&without_fact(&by_label(&fault.what))),
                    cure: without_fact(&by_label(&fault.cure)),
                })
                .collect(),
            warnings: made.warnings.iter().map(|warning| sentence(&by_label(warning))).collect(),
            by_hand: made.set_by_hand.as_ref().map(by_hand),
            before: kept.from.as_ref().map(|from| from.plan.clone()),
            taken: kept.from.as_ref().and_then(|from| from.taken.as_deref().map(sentence)),
            first: plan_first::first(made),
            placed,
            map: if placed { plan_map::map(made) } else { None },
            old_map: (placed && made.panels.is_none()).then(|| paper::head_map_svg(made)),
            distortion: distortion(made),
            worn: worn(made),
            what_if: what_if(&kept),
            rows: if placed { rows(made) } else { Vec::new() },
            colour: colour(&kept),
            quantity: QuantityView {
                profile: profile(&made.quantity.profile),
                levels: levels(&made.quantity.levels, made.quantity.wished_g),
                notes: made.quantity.notes.iter().map(|note| without_fact(note)).collect(),
            },
            buy: buy(&kept),
            quote: quote(made),
            phases: if placed { phases(made) } else { Vec::new() },
            retape_because: made.retape.as_ref().map(|retape| retape.because.clone()).unwrap_or_default(),
            papers: PAPERS
                .iter()
                .filter(|paper| placed || paper.file == "plan.json")
                .filter(|paper| plan.scalp.is_some() || paper.file != "scalp.obj")
                .map(|paper| PaperView { ..*paper })
                .collect(),
        }
    }
}

/// What the map bends, in words.
fn distortion(plan: &Plan) -> String {
    match (&plan.map, &plan.panels) {
        (_, Some(_)) => {
            "Lengths along a row are true on the map; at the back it is measured up to the crown, above that only the shape is shown."
                .to_owned()
        }
        (Some(map), None) => map.distortion.clone(),
        (None, None) => String::new(),
    }
}

fn by_hand(set: &SetByHand) -> String {
    let which = match set.sites.as_slice() {
        [one] => format!("{one} stands where you set it."),
        many => format!("{} sandwiches stand where you set them.", many.len()),
    };
    match &set.reason {
        Some(reason) => format!("{which} Limits are passed because: {}", sentence(reason)),
        None => which,
    }
}

/// A sentence of its own: first letter large, a stop at its end.
pub fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.ends_with(['.', '!', '?']) { text } else { format!("{text}.") }
}

/// A sentence without what only the rules' own table needs: the number of a
/// fact of the trade, as in "(T12)", and the name of a rule, as in "(load-slice-most)".
pub fn without_fact(says: &str) -> String {
    let mut rest = says;
    let mut out = String::new();
    while let Some(at) = rest.find(" (") {
        let inside = &rest[at + 2..];
        let close = inside.find(')').unwrap_or(0);
        if is_of_the_rules(&inside[..close]) {
            out.push_str(&rest[..at]);
            rest = &inside[close + 1..];
        } else {
            out.push_str(&rest[..at + 2]);
            rest = inside;
        }
    }
    out + rest
}

/// Whether a word is the number of a fact or the name of a rule.
fn is_of_the_rules(word: &str) -> bool {
    let fact = word.strip_prefix('T').is_some_and(|digits| !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit()));
    let parts = ["load", "place", "worth", "coverage", "piece", "quantity", "growth", "retape"];
    let rule =
        word.split_once('-').is_some_and(|(first, _)| parts.contains(&first)) && word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    fact || rule
}

/// A sentence without the words that already stand above it.
pub fn without<'a>(says: &'a str, words: &str) -> &'a str {
    let begins = says.get(..words.len()).is_some_and(|start| start.eq_ignore_ascii_case(words));
    if begins { says[words.len()..].trim_start_matches([':', '.', ',', ' ']) } else { says }
}

fn verdict(plan: &Plan) -> VerdictView {
    let judged = &plan.verdict;
    let halted = !judged.verdict.allows_a_plan();
    let tells = |met: &&Met| match met.effect {
        Effect::Refer | Effect::NotToday => true,
        Effect::Limit => !halted,
        Effect::Note => false,
    };
    let (graver, notes): (Vec<&Met>, Vec<&Met>) = judged.rules_met.iter().partition(tells);
    let reason = |met: &&Met| Reason {
        says: sentence(&without_fact(&met.says)),
        because: met.because.replace('_', " "),
        reason: sentence(&met.reason),
        next: match met.effect {
            Effect::Refer if !met.next.is_empty() => format!("To see first: {}", met.next),
            _ => met.next.clone(),
        },
        grade: met.grade.clone(),
    };
    VerdictView {
        tone: match judged.verdict {
            Verdict::GoAhead => "go",
            Verdict::GoAheadWithinLimits => "limits",
            Verdict::NotToday | Verdict::Refer => "halt",
        },
        reasons: graver.iter().map(reason).collect(),
        notes: notes.iter().map(reason).collect(),
        unanswered: judged.unanswered.clone(),
    }
}

/// The styles that the sites were judged in.
fn worn(plan: &Plan) -> Vec<(String, String)> {
    let first = plan.sites.first().into_iter().flat_map(|site| site.coverage.keys());
    first.map(|style| (style.clone(), style_name(style))).collect()
}

fn what_if(kept: &KeptPlan) -> WhatIfView {
    let plain = |value: Option<f64>, usual: f64| number(value.unwrap_or(usual), 1).trim_end_matches(".0").to_owned();
    let asked = kept.client.consultation.as_ref();
    let pieces = kept.client.pieces.as_ref();
    let choice = |value: &'static str, on: bool| ChoiceView { value, name: capital(&spoken(value)), on };
    let said = asked.and_then(|section| section.fullness.as_deref());
    let cared = asked.and_then(|section| section.care.as_deref());
    let worn = asked.and_then(|section| section.styles.clone()).unwrap_or_default();
    WhatIfView {
        density: number((kept.plan.hair.density_per_cm2[0] / 5.0).round() * 5.0, 0),
        density_range: DENSITY.range,
        tab_width: plain(pieces.and_then(|p| p.tab_width_mm), USUAL_WIDTH.value),
        mass: plain(pieces.and_then(|p| p.mass_g), USUAL_MASS.value),
        levels: ["light", "natural", "full"].map(|level| choice(level, said == Some(level))).into(),
        cares: Care::ALL.map(|care| choice(care.word(), cared.unwrap_or(Care::default().word()) == care.word())).into(),
        styles: Style::ALL
            .iter()
            .map(|style| ChoiceView {
                name: style_name(style.word()),
                ..choice(style.word(), worn.iter().any(|word| word == style.word()))
            })
            .collect(),
    }
}

/// A time in hours and minutes.
pub fn hours(minutes: u32) -> String {
    match (minutes / 60, minutes % 60) {
        (0, rest) => format!("{rest} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, rest) => format!("{hours} h {rest} min"),
    }
}

fn money(minor: i64, currency: Currency) -> String {
    Money::minor(minor, currency).to_string()
}

fn rows(plan: &Plan) -> Vec<RowView> {
    plan.rows.iter().map(|row| row_view(plan, row)).collect()
}

fn row_view(plan: &Plan, row: &RowPlan) -> RowView {
    let sites: Vec<SiteView> = plan.sites.iter().filter(|site| site.row == row.row).map(|site| site_view(plan, site)).collect();
    RowView { row: row.row, title: row.called(), says: capital(&spoken(&row.setting)), parting: capital(&row.combed()), sites }
}

fn site_view(plan: &Plan, site: &SitePlan) -> SiteView {
    let piece = &site.piece;
    let fill =
        |code: &String| plan.colour.shades_lab_d65.get(code).map_or_else(|| "#8c8c8c".to_owned(), |lab| swatch::of_lab((*lab).into()));
    let under = piece.under_shade.as_ref().filter(|under| **under != piece.shade);
    let shades = under.map_or_else(|| piece.shade.clone(), |under| format!("{} over {under}", piece.shade));
    let cut = if piece.cut == "half" { ", cut in half" } else { "" };
    let single = if site.single_sided { ", single-sided" } else { "" };
    SiteView {
        site: site.site.clone(),
        place: plan_map::from_line(site),
        piece: format!("{shades} · {}{cut}{single}", millimetres(piece.length_mm)),
        swatches: std::iter::once(fill(&piece.shade)).chain(under.map(fill)).collect(),
        facts: vec![
            ("Slice", format!("{} wide, {} mm thick", millimetres(site.slice_width_mm), number(site.slice_mm, 1))),
            ("Tab", millimetres(site.width_mm)),
            ("One piece", format!("{} g", number(piece.mass_g, 2))),
            ("Hairs in the slice", number(site.hairs, 0)),
            ("Each hair carries", format!("{} mg", number(site.load_mg_per_hair, 1))),
            ("Pull, 100 at the limit", number(site.traction_index, 0)),
            ("Hair left free", format!("{} to {}", millimetres(site.clearance_mm), spoken(&site.clearance_to))),
            ("Gaps one would see over it", number(site.gaps.values().copied().fold(0.0, f64::max), 1)),
            ("True place within", format!("± {} mm", number(site.sigma_mm, 1))),
        ],
        hidden: hidden(&site.coverage),
        because: site.because.iter().map(|because| sentence(&without_fact(because))).collect(),
        cautions: plan.cautions.iter().filter(|caution| caution.site == site.site).map(|caution| sentence(&caution.what)).collect(),
    }
}

fn hidden(coverage: &BTreeMap<String, f64>) -> Vec<(String, String, String)> {
    coverage
        .iter()
        .map(|(style, share)| {
            let percent = (share * 100.0).clamp(0.0, 100.0);
            (style_name(style), format!("{} %", number(percent, 0)), number(percent, 1))
        })
        .collect()
}

fn colour(kept: &KeptPlan) -> ColourView {
    let told = &kept.plan.colour;
    let fill = |code: &str| told.shades_lab_d65.get(code).map_or_else(|| "#8c8c8c".to_owned(), |lab| swatch::of_lab((*lab).into()));
    let sure = told.uncertainty_de00.map_or_else(String::new, |sure| format!("; the reading is sure to {}", number(sure, 1)));
    ColourView {
        read: kept.read.as_ref().map(|read| (format!("/readings/{}", read.id), moment(read.seen_ms))),
        ends: told.lab_d65.map(|lab| swatch::of_lab(lab.into())),
        mix: told
            .mix
            .iter()
            .map(|(code, pieces)| MixView {
                code: code.clone(),
                name: told.shade_names.get(code).cloned().unwrap_or_default(),
                fill: fill(code),
                pieces: if *pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") },
            })
            .collect(),
        apart: told
            .mix_de00
            .map_or_else(String::new, |apart| format!("The mix lies {} from her ends (CIEDE2000{sure}).", number(apart, 2))),
        nearest: told
            .nearest
            .iter()
            .map(|near| {
                let name = told.shade_names.get(&near.code).cloned().unwrap_or_default();
                (near.code.clone(), name, number(near.de00, 2))
            })
            .collect(),
        notes: told.notes.clone(),
    }
}

/// The drawing's size in its own units.
const WIDE: f64 = 720.0;
const HALF: f64 = 70.0;
const MIDDLE: f64 = 78.0;

/// Thickness as a ribbon round a middle line, as wide as the gathered hair is round.
fn profile(points: &[ProfilePoint]) -> Option<Profile> {
    let (first, last) = (points.first()?, points.last()?);
    let most = points.iter().map(|point| point.before_mm.max(point.after_mm)).fold(0.0, f64::max);
    let span = last.at_mm - first.at_mm;
    if !(most > 0.0 && span > 0.0) {
        return None;
    }
    let x = |at: f64| 10.0 + (at - first.at_mm) / span * (WIDE - 20.0);
    let outline = |thick: &dyn Fn(&ProfilePoint) -> f64| {
        let spot = |point: &ProfilePoint, up: f64| format!("{:.1} {:.1}", x(point.at_mm), MIDDLE - up * thick(point) / most * HALF);
        let over = points.iter().map(|point| spot(point, 1.0));
        let under = points.iter().rev().map(|point| spot(point, -1.0));
        format!("M{}Z", over.chain(under).collect::<Vec<_>>().join("L"))
    };
    let marks = (0..=4)
        .map(|quarter| {
            let at = first.at_mm + span * f64::from(quarter) / 4.0;
            (format!("{:.1}", x(at)), millimetres(at))
        })
        .collect();
    let near_ends = points.iter().rfind(|point| point.at_mm <= first.at_mm + 0.9 * span).unwrap_or(last);
    Some(Profile {
        before: outline(&|point| point.before_mm),
        after: outline(&|point| point.after_mm),
        marks,
        says: format!(
            "Gathered at the nape it measures {} round now and {} after; at {} along the length {} now and {} after.",
            millimetres(first.before_mm),
            millimetres(first.after_mm),
            millimetres(near_ends.at_mm),
            millimetres(near_ends.before_mm),
            millimetres(near_ends.after_mm)
        ),
    })
}

fn levels(levels: &[LevelPlan], wished: f64) -> Vec<LevelView> {
    let nearest = levels.iter().map(|level| (level.added_g - wished).abs()).fold(f64::INFINITY, f64::min);
    levels
        .iter()
        .map(|level| LevelView {
            name: capital(&spoken(&level.level)),
            asked: (level.added_g - wished).abs() <= nearest,
            added: format!("{} g", number(level.added_g, 0)),
            pieces: level.pieces,
            ends: millimetres(level.ends_circumference_mm),
        })
        .collect()
}

fn buy(kept: &KeptPlan) -> Option<BuyView> {
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
                        format!("{} · {} · {} pieces · {}", pack.shade, millimetres(pack.length_mm.to_mm()), pack.pieces, pack.supplier)
                    }),
                    price: pack
                        .and_then(|pack| Money::minor(pack.price_minor, purchase.currency).times(i64::from(bought.packs)))
                        .map_or_else(String::new, |price| price.to_string()),
                }
            })
            .collect(),
        shelf: purchase
            .from_stock
            .iter()
            .map(|shelf| (shelf.lot.clone(), shelf.shade.clone(), millimetres(shelf.length_mm.to_mm()), shelf.pieces))
            .collect(),
        left_over: purchase
            .left_over
            .iter()
            .map(|left| format!("{} × {} {}", left.pieces, left.shade, millimetres(left.length_mm.to_mm())))
            .collect(),
        cost: vec![
            ("Goods", money(purchase.goods_minor, purchase.currency)),
            ("Shipping", money(purchase.shipping_minor, purchase.currency)),
            ("To pay", money(purchase.cost_minor, purchase.currency)),
        ],
        proved: purchase.proved_least,
    })
}

fn quote(plan: &Plan) -> Option<QuoteView> {
    let quote = plan.quote.as_ref()?;
    let currency = quote.currency;
    Some(QuoteView {
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

fn phases(plan: &Plan) -> Vec<PhaseView> {
    use craft::steps::Phase;
    let mut phases: Vec<(Phase, PhaseView)> = Vec::new();
    for step in &plan.steps {
        let view = StepView {
            id: step.id,
            what: sentence(&without_fact(&step.what)),
            how: without_fact(&step.how),
            caution: step.caution.as_deref().map(without_fact),
            confirm: step.value_to_confirm.clone(),
            stop: step.stop,
        };
        match phases.last_mut() {
            Some((phase, group)) if *phase == step.phase => group.steps.push(view),
            _ => {
                let name = match step.phase {
                    Phase::Prepare => "Prepare",
                    Phase::Ready => "Make ready",
                    Phase::Place => "Place",
                    Phase::Finish => "Finish",
                    Phase::Close => "Before she leaves",
                    Phase::Retape => "At the next visit",
                };
                phases.push((step.phase, PhaseView { name, steps: vec![view] }));
            }
        }
    }
    phases.into_iter().map(|(_, group)| group).collect()
}
