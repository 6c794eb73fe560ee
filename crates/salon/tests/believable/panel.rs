//! The panel: nine kinds of client whom every salon knows, and what a set for
//! each must come to at usual care.
//!
//! *Source*: common practice, ranges from memory of the trade's rules of thumb
//! (about 20 pieces for some thickness, 40 for a full set, 60 and more for thick
//! hair or much length), for tabs of 40 mm and pieces of 2.5 g.

use super::clients::{Chance, Client, answered, head, strand};
use super::{Complaint, Trial, list, number, text};
use serde_json::{Value, json};

/// One row of the panel.
#[derive(Debug, Clone, Copy)]
pub struct PanelRow {
    /// What she is called in messages.
    pub name: &'static str,
    strand: &'static str,
    density: (f64, f64),
    age: (f64, f64),
    processed: &'static [&'static str],
    goal: &'static str,
    fullness: &'static str,
    /// The lengths wanted, from the nape, mm; none for thickness alone.
    wanted: &'static [f64],
    styles: &'static [&'static str],
    ties_up: &'static [&'static str],
    /// The fewest sandwiches, a sandwich of halves counting one half.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// The share of the wish that is met at least.
    pub share: f64,
}

const ANY: f64 = f64::INFINITY;
const THICKNESS: &[f64] = &[];

/// The rows, in the order of the specification's table.
pub const PANEL: [PanelRow; 9] = [
    PanelRow {
        name: "fine, for thickness",
        strand: "fine",
        density: (180.0, 220.0),
        age: (25.0, 50.0),
        processed: &["none", "coloured"],
        goal: "thickness",
        fullness: "natural",
        wanted: THICKNESS,
        styles: &["down", "low_ponytail"],
        ties_up: &["sometimes"],
        least: 5.0,
        most: 16.0,
        share: 0.9,
    },
    PanelRow {
        name: "fine, for both",
        strand: "fine",
        density: (180.0, 220.0),
        age: (25.0, 50.0),
        processed: &["none", "coloured"],
        goal: "both",
        fullness: "natural",
        wanted: &[500.0],
        styles: &["down", "low_ponytail"],
        ties_up: &["sometimes"],
        least: 18.0,
        most: 30.0,
        share: 0.0,
    },
    PanelRow {
        name: "fine and few, coloured, fifty",
        strand: "fine",
        density: (120.0, 150.0),
        age: (50.0, 50.0),
        processed: &["coloured"],
        goal: "thickness",
        fullness: "natural",
        wanted: THICKNESS,
        styles: &["down"],
        ties_up: &["never", "sometimes"],
        least: 6.0,
        most: ANY,
        share: 0.0,
    },
    PanelRow {
        name: "fine, half-up",
        strand: "fine",
        density: (170.0, 200.0),
        age: (20.0, 50.0),
        processed: &["none", "coloured"],
        goal: "both",
        fullness: "natural",
        wanted: &[450.0, 500.0],
        styles: &["down", "half_up"],
        ties_up: &["never", "sometimes"],
        least: 12.0,
        most: ANY,
        share: 0.0,
    },
    PanelRow {
        name: "fine, high ponytail daily",
        strand: "fine",
        density: (180.0, 220.0),
        age: (20.0, 50.0),
        processed: &["none", "coloured"],
        goal: "thickness",
        fullness: "natural",
        wanted: THICKNESS,
        styles: &["down", "high_ponytail"],
        ties_up: &["often"],
        least: 5.0,
        most: 14.0,
        share: 0.0,
    },
    PanelRow {
        name: "medium, for both",
        strand: "medium",
        density: (170.0, 210.0),
        age: (30.0, 50.0),
        processed: &["coloured"],
        goal: "both",
        fullness: "natural",
        wanted: &[500.0],
        styles: &["down", "low_ponytail"],
        ties_up: &["sometimes"],
        least: 18.0,
        most: 30.0,
        share: 0.9,
    },
    PanelRow {
        name: "medium, full",
        strand: "medium",
        density: (170.0, 210.0),
        age: (20.0, 50.0),
        processed: &["none", "coloured"],
        goal: "both",
        fullness: "full",
        wanted: &[550.0],
        styles: &["down"],
        ties_up: &["never", "sometimes"],
        least: 28.0,
        most: ANY,
        share: 0.0,
    },
    PanelRow {
        name: "coarse, full",
        strand: "coarse",
        density: (200.0, 240.0),
        age: (20.0, 50.0),
        processed: &["none", "coloured"],
        goal: "both",
        fullness: "full",
        wanted: &[550.0, 600.0],
        styles: &["down", "low_ponytail"],
        ties_up: &["sometimes"],
        least: 32.0,
        most: ANY,
        share: 0.0,
    },
    PanelRow {
        name: "medium, bleached",
        strand: "medium",
        density: (170.0, 210.0),
        age: (20.0, 50.0),
        processed: &["bleached"],
        goal: "both",
        fullness: "natural",
        wanted: &[450.0, 500.0],
        styles: &["down", "low_ponytail"],
        ties_up: &["sometimes"],
        least: 14.0,
        most: ANY,
        share: 0.0,
    },
];

