//! What can happen to one client.

use super::consent::{Purpose, Signed};
use super::contact::Contact;
use super::day::Day;
use super::facts::FactsSection;
use super::id::{BlobRef, ClientId, HealthId, PersonId, PhotoId, PlanId, ReadingId, VisitId};
use super::visit::words::{ClosingChecks, NextDate, ShelfPiece, Step, VisitKind};
use craft::piece::{Cut, Setting};
use craft::placement::SiteId;
use serde::{Deserialize, Serialize};

/// What a skin test showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SkinFound {
    /// Nothing.
    Clear,
    /// Redness.
    Redness,
    /// Itching.
    Itching,
    /// A blister.
    Blister,
}

/// What a plan was made from: versions of what was in force, nothing twice.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MadeFrom {
    /// The version of her own stream.
    pub client: u64,
    /// The version of her own stream up to which her visits were known; none were at zero.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub visits: u64,
    /// The version of her health document; nothing was kept of her health at zero.
    #[serde(default)]
    pub health: u64,
    /// The version of the house's stream: ring, prices, the salon's own values.
    pub house: u64,
    /// The version of the shelf's stream.
    pub shelf: u64,
    /// The reading of her ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<ReadingId>,
    /// How much hair over a bond was asked, where the salon asked its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_depth: Option<f64>,
    /// The seed of the search.
    pub seed: u64,
    /// Levers that were pulled for this plan alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levers: Vec<String>,
    /// The plan before, where it was made from one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<PlanId>,
    /// What was changed for it, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
}

/// One thing that happened to a client.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum ClientEvent {
    /// She became a client.
    ClientAdded {
        /// What the technician calls her; may be empty.
        label: String,
    },
    /// The technician calls her otherwise.
    ClientNamed {
        /// What she is called now.
        label: String,
    },
    /// A section of her facts, as it is from now on.
    FactsChanged(FactsSection),
    /// How she is reached, as it is from now on.
    ContactSet(Contact),
    /// Another record is hers too; it says so itself in its own stream.
    SameAs {
        /// The other record.
        client: ClientId,
        /// Whether the other one is kept, and this one set aside.
        kept: bool,
        /// Why that is so.
        reason: String,
    },
    /// Another record is somebody else's after all.
    NotSameAs {
        /// The other record.
        client: ClientId,
        /// Why that is so.
        reason: String,
    },
    /// Her health answers stand in a document of their own.
    HealthKept {
        /// Which.
        document: HealthId,
    },
    /// She agreed to something.
    ConsentGiven {
        /// To what.
        purpose: Purpose,
        /// The version of the words that she read.
        wording: String,
        /// How she signed, where she did.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        signed: Option<Signed>,
    },
    /// She no longer agrees.
    ConsentWithdrawn {
        /// To what.
        purpose: Purpose,
    },
    /// A skin test was set.
    SkinTestSet {
        /// The tape's lot.
        lot: String,
        /// Where on her.
        place: String,
    },
    /// A skin test was read.
    SkinTestRead {
        /// What was seen.
        found: SkinFound,
    },
    /// An event before said what was not so; nothing else of it changes.
    Corrected {
        /// The version of the event that is corrected.
        event: u64,
        /// The salon's day as it should have been.
        day: Day,
        /// What it should have said.
        instead: Box<ClientEvent>,
    },
    /// A photo of her ends was taken in.
    PhotoKept {
        /// Which.
        photo: PhotoId,
        /// The picture.
        blob: BlobRef,
        /// Where things lie in it.
        note: String,
    },
    /// Marks were set on a photo.
    PhotoMarked {
        /// Which.
        photo: PhotoId,
        /// Where things lie in it.
        note: String,
    },
    /// A photo was thrown away.
    PhotoRemoved {
        /// Which.
        photo: PhotoId,
    },
    /// The colour of her ends was read.
    ColourKept {
        /// Which reading.
        reading: ReadingId,
        /// Its photo, where there is one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<PhotoId>,
        /// What was read.
        document: String,
    },
    /// A plan was made.
    PlanMade {
        /// Which.
        plan: PlanId,
        /// What it was made from.
        from: MadeFrom,
        /// What of it was set: a place, a cut, a shade each.
        sites: Vec<SitePlaced>,
        /// Days from the day it goes in to the re-tape, and to the window's two ends.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        retape_days: Option<[u32; 3]>,
        /// The plan and its scalp as they were shown.
        blob: BlobRef,
    },
    /// The day on which a plan's set went in; none: it did not, after all.
    PlanPlaced {
        /// Which.
        plan: PlanId,
        /// The day.
        day: Option<Day>,
    },
    /// A visit began.
    VisitBegun {
        /// Which.
        visit: VisitId,
        /// What for.
        visit_kind: VisitKind,
        /// By which plan.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        plan: Option<PlanId>,
        /// Who does it.
        by: PersonId,
        /// The reason that was given for passing a limit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// A visit goes on by another plan.
    VisitReplanned {
        /// Which.
        visit: VisitId,
        /// By which plan.
        plan: PlanId,
    },
    /// Something was done at a visit.
    StepDone {
        /// Which.
        visit: VisitId,
        /// What.
        step: Step,
        /// Pieces that came from the shelf for it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        from_shelf: Vec<ShelfPiece>,
        /// The version of the shelf's event by which they left it; zero where none did.
        #[serde(default, skip_serializing_if = "is_zero")]
        left: u64,
        /// The reason that was given for passing a limit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// The last step of a visit was taken back.
    StepUndone {
        /// Which visit.
        visit: VisitId,
        /// The version of the event that said so.
        step: u64,
    },
    /// A visit ended.
    VisitClosed {
        /// Which.
        visit: VisitId,
        /// What was seen before she left.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        checks: Option<ClosingChecks>,
        /// When the set is due.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        next: Option<NextDate>,
        /// The reason that was given for passing a limit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
}

const fn is_zero(version: &u64) -> bool {
    *version == 0
}

/// One sandwich of a plan, as far as later visits ask.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SitePlaced {
    /// The site.
    pub site: SiteId,
    /// Where its parting starts, up the middle, mm.
    pub up_mm: f64,
    /// Its middle along the parting, mm, + to her right.
    pub along_mm: f64,
    /// The width of its slice, mm.
    pub width_mm: f64,
    /// Whole, or cut in half.
    pub cut: Cut,
    /// The shades above and below.
    pub shades: [String; 2],
    /// The length of its hair, mm.
    pub length_mm: f64,
    /// How its slice is held.
    #[serde(default, skip_serializing_if = "is_sandwich")]
    pub setting: Setting,
}

fn is_sandwich(setting: &Setting) -> bool {
    *setting == Setting::Sandwich
}
