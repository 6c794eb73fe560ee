//! Ordinary clients, drawn at random from a seed.
//!
//! *Source* of the spreads: circumference and ear-to-ear tape of women, key
//! `niosh2003` (means 558.7 and 341.0 mm, standard deviations 20.7 and 15.6);
//! hair counts, keys `barman1965`, `loussouarn2016` (about 110 to 250 to the
//! square centimetre); what she wears and wants is our choice of what a salon
//! sees every day.

use craft::matching::Ring;
use salon::client::{ClientFacts, ClientFile, known_keys};
use salon::make::Supplies;
use salon::stock::Order;
use serde_json::{Value, json};

/// A small seeded generator, xorshift with a multiplier. *Source*: key
/// `vigna2016`.
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    /// The generator of a seed.
    pub fn new(seed: u64) -> Self {
        // Neighbouring seeds are spread before the first number is drawn.
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0xd1b5_4a32_d192_ed03);
        for _ in 0..8 {
            chance.next();
        }
        chance
    }

    fn next(&mut self) -> u64 {
        if self.0 == 0 {
            self.0 = 1;
        }
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// From 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number from the one to the other, both among them.
    pub fn whole(&mut self, from: f64, to: f64) -> f64 {
        let (from, to) = (from.round(), to.round());
        (from + (self.unit() * (to - from + 1.0)).floor()).min(to)
    }

    /// Whether something so likely happens.
    pub fn happens(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// One of several, each as likely.
    pub fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        let at = (self.unit() * all.len() as f64) as usize;
        all[at.min(all.len() - 1)]
    }
}

/// A client and what the checks must know of her.
#[derive(Debug, Clone)]
pub struct Client {
    /// A name to find her again by: what she was drawn for, and her seed.
    pub name: String,
    /// Her file.
    pub file: Value,
    /// Her facts.
    pub facts: ClientFacts,
}

impl Client {
    /// The client of a file.
    ///
    /// Panics when an ordinary client's facts are refused: then this generator is wrong.
    pub fn of(name: String, file: Value) -> Self {
        let read: ClientFile = serde_json::from_value(file.clone()).unwrap_or_else(|fault| panic!("{name}: {fault}\n{file:#}"));
        let facts = read.check().unwrap_or_else(|faults| panic!("{name}: {faults:?}\n{file:#}"));
        Self { name, file, facts }
    }

    /// A word of the consultation.
    pub fn says(&self, key: &str) -> &str {
        self.file["consultation"][key].as_str().unwrap_or("")
    }

    /// The styles she wears.
    pub fn styles(&self) -> Vec<&str> {
        self.file["consultation"]["styles"].as_array().into_iter().flatten().filter_map(Value::as_str).collect()
    }

    /// Whether her hair is ever tied so that the nape is seen (T6).
    pub fn bares_her_nape(&self) -> bool {
        self.says("ties_up") != "never" || self.styles().iter().any(|style| !matches!(*style, "down" | "half_up"))
    }

    /// Whether everything about her is the same on both sides.
    pub fn is_mirrored(&self) -> bool {
        let head = &self.file["head"];
        self.says("part") == "centre" && head["avoid"].is_null() && head["crown_to_right_mm"].is_null() && head["taped_partings"].is_null()
    }
}

/// What hangs in the salon: one kind of piece in every length, of three shades.
#[derive(Debug, Clone)]
pub struct Shelf {
    ring: Ring,
    order: Order,
}

/// The lengths on the shelf, mm.
pub const LENGTHS: [f64; 6] = [350.0, 400.0, 450.0, 500.0, 550.0, 600.0];

impl Shelf {
    /// The shelf of these checks.
    pub fn new() -> Self {
        let shades = ["K1", "K2", "K3"];
        let ring = json!({"shades": [
            {"code": "K1", "name": "Bark", "lab_d65": [21.0, 6.5, 10.0]},
            {"code": "K2", "name": "Clay", "lab_d65": [33.0, 8.5, 20.0]},
            {"code": "K3", "name": "Reed", "lab_d65": [48.0, 7.2, 23.0]},
        ]});
        let packs: Vec<Value> = shades
            .iter()
            .flat_map(|shade| {
                LENGTHS.iter().map(move |length| {
                    json!({
                        "id": format!("mill-{shade}-{length}"), "supplier": "mill", "shade": shade, "length_mm": length, "pieces": 10,
                        "price_minor": 3000 + (*length as i64) * 10,
                    })
                })
            })
            .collect();
        let order = json!({"packs": packs, "suppliers": [{"id": "mill", "shipping_minor": 900}], "currency": "EUR"});
        Self { ring: serde_json::from_value(ring).unwrap(), order: serde_json::from_value(order).unwrap() }
    }

    /// As the planner takes it.
    pub fn supplies(&self) -> Supplies<'_> {
        Supplies { ring: Some(&self.ring), shelf: Some(&self.order), reading: None, observed: None, hers: None }
    }
}

impl Default for Shelf {
    fn default() -> Self {
        Self::new()
    }
}

