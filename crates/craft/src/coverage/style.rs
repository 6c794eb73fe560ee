//! The styles a client wears, as flow lines on her own head.

use super::sheet::{RootPlace, Roots, Sheet, Spot};
use super::trace::heading;
use super::{HAIRLINE_RAMP, KAPPA, SIDE_PART};
use crate::hair::Hair;
use crate::load::BOND_OFF_SCALP;
use crate::suitability::answers::{Part, Style};
use crate::words::Message;
use head::{Head, ScalpShape, SkinPoint, SmoothSkin, TriMesh, Zone};
use measure::real::{acos, exp};
use measure::vector::{Vec3, along, dot, norm, sub};
use measure::words::Sentence;
use measure::{Length, RuleBook};
use serde::{Deserialize, Serialize};

impl Style {
    /// Every style.
    pub const ALL: [Self; 7] = [Self::Down, Self::LowPonytail, Self::MidPonytail, Self::HighPonytail, Self::HalfUp, Self::Bun, Self::Plait];

    /// The style as a sentence says it: hair is worn ...
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Down => Message::WornDown,
            Self::LowPonytail => Message::WornLowPonytail,
            Self::MidPonytail => Message::WornMidPonytail,
            Self::HighPonytail => Message::WornHighPonytail,
            Self::HalfUp => Message::WornHalfUp,
            Self::Bun => Message::WornBun,
            Self::Plait => Message::WornPlait,
        }
        .text()
    }

    /// Whether hair at the nape is drawn up to a tie.
    #[must_use]
    pub const fn bares_the_nape(self) -> bool {
        match self {
            Self::Down | Self::HalfUp => false,
            Self::LowPonytail | Self::MidPonytail | Self::HighPonytail | Self::Bun | Self::Plait => true,
        }
    }
}

/// How a bond is hidden at one place in one style.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Covering {
    /// Strands that pass over the skin there, per centimetre of width.
    pub flux_per_cm: f64,
    /// Of them, those over a bond whose slice is taken there.
    pub covering_flux_per_cm: f64,
    /// Widths of strand over each place of the bond, on average.
    pub optical_depth: f64,
    /// Share of the bond that is hidden.
    pub coverage: f64,
}

impl Covering {
    /// No hair lies over the place.
    pub const BARE: Self = Self { flux_per_cm: 0.0, covering_flux_per_cm: 0.0, optical_depth: 0.0, coverage: 0.0 };
}

/// Places on a bond that are judged; both ends and seven between them.
const BOND_PLACES: u32 = 9;

/// Distance between neighbouring planes off a part, mm: the comb's own width.
const PLANE_SPACING: f64 = 3.0;

/// Of a fan every so many lines are drawn, and of plane sections.
const FAN_DRAWN: usize = 3;
const PLANES_DRAWN: usize = 2;

/// Hair longer than any way over a head, mm.
const ALWAYS_REACHES: f64 = 1e6;

/// One style worn on one head: the flow of the hair, ready for questions.
///
/// ```
/// use craft::coverage::{Part, Style, StyleFlow};
/// use craft::hair::{Hair, HairFacts};
/// use head::{Head, Marks, Measures, fit};
/// use measure::{Area, Length, RuleBook};
/// let book = RuleBook::standard();
/// let head = Head::new(&fit(&Measures::of_circumference(Length::mm(560.0))).unwrap(), &Marks::default()).unwrap();
/// let hair = Hair::from_facts(&HairFacts::default(), Area::cm2(600.0), &book).unwrap();
/// let flow = StyleFlow::new(&head, Style::HighPonytail, Part::None, &hair, &book);
/// let place = head.parting(Length::mm(80.0)).unwrap().at(Length::ZERO).unwrap();
/// assert!(flow.at(place).coverage > 0.0);
/// ```
#[derive(Debug, Clone)]
pub struct StyleFlow {
    style: Style,
    lines: Lines,
    /// From slice to the bond's near edge, mm.
    to_bond: f64,
    /// How far down its flow line a strand lies, mm.
    reach: f64,
    kappa: f64,
}

#[derive(Debug, Clone)]
#[allow(clippy::large_enum_variant, reason = "one for each style of a head; a box would be followed at every lookup")]
enum Lines {
    /// One fan serves the whole head.
    Fan(Sheet),
    /// Off a part before the plane `y = end`, round the part's end behind it;
    /// what lies before the last plane, `y = front`, is judged on it.
    Parted { end: f64, front: f64, part_x: f64, left: Sheet, right: Sheet, behind: Sheet },
}

