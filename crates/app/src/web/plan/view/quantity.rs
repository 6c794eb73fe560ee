//! How much hair: the three levels of the wish, and thickness along the length
//! before and after, as a drawing.

use super::words::without_fact;
use measure::Length;
use measure::text::{capital, millimetres, number};
use paper::words::spoken;
use salon::plan::{LevelPlan, ProfilePoint, QuantityPlan};

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

/// How much hair, and what the numbers rest on.
pub fn quantity(plan: &QuantityPlan) -> QuantityView {
    QuantityView {
        profile: profile(&plan.profile),
        levels: levels(&plan.levels, plan.wished.to_g()),
        notes: plan.notes.iter().map(|note| without_fact(note)).collect(),
    }
}

/// The drawing's size in its own units.
const WIDE: f64 = 720.0;
const HALF: f64 = 70.0;
const MIDDLE: f64 = 78.0;

/// Thickness as a ribbon round a middle line, as wide as the gathered hair is round.
fn profile(points: &[ProfilePoint]) -> Option<Profile> {
    let (first, last) = (points.first()?, points.last()?);
    let most = points.iter().map(|point| point.before.to_mm().max(point.after.to_mm())).fold(0.0, f64::max);
    let span = last.at.to_mm() - first.at.to_mm();
    if !(most > 0.0 && span > 0.0) {
        return None;
    }
    let x = |at: f64| 10.0 + (at - first.at.to_mm()) / span * (WIDE - 20.0);
    let outline = |thick: &dyn Fn(&ProfilePoint) -> f64| {
        let spot = |point: &ProfilePoint, up: f64| format!("{:.1} {:.1}", x(point.at.to_mm()), MIDDLE - up * thick(point) / most * HALF);
        let over = points.iter().map(|point| spot(point, 1.0));
        let under = points.iter().rev().map(|point| spot(point, -1.0));
        format!("M{}Z", over.chain(under).collect::<Vec<_>>().join("L"))
    };
    let marks = (0..=4)
        .map(|quarter| {
            let at = first.at.to_mm() + span * f64::from(quarter) / 4.0;
            (format!("{:.1}", x(at)), millimetres(Length::mm(at)))
        })
        .collect();
    let near_ends = points.iter().rfind(|point| point.at.to_mm() <= first.at.to_mm() + 0.9 * span).unwrap_or(last);
    Some(Profile {
        before: outline(&|point| point.before.to_mm()),
        after: outline(&|point| point.after.to_mm()),
        marks,
        says: format!(
            "Gathered at the nape it measures {} round now and {} after; at {} along the length {} now and {} after.",
            millimetres(first.before),
            millimetres(first.after),
            millimetres(near_ends.at),
            millimetres(near_ends.before),
            millimetres(near_ends.after)
        ),
    })
}

fn levels(levels: &[LevelPlan], wished: f64) -> Vec<LevelView> {
    let nearest = levels.iter().map(|level| (level.added.to_g() - wished).abs()).fold(f64::INFINITY, f64::min);
    levels
        .iter()
        .map(|level| LevelView {
            name: capital(&spoken(level.level.word())),
            asked: (level.added.to_g() - wished).abs() <= nearest,
            added: format!("{} g", number(level.added.to_g(), 0)),
            pieces: level.pieces,
            ends: millimetres(level.ends_circumference),
        })
        .collect()
}
