//! What a layout stands on: head, hair, wish, styles and limits, laid out once
//! and asked as often as wanted.

use super::hair_wanted::{Wanted, hair_wanted};
use super::shown::{caution_plan, once_each, site_plan};
use crate::Fault;
use crate::client::ClientFacts;
use crate::plan::rim::rounded;
use crate::plan::{CautionPlan, SitePlan, SkinTriple};
use craft::coverage::{Floors, Style, StyleFlow, THRESHOLD, clearance_wished, floors};
use craft::hair::{Hair, scalp_area_of};
use craft::piece::Cut;
use craft::placement::{self, Anchor, Avoid, HeadPart, Hiding, ROW_SPACING_LEAST, Request, Site, Symmetry};
use craft::spread::length_for;
use craft::suitability::Limits;
use craft::suitability::answers::{Goal, TiesUp};
use head::{Fit, Head, Panel, SkinPoint, SmoothSkin};
use measure::real::exp;
use measure::{Grams, Length, RuleBook};
use serde::{Deserialize, Serialize};

/// A sandwich that stands somewhere, as it was set or as somebody would set it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StandingSandwich {
    /// Where its parting starts on the middle, up from the nape hairline.
    pub above_nape: Length,
    /// Distance of its middle from the midline, + to the client's right.
    pub along: Length,
    /// Whole or half.
    pub cut: Cut,
}

impl StandingSandwich {
    /// A site of a plan where it stands.
    #[must_use]
    pub fn of(site: &SitePlan) -> Self {
        Self { above_nape: site.above_nape, along: site.along, cut: site.piece.cut }
    }
}

/// What is already decided about the layout.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct DecidedLayout {
    /// Sandwiches that stand and stay.
    pub standing: Vec<StandingSandwich>,
    /// Places that were skipped: nothing goes there today.
    #[serde(default)]
    pub skipped: Vec<StandingSandwich>,
    /// How much is added to them; nothing fills up to the wish.
    pub add: Option<Grams>,
    /// Why limits may be passed by them, in the technician's words.
    pub reason: Option<String>,
}

/// A sandwich judged at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// The site with its numbers; nothing when the place is off the parting.
    pub site: Option<SitePlan>,
    /// Its tab along the parting, from the client's left to her right.
    pub tab: Vec<OnSkin>,
    /// Every floor it breaks, with its cure; none when it may stand there.
    pub faults: Vec<Fault>,
    /// What the models mark there; none of it forbids the place.
    pub cautions: Vec<CautionPlan>,
}

/// A point of the skin with the direction out of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OnSkin {
    /// Where, mm.
    pub at_mm: SkinTriple,
    /// Outward, of length one.
    pub out: SkinTriple,
}

/// Everything a layout on one client's head stands on.
#[derive(Debug, Clone)]
pub struct HeadModel {
    facts: ClientFacts,
    limits: Limits,
    head: Head,
    hair: Hair,
    wanted: Wanted,
    flows: Vec<StyleFlow>,
    floors: Floors,
    wished: Floors,
    book: RuleBook,
}

/// Points by which a tab is drawn.
const TAB_POINTS: u32 = 9;
/// A row nearer than this to where a sandwich is dropped takes it. Our choice:
/// about a finger.
const CATCHES: Length = Length::mm(9.0);
/// A line runs so much further than it is combed, by which rounding may step off it.
const ROUNDED: Length = Length::mm(0.1);
/// No place of a head is so far from the middle between its ears.
const BEYOND_ANY_HEAD_MM: f64 = 400.0;

/// The share of a bond that so many widths of strand over each place of it hide.
///
/// *Source*: `C = 1 - exp(-tau)`, as in `craft::coverage`.
#[must_use]
pub fn share_hidden(optical_depth: f64) -> f64 {
    1.0 - exp(-optical_depth)
}

/// Whether numbers can be a place on a head or on its map, mm.
#[must_use]
pub fn is_about_a_head(place: &[f64]) -> bool {
    place.iter().all(|v| v.is_finite() && v.abs() < BEYOND_ANY_HEAD_MM)
}