impl StyleFlow {
    /// The flow of a style on a head, with this hair.
    ///
    /// A low ponytail and a plait are drawn to the level of the occipital bone,
    /// a high ponytail, a bun and the upper half of half-up to that of the
    /// crown; half-up divides along a line at the level of a middle ponytail.
    /// Worn down, hair falls straight off the part and, behind it, round the
    /// part's end at the crown; without a part it falls from the whorl.
    ///
    /// *Meaning*: the part matters for hair worn down only. Density and strand
    /// diameter follow the regions of the head; inside the hairline hair grows
    /// dense over the ramp. Strands shorter than the way to a place do not
    /// cover it.
    #[must_use]
    pub fn new(head: &Head, style: Style, part: Part, hair: &Hair, book: &RuleBook) -> Self {
        let ramp = Length::mm(book.value(&HAIRLINE_RAMP));
        let by_zone = Zone::ALL.map(|zone| (hair.density_in(zone).value.to_per_mm2(), hair.diameter_in(zone).value.to_mm()));
        let roots = |line: &[RootPlace]| -> Vec<Roots> {
            let row: Vec<(SkinPoint, Vec3)> = line.iter().map(|here| (SkinPoint(here.p), here.n)).collect();
            let rooted = |(share, zone): (f64, Zone)| {
                let (density, diameter) = by_zone[zone as usize];
                let strands = share * density;
                Roots { strands, width: strands * diameter }
            };
            head.hair_along(&row, ramp).into_iter().map(|here| here.map_or(Roots::NONE, rooted)).collect()
        };
        let marks = head.landmarks();
        let up = ScalpShape::up();
        let fan = |from: SkinPoint| Sheet::fan(head.shape(), from.0, reach_from(head, from.0), &roots);
        let lines = match style {
            Style::LowPonytail | Style::Plait => Lines::Fan(fan(marks.tied_low).drawn_to_start()),
            Style::MidPonytail => Lines::Fan(fan(marks.tied_mid).drawn_to_start()),
            Style::HighPonytail | Style::Bun => Lines::Fan(fan(marks.tied_high).drawn_to_start()),
            Style::HalfUp => {
                let level = dot(marks.tied_mid.0, up);
                Lines::Fan(fan(marks.tied_high).divided(|p| dot(p, up) - level).hanging(up))
            }
            Style::Down => match part_x(part, book) {
                None => Lines::Fan(fan(marks.crown).hanging(up)),
                Some(part_x) => parted(head, part_x, &roots, up),
            },
        };
        Self {
            style,
            lines,
            to_bond: book.value(&BOND_OFF_SCALP),
            reach: hair.own_length.map_or(ALWAYS_REACHES, Length::to_mm),
            kappa: book.value(&KAPPA),
        }
    }

    /// The flows of several styles, in the order given; the same as each by
    /// itself, however many processors share the work.
    #[must_use]
    pub fn all(head: &Head, styles: &[Style], part: Part, hair: &Hair, book: &RuleBook) -> Vec<Self> {
        let of = |style: Style| Self::new(head, style, part, hair, book);
        std::thread::scope(|scope| {
            let Some((first, others)) = styles.split_first() else { return Vec::new() };
            let others: Vec<_> = others.iter().map(|&style| scope.spawn(move || of(style))).collect();
            let mut flows = vec![of(*first)];
            flows.extend(others.into_iter().map(|flow| flow.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))));
            flows
        })
    }

    /// The style.
    #[must_use]
    pub fn style(&self) -> Style {
        self.style
    }

    /// How a bond is hidden whose slice is taken at a place.
    #[must_use]
    pub fn at(&self, slice: SkinPoint) -> Covering {
        let (sheet, place) = self.sheet_at(slice.0);
        let Some(spot) = sheet.find(place) else { return Covering::BARE };
        covering(sheet, spot, sheet.downstream(spot, self.to_bond), self.reach, self.kappa)
    }

    /// How a bond is hidden at its worst place, given the two ends of its slice.
    #[must_use]
    pub fn worst_over_bond(&self, ends: (SkinPoint, SkinPoint)) -> Covering {
        let (from, to) = (ends.0.0, ends.1.0);
        let mut worst = self.at(ends.0);
        for i in 1..BOND_PLACES {
            let share = f64::from(i) / f64::from(BOND_PLACES - 1);
            // The straight line dips under the skin by less than 3 mm; places
            // are looked up along the normal, so that does not matter.
            let here = self.at(SkinPoint(along(from, sub(to, from), share)));
            if here.optical_depth < worst.optical_depth {
                worst = here;
            }
        }
        worst
    }

    /// Coverage at every corner of a mesh of the head, for a heat map.
    #[must_use]
    pub fn coverage_by_vertex(&self, mesh: &TriMesh) -> Vec<f64> {
        mesh.vertices().iter().map(|p| self.at(SkinPoint(*p)).coverage).collect()
    }

    /// How hair lies in the style, as lines from root to end for a picture.
    ///
    /// *Meaning*: hair that leaves the head goes on straight down for a little.
    #[must_use]
    pub fn courses(&self) -> Vec<Vec<SkinPoint>> {
        let up = ScalpShape::up();
        let mut courses = match &self.lines {
            Lines::Fan(sheet) => sheet.courses(FAN_DRAWN, up),
            Lines::Parted { end, left, right, behind, .. } => {
                // The fan round the part's end serves only what lies behind it.
                let mut courses = behind.courses(FAN_DRAWN, up);
                courses.retain(|course| course.iter().all(|p| p[1] < end + PLANE_SPACING));
                courses.extend(left.courses(PLANES_DRAWN, up));
                courses.extend(right.courses(PLANES_DRAWN, up));
                courses
            }
        };
        courses.drain(..).map(|course| course.into_iter().map(SkinPoint).collect()).collect()
    }

    /// The sheet that serves a place, and the place to look up on it.
    fn sheet_at(&self, p: Vec3) -> (&Sheet, Vec3) {
        match &self.lines {
            Lines::Fan(sheet) => (sheet, p),
            Lines::Parted { end, front, part_x, left, right, behind } => {
                if p[1] < *end {
                    return (behind, p);
                }
                let place = [p[0], p[1].min(*front), p[2]];
                (if p[0] < *part_x { left } else { right }, place)
            }
        }
    }
}