/// Her head by tape: the circumference, and each other tape or mark as likely
/// taken as not, near what a head of that size has.
pub fn head(chance: &mut Chance, least: f64, most: f64) -> Value {
    let around = chance.whole(least, most);
    let grown = around / 558.7;
    let mut head = json!({"circumference_mm": around});
    let mut measured = |chance: &mut Chance, share: f64, key: &str, from: f64, to: f64| {
        let value = chance.whole(from, to);
        if chance.happens(share) && known_keys("head").is_some_and(|known| known.contains(&key)) {
            head[key] = json!(value);
        }
    };
    measured(chance, 0.5, "ear_to_ear_over_crown_mm", 341.0 * grown - 10.0, 341.0 * grown + 10.0);
    measured(chance, 0.5, "front_hairline_to_tape_mm", 89.0 * grown - 8.0, 89.0 * grown + 8.0);
    measured(chance, 0.5, "tape_to_nape_hairline_mm", 232.0 * grown - 10.0, 232.0 * grown + 10.0);
    measured(chance, 0.25, "nape_half_width_mm", 40.0, 52.0);
    measured(chance, 0.25, "behind_ear_bare_mm", 7.0, 13.0);
    measured(chance, 0.25, "temple_hairline_mm", 62.0, 72.0);
    if chance.happens(0.5) {
        head["hair_under_tape"] = json!(chance.one_of(&["parted", "smooth", "full"]));
    }
    head
}

/// A strand of a class, by touch or in the calliper.
pub fn strand(chance: &mut Chance, hair: &mut Value, class: &str) {
    // Fine is under 60 um, coarse over 80 (science of hair); measured values
    // stay clear of 50 um, under which light pieces only are asked for.
    let (from, to) = match class {
        "fine" => (51.0, 58.0),
        "medium" => (64.0, 76.0),
        _ => (84.0, 98.0),
    };
    let measured = chance.whole(from, to);
    if chance.happens(0.4) {
        hair["diameter_um"] = json!(measured);
        hair["measured_by"] = json!("calliper");
    } else {
        hair["strand"] = json!(class);
    }
}

/// A file with everything answered so that nothing stands against the work.
pub fn answered(chance: &mut Chance, head: Value, age: f64) -> Value {
    json!({
        "client": {"age_years": age},
        "consultation": {
            "sport_per_week": chance.whole(0.0, 3.0), "swims": chance.happens(0.3),
            "hot_tools": chance.one_of(&["never", "weekly", "daily"]), "had_extensions": true, "reacted_before": false,
            "allergies": [], "scalp": [], "health": [], "consent": true,
        },
        "hair": {
            "own_length_mm": chance.whole(250.0, 400.0), "texture": chance.one_of(&["straight", "straight", "wavy", "curly"]),
            "oil": chance.one_of(&["dry", "normal", "normal", "oily"]), "ends": chance.one_of(&["blunt", "soft"]),
        },
        "head": head,
        "colour": {"shade": chance.one_of(&["K1", "K2", "K3"])},
        "pieces": {"tab_width_mm": 40, "tab_height_mm": 9, "mass_g": 2.5, "lengths_mm": LENGTHS},
        "prices": {"currency": "EUR", "hour_minor": 6000, "tape_tab_minor": 35},
    })
}

/// Any client that a salon sees on any day.
pub fn anyone(seed: u64) -> Client {
    let mut chance = Chance::new(seed ^ 0x00a1_1c0e);
    let chance = &mut chance;
    let head = head(chance, 530.0, 610.0);
    let age = chance.whole(18.0, 65.0);
    let mut file = answered(chance, head, age);
    let hair = &mut file["hair"];
    hair["density_per_cm2"] = json!(chance.whole(110.0, 245.0));
    hair["processed"] = json!(chance.one_of(&["none", "none", "coloured", "coloured", "bleached", "relaxed"]));
    let class = chance.one_of(&["fine", "medium", "medium", "coarse"]);
    strand(chance, hair, class);
    let own = hair["own_length_mm"].as_f64().unwrap_or(300.0);
    let talk = &mut file["consultation"];
    let goal = chance.one_of(&["thickness", "length", "both", "both"]);
    talk["goal"] = json!(goal);
    let longer: Vec<f64> = LENGTHS.into_iter().filter(|length| *length > own + 60.0).collect();
    let wanted = chance.one_of(&longer);
    if goal != "thickness" {
        talk["wanted_length_mm"] = json!(wanted);
    }
    talk["fullness"] = json!(chance.one_of(&["light", "natural", "natural", "full"]));
    let mut styles = vec!["down"];
    for (style, share) in [("low_ponytail", 0.5), ("half_up", 0.2), ("mid_ponytail", 0.15), ("high_ponytail", 0.2), ("bun", 0.1)] {
        if chance.happens(share) {
            styles.push(style);
        }
    }
    let tied = styles.iter().any(|style| !matches!(*style, "down" | "half_up"));
    talk["styles"] = json!(styles);
    talk["ties_up"] = json!(chance.one_of(if tied { &["sometimes", "sometimes", "often"][..] } else { &["never", "sometimes"][..] }));
    talk["part"] = json!(chance.one_of(&["centre", "centre", "left", "right", "none"]));
    Client::of(format!("anyone {seed}"), file)
}
