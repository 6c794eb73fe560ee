//! The facts of the trade, T1 to T21, as far as a plan can be measured against
//! them (common practice, no published source), and what the straight partings
//! must keep.

use super::panel::Figures;
use super::seen::{Section, Seen, View, margin};
use super::skin::{EDGES, ahead, level, points_along};
use super::{Complaint, list, number, text};
use serde_json::Value;

/// What a measure along the skin may be off here, mm: corners of the mesh stand
/// 3.5 mm apart, and distances are read straight between them.
const MESH: f64 = 0.3;
/// The plan rounds to tenths of a millimetre.
const ROUNDED: f64 = 0.11;
/// Points of a row lie on one level within this, mm (the project's own promise).
const ONE_LEVEL: f64 = 0.1;
/// Readings are told rounded, from a midline that is followed in small steps.
const READING: f64 = 0.6;
/// T6: the first section at the nape, 1.5 in, when hair is tied.
const NAPE_TIED: f64 = 38.0;
/// An inch, at the nape when hair is never tied, and T12 elsewhere.
const INCH: f64 = 25.0;
/// The project's own promises: between tabs, from the middle line, between
/// rows, brick, the bow under a tab, all in mm.
const GAP: f64 = 5.0;
const FROM_THE_MIDDLE: f64 = 2.5;
const ROWS_LEAST: f64 = 12.0;
const ROWS_USUAL: f64 = 20.0;
/// So few rows have room at the usual distance on any head.
const FEW_ROWS: usize = 4;
const BRICK: f64 = 10.0;
const BRICK_WITHIN: f64 = 40.0;
const BOW: f64 = 5.0;
/// Tabs of two sections less than this apart in height are neighbours, mm.
const NEIGHBOUR_LEVELS: f64 = 10.0;
/// The thickest slice, mm, and the share that is seen through it (T8).
const SLICE_MOST: f64 = 6.0;
const SEE_THROUGH: f64 = 0.5;
/// At the nape a strand has 0.95 of the head's mean diameter.
const NAPE_STRAND: f64 = 0.95;

/// Everything that does not hold of a plan.
pub fn complaints(view: &mut View) -> Vec<Complaint> {
    let mut found = Vec::new();
    let mut heard = |answer: Result<Vec<Complaint>, Complaint>| found.extend(answer.unwrap_or_else(|complaint| vec![complaint]));
    heard(Ok(rows_level(view)));
    heard(readings(view));
    heard(Ok(section_lines(view)));
    heard(Ok(borders(view)));
    heard(Ok(crown(view)));
    heard(brick(view));
    heard(spacing(view));
    heard(Ok(neighbours(view)));
    heard(slices(view));
    heard(Ok(straight(view)));
    heard(order(view));
    heard(steps(&view.trial.plan));
    heard(retape(&view.trial.plan));
    heard(iron(&view.trial.plan));
    heard(sums(&view.trial.plan));
    heard(cautions(view));
    heard(landmarks(view));
    heard(Ok(words(&view.trial.plan)));
    found
}