impl HeadModel {
    /// Lays out the head and the hair of a client.
    ///
    /// *Errors*: measures that no head has together, or hair that no count fits.
    pub fn new(facts: &ClientFacts, limits: &Limits, fit: &Fit, book: &RuleBook) -> Result<Self, Vec<Fault>> {
        let head = Head::new(fit, &facts.head.marks).map_err(|fault| vec![Fault::new(fault.what, "head", "head-marks", fault.cure)])?;
        let hair = Hair::from_facts(&facts.hair, scalp_area_of(facts.head.measures.circumference, book), book)
            .map_err(|faults| faults.iter().map(|f| Fault::new(f.to_string(), "hair", "hair", "Measure again.")).collect::<Vec<_>>())?;
        let wanted = hair_wanted(facts, limits, &hair, book);
        let styles = &facts.wish.styles;
        let flows = StyleFlow::all(&head, styles, facts.wish.part, &hair, book);
        let ties_up = facts.answers.ties_up.unwrap_or(TiesUp::Sometimes);
        let floors = floors(styles, ties_up, book);
        // Often fine hair is why the consultation asks: the stricter, never both.
        let wished = floors.wished(clearance_wished(&hair, ties_up, book).max(limits.clearance_factor));
        Ok(Self { facts: facts.clone(), limits: limits.clone(), head, hair, wanted, flows, floors, wished, book: book.clone() })
    }

    /// The head.
    #[must_use]
    pub fn head(&self) -> &Head {
        &self.head
    }

    /// Her hair.
    #[must_use]
    pub fn hair(&self) -> &Hair {
        &self.hair
    }

    /// The facts it was laid out from.
    #[must_use]
    pub fn facts(&self) -> &ClientFacts {
        &self.facts
    }

    /// What the wish comes to.
    pub(super) fn wanted(&self) -> &Wanted {
        &self.wanted
    }

    /// Lays out the sites around what stands.
    ///
    /// *Errors*: nothing can be placed; the limits that bind.
    pub(super) fn place(&self, state: &DecidedLayout, seed: u64) -> Result<placement::Placement, Vec<Fault>> {
        placement::place(&self.request(state, seed)).map_err(|faults| once_each(&faults))
    }

    /// Judges a sandwich at a place beside others; it must not be among them.
    #[must_use]
    pub fn judge(&self, at: StandingSandwich, others: &[StandingSandwich]) -> Judged {
        let state = DecidedLayout { standing: others.to_vec(), ..DecidedLayout::default() };
        self.judged(at, &placement::judge(&self.request(&state, 0), &self.placed(at)))
    }

    /// A judgement in the words and shapes of a plan.
    pub(super) fn judged(&self, at: StandingSandwich, judgement: &placement::SiteJudgement) -> Judged {
        Judged {
            site: judgement.site.as_ref().map(|site| self.shown(site)),
            tab: self.tab(at, self.placed(at).piece.tab.width),
            faults: once_each(&judgement.faults),
            cautions: judgement.site.iter().flat_map(|site| &site.cautions).map(caution_plan).collect(),
        }
    }

    /// Where a point of the skin lies: up the middle, and along the parting there.
    #[must_use]
    pub fn combed(&self, p: [f64; 3]) -> Option<(Length, Length)> {
        self.head.place_of(SkinPoint(self.head.shape().project(p)))
    }

    /// How far along the parting at a height the place nearest to a point lies.
    #[must_use]
    pub fn along_parting(&self, above_nape: Length, p: [f64; 3]) -> Option<Length> {
        self.head.parting(above_nape).map(|parting| parting.along_of(SkinPoint(p)))
    }