impl PanelRow {
    /// A client of this row.
    pub fn client(&self, seed: u64) -> Client {
        let mut chance = Chance::new(seed.wrapping_mul(131) ^ u64::from(self.name.bytes().map(u32::from).sum::<u32>()));
        let chance = &mut chance;
        let head = head(chance, 545.0, 570.0);
        let age = chance.whole(self.age.0, self.age.1);
        let mut file = answered(chance, head, age);
        let hair = &mut file["hair"];
        hair["density_per_cm2"] = json!(chance.whole(self.density.0, self.density.1));
        hair["processed"] = json!(chance.one_of(self.processed));
        strand(chance, hair, self.strand);
        let talk = &mut file["consultation"];
        talk["goal"] = json!(self.goal);
        talk["fullness"] = json!(self.fullness);
        if !self.wanted.is_empty() {
            talk["wanted_length_mm"] = json!(chance.one_of(self.wanted));
        }
        talk["styles"] = json!(self.styles);
        talk["ties_up"] = json!(chance.one_of(self.ties_up));
        talk["part"] = json!(chance.one_of(&["centre", "centre", "left", "right", "none"]));
        Client::of(format!("{} {seed}", self.name), file)
    }

    /// What does not hold of a plan for a client of this row.
    pub fn complaints(&self, trial: &Trial) -> Vec<Complaint> {
        let mut found = Vec::new();
        match Figures::of(&trial.plan) {
            Ok(figures) => {
                found.extend(self.counted(&figures));
                found.extend(sides(trial, &figures).unwrap_or_else(|complaint| vec![complaint]));
            }
            Err(complaint) => found.push(complaint),
        }
        found
    }

    fn counted(&self, figures: &Figures) -> Vec<Complaint> {
        let mut found = Vec::new();
        let Figures { sandwiches, added, wished, .. } = figures;
        if *sandwiches < self.least && !figures.is_met() {
            found.push(Complaint::new(
                "panel",
                format!("{sandwiches} sandwiches, at least {} are due; {added:.1} g of {wished:.1} g", self.least),
            ));
        }
        if *sandwiches > self.most {
            found.push(Complaint::new(
                "panel",
                format!("{sandwiches} sandwiches, at most {} are usual; {added:.1} g of {wished:.1} g", self.most),
            ));
        }
        if figures.met() < self.share {
            found.push(Complaint::new(
                "panel",
                format!("{:.0} % of the wish: {added:.1} g of {wished:.1} g in {sandwiches} sandwiches", 100.0 * figures.met()),
            ));
        }
        found
    }
}

/// The sums of a plan.
#[derive(Debug, Clone, Copy)]
pub struct Figures {
    /// Sandwiches, a sandwich of halves counting one half.
    pub sandwiches: f64,
    /// Grams added.
    pub added: f64,
    /// Grams wished.
    pub wished: f64,
    /// The least that one more sandwich could add: halves of the pieces in use.
    pub smallest: f64,
}

impl Figures {
    /// The sums of a plan, from its own sites and figures.
    pub fn of(plan: &Value) -> Result<Self, Complaint> {
        let mut sandwiches = 0.0;
        let mut whole: f64 = 0.0;
        for site in list(plan, "sites", "plan")? {
            let place = site["site"].as_str().unwrap_or("a site");
            let piece = &site["piece"];
            let half = text(piece, "cut", place)? == "half";
            sandwiches += if half { 0.5 } else { 1.0 };
            let on_slice = if site["single_sided"].as_bool() == Some(true) { 1.0 } else { 2.0 };
            let mass = number(piece, "mass_g", place)? * on_slice * if half { 2.0 } else { 1.0 };
            whole = if whole == 0.0 { mass } else { whole.min(mass) };
        }
        let quantity = &plan["quantity"];
        Ok(Self {
            sandwiches,
            added: number(quantity, "added_g", "quantity")?,
            wished: number(quantity, "wished_g", "quantity")?,
            // Two pieces of 2.5 g when nothing stands.
            smallest: if whole > 0.0 { whole / 2.0 } else { 2.5 },
        })
    }

    /// The share of the wish that is met.
    pub fn met(&self) -> f64 {
        // A plan in which nothing stands tells of no wish; it meets none.
        if self.wished > 0.0 { self.added / self.wished } else { 0.0 }
    }

    /// Grams short of the wish.
    pub fn short(&self) -> f64 {
        self.wished - self.added
    }

    /// Whether no further sandwich fits into the wish.
    pub fn is_met(&self) -> bool {
        self.wished > 0.0 && self.short() < self.smallest
    }
}

/// Rules that are floors: facts of the trade and the technician's own keep-outs.
const FLOORS: [&str; 4] = ["coverage-ear-floor", "coverage-side-floor", "place-top-free", "limits-avoid"];

/// In every plan for length or both of 20 sandwiches and more each side has one
/// at least, unless a named floor forbids it.
pub fn sides(trial: &Trial, figures: &Figures) -> Result<Vec<Complaint>, Complaint> {
    if trial.client.says("goal") == "thickness" || figures.sandwiches < 20.0 {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    let sites = list(&trial.plan, "sites", "plan")?;
    for side in ["left", "right"] {
        let mut stands = false;
        for site in sites {
            stands |= text(site, "section", site["site"].as_str().unwrap_or("a site"))? == side;
        }
        if !stands && !is_told_why(&trial.plan, side) {
            found.push(Complaint::new(
                "sides",
                format!("{} sandwiches and none on the {side} side, and no floor is named for it", figures.sandwiches),
            ));
        }
    }
    Ok(found)
}

/// Whether the plan names a floor that keeps a side empty.
fn is_told_why(plan: &Value, side: &str) -> bool {
    let told = |fault: &Value| {
        let says = |key: &str| fault[key].as_str().unwrap_or("").to_lowercase();
        let of_the_side = [says("what"), says("where"), says("site")].iter().any(|words| words.contains("side") || words.contains(side));
        of_the_side && FLOORS.contains(&says("rule").as_str())
    };
    ["faults", "cautions"].iter().any(|key| plan[*key].as_array().is_some_and(|all| all.iter().any(told)))
}