/// T14: every point of a row at one height, and every row at its own reading.
fn rows_level(view: &View) -> Vec<Complaint> {
    let mut found = Vec::new();
    for row in &view.rows {
        let heights = || row.sites.iter().flat_map(|at| view.sites[*at].ends.map(level));
        let (low, high) = (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
        if high - low > ONE_LEVEL {
            found
                .push(Complaint::new("rows level", format!("row {}: its slices' ends lie {low:.2} to {high:.2} mm high", row.told["row"])));
        }
    }
    found
}

/// The two readings by which a parting is found, and the place along it.
fn readings(view: &mut View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    for row in &view.rows {
        let place = format!("row {}", row.told["row"]);
        let start = number(&row.told["start"], "mm", &format!("{place}.start"))?;
        if (start - row.reading).abs() > READING {
            found.push(Complaint::new("readings", format!("{place}: starts at {start} mm, and a tape reads {:.1}", row.reading)));
        }
        let on = text(&row.told["start"], "on", &format!("{place}.start"))?;
        let wanted = if row.section == Section::Back { "midline" } else { "ear_to_ear_line" };
        if on != wanted {
            found.push(Complaint::new("readings", format!("{place}: starts on the {on}, not the {wanted}")));
        }
        let end = number(&row.told["end"], "mm", &format!("{place}.end"))?;
        let from = text(&row.told["end"], "from", &format!("{place}.end"))?;
        if from == "ear_top" {
            let e = view.skin.e_of(row.level).unwrap_or(f64::NAN);
            if !((end - e).abs() <= READING) {
                found.push(Complaint::new("readings", format!("{place}: ends {end} mm from the top of the ear, and a tape reads {e:.1}")));
            }
        }
    }
    for at in 0..view.sites.len() {
        let Seen { name, section, level, told, .. } = view.sites[at].clone();
        let from_line = number(&told, "from_line_mm", &name)?;
        let middle = view.sites[at].middle().abs();
        let line = view.line(level);
        let far = match section {
            Section::Back => middle,
            _ => middle - line.passes(view.skin.ear_plane).unwrap_or(0.0),
        };
        if (from_line.abs() - far).abs() > READING {
            found.push(Complaint::new("readings", format!("{name}: told {from_line} mm from its line, lies {far:.1}")));
        }
    }
    Ok(found)
}

/// T5: no tab over the line down the middle or the line from ear to ear.
fn section_lines(view: &mut View) -> Vec<Complaint> {
    let mut found = Vec::new();
    for at in 0..view.sites.len() {
        let site = view.sites[at].clone();
        let line = view.line(site.level);
        let name = &site.name;
        let near = site.outward()[0];
        if near < FROM_THE_MIDDLE - ROUNDED {
            found.push(Complaint::new("T5", format!("{name}: its tab begins {near:.1} mm from the middle line")));
        }
        for s in site.tab {
            let past = ahead(line.at(s)) - view.skin.ear_plane;
            let wrong = match site.section {
                Section::Back => past > ROUNDED,
                Section::Left | Section::Right => past < -ROUNDED,
            };
            if wrong {
                found.push(Complaint::new("T5", format!("{name}: its tab lies {:.1} mm over the line from ear to ear", past.abs())));
            }
        }
        let stands = match site.section {
            Section::Left => site.side() < 0.0,
            Section::Right => site.side() > 0.0,
            Section::Back => true,
        };
        if !stands {
            found.push(Complaint::new("T5", format!("{name}: stands on the other side of the head")));
        }
    }
    found
}

/// T6 over the level nape hairline, T12 from every other border, under the whole tab.
fn borders(view: &mut View) -> Vec<Complaint> {
    let nape = if view.trial.client.bares_her_nape() { NAPE_TIED } else { INCH };
    let mut found = Vec::new();
    for at in 0..view.sites.len() {
        let site = view.sites[at].clone();
        let line = view.line(site.level);
        let mut least = [f64::INFINITY; 6];
        for p in points_along(&line, site.tab) {
            for (kept, far) in least.iter_mut().zip(view.skin.clear(p)) {
                *kept = kept.min(far);
            }
        }
        for (edge, far) in EDGES.iter().zip(least) {
            let (fact, floor) = if *edge == "nape_hairline" { ("T6", nape) } else { ("T12", INCH) };
            if far < floor - MESH {
                found.push(Complaint::new(fact, format!("{}: {far:.1} mm from {edge}, {floor} are kept", site.name)));
            }
        }
    }
    found
}

/// T11: nothing above the crown at the back.
fn crown(view: &View) -> Vec<Complaint> {
    let above = |site: &&Seen| site.section == Section::Back && site.level > view.skin.crown_level + ONE_LEVEL;
    view.sites
        .iter()
        .filter(above)
        .map(|site| Complaint::new("T11", format!("{}: {:.1} mm above the crown", site.name, site.level - view.skin.crown_level)))
        .collect()
}

/// T10: side by side in the first two or three rows of a section, brick from
/// there on, judged by the foot of each middle on the row directly below.
fn brick(view: &mut View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    for section in Section::ALL {
        let rows: Vec<_> = view.rows_of(section).into_iter().cloned().collect();
        for (at, row) in rows.iter().enumerate() {
            let place = format!("row {}", row.told["row"]);
            let told = text(&row.told, "setting", &place)?;
            if at == 0 && told != "side_by_side" {
                found.push(Complaint::new("T10", format!("{place}: the first of its section is told as {told}")));
            }
            let Some(below) = at.checked_sub(1).map(|below| &rows[below]) else { continue };
            let near = row.reading - below.reading < BRICK_WITHIN - READING;
            // The third row may still stand side by side ("two or three").
            if at >= 3 && near && told != "brick" {
                found.push(Complaint::new("T10", format!("{place}: row {} of its section is told as {told}", at + 1)));
            }
            if told != "brick" || !near {
                continue;
            }
            for upper in &row.sites {
                let foot = view.foot(row.level, view.sites[*upper].middle(), below.level);
                for lower in &below.sites {
                    let aside = (foot - view.sites[*lower].middle()).abs();
                    if aside < BRICK - ROUNDED {
                        let (upper, lower) = (&view.sites[*upper].name, &view.sites[*lower].name);
                        found.push(Complaint::new("T10", format!("{upper} stands {aside:.1} mm aside of {lower} below")));
                    }
                }
            }
        }
    }
    Ok(found)
}

/// Rows stand 12 mm apart at the least, and where they stand under 20 the plan says so.
fn spacing(view: &View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let mut close = false;
    for section in Section::ALL {
        let rows = view.rows_of(section);
        let closest = rows.windows(2).map(|pair| pair[1].reading - pair[0].reading).fold(f64::INFINITY, f64::min);
        // Nothing but the wish brings rows closer where low styles hide every height.
        let low = view.trial.client.styles().iter().all(|style| matches!(*style, "down" | "low_ponytail"));
        let few = view.rows_of(Section::Back).len() <= FEW_ROWS && rows.len() <= FEW_ROWS;
        if low && few && closest < ROWS_USUAL - ROUNDED && Figures::of(&view.trial.plan)?.is_met() {
            found.push(Complaint::new(
                "spacing",
                format!("{section:?}: {} rows meet the wish, and stand {closest:.1} mm apart", rows.len()),
            ));
        }
        for pair in view.rows_of(section).windows(2) {
            let far = pair[1].reading - pair[0].reading;
            close |= far < ROWS_USUAL - ROUNDED;
            if far < ROWS_LEAST - ROUNDED {
                found.push(Complaint::new(
                    "spacing",
                    format!("rows {} and {} are {far:.1} mm apart", pair[0].told["row"], pair[1].told["row"]),
                ));
            }
        }
    }
    if close
        && !tells(&view.trial.plan, "row-spacing")
        && !tells(&view.trial.plan, "closer-rows")
        && !tells(&view.trial.plan, "rows-closer")
    {
        found.push(Complaint::new("spacing told", "rows under 20 mm apart, and nothing says that no hair rests between them"));
    }
    Ok(found)
}

/// Whether any caution, fault or reason names a rule with this in its id.
pub fn tells(plan: &Value, rule: &str) -> bool {
    let names = |of: &Value| of["rule"].as_str().is_some_and(|id| id.contains(rule));
    let all = |key: &str| plan[key].as_array().is_some_and(|list| list.iter().any(names));
    let warned =
        plan["warnings"].as_array().is_some_and(|all| all.iter().any(|words| words.as_str().is_some_and(|w| w.contains("rests between"))));
    all("cautions") || all("faults") || warned
}

/// Tabs of a row, over the middle too, and tabs across the line from ear to ear keep the gap.
fn neighbours(view: &mut View) -> Vec<Complaint> {
    let mut found = Vec::new();
    for row in view.rows.clone() {
        for pair in row.sites.windows(2) {
            let (left, right) = (&view.sites[pair[0]], &view.sites[pair[1]]);
            let gap = right.tab[0] - left.tab[1];
            if gap < GAP - ROUNDED {
                found.push(Complaint::new("gaps", format!("{} and {}: {gap:.1} mm between their tabs", left.name, right.name)));
            }
        }
    }
    let (back, side): (Vec<_>, Vec<_>) = view.sites.clone().into_iter().partition(|site| site.section == Section::Back);
    for one in &side {
        let begins = one.outward()[0] - view.line(one.level).passes(view.skin.ear_plane).unwrap_or(0.0);
        for other in back.iter().filter(|other| other.side() == one.side() && (other.level - one.level).abs() < NEIGHBOUR_LEVELS - ROUNDED)
        {
            let Some(ends) = view.line(other.level).passes(view.skin.ear_plane) else { continue };
            let gap = begins + ends - other.outward()[1];
            if gap < GAP - 2.0 * ROUNDED {
                found.push(Complaint::new(
                    "gaps",
                    format!("{} and {}: {gap:.1} mm between their tabs across the line from ear to ear", other.name, one.name),
                ));
            }
        }
    }
    found
}

/// T8 and T13: a slice 10 mm narrower than a whole tab (5 mm for a half), to be
/// seen through, and not thicker than half the way to the next row.
fn slices(view: &mut View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let whole = view.trial.client.file["pieces"]["tab_width_mm"].as_f64().unwrap_or(40.0);
    let strand = view.trial.plan["hair"]["diameter_um"][0].as_f64().unwrap_or(70.0) * 1e-3 * NAPE_STRAND;
    for at in 0..view.sites.len() {
        let site = view.sites[at].clone();
        let name = &site.name;
        let (width, slice) = (number(&site.told, "width_mm", name)?, number(&site.told, "slice_width_mm", name)?);
        let (tab, bare) = (if site.half { whole / 2.0 } else { whole }, 2.0 * margin(site.half));
        if (width - tab).abs() > ROUNDED {
            found.push(Complaint::new("T13", format!("{name}: a tab of {width} mm, {tab} was due")));
        }
        if (width - slice - bare).abs() > ROUNDED {
            found.push(Complaint::new("T8", format!("{name}: a slice of {slice} mm in a tab of {width}")));
        }
        let lies = (site.slice[1] - site.slice[0]).abs();
        if (lies - slice).abs() > 2.0 * ROUNDED {
            found.push(Complaint::new("T8", format!("{name}: a slice of {slice} mm is drawn {lies:.2} mm long")));
        }
        let thick = number(&site.told, "slice_mm", name)?;
        let hairs = number(&site.told, "hairs", name)?;
        let seen = (-hairs / slice * strand).exp();
        if seen < SEE_THROUGH - 0.01 {
            found.push(Complaint::new("T8", format!("{name}: {:.0} % is seen through a slice of {thick} mm", 100.0 * seen)));
        }
        let rows = view.rows_of(site.section);
        let above = rows
            .iter()
            .position(|row| i64::from(row.told["row"].as_i64() == Some(site.row)) == 1)
            .and_then(|i| Some(rows.get(i + 1)?.reading - rows[i].reading));
        let most = above.map_or(SLICE_MOST, |far| SLICE_MOST.min(far / 2.0));
        if !(1.0..=most + ROUNDED).contains(&thick) {
            found.push(Complaint::new("T8", format!("{name}: a slice of {thick} mm, at most {most:.1} may be taken there")));
        }
    }
    Ok(found)
}

/// T14: under a tab the parting hardly bows.
fn straight(view: &mut View) -> Vec<Complaint> {
    let mut found = Vec::new();
    for at in 0..view.sites.len() {
        let site = view.sites[at].clone();
        let bow = view.line(site.level).bow(site.tab[0], site.tab[1]);
        if bow > BOW + ROUNDED {
            found.push(Complaint::new("T14", format!("{}: the parting bows {bow:.1} mm under its tab", site.name)));
        }
    }
    found
}

/// T5: from the nape upward, then the sides; T13: what is cut is whole or half.
fn order(view: &View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let back = view.sites.iter().take_while(|site| site.section == Section::Back).count();
    if view.sites[back..].iter().any(|site| site.section == Section::Back) {
        found.push(Complaint::new("T5", "a site of the back comes after one of the sides"));
    }
    if view.sites[..back].windows(2).any(|pair| pair[1].level < pair[0].level - ONE_LEVEL) {
        found.push(Complaint::new("T5", "the back is not worked from the nape upward"));
    }
    for section in [Section::Left, Section::Right] {
        let of: Vec<&Seen> = view.sites.iter().filter(|site| site.section == section).collect();
        if of.windows(2).any(|pair| pair[1].level < pair[0].level - ONE_LEVEL) {
            found.push(Complaint::new("T5", format!("{section:?}: not worked upward")));
        }
    }
    for site in &view.sites {
        let cut = text(&site.told["piece"], "cut", &site.name)?;
        if cut != "full" && cut != "half" {
            found.push(Complaint::new("T13", format!("{}: cut \"{cut}\"", site.name)));
        }
    }
    Ok(found)
}

/// The steps that a sheet must hold whatever the client.
const ALWAYS: [&str; 14] = ["T2", "T3", "T4", "T5", "T6", "T8", "T9", "T10", "T14", "T15", "T17", "T18", "T20", "T21"];

/// T3 to T5, T20, T21 and the others, each with its step, in the order of the hands.
fn steps(plan: &Value) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let steps = list(plan, "steps", "plan")?;
    let of = |step: &Value, fact: &str| step["rules"].as_array().is_some_and(|rules| rules.iter().any(|rule| rule == fact));
    let first = |fact: &str| steps.iter().position(|step| of(step, fact));
    for fact in ALWAYS {
        if first(fact).is_none() {
            found.push(Complaint::new("steps", format!("{fact} has no step")));
        }
    }
    let placed: Vec<&str> = steps.iter().filter_map(|step| step["site"].as_str()).collect();
    let sites: Vec<&str> = list(plan, "sites", "plan")?.iter().filter_map(|site| site["site"].as_str()).collect();
    if placed != sites {
        found.push(Complaint::new("steps", "the sites are not worked once each in their order"));
    }
    let at_first = steps.iter().position(|step| step["site"].is_string()).unwrap_or(steps.len());
    for fact in ["T2", "T3", "T5", "T6"] {
        if first(fact).is_some_and(|at| at > at_first) {
            found.push(Complaint::new("steps", format!("{fact} comes after the first piece")));
        }
    }
    if steps.iter().any(|step| step["site"].is_string() && !of(step, "T21")) {
        found.push(Complaint::new("T21", "a piece is placed without its one chance being told"));
    }
    let section = |step: &Value| {
        list(plan, "sites", "plan").ok()?.iter().find(|site| site["site"] == step["site"])?["section"].as_str().map(str::to_owned)
    };
    let down = steps.iter().position(|step| of(step, "T20")).unwrap_or(0);
    for (at, step) in steps.iter().enumerate().filter(|(_, step)| step["site"].is_string()) {
        let wrong = match section(step).as_deref() {
            Some("back") => at > down,
            _ => at < down,
        };
        if wrong {
            found.push(Complaint::new("T20", format!("{} is placed on the wrong side of letting the back down", step["site"])));
        }
    }
    let ends_with_blend = steps.iter().rposition(|step| of(step, "T4")).is_some_and(|last| last > at_first);
    if !ends_with_blend {
        found.push(Complaint::new("T4", "the ends are not blended after the last piece"));
    }
    Ok(found)
}