    /// Where a sandwich that is dropped on a point of the skin comes to stand: on the
    /// parting of another row of the same section where one runs near, so that rows
    /// stay rows; else on a line of its own. None off the partings.
    #[must_use]
    pub fn caught(&self, p: [f64; 3], others: &[StandingSandwich]) -> Option<(Length, Length)> {
        let combed = self.combed(p)?;
        let part = self.part_of(combed.0, combed.1);
        let apart = |height: Length| (height - combed.0).abs();
        let row = others
            .iter()
            .filter(|other| apart(other.above_nape) < CATCHES && self.part_of(other.above_nape, other.along) == part)
            .map(|other| other.above_nape)
            .min_by(|a, b| apart(*a).to_mm().total_cmp(&apart(*b).to_mm()));
        Some(row.map_or(combed, |height| (height, self.along_parting(height, p).unwrap_or(combed.1))))
    }

    /// The section that a place lies in.
    #[must_use]
    pub fn part_of(&self, above_nape: Length, along: Length) -> HeadPart {
        let section = self.head.parting(above_nape).map(|parting| parting.section());
        match section {
            Some(section) if along > section => HeadPart::Right,
            Some(section) if along < -section => HeadPart::Left,
            _ => HeadPart::Back,
        }
    }

    /// The place of the skin that a panel of the map shows there, mm across and
    /// upward: the end of its parting where the skin ends before; none beside the hair.
    #[must_use]
    pub fn on_skin_of(&self, panel: Panel, [x, y]: [f64; 2]) -> Option<SkinPoint> {
        let (up, along) = match panel {
            Panel::Back => (self.up_of(y), Length::mm(x)),
            Panel::Left | Panel::Right => {
                let up = self.head.of_ear_line(Length::mm(y))?;
                let out = self.head.parting(up)?.section() + Length::mm(x.abs());
                (up, if panel == Panel::Left { -out } else { out })
            }
        };
        let parting = self.head.parting(up)?;
        let (from, to) = parting.extent();
        parting.at(along.max(from).min(to))
    }

    /// How far up the middle a line starts that the back panel draws at a height, mm.
    fn up_of(&self, height: f64) -> Length {
        let (mut low, mut high) = (0.0, self.head.top_above_nape().to_mm());
        // Heights only grow with the way up: halved until nobody sees a difference.
        for _ in 0..40 {
            let middle = (low + high) / 2.0;
            if self.head.back_height(middle) < height { low = middle } else { high = middle }
        }
        Length::mm(low)
    }

    /// How tall a tab is, down the hair.
    #[must_use]
    pub fn tab_height(&self) -> Length {
        self.wanted.piece.tab.height
    }

    /// A tab of a width along the parting of a sandwich; empty where there is no parting.
    #[must_use]
    pub fn tab(&self, at: StandingSandwich, width: Length) -> Vec<OnSkin> {
        let Some(parting) = self.head.parting(at.above_nape) else { return Vec::new() };
        (0..TAB_POINTS)
            .filter_map(|i| {
                let share = f64::from(i) / f64::from(TAB_POINTS - 1) - 0.5;
                parting.at(at.along + width * share).map(|p| self.on_skin(p))
            })
            .collect()
    }

    /// A point with the direction out of the skin.
    fn on_skin(&self, p: SkinPoint) -> OnSkin {
        OnSkin { at_mm: p.0.map(|v| rounded(v, 100.0)), out: self.head.shape().normal(p.0).map(|v| rounded(v, 1000.0)) }
    }

    /// The parting at a height as points of the skin.
    #[must_use]
    pub fn parting(&self, above_nape: Length) -> Vec<OnSkin> {
        self.head.parting(above_nape).map_or_else(Vec::new, |line| line.points().iter().map(|p| self.on_skin(*p)).collect())
    }

    /// The line of a row as it is combed: within its section; all round in plans
    /// from before rows had one.
    #[must_use]
    pub fn row_line(&self, above_nape: Length, section: Option<HeadPart>) -> Vec<OnSkin> {
        let Some(parting) = self.head.parting(above_nape) else { return Vec::new() };
        let (from, to) = parting.extent();
        let ear = parting.section();
        let (from, to) = match section {
            Some(HeadPart::Back) => (from.max(-ear), to.min(ear)),
            Some(HeadPart::Left) => (from, (-ear).max(from)),
            Some(HeadPart::Right) => (ear.min(to), to),
            None => (from, to),
        };
        let within = |p: &OnSkin| {
            let along = parting.along_of(SkinPoint(p.at_mm));
            along >= from - ROUNDED && along <= to + ROUNDED
        };
        self.parting(above_nape).into_iter().filter(within).collect()
    }