/// The covering of a bond from the spot of its slice and that of its near edge.
pub(super) fn covering(sheet: &Sheet, slice: Spot, bond: Spot, reach: f64, kappa: f64) -> Covering {
    let upstream = sheet.upstream(slice, reach);
    let at_bond = sheet.width_at(bond);
    let depth = kappa * upstream.width / at_bond;
    Covering {
        flux_per_cm: 10.0 * upstream.strands / sheet.width_at(slice),
        covering_flux_per_cm: 10.0 * upstream.strands / at_bond,
        optical_depth: depth,
        coverage: 1.0 - exp(-depth),
    }
}

/// Where the part stands, from the middle towards the client's right.
fn part_x(part: Part, book: &RuleBook) -> Option<f64> {
    let aside = book.value(&SIDE_PART);
    match part {
        Part::Centre => Some(0.0),
        Part::Left => Some(-aside),
        Part::Right => Some(aside),
        Part::None => None,
    }
}

/// A length of flow line that leaves no hair out: the way to the farthest
/// border, along a circle through both, and a little more.
fn reach_from(head: &Head, from: Vec3) -> f64 {
    let centre = head.shape().centre();
    let marks = head.landmarks();
    let a = sub(from, centre);
    let borders = marks.nape_hairline.iter().chain(&marks.front_hairline).chain(&marks.left_ear).chain(&marks.right_ear);
    let mut farthest: f64 = 60.0;
    for border in borders {
        let b = sub(border.0, centre);
        let angle = acos(dot(heading(a), heading(b)).clamp(-1.0, 1.0));
        farthest = farthest.max(angle * norm(a).max(norm(b)));
    }
    (1.05 * farthest + 10.0).min(400.0)
}

/// Hair worn down off a part: plane sections straight off it, and a fan round
/// its end at the crown.
fn parted(head: &Head, part_x: f64, roots: &impl Fn(&[RootPlace]) -> Vec<Roots>, up: Vec3) -> Lines {
    let skin = head.shape();
    let marks = head.landmarks();
    let crown = marks.crown.0;
    let hair_front = marks.midline.first().map_or(100.0, |p| p.0[1]);
    // Level fore and aft in the head's own frame, so that each half falls to
    // its side; the nape lies behind the crown along it.
    let end = crown[1];
    let mut starts = Vec::new();
    let mut y = end - PLANE_SPACING;
    // The part goes on a little way onto the forehead, so that the first hair
    // lies between two planes.
    while y <= hair_front + PLANE_SPACING {
        match part_point(skin, y, part_x, up) {
            Some(p) => starts.push(p),
            None => break,
        }
        y += PLANE_SPACING;
    }
    let front = end + PLANE_SPACING * (starts.len().max(3) - 3) as f64;
    let tip = part_point(skin, end, part_x, up).unwrap_or(crown);
    // From part to ear is less than half the way round.
    let reach = starts.iter().map(|p| norm(sub(*p, skin.centre()))).fold(0.0, f64::max) * 2.6;
    let side = |x: f64| Sheet::planes(skin, [0.0, 1.0, 0.0], &starts, [x, 0.0, 0.0], reach, roots).hanging(up);
    let behind = Sheet::fan(skin, tip, reach_from(head, tip), roots).hanging(up);
    Lines::Parted { end, front, part_x, left: side(-1.0), right: side(1.0), behind }
}

/// The place of the part in one plane across the head: where the upright line
/// at this `y` and `x` comes out of the skin; none where the skin is too steep.
fn part_point(skin: &impl SmoothSkin, y: f64, x: f64, up: Vec3) -> Option<Vec3> {
    let centre = skin.centre();
    let rise = [0.0, 0.0, 1.0];
    let mut q = [x, y, centre[2] + 90.0];
    for _ in 0..12 {
        let foot = skin.project(q);
        let n = skin.normal(foot);
        if dot(n, up) < 0.15 || n[2] < 0.15 {
            return None;
        }
        let gap = dot(sub(q, foot), n);
        q = along(q, rise, -gap / n[2]);
        if gap.abs() < 1e-9 {
            return Some(q);
        }
    }
    None
}
