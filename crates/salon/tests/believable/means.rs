//! Her own head and hair by the engines below the planner: the traced flow of
//! each style, and the load on a slice.

use super::Complaint;
use super::seen::View;
use super::skin::Line;
use craft::coverage::{Style, StyleFlow};
use craft::hair::{Hair, scalp_area_of};
use craft::load::{Pull, SliceCase, contact, see_through, traction};
use craft::piece::{Piece, Setting, Tab};
use head::{Head, SkinPoint, Zone};
use measure::{Grams, Length, RuleBook};

/// Her head and hair as the engines below the planner know them, and what one
/// more sandwich would be made of.
pub struct Means {
    pub head: Head,
    pub hair: Hair,
    pub flows: Vec<StyleFlow>,
    pub styles: Vec<Style>,
    pub whole: Piece,
    pub setting: Setting,
    pub book: RuleBook,
    /// To spare on every floor and spacing, mm.
    pub spare: f64,
}

impl Means {
    /// The means of a plan's client.
    pub fn of(view: &View, spare: f64) -> Result<Self, Complaint> {
        let facts = &view.trial.client.facts;
        let book = RuleBook::standard();
        let fault = |says: String| Complaint::new("shape", says);
        let fit = head::fit(&facts.head.measures).map_err(|faults| fault(format!("{faults:?}")))?;
        let head = Head::new(&fit, &facts.head.marks).map_err(|bad| fault(bad.to_string()))?;
        let hair = Hair::from_facts(&facts.hair, scalp_area_of(facts.head.measures.circumference, &book), &book);
        let hair = hair.map_err(|faults| fault(format!("{faults:?}")))?;
        let flows = StyleFlow::all(&head, &facts.wish.styles, facts.wish.part, &hair, &book);
        // The lightest of the pieces in use; those of the shelf when none is.
        let (mut mass, mut single) = (facts.pieces.mass.map_or(2.5, Grams::to_g), false);
        for site in &view.sites {
            let one = site.told["piece"]["mass_g"].as_f64().unwrap_or(2.5) * if site.half { 2.0 } else { 1.0 };
            mass = mass.min(one);
            single |= site.told["single_sided"].as_bool() == Some(true);
        }
        let tab = Tab { width: facts.pieces.tab_width.unwrap_or(Length::mm(40.0)), height: Length::mm(9.0) };
        let whole = Piece { tab, mass: Grams::g(mass), length: Length::mm(450.0), cut: craft::piece::Cut::Full };
        let setting = if single { Setting::SingleSided } else { Setting::Sandwich };
        Ok(Self { head, hair, flows, styles: facts.wish.styles.clone(), whole, setting, book, spare })
    }

    /// The least depth over the bond in any style she wears.
    pub fn depth(&self, line: &Line, slice: [f64; 2]) -> f64 {
        let ends = (SkinPoint(line.at(slice[0])), SkinPoint(line.at(slice[1])));
        self.flows.iter().map(|flow| flow.worst_over_bond(ends).optical_depth).fold(f64::INFINITY, f64::min)
    }

    /// Hanging load and tug over their usual limits for the thickest slice that
    /// may be taken, with its thickness. Age and earlier loss move the caution,
    /// not the end; bleached and relaxed hair move both.
    pub fn load(&self, half: bool, zone: Zone, room: f64) -> (f64, f64, f64) {
        let piece = if half { self.whole.half() } else { self.whole };
        let case = SliceCase { limit_share: 1.0, ..SliceCase::new(&self.hair, zone, &piece, self.setting, &self.book) };
        let case = case.drawn(pull(&self.styles, zone));
        let processed = match self.hair.processed {
            craft::hair::Processed::Bleached | craft::hair::Processed::Relaxed => 0.75,
            craft::hair::Processed::None | craft::hair::Processed::Coloured => 1.0,
        };
        let mut thick = 6.0_f64.min(room / 2.0);
        // Seen through (T8), and adhesive on adhesive over 0.7 of the tab.
        while thick > 1.0 && (see_through(&case, Length::mm(thick)) < 0.5 || contact(&case, Length::mm(thick), &self.book) < 0.7) {
            thick -= 0.05;
        }
        let thick = thick * 0.97;
        let borne = traction(&case, Length::mm(thick), &self.book);
        (borne.hanging / processed, borne.tug, thick)
    }

    /// What one whole sandwich hangs on its slice, g.
    pub fn hangs(&self) -> f64 {
        self.whole.hanging_mass(self.setting).to_g()
    }
}

/// How the styles draw the hair of a region, the hardest of them.
pub fn pull(styles: &[Style], zone: Zone) -> Pull {
    let at_side = matches!(zone, Zone::Parietal | Zone::Temporal | Zone::Frontal);
    let below = matches!(zone, Zone::Nape | Zone::Occipital);
    styles
        .iter()
        .map(|style| match style {
            Style::Down => Pull::WithGrowth,
            Style::HighPonytail | Style::Bun if below => Pull::Against,
            Style::MidPonytail if zone == Zone::Nape => Pull::Against,
            _ if at_side => Pull::Across,
            _ => Pull::WithGrowth,
        })
        .max()
        .unwrap_or_default()
}
