//! A plan's sites as they lie on the skin.

use super::skin::{Line, P, Skin, level};
use super::{Complaint, Trial, list, number, points, text};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// One of the three sections in which rows are set; the back's two halves are
/// combed as one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Section {
    /// Behind the line from ear to ear.
    Back,
    /// Before it, on her left.
    Left,
    /// Before it, on her right.
    Right,
}

impl Section {
    /// Every section.
    pub const ALL: [Self; 3] = [Self::Back, Self::Left, Self::Right];

    /// The section of a word.
    pub fn of(word: &str) -> Option<Self> {
        match word {
            "back" => Some(Self::Back),
            "left" => Some(Self::Left),
            "right" => Some(Self::Right),
            _ => None,
        }
    }
}

/// A sandwich where it lies.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Its name.
    pub name: String,
    /// Its section.
    pub section: Section,
    /// The number of its row.
    pub row: i64,
    /// Whether it is of halves.
    pub half: bool,
    /// The two ends of its slice, her left first.
    pub ends: [P; 2],
    /// The mean height of the two.
    pub level: f64,
    /// Where the slice's ends lie along the level line.
    pub slice: [f64; 2],
    /// Where the tab's ends lie: the slice's and the bare margin.
    pub tab: [f64; 2],
    /// The site as the plan tells it.
    pub told: Value,
}

impl Seen {
    /// Where its middle lies along the level line.
    pub fn middle(&self) -> f64 {
        0.5 * (self.slice[0] + self.slice[1])
    }

    /// Which side of the midline its middle lies on: -1 her left, 1 her right.
    pub fn side(&self) -> f64 {
        if self.middle() < 0.0 { -1.0 } else { 1.0 }
    }

    /// The tab's ends as distances from the midline, the nearer first.
    pub fn outward(&self) -> [f64; 2] {
        let far = self.tab.map(|s| s * self.side());
        [far[0].min(far[1]), far[0].max(far[1])]
    }
}

/// A row where it lies.
#[derive(Debug, Clone)]
pub struct SeenRow {
    /// Its section.
    pub section: Section,
    /// The mean height of its sites.
    pub level: f64,
    /// What a tape reads from the section's foot: up the middle at the back, up
    /// the line from ear to ear at the sides.
    pub reading: f64,
    /// Its sites, by number, from her left to her right.
    pub sites: Vec<usize>,
    /// The row as the plan tells it.
    pub told: Value,
}

/// A plan on its skin.
#[derive(Debug)]
pub struct View<'t> {
    /// The plan and its client.
    pub trial: &'t Trial,
    /// The skin.
    pub skin: Skin,
    /// The sites, in the plan's order.
    pub sites: Vec<Seen>,
    /// The rows, from the foot of each section upward.
    pub rows: Vec<SeenRow>,
    lines: BTreeMap<i64, Arc<Line>>,
}

/// The bare end of a tab beyond its slice (T8): 10 mm in all for a whole tab of
/// 40 mm, 5 for a half.
pub fn margin(half: bool) -> f64 {
    if half { 2.5 } else { 5.0 }
}

fn key(level: f64) -> i64 {
    (level * 1000.0).round() as i64
}

impl<'t> View<'t> {
    /// Looks at a plan.
    pub fn of(trial: &'t Trial) -> Result<Self, Complaint> {
        let skin = Skin::of(&trial.plan, &trial.scalp, &trial.client.facts)?;
        let mut view = Self { trial, skin, sites: Vec::new(), rows: Vec::new(), lines: BTreeMap::new() };
        for site in list(&trial.plan, "sites", "plan")? {
            let seen = view.see(site)?;
            view.sites.push(seen);
        }
        view.find_rows()?;
        Ok(view)
    }

    fn see(&mut self, site: &Value) -> Result<Seen, Complaint> {
        let name = text(site, "site", "a site")?.to_owned();
        let word = text(site, "section", &name)?;
        let section = Section::of(word).ok_or_else(|| Complaint::new("shape", format!("{name}: \"{word}\" is no section")))?;
        let ends = points(site, "ends_mm", &name)?;
        let [first, second] = ends[..] else {
            return Err(Complaint::new("shape", format!("{name}: {} ends", ends.len())));
        };
        let half = text(&site["piece"], "cut", &name)? == "half";
        let height = 0.5 * (level(first) + level(second));
        let line = self.line(height);
        let slice = [line.s_of(first), line.s_of(second)];
        let bare = margin(half);
        let tab = if slice[0] <= slice[1] { [slice[0] - bare, slice[1] + bare] } else { [slice[1] - bare, slice[0] + bare] };
        let row = number(site, "row", &name)? as i64;
        Ok(Seen { name, section, row, half, ends: [first, second], level: height, slice, tab, told: site.clone() })
    }

    /// The level line at a height.
    pub fn line(&mut self, height: f64) -> Arc<Line> {
        let skin = &self.skin;
        Arc::clone(self.lines.entry(key(height)).or_insert_with(|| Arc::new(skin.line(height))))
    }

    fn find_rows(&mut self) -> Result<(), Complaint> {
        for row in list(&self.trial.plan, "rows", "plan")? {
            let number = number(row, "row", "a row")? as i64;
            let place = format!("row {number}");
            let word = text(row, "section", &place)?;
            let section = Section::of(word).ok_or_else(|| Complaint::new("shape", format!("{place}: \"{word}\" is no section")))?;
            let mut sites: Vec<usize> = (0..self.sites.len()).filter(|at| self.sites[*at].row == number).collect();
            sites.sort_by(|a, b| self.sites[*a].middle().total_cmp(&self.sites[*b].middle()));
            if sites.is_empty() {
                return Err(Complaint::new("shape", format!("{place}: no site stands in it")));
            }
            let level = sites.iter().map(|at| self.sites[*at].level).sum::<f64>() / sites.len() as f64;
            let reading = if section == Section::Back { self.skin.u_of(level) } else { self.skin.e_of(level) };
            let reading = reading.ok_or_else(|| Complaint::new("rows level", format!("{place}: no tape reads up to it")))?;
            self.rows.push(SeenRow { section, level, reading, sites, told: row.clone() });
        }
        self.rows.sort_by(|a, b| a.section.cmp(&b.section).then(a.level.total_cmp(&b.level)));
        Ok(())
    }

    /// The rows of a section, from its foot upward.
    pub fn rows_of(&self, section: Section) -> Vec<&SeenRow> {
        self.rows.iter().filter(|row| row.section == section).collect()
    }

    /// Where along a lower line the place lies that is nearest to a place of an
    /// upper one: the foot by which brick is judged.
    pub fn foot(&mut self, upper: f64, s: f64, lower: f64) -> f64 {
        let p = self.line(upper).at(s);
        self.line(lower).s_of(p)
    }
}