/// T1: a set is re-taped every six to eight weeks.
fn retape(plan: &Value) -> Result<Vec<Complaint>, Complaint> {
    let of = &plan["retape"];
    let due = number(of, "due", "retape")?;
    let window = list(of, "window", "retape")?;
    let read = |k: usize| window.get(k).and_then(Value::as_f64).unwrap_or(f64::NAN);
    let (opens, closes) = (read(0), read(1));
    let holds = (42.0..=56.0).contains(&due) && opens >= 42.0 && closes <= 56.0 && opens <= due && due <= closes;
    Ok(if holds { Vec::new() } else { vec![Complaint::new("T1", format!("due on day {due} of {opens} to {closes}"))] })
}

/// T16: an iron on a bond is at most 150 degC hot, and only where oil loosens tapes.
fn iron(plan: &Value) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let most = &plan["limits"]["bond_iron_max_degc"];
    if most.as_f64().is_some_and(|degrees| degrees > 150.0) {
        found.push(Complaint::new("T16", format!("a bond may be warmed to {most} degC")));
    }
    for step in list(plan, "steps", "plan")? {
        let told = format!("{} {}", step["what"], step["how"]);
        let words: Vec<&str> = told.split_whitespace().collect();
        let hottest = words.windows(2).filter(|pair| pair[1].starts_with("degC")).filter_map(|pair| pair[0].parse::<f64>().ok());
        for degrees in hottest.filter(|degrees| *degrees > 150.0) {
            found.push(Complaint::new("T16", format!("a step says {degrees} degC")));
        }
    }
    Ok(found)
}

