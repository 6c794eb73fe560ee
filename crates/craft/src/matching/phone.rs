//! One phone as its own instrument: the ring as it read it, and whether it still reads as
//! it used to.

use crate::matching::{Ring, Shade};
use colour::Lab;
use measure::real::hypot;
use measure::{Grade, Rule, RuleBook};
use serde::{Deserialize, Serialize};

/// From how many charts on a phone is known.
pub const PHONE_KNOWN: Rule = Rule {
    id: "matching.phone_known",
    says: "From so many charts on it can be said what a phone is usually off by.",
    value: 3.0,
    range: (2.0, 10.0),
    unit: "",
    grade: Grade::OurChoice,
    source: "",
};

/// From where on a chart no longer fits the phone.
pub const PHONE_STRAYS: Rule = Rule {
    id: "matching.phone_strays",
    says: "A chart that is so many times as far off as the phone's usual one, and 1 dE00 more, no longer fits: the light or the lens has changed.",
    value: 1.6,
    range: (1.2, 3.0),
    unit: "times",
    grade: Grade::OurChoice,
    source: "",
};

/// How far a chart may be off beyond the usual, whatever the factor, in dE00: readings of
/// one phone differ by as much without any cause.
const ANYHOW: f64 = 1.0;

/// A shade as a phone read it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadShade {
    /// Its code.
    pub code: String,
    /// What the phone made of it, under D65.
    pub lab_d65: Lab,
    /// How far that may be off.
    pub uncertainty_de00: f64,
}

/// The ring as a phone read it.
#[derive(Debug, Clone, PartialEq)]
pub struct RingAsRead {
    /// Its shades in the colours that they were read in; those that were not read fall out.
    pub ring: Ring,
    /// The codes of those.
    pub unread: Vec<String>,
    /// How sure the middling shade is, in dE00; 0 where none was read.
    pub sure: f64,
}

impl RingAsRead {
    /// How sure a reading matched against it is: both may be off.
    ///
    /// *Accuracy*: `bench_same_phone` of `photo`, of two readings of one colour by one phone in
    /// one light: this bound holds all of them on real pictures (two pairs of them) and 88 of
    /// 100 on made ones. By another phone or in another light it holds fewer, 62 to 84.
    #[must_use]
    pub fn sure_with(&self, uncertainty_de00: f64) -> f64 {
        hypot(uncertainty_de00, self.sure)
    }
}

impl Ring {
    /// The ring as a phone read it; `read_by` stands for how each shade was measured.
    #[must_use]
    pub fn as_read(&self, readings: &[ReadShade], read_by: &str) -> RingAsRead {
        let (mut shades, mut unread, mut sures) = (Vec::new(), Vec::new(), Vec::new());
        for shade in &self.shades {
            let Some(read) = readings.iter().find(|read| read.code == shade.code) else {
                unread.push(shade.code.clone());
                continue;
            };
            sures.push(read.uncertainty_de00);
            shades.push(Shade {
                code: shade.code.clone(),
                name: shade.name.clone(),
                lab_d65: Some(read.lab_d65),
                xyz_d65: None,
                reflectance: None,
                measured_by: Some(read_by.to_owned()),
                uncertainty_de00: Some(read.uncertainty_de00),
            });
        }
        RingAsRead { ring: Ring { shades }, unread, sure: middling(&mut sures).unwrap_or(0.0) }
    }
}

fn middling(list: &mut [f64]) -> Option<f64> {
    list.sort_by(f64::total_cmp);
    let at = list.len().checked_sub(1)? / 2;
    Some(if list.len() % 2 == 1 { list[at] } else { (list[at] + list[at + 1]) / 2.0 })
}

/// Whether a phone still reads a chart as it used to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PhoneFit {
    /// Too few charts to say.
    TooFew,
    /// As usual: off by about so much, in dE00.
    Fits(f64),
    /// No longer: usually it was off by only so much.
    Strays(f64),
}

/// Compares what a chart was off by with what earlier charts of the phone were.
///
/// ```
/// use craft::matching::{PhoneFit, phone_fit};
/// let book = measure::RuleBook::standard();
/// assert_eq!(phone_fit(&[], 1.5, &book), PhoneFit::TooFew);
/// assert_eq!(phone_fit(&[1.5; 20], 1.5, &book), PhoneFit::Fits(1.5));
/// assert_eq!(phone_fit(&[1.5; 20], 9.0, &book), PhoneFit::Strays(1.5));
/// ```
#[must_use]
pub fn phone_fit(earlier: &[f64], today: f64, book: &RuleBook) -> PhoneFit {
    let mut earlier = earlier.to_vec();
    if (earlier.len() as f64) < book.value(&PHONE_KNOWN) {
        return PhoneFit::TooFew;
    }
    let Some(usual) = middling(&mut earlier) else { return PhoneFit::TooFew };
    if today > (book.value(&PHONE_STRAYS) * usual).max(usual + ANYHOW) { PhoneFit::Strays(usual) } else { PhoneFit::Fits(usual) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shade(code: &str) -> Shade {
        Shade {
            code: code.into(),
            name: format!("Name of {code}"),
            lab_d65: Some(Lab::new(30.0, 8.0, 18.0)),
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: Some(0.3),
        }
    }

    #[test]
    fn the_ring_as_read_keeps_names_and_order_and_names_what_was_not_read() {
        let ring = Ring { shades: vec![shade("S1"), shade("S2"), shade("S3")] };
        let read = |code: &str, l: f64, sure: f64| ReadShade { code: code.into(), lab_d65: Lab::new(l, 8.0, 18.0), uncertainty_de00: sure };
        let found = ring.as_read(&[read("S3", 52.0, 3.0), read("S1", 31.0, 2.0), read("other", 1.0, 9.0)], "my phone, window");
        let told: Vec<(&str, &str, f64)> =
            found.ring.shades.iter().map(|shade| (shade.code.as_str(), shade.name.as_str(), shade.lab_d65.unwrap().l)).collect();
        assert_eq!(told, [("S1", "Name of S1", 31.0), ("S3", "Name of S3", 52.0)]);
        assert_eq!((found.unread, found.sure), (vec!["S2".to_owned()], 2.5));
        let none = ring.as_read(&[], "");
        assert_eq!((none.ring.shades.len(), none.sure, none.sure_with(1.5)), (0, 0.0, 1.5));
    }

    #[test]
    fn each_rule_of_a_phone_has_both_its_sides() {
        let book = RuleBook::standard();
        assert_eq!(phone_fit(&[2.0, 2.1], 9.0, &book), PhoneFit::TooFew);
        let usual = [2.4, 2.0, 2.1];
        assert_eq!(phone_fit(&usual, 3.35, &book), PhoneFit::Fits(2.1));
        assert_eq!(phone_fit(&usual, 3.37, &book), PhoneFit::Strays(2.1));
        // Of a good phone a small change is no cause.
        assert_eq!(phone_fit(&[0.5, 0.5, 0.5], 1.49, &book), PhoneFit::Fits(0.5));
        assert_eq!(phone_fit(&[0.5, 0.5, 0.5], 1.51, &book), PhoneFit::Strays(0.5));
    }
}
