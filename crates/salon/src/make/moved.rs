//! A layout that a technician set by hand: whether it may be kept, and as what.

use super::head_model::{DecidedLayout, HeadModel, StandingSandwich};
use crate::plan::Plan;
use crate::words::Message;
use crate::{Fault, Place};
use craft::piece::Cut;
use craft::placement::WORTH_SHORT;
use craft::suitability::plausible::ADDED_MASS;
use measure::{Grams, Length};
use serde::{Deserialize, Serialize};

/// The most sandwiches that a layout may name.
const MOST_SITES: usize = 200;

/// Where a sandwich stands, as it is said.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct At {
    /// Where its parting starts on the middle, up from the nape hairline, mm.
    pub above_nape_mm: f64,
    /// Its middle along the parting, mm, + to her right.
    pub along_mm: f64,
    /// Whether it is cut in half.
    #[serde(default)]
    pub half: bool,
}

impl At {
    /// The place, where it can be one.
    #[must_use]
    pub fn standing(self) -> Option<StandingSandwich> {
        let sound = (0.0..=500.0).contains(&self.above_nape_mm) && (-400.0..=400.0).contains(&self.along_mm);
        sound.then(|| StandingSandwich {
            above_nape: Length::mm(self.above_nape_mm),
            along: Length::mm(self.along_mm),
            cut: if self.half { Cut::Half } else { Cut::Full },
        })
    }

    /// All of them as places.
    ///
    /// *Errors*: more than a head takes; one that is off the head.
    pub fn all_standing(all: &[Self]) -> Result<Vec<StandingSandwich>, Vec<Fault>> {
        if all.len() > MOST_SITES {
            return Err(off_the_head());
        }
        all.iter().map(|at| at.standing().ok_or_else(off_the_head)).collect()
    }
}

/// What is said of a place that is no place.
#[must_use]
pub fn off_the_head() -> Vec<Fault> {
    vec![Fault::of(&Message::OffTheHead, "the sandwich", "limits-bare-skin")]
}

/// A layout to be kept as the technician set it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Moves {
    /// Where sandwiches stand.
    pub sites: Vec<At>,
    /// Places taken out: nothing goes there.
    #[serde(default)]
    pub taken_out: Vec<At>,
    /// Why it may pass limits; empty: it may not.
    #[serde(default)]
    pub reason: String,
    /// Grams to add to them; nothing fills up to the wish.
    #[serde(default)]
    pub add_g: Option<f64>,
}

impl Moves {
    /// What is decided of the layout by them.
    ///
    /// *Meaning*: a layout that breaks a limit is kept only with a reason; what
    /// stood in the plan was judged when it was made.
    ///
    /// *Errors*: a place off the head; grams that cannot be added; every limit that
    /// is broken without a reason, each once.
    pub fn decided(&self, model: &HeadModel, plan: &Plan) -> Result<DecidedLayout, Vec<Fault>> {
        let standing = At::all_standing(&self.sites)?;
        let skipped = At::all_standing(&self.taken_out)?;
        let add = self.add_g.map(added).transpose()?;
        let known: Vec<StandingSandwich> = plan.sites.iter().map(StandingSandwich::of).collect();
        let faults = broken(model, &standing, &known);
        let reason = self.reason.trim();
        if !faults.is_empty() && reason.is_empty() {
            return Err(faults);
        }
        let reason = (!faults.is_empty()).then(|| reason.to_owned());
        Ok(DecidedLayout { standing, skipped, add, reason })
    }
}

/// Why a layout that adds nothing is not kept as another plan; nothing when it
/// differs from the one before.
#[must_use]
pub fn same_again(before: &Plan, asked: &DecidedLayout, made: &Plan) -> Vec<Fault> {
    let was: Vec<StandingSandwich> = before.sites.iter().map(StandingSandwich::of).collect();
    let now: Vec<StandingSandwich> = made.sites.iter().map(StandingSandwich::of).collect();
    let same = now.len() == was.len() && now.iter().all(|site| was.iter().any(|other| is_same_place(*site, *other)));
    if !same {
        return Vec::new();
    }
    let more = asked.add.is_none_or(|grams| grams > Grams::ZERO) && now.len() == asked.standing.len();
    let no_room = made.faults.iter().find(|fault| fault.rule == "chair" || fault.rule == WORTH_SHORT.id);
    match (more, no_room) {
        (true, Some(fault)) => {
            vec![Fault::new(Message::NoRoomForAnother.to_string(), Place::WholeHead, fault.rule.clone(), fault.cure.clone())]
        }
        _ => vec![Fault::of(&Message::NothingToKeep, Place::WholeHead, "chair")],
    }
}

/// Whether two sandwiches stand at the same place, to the tenth by which it is said.
fn is_same_place(a: StandingSandwich, b: StandingSandwich) -> bool {
    let near = |p: Length, q: Length| (p - q).abs().to_mm() < 0.15;
    a.cut == b.cut && near(a.above_nape, b.above_nape) && near(a.along, b.along)
}

fn added(grams: f64) -> Result<Grams, Vec<Fault>> {
    let most = ADDED_MASS.range.1;
    if (0.0..=most).contains(&grams) {
        return Ok(Grams::g(grams));
    }
    let message = Message::GramsNone { grams: grams.to_string(), most: most.to_string() };
    Err(vec![Fault::of(&message, "hair to add", ADDED_MASS.id)])
}

/// Every limit that sandwiches which are not the plan's own break, each once.
/// What stood in the plan was judged when it was made, to finer than the tenth
/// of a millimetre by which it is known elsewhere.
fn broken(model: &HeadModel, all: &[StandingSandwich], known: &[StandingSandwich]) -> Vec<Fault> {
    let mut faults: Vec<Fault> = Vec::new();
    let new = |at: &StandingSandwich| !known.iter().any(|other| is_same_place(*at, *other));
    for (i, at) in all.iter().enumerate().filter(|(_, at)| new(at)) {
        let others: Vec<StandingSandwich> = all.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, other)| *other).collect();
        for fault in model.judge(*at, &others).faults {
            if !faults.iter().any(|known| known.rule == fault.rule && known.what == fault.what) {
                faults.push(fault);
            }
        }
    }
    faults
}
