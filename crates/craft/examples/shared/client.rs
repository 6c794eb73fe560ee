// A client for the examples: a head, hair of usual density, worn down. Included where it
// is used; no target of its own.

use craft::coverage::{Part, Style, StyleFlow, TiesUp, floors};
use craft::hair::{Hair, HairFacts};
use craft::piece::{Piece, Tab};
use craft::placement::{LayoutLimits, Request};
use head::{Head, Marks, Measures, fit};
use measure::{Area, Density, Grams, Length, RuleBook};

/// What a placement rests on.
pub struct Client {
    head: Head,
    hair: Hair,
    flows: Vec<StyleFlow>,
    rules: RuleBook,
}

impl Client {
    /// A head of 560 mm with 180 hairs to the square centimetre.
    pub fn new() -> Self {
        let rules = RuleBook::standard();
        let head = Head::new(&fit(&Measures::of_circumference(Length::mm(560.0))).unwrap(), &Marks::default()).unwrap();
        let facts = HairFacts { density: Some(Density::per_cm2(180.0)), ..HairFacts::default() };
        let hair = Hair::from_facts(&facts, Area::cm2(600.0), &rules).unwrap();
        let flows = StyleFlow::all(&head, &[Style::Down], Part::None, &hair, &rules);
        Self { head, hair, flows, rules }
    }

    /// A wish for so many grams.
    pub fn request(&self, grams: f64) -> Request<'_> {
        let tab = Tab { width: Length::mm(40.0), height: Length::mm(9.0) };
        let limits = LayoutLimits::of(floors(&[Style::Down], TiesUp::Sometimes, &self.rules), &self.rules);
let piece = Piece::new(tab, Grams::g(2.5), Length::mm(500.0)).unwrap();
Request::first(&self.head, &self.hair, &self.flows, piece, Grams::g(grams), limits, &self.rules)
    }
}
