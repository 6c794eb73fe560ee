//! Refuse on facts, warn on models: ten clients on whom limits of our own
//! choice used to keep places free. Each such limit is a mark now, and the
//! places it kept free carry sandwiches.

use craft::coverage::{FINE_OR_TIED, THRESHOLD, depth_at_chance};
use craft::load::{STATIC_LIMIT, TUG_LIMIT};
use head::Border;
use measure::RuleBook;
use salon::client::ClientFile;
use salon::make::{Supplies, make};
use salon::plan::{Plan, SitePlan};

/// One client: the limit that refused, and her facts.
struct Client {
    name: &'static str,
    /// The rule that used to refuse places on her head.
    limit: &'static str,
    facts: &'static str,
}

const SHOWS: &str = THRESHOLD.id;
const HEAVY: &str = STATIC_LIMIT.id;
const NEAR: &str = FINE_OR_TIED.id;

const CLIENTS: [Client; 10] = [
    Client { name: "fine, half up", limit: SHOWS, facts: r#"both 500 natural ["down","half_up"] sometimes 30 180 fine none 550"# },
    Client { name: "fine, high tail", limit: SHOWS, facts: r#"thickness 300 natural ["down","high_ponytail"] often 28 190 fine none 548"# },
    Client { name: "medium, half up", limit: SHOWS, facts: r#"both 500 natural ["down","half_up"] sometimes 34 170 medium none 552"# },
    Client { name: "fine, long", limit: SHOWS, facts: r#"both 500 natural ["down","low_ponytail"] sometimes 26 185 fine none 545"# },
    Client { name: "full, medium", limit: SHOWS, facts: r#"both 600 full ["down","low_ponytail"] never 31 190 medium none 566"# },
    Client { name: "few, coloured, fifty", limit: HEAVY, facts: r#"both 450 natural ["down"] never 51 130 fine coloured 550"# },
    Client {
        name: "bleached, fine",
        limit: HEAVY,
        facts: r#"both 450 natural ["down","low_ponytail"] sometimes 29 150 fine bleached 552"#,
    },
    Client {
        name: "coloured, forty, tied high",
        limit: HEAVY,
        facts: r#"both 450 natural ["down","high_ponytail"] often 42 150 fine coloured 556"#,
    },
    Client { name: "fine, full", limit: NEAR, facts: r#"both 500 full ["down"] sometimes 27 210 fine none 560"# },
    Client { name: "medium, often tied", limit: NEAR, facts: r#"both 550 full ["down","low_ponytail"] often 33 200 medium none 558"# },
];

impl Client {
    fn plan(&self) -> Plan {
        let words: Vec<&str> = self.facts.split(' ').collect();
        let [goal, length, fullness, styles, ties, age, density, strand, processed, round] = words[..] else {
            panic!("{}: ten facts", self.name)
        };
        let text = format!(
            "[client]\nage_years = {age}\n[consultation]\ngoal = \"{goal}\"\nwanted_length_mm = {length}\nfullness = \"{fullness}\"\n\
             styles = {styles}\npart = \"centre\"\nties_up = \"{ties}\"\nhad_extensions = true\nreacted_before = false\nallergies = []\n\
             scalp = []\nhealth = []\nconsent = true\n[hair]\ndensity_per_cm2 = {density}\nstrand = \"{strand}\"\nown_length_mm = 320\n\
             processed = \"{processed}\"\noil = \"normal\"\nends = \"soft\"\n[head]\ncircumference_mm = {round}\n[colour]\n\
             lab_d65 = [30.0, 8.0, 18.0]\n[pieces]\nmass_g = 2.5\nlengths_mm = [350, 450, 500, 550, 600]\n"
        );
        let file: ClientFile = toml::from_str(&text).unwrap_or_else(|fault| panic!("{}: {fault}", self.name));
        let facts = file.check().unwrap_or_else(|faults| panic!("{}: {faults:?}", self.name));
        make(&facts, &Supplies::default(), 1, &RuleBook::standard()).unwrap_or_else(|faults| panic!("{}: {faults:?}", self.name)).plan
    }
}

/// Whether a site breaks what used to refuse it, read off its own numbers.
fn was_refused(site: &SitePlan, plan: &Plan, limit: &str) -> bool {
    match limit {
        SHOWS => site.chance_of_showing.is_some_and(|chance| chance >= 0.1),
        HEAVY => plan.cautions.iter().any(|c| c.site == Some(site.site) && [HEAVY, TUG_LIMIT.id].contains(&c.rule.as_str())),
        // 25 mm times 1.2 from ears, side hairline and the hairline behind the ears.
        _ => site.clearance.to_mm() < 30.0 && site.clearance_to != Border::NapeHairline,
    }
}

#[test]
fn what_used_to_refuse_marks_now_and_frees_places() {
    for client in CLIENTS {
        let plan = client.plan();
        let freed: Vec<&SitePlan> = plan.sites.iter().filter(|site| was_refused(site, &plan, client.limit)).collect();
        assert!(!freed.is_empty(), "{}: no place was freed; {} sites", client.name, plan.sites.len());
        let rules: &[&str] = if client.limit == HEAVY { &[HEAVY, TUG_LIMIT.id] } else { &[client.limit] };
        // Marked from a third of what is missing of the wished clearance on.
        let marked = |site: &SitePlan| {
            plan.cautions.iter().any(|c| c.site == Some(site.site) && rules.contains(&c.rule.as_str()))
                || (client.limit == NEAR && site.clearance.to_mm() > 28.0)
        };
        for site in &freed {
            assert!(marked(site), "{}: {} is not marked: {site:?}", client.name, site.site);
        }
        println!("{}: {} of {} sites stand where {} refused", client.name, freed.len(), plan.sites.len(), client.limit);
    }
}

#[test]
fn beyond_what_anyone_does_is_still_refused() {
    let book = RuleBook::standard();
    // One half at 3 / 9^(1/5) strands deep.
    let least = 1.0 - (-depth_at_chance(0.5, &book)).exp();
    for client in CLIENTS {
        let plan = client.plan();
        for site in &plan.sites {
            assert!(site.coverage.values().all(|share| *share >= least - 1e-3), "{}: {} shows", client.name, site.site);
            assert!(site.chance_of_showing.is_some_and(|chance| chance <= 0.5 + 1e-3), "{}: {}", client.name, site.site);
        }
    }
}