/// T7: pieces, sandwiches and grams are those of the sites.
fn sums(plan: &Value) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let (mut grams, mut tabs) = (0.0, 0.0);
    let sites = list(plan, "sites", "plan")?;
    for site in sites {
        let name = site["site"].as_str().unwrap_or("a site");
        let pieces = if site["single_sided"].as_bool() == Some(true) { 1.0 } else { 2.0 };
        grams += pieces * number(&site["piece"], "mass_g", name)?;
        tabs += pieces * if site["piece"]["cut"] == "half" { 0.5 } else { 1.0 };
    }
    let of = &plan["quantity"];
    let told = (number(of, "added_g", "quantity")?, number(of, "pieces", "quantity")?, number(of, "sandwiches", "quantity")?);
    if (told.0 - grams).abs() > 0.2 || told.1 < tabs - 1e-9 || told.1 > tabs + 1.0 || (told.2 - sites.len() as f64).abs() > 0.1 {
        found.push(Complaint::new(
            "T7",
            format!("told {} g, {} pieces, {} sandwiches; the sites hold {grams:.1} g and {tabs} pieces", told.0, told.1, told.2),
        ));
    }
    Ok(found)
}

/// By usual care a bond is marked from one chance in ten of showing (a depth of
/// 3.0, by the standard rules), and none stands that would more likely show
/// than not: `P = 1/(1 + 9 (depth/3)^5)`, one half at 3 (1/9)^(1/5).
const MARKED_BELOW: f64 = 0.949;
const NONE_BELOW: f64 = 0.8545;

