//! Why not here: what keeps an empty place free, or what could stand there.

use super::head_model::{DecidedLayout, HeadModel, Judged, StandingSandwich};
use crate::words::Message;
use craft::piece::Cut;
use craft::placement::{Beside, COMB_STEP_MM, ROW_SPACING_LEAST, SiteJudgement};
use measure::Length;
use measure::text::sentences;
use serde::Serialize;

/// The answer to a tap on an empty place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhyNot {
    /// What could be set here; nothing when a floor keeps the place free.
    pub offer: Option<StandingSandwich>,
    /// The sandwich judged: the one offered, or the one that would have come nearest.
    pub judged: Option<Judged>,
    /// One sentence: what keeps it free, or what may stand here.
    pub says: String,
}

/// How far from the tap a sandwich may be offered, mm: about a finger.
const NEAR: f64 = 12.0;

impl HeadModel {
    /// What keeps a place of the skin free, beside the sandwiches that stand; or
    /// the sandwich that may be set there.
    ///
    /// *Meaning*: the row nearest to the tap is tried first, then a row of its
    /// own; a whole sandwich before a half; the tap itself first, then a
    /// finger's breadth to either side.
    #[must_use]
    pub fn why_not(&self, p: [f64; 3], others: &[StandingSandwich]) -> WhyNot {
        let Some((up, along)) = self.combed(p) else {
            return WhyNot { offer: None, judged: None, says: Message::NoPartingHere.to_string() };
        };
        let state = DecidedLayout { standing: others.to_vec(), ..DecidedLayout::default() };
        let request = self.request(&state, 0);
        let beside = Beside::of(&request);
        let mut nearest: Option<(StandingSandwich, SiteJudgement)> = None;
        for (above_nape, along) in self.partings_near(p, up, along, others) {
            for cut in [Cut::Full, Cut::Half] {
                for off in asides() {
                    let at = StandingSandwich { above_nape, along: along + off, cut };
                    let placed = self.placed(at);
                    // Beside the tap only what has room is worth a closer look; the tap itself is always explained.
                    if off != Length::ZERO && !beside.leaves_room(&placed) {
                        continue;
                    }
                    let judgement = beside.judge(&placed);
                    if judgement.is_allowed() {
                        let may = if cut == Cut::Full { Message::WholeMayBeSet } else { Message::HalvesMayBeSet };
                        let judged = Some(self.judged(at, &judgement));
                        return WhyNot { offer: Some(at), judged, says: may.to_string() };
                    }
                    let nearer = |best: &SiteJudgement| {
                        judgement.site.is_some() && (best.site.is_none() || judgement.faults.len() < best.faults.len())
                    };
                    if nearest.as_ref().is_none_or(|(_, best)| nearer(best)) {
                        nearest = Some((at, judgement));
                    }
                }
            }
        }
        let judged = nearest.map(|(at, judgement)| self.judged(at, &judgement));
        let says = judged
            .as_ref()
            .and_then(|judged| judged.faults.first())
            .map_or_else(|| Message::NothingFitsHere.to_string(), |fault| sentences(&fault.what, &fault.cure));
        WhyNot { offer: None, judged, says }
    }

    /// The parting of the row nearest to the tap, where one is within reach, and
    /// that of the tap itself.
    fn partings_near(&self, p: [f64; 3], up: Length, along: Length, others: &[StandingSandwich]) -> Vec<(Length, Length)> {
        let reach = self.row_reach();
        let mut rows: Vec<Length> = others.iter().map(|other| other.above_nape).filter(|row| (*row - up).abs() < reach).collect();
        rows.sort_by(|a, b| (*a - up).abs().to_mm().total_cmp(&(*b - up).abs().to_mm()));
        rows.dedup();
        rows.truncate(2);
        let mut places: Vec<(Length, Length)> = rows.into_iter().filter_map(|row| Some((row, self.along_parting(row, p)?))).collect();
        places.push((up, along));
        places
    }

    fn row_reach(&self) -> Length {
        Length::mm(ROW_SPACING_LEAST.value)
    }
}

/// The tap itself, then places beside it, nearer ones first.
fn asides() -> impl Iterator<Item = Length> {
    let steps = (NEAR / (2.0 * COMB_STEP_MM)).floor() as i32;
    std::iter::once(0).chain((1..=steps).flat_map(|k| [k, -k])).map(|k| Length::mm(2.0 * COMB_STEP_MM * f64::from(k)))
}