    /// The share of a bond that a style hides at every corner of the head's mesh;
    /// nothing when she does not wear it.
    #[must_use]
    pub fn coverage_by_vertex(&self, style: Style) -> Option<Vec<f64>> {
        self.flow(style).map(|flow| flow.coverage_by_vertex(self.head.mesh()))
    }

    /// The flow of a style that she wears.
    #[must_use]
    pub fn flow(&self, style: Style) -> Option<&StyleFlow> {
        self.flows.iter().find(|flow| flow.style() == style)
    }

    /// How many widths of strand lie over a bond at its worst place in a style.
    #[must_use]
    pub fn depth(&self, at: StandingSandwich, style: Style) -> Option<f64> {
        let parting = self.head.parting(at.above_nape)?;
        let half = self.placed(at).piece.tab.slice_length(&self.book) / 2.0;
        let ends = (parting.at(at.along - half)?, parting.at(at.along + half)?);
        Some(self.flow(style)?.worst_over_bond(ends).optical_depth)
    }

    /// The share of a bond that must be hidden for it not to show.
    #[must_use]
    pub fn hidden_from(&self) -> f64 {
        share_hidden(self.book.value(&THRESHOLD))
    }

    /// A site in the plan's own shape, without its shade.
    pub(super) fn shown(&self, site: &Site) -> SitePlan {
        let crown = self.head.height_above_nape(self.head.landmarks().crown);
        let rise = if site.part == HeadPart::Back { site.above_nape / crown } else { 1.0 };
        let length = length_for(self.wanted.length, rise, &self.facts.pieces.lengths, &self.book);
        site_plan(&self.head, site, self.wanted.setting, length)
    }

    pub(super) fn placed(&self, at: StandingSandwich) -> placement::Placed {
        placement::Placed { above_nape: at.above_nape, along: at.along, piece: self.wanted.piece.as_cut(at.cut) }
    }

    pub(super) fn request(&self, state: &DecidedLayout, seed: u64) -> Request<'_> {
        let facts = &self.facts;
        let placed: Vec<placement::Placed> = state.standing.iter().map(|&at| self.placed(at)).collect();
        let standing: Grams = placed.iter().map(|p| p.piece.hanging_mass(self.wanted.setting)).sum();
        let earlier: Vec<Anchor> =
            facts.last_sites.iter().map(|s| Anchor { above_nape: s.above_nape, along: s.along, width: s.width }).collect();
        Request {
            scalp: &self.head,
            hair: &self.hair,
            styles: self.flows.iter().map(|flow| flow as &dyn Hiding).collect(),
            pieces: vec![self.wanted.piece],
            setting: self.wanted.setting,
            wish: state.add.map_or_else(|| self.wish_in_whole(), |more| standing + more),
            limits: placement::LayoutLimits {
                floors: self.floors,
                wished: self.wished,
                care: facts.wish.care,
                across_middle: facts.pieces.tab_across_middle,
                sides: facts.wish.goal != Goal::Thickness,
                row_spacing: Length::mm(self.book.value(&ROW_SPACING_LEAST)),
                avoid: facts.head.avoid.iter().map(|a| Avoid { side: a.side, zone: a.zone, reason: a.reason.clone() }).collect(),
                load_share: self.limits.load_factor,
                heaviest: self.limits.max_sandwich,
                dense_places_only: self.limits.dense_places_only,
                halves: true,
            },
            earlier: if earlier.is_empty() { Vec::new() } else { vec![earlier] },
            placed,
            left_out: state.skipped.iter().map(|&at| self.placed(at)).collect(),
            symmetry: Symmetry::Mirrored,
            rules: &self.book,
            seed,
        }
    }

    /// The wish rounded up to whole sandwiches.
    fn wish_in_whole(&self) -> Grams {
        self.wanted.piece.hanging_mass(self.wanted.setting) * f64::from(self.wanted.quantity.sandwiches)
    }
}