/// At 100 of the index a slice is at its usual limit.
const INDEX_USUAL: f64 = 100.0;
/// Nobody hangs more on a hair than 1.6 times 25 times the weight of 50 cm of
/// itself, 0.75 of that on bleached or relaxed hair (our choice); hair weighs
/// 1.32 mg to the cubic millimetre.
const BEARS: f64 = 1.6 * 25.0;

fn most_on_a_hair(view: &View) -> f64 {
    let thick = view.trial.plan["hair"]["diameter_um"][0].as_f64().unwrap_or(0.0) * 1e-3;
    let own = 1.32 * std::f64::consts::FRAC_PI_4 * thick * thick * 500.0;
    let processed = view.trial.client.file["hair"]["processed"].as_str().unwrap_or("none");
    let share = if matches!(processed, "bleached" | "relaxed") { 0.75 } else { 1.0 };
    // The plan tells her diameter in whole micrometres.
    BEARS * own * share * 1.03
}

/// What a caution must hold, and what must be marked.
fn cautions(view: &View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let told = list(&view.trial.plan, "cautions", "plan")?;
    let bears = most_on_a_hair(view);
    for (at, caution) in told.iter().enumerate() {
        let place = format!("cautions[{at}]");
        let degree = text(caution, "degree", &place)?;
        if !["watch", "heavy", "may_show"].contains(&degree) {
            found.push(Complaint::new("cautions", format!("{place}: degree \"{degree}\"")));
        }
        let what = text(caution, "what", &place)?;
        let rule = text(caution, "rule", &place)?;
        if what.is_empty() || rule.is_empty() || what.contains("(T") || what.contains(rule) {
            found.push(Complaint::new("cautions", format!("{place}: \"{what}\" by {rule}")));
        }
        if let Some(site) = caution["site"].as_str().filter(|site| !site.is_empty())
            && !view.sites.iter().any(|seen| seen.name == site)
        {
            found.push(Complaint::new("cautions", format!("{place}: there is no site {site}")));
        }
    }
    for site in &view.sites {
        let shares = site.told["coverage"].as_object().ok_or_else(|| Complaint::new("shape", format!("{}: no coverage", site.name)))?;
        let least = shares.values().filter_map(Value::as_f64).fold(f64::INFINITY, f64::min);
        let marked = told.iter().any(|caution| caution["site"] == site.name.as_str() && caution["degree"] == "may_show");
        if least < MARKED_BELOW && !marked {
            found.push(Complaint::new("cautions", format!("{}: {:.1} % hidden and not marked", site.name, 100.0 * least)));
        }
        let index = number(&site.told, "traction_index", &site.name)?;
        let weighed = told.iter().any(|caution| caution["site"] == site.name.as_str() && caution["degree"] != "may_show");
        if index > INDEX_USUAL && !weighed {
            found.push(Complaint::new("cautions", format!("{}: a traction index of {index} and not marked", site.name)));
        }
        let load = number(&site.told, "load_mg_per_hair", &site.name)?;
        if load > bears {
            found.push(Complaint::new("load", format!("{}: {load} mg hang on a hair that bears {bears:.0} at the most", site.name)));
        }
        if least < NONE_BELOW {
            found
                .push(Complaint::new("shows", format!("{}: {:.1} % hidden, it would more likely show than not", site.name, 100.0 * least)));
        }
    }
    Ok(found)
}

