//! Neatness as numbers: what a technician would call tidy or scattered.

use super::seen::{Section, View};

/// The tidiness of one plan.
#[derive(Debug, Clone, Copy, Default)]
pub struct Neat {
    /// Rows, counted by section.
    pub rows: usize,
    /// Rows of one sandwich although their section holds others.
    pub lone_rows: usize,
    /// Sandwiches of halves.
    pub halves: usize,
    /// Halves that stand neither at the end of a row nor next to the middle of
    /// a row in brick.
    pub scattered: usize,
    /// Gaps between neighbours on one side of a row.
    pub gaps: usize,
    /// Gaps that differ from the least of their row's side by more than 10 mm.
    pub uneven: usize,
    /// Rows less than 20 mm above the row below.
    pub close_rows: usize,
}

impl Neat {
    /// The tidiness of a plan.
    pub fn of(view: &View) -> Self {
        let mut neat = Self::default();
        for section in Section::ALL {
            let rows = view.rows_of(section);
            neat.rows += rows.len();
            neat.close_rows += rows.windows(2).filter(|pair| pair[1].reading - pair[0].reading < 19.9).count();
            // Of a pair left and right each is one in its half of the row.
            let lone = |sites: usize| if section == Section::Back { sites == 1 } else { false };
            for (at, row) in rows.iter().enumerate() {
                neat.lone_rows += usize::from(lone(row.sites.len()) && rows.len() > 1);
                for side in [-1.0, 1.0] {
                    let mut tabs: Vec<(f64, f64, bool)> = row
                        .sites
                        .iter()
                        .map(|site| &view.sites[*site])
                        .filter(|site| site.side() == side)
                        .map(|site| (site.outward()[0], site.outward()[1], site.half))
                        .collect();
                    tabs.sort_by(|a, b| a.0.total_cmp(&b.0));
                    neat.look_along(&tabs, at >= 2);
                }
            }
        }
        neat
    }

    /// Looks along one side of a row, from the middle outward.
    fn look_along(&mut self, tabs: &[(f64, f64, bool)], brick: bool) {
        let last = tabs.len().saturating_sub(1);
        for (at, tab) in tabs.iter().enumerate() {
            self.halves += usize::from(tab.2);
            let excused = at == last || (at == 0 && brick);
            self.scattered += usize::from(tab.2 && !excused);
        }
        let gaps: Vec<f64> = tabs.windows(2).map(|pair| pair[1].0 - pair[0].1).collect();
        let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
        self.gaps += gaps.len();
        self.uneven += gaps.iter().filter(|gap| **gap > least + 10.0).count();
    }

    /// The sum of two plans.
    pub fn and(self, other: Self) -> Self {
        Self {
            rows: self.rows + other.rows,
            lone_rows: self.lone_rows + other.lone_rows,
            halves: self.halves + other.halves,
            scattered: self.scattered + other.scattered,
            gaps: self.gaps + other.gaps,
            uneven: self.uneven + other.uneven,
            close_rows: self.close_rows + other.close_rows,
        }
    }
}

impl std::fmt::Display for Neat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{} rows ({} of one sandwich, {} under 20 mm), {} halves ({} scattered), {} gaps ({} uneven)",
            self.rows, self.lone_rows, self.close_rows, self.halves, self.scattered, self.gaps, self.uneven
        )
    }
}