/// The level part of the nape hairline is level where its corners were not
/// measured otherwise, and the line from ear to ear stands upright.
fn landmarks(view: &View) -> Result<Vec<Complaint>, Complaint> {
    let mut found = Vec::new();
    let marks = &view.trial.plan["landmarks_mm"];
    let spread = |values: Vec<f64>| {
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - values.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let nape = super::points(marks, "nape_hairline", "landmarks_mm")?;
    let told = view.trial.client.file["head"]["nape_corner_rise_mm"].as_f64().unwrap_or(0.0);
    let tall = spread(nape.iter().map(|p| level(*p)).collect());
    // The corner is rounded with 12 mm: it lifts its last points a little.
    if told == 0.0 && tall > 4.0 {
        found.push(Complaint::new("landmarks", format!("the nape hairline rises by {tall:.1} mm between its corners")));
    }
    let line = super::points(marks, "ear_to_ear_line", "landmarks_mm")?;
    let thick = spread(line.iter().map(|p| ahead(*p)).collect());
    if thick > ONE_LEVEL {
        found.push(Complaint::new("landmarks", format!("the line from ear to ear wanders by {thick:.2} mm")));
    }
    let width = measure::vector::distance(nape[0], nape[nape.len() - 1]);
    if !(40.0..=140.0).contains(&width) {
        found.push(Complaint::new("landmarks", format!("the corners of the nape hairline are {width:.0} mm apart")));
    }
    Ok(found)
}

/// Sentences that are shown name no rule by its id and no fact by its number.
fn words(plan: &Value) -> Vec<Complaint> {
    let mut said: Vec<(&str, &str)> = Vec::new();
    let of = |key: &str| plan[key].as_array().into_iter().flatten();
    for (key, parts) in [("faults", &["what", "cure"][..]), ("cautions", &["what"]), ("steps", &["what", "how", "caution"])] {
        said.extend(of(key).flat_map(|one| parts.iter().filter_map(|part| one[*part].as_str())).map(|words| (key, words)));
    }
    said.extend(of("warnings").filter_map(Value::as_str).map(|words| ("warnings", words)));
    said.extend(
        of("sites")
            .flat_map(|site| site["because"].as_array().into_iter().flatten())
            .filter_map(Value::as_str)
            .map(|words| ("because", words)),
    );
    let ids: Vec<&str> = craft::all_rules().iter().map(|rule| rule.id).collect();
    let mut found: Vec<Complaint> = Vec::new();
    for (place, words) in said {
        let fact = words.match_indices("(T").any(|(at, _)| words[at + 2..].starts_with(|c: char| c.is_ascii_digit()));
        let id = words.split(|c: char| !c.is_ascii_alphanumeric() && c != '-').any(|word| word.contains('-') && ids.contains(&word));
        if (fact || id) && found.len() < 3 {
            found.push(Complaint::new("words", format!("{place}: \"{words}\"")));
        }
    }
    found
}
