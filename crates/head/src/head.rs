//! One client's head: the fitted scalp with everything that is asked of it.

use crate::MarkFault;
use crate::field::{Fields, Spot, to_right};
use crate::landmark::{HORSESHOE_SINE, Landmarks, Lines};
use crate::level::{LevelLine, forward_of, lengths, level_of};
use crate::marks::{Marks, TapedParting};
use crate::mesh::TriMesh;
use crate::parting::Parting;
use crate::point::{Border, Side, SkinPoint, Zone};
use crate::region::{Inside, seen};
use crate::sight::Sureness;
use crate::size::Fit;
use crate::sky::{COARSE, FINE, Sky};
use crate::surface::{ScalpShape, SmoothSkin};
use crate::words::Message;
use measure::Length;
use measure::text::millimetres;
use measure::vector::{Vec3, distance, dot, lerp};

/// How many corners a mesh for a picture has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeshDetail {
    /// 10 242 vertices, about 3.5 mm apart.
    Fine,
    /// 2 562 vertices, about 7 mm apart.
    Coarse,
}

/// What there is to know of a place on the skin, looked up together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Whereabouts {
    /// Whether hair grows there.
    pub bears_hair: bool,
    /// Whether it lies behind the sectioning line from ear to ear.
    pub is_behind_ears: bool,
    /// The region.
    pub zone: Zone,
    /// Distance along the skin from each border, in the order of [`Border::ALL`].
    pub clearances: [Length; 6],
}

impl Whereabouts {
    /// How far inside the hair the place is, as [`Head::hair_share`] says.
    #[must_use]
    pub fn hair_share(&self, ramp: Length) -> f64 {
        if !self.bears_hair {
            return 0.0;
        }
        Self::ramped(self.clearances.into_iter().fold(Length::mm(f64::INFINITY), Length::min), ramp)
    }

    fn ramped(from_border: Length, ramp: Length) -> f64 {
        let t = (from_border / ramp).clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    }
}

/// One client's head.
///
/// *Meaning*: the left half of everything but the crown whorl is the mirror
/// image of the right half, to the last digit; tapes cannot tell the halves apart.
///
/// ```
/// use head::{Head, Marks, Measures, fit};
/// use measure::Length;
/// let fitted = fit(&Measures::of_circumference(Length::mm(560.0))).unwrap();
/// let head = Head::new(&fitted, &Marks::default()).unwrap();
/// // A parting 60 mm up the middle from the nape hairline, and its place on the middle.
/// let parting = head.parting(Length::mm(60.0)).unwrap();
/// let place = parting.at(Length::ZERO).unwrap();
/// assert!(head.bears_hair(place) && head.is_behind_ears(place));
/// assert!((head.height_above_nape(place).to_mm() - 60.0).abs() < 2.0);
/// ```
#[derive(Debug, Clone)]
pub struct Head {
    shape: ScalpShape,
    mesh: TriMesh,
    pub(crate) lines: Lines,
    landmarks: Landmarks,
    fields: Fields,
    hair: Inside,
    sureness: Sureness,
    taped: Vec<(f64, f64)>,
    warnings: Vec<String>,
}

impl Head {
    /// The head of a fit, with what else was seen on it.
    ///
    /// *Errors*: a mark that cannot lie on this head.
    pub fn new(fit: &Fit, marks: &Marks) -> Result<Self, MarkFault> {
        let sky = Sky::get();
        let shape = fit.shape.clone();
        let mesh = TriMesh::on_directions(&shape, &sky.directions, sky.faces[FINE as usize].clone());
        let lines = Lines::place(fit, marks)?;
        let mut warnings = fit.warnings.clone();
        warnings.extend(lines.warnings.iter().cloned());
        let landmarks = Landmarks::place(fit, marks, &lines, &mut warnings);
        let fields = Fields::march(&shape, &mesh, &lines);
        let nape_known = fit.measures.tape_to_nape_hairline.is_some() || marks.nape_hairline_below_occiput.is_some();
        let mut head = Self {
            hair: Inside::within(&shape, &lines.border),
            sureness: Sureness::of(fit, nape_known, &lines),
            taped: Vec::new(),
            shape,
            mesh,
            lines,
            landmarks,
            fields,
            warnings,
        };
        head.taped = head.tape_factors(&marks.taped_partings)?;
        Ok(head)
    }

    /// The smooth scalp.
    #[must_use]
    pub fn shape(&self) -> &ScalpShape {
        &self.shape
    }

    /// The mesh of the whole shape, 10 242 vertices.
    #[must_use]
    pub fn mesh(&self) -> &TriMesh {
        &self.mesh
    }

    /// The places on it.
    #[must_use]
    pub fn landmarks(&self) -> &Landmarks {
        &self.landmarks
    }

    /// What was assumed because nobody measured it, in plain sentences.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// Whether hair grows at a place: inside the hairlines and not under an ear.
    #[must_use]
    pub fn bears_hair(&self, p: SkinPoint) -> bool {
        self.hair.holds(seen(&self.shape, to_right(p.0).0))
    }

    /// How far inside the hair a place is, smoothly: 0 outside and on the
    /// border, 1 from `ramp` inward.
    #[must_use]
    pub fn hair_share(&self, p: SkinPoint, ramp: Length) -> f64 {
        if !self.bears_hair(p) {
            return 0.0;
        }
        Whereabouts::ramped(self.border_distance(p), ramp)
    }

    /// Hair share and region of places in a row along the skin, each given
    /// with the normal there; nothing where no hair grows.
    ///
    /// *Meaning*: the answers are those of [`Head::whereabouts`] and
    /// [`Head::hair_share`]. Distances change no faster than one walks, so a
    /// place far from every border and from the occipital bone's height
    /// answers for those next to it, and a long row costs little.
    #[must_use]
    pub fn hair_along(&self, row: &[(SkinPoint, [f64; 3])], ramp: Length) -> Vec<Option<(f64, Zone)>> {
        /// What a distance read off the mesh may change by, mm, and per mm walked.
        const SLACK: f64 = 2.0;
        const STEEPEST: f64 = 1.1;
        // How far one may walk until the last answer may no longer hold.
        let mut holds: f64 = 0.0;
        let mut last: Option<Whereabouts> = None;
        let mut before = row.first().map_or([0.0; 3], |place| place.0.0);
        let mut answers = Vec::with_capacity(row.len());
        for (place, normal) in row {
            holds -= STEEPEST * distance(before, place.0);
            before = place.0;
            if let Some(here) = last.filter(|_| holds > 0.0) {
                answers.push(here.bears_hair.then(|| (1.0, self.zone_on(*place, *normal))));
                continue;
            }
            let here = self.whereabouts(*place);
            let from_border = here.clearances.into_iter().fold(Length::mm(f64::INFINITY), Length::min).to_mm();
            let free = from_border - if here.bears_hair { ramp.to_mm() } else { 0.0 };
            let level = (level_of(place.0) - level_of(self.landmarks.occipital.0)).abs();
            holds = free.min(if here.bears_hair { level } else { f64::INFINITY }) - SLACK;
            last = Some(here);
            answers.push(here.bears_hair.then(|| (here.hair_share(ramp), here.zone)));
        }
        answers
    }

    /// Distance along the skin from the nearest border of the hair.
    #[must_use]
    pub fn border_distance(&self, p: SkinPoint) -> Length {
        let spot = self.spot(p.0);
        Border::ALL.iter().map(|border| self.clearance_at(*border, &spot)).fold(Length::mm(f64::INFINITY), Length::min)
    }

    /// The region a place is in: nape below the level of the occipital bone; before
    /// the sectioning line frontal above the horseshoe line and temporal below;
    /// behind it crown above the horseshoe line, and below it occipital where
    /// the skin faces back, parietal where it faces sideways.
    #[must_use]
    pub fn zone(&self, p: SkinPoint) -> Zone {
        self.zone_on(p, self.shape.normal(p.0))
    }

    fn zone_on(&self, p: SkinPoint, normal: Vec3) -> Zone {
        let on_top = dot(normal, ScalpShape::up()) > HORSESHOE_SINE;
        if !self.is_behind_ears(p) {
            return if on_top { Zone::Frontal } else { Zone::Temporal };
        }
        if level_of(p.0) < level_of(self.landmarks.occipital.0) {
            Zone::Nape
        } else if on_top {
            Zone::Crown
        } else if normal[0].abs() > HORSESHOE_SINE {
            Zone::Parietal
        } else {
            Zone::Occipital
        }
    }

    /// What a tape reads from the middle of the nape hairline straight up the
    /// middle to the level of a place: where the parting through it starts. At
    /// most the way to the top of the head.
    ///
    /// *Accuracy*: within 0.01 mm on the fitted shape; how well the shape and
    /// the hairline are known says [`Head::sigma_at`].
    #[must_use]
    pub fn height_above_nape(&self, p: SkinPoint) -> Length {
        Length::mm(self.lines.rise.up_to(level_of(p.0)))
    }

    /// Distance along the skin from a border of the hair; none under an ear.
    #[must_use]
    pub fn clearance(&self, border: Border, p: SkinPoint) -> Length {
        self.clearance_at(border, &self.spot(p.0))
    }

    fn spot(&self, p: Vec3) -> Spot {
        Spot::of(&self.shape, &self.mesh, p)
    }

    fn clearance_at(&self, border: Border, spot: &Spot) -> Length {
        Length::mm(match border {
            Border::NapeHairline => self.fields.nape(spot),
            Border::FrontHairline => self.fields.front(spot),
            Border::LeftEar => self.fields.ear(spot, true),
            Border::RightEar => self.fields.ear(spot, false),
            Border::BehindLeftEar => self.fields.behind_ear(spot, true),
            Border::BehindRightEar => self.fields.behind_ear(spot, false),
        })
    }

    /// Everything about a place at once, at little more than the price of one answer.
    #[must_use]
    pub fn whereabouts(&self, p: SkinPoint) -> Whereabouts {
        let spot = self.spot(p.0);
        let clearances = Border::ALL.map(|border| self.clearance_at(border, &spot));
        Whereabouts { bears_hair: self.hair.holds(spot.seen), is_behind_ears: self.is_behind_ears(p), zone: self.zone(p), clearances }
    }

    /// Least distance along the skin from a border over a row of places, such
    /// as the slice of a sandwich.
    #[must_use]
    pub fn clearance_of(&self, border: Border, places: &[SkinPoint]) -> Length {
        places.iter().map(|p| self.clearance(border, *p)).fold(Length::mm(f64::INFINITY), Length::min)
    }

    /// Whether a place is behind the sectioning line that runs straight up from
    /// the top of each ear root.
    #[must_use]
    pub fn is_behind_ears(&self, p: SkinPoint) -> bool {
        forward_of(p.0) < self.lines.ear_line.forward
    }

    /// The parting that starts so far up the middle from the nape hairline: on
    /// hair-bearing skin, from the midline to where the hair ends on either
    /// side. None where the midline has no hair there, or is no longer rising.
    ///
    /// *Meaning*: where partings were taped, distances along this one are
    /// stretched as theirs were, so that a taped length is met exactly.
    #[must_use]
    pub fn parting(&self, above_nape: Length) -> Option<Parting> {
        let up = above_nape.to_mm();
        let (line, section, right) = self.half_parting(up)?;
        Parting::of_line(up, &line, right, section, self.tape_factor(up))
    }

    /// What a tape reads up the sectioning line from the top of the ear to a
    /// parting, which starts so far up the middle; below the ear's top, held
    /// upright, less than nothing.
    #[must_use]
    pub fn up_ear_line(&self, above_nape: Length) -> Option<Length> {
        let level = self.lines.rise.level_at(above_nape.to_mm())?;
        (level <= self.lines.ear_line.top_level()).then(|| Length::mm(self.lines.ear_line.reading(level)))
    }

    /// How far up the middle a parting starts that meets the sectioning line so
    /// far above the top of the ear.
    #[must_use]
    pub fn of_ear_line(&self, up_ear_line: Length) -> Option<Length> {
        let level = self.lines.ear_line.level_at(up_ear_line.to_mm())?;
        let up = self.lines.rise.up_to(level);
        (up > 0.0 && up < self.lines.rise.top()).then(|| Length::mm(up))
    }

    /// How far up the middle a place lies, and how far along the parting there
    /// from the middle, + to the client's right; none off the partings.
    #[must_use]
    pub fn place_of(&self, p: SkinPoint) -> Option<(Length, Length)> {
        let up = self.height_above_nape(p);
        let parting = self.parting(up)?;
        Some((up, parting.along_of(p)))
    }

    /// From the front edge of an ear to where a parting meets the hairline of the
    /// temple, as a tape reads it straight over the skin.
    #[must_use]
    pub fn from_ear_front(&self, parting: &Parting) -> Option<Length> {
        let end = parting.points().last()?.0;
        let front =
            self.lines.ear.iter().fold(self.lines.ear.first()?, |most, p| if forward_of(*p) > forward_of(*most) { p } else { most });
        let walk = self.line_between(SkinPoint(*front), SkinPoint(end));
        Some(Length::mm(lengths(&walk.iter().map(|p| p.0).collect::<Vec<_>>()).last().copied()?))
    }

    /// The way up the middle from the nape hairline to the top of the head,
    /// where no parting starts any more.
    #[must_use]
    pub fn top_above_nape(&self) -> Length {
        Length::mm(self.lines.rise.top())
    }

    /// The straight way combed from one place to another along the skin: a
    /// diagonal parting, or one from ear to ear. Points about 3 mm apart.
    #[must_use]
    pub fn line_between(&self, from: SkinPoint, to: SkinPoint) -> Vec<SkinPoint> {
        let centre = self.shape.centre();
        // Straight as seen from inside the head, then drawn taut.
        let pieces = (distance(from.0, to.0) / 3.0).ceil().clamp(1.0, 400.0) as usize;
        let mut line: Vec<Vec3> = (0..=pieces)
            .map(|k| {
                let p = lerp(from.0, to.0, k as f64 / pieces as f64);
                if distance(p, centre) > 1.0 { self.shape.project(p) } else { self.shape.project([p[0], p[1] - 1.0, p[2] + 1.0]) }
            })
            .collect();
        for _ in 0..400 {
            let before = line.clone();
            for i in 1..pieces {
                line[i] = self.shape.project(lerp(before[i - 1], before[i + 1], 0.5));
            }
        }
        line.into_iter().map(SkinPoint).collect()
    }

    /// The client's side a place is on; `Centre` within half a millimetre of the middle.
    #[must_use]
    pub fn side_of(&self, p: SkinPoint) -> Side {
        /// Narrower than a comb's tooth.
        const MIDDLE: f64 = 0.5;
        if p.0[0].abs() <= MIDDLE {
            Side::Centre
        } else if p.0[0] < 0.0 {
            Side::Left
        } else {
            Side::Right
        }
    }

    /// One standard error of a place, from shape, landmarks and distance to
    /// the nearest taped line.
    #[must_use]
    pub fn sigma_at(&self, p: SkinPoint) -> Length {
        Length::mm(self.sureness.at(to_right(p.0).0))
    }

    /// The mesh for a turning picture as one JSON document: `positions_mm`
    /// (x, y, z of each vertex in a row), `normals`, and `indices` (three to a face).
    #[must_use]
    pub fn to_json_mesh(&self, detail: MeshDetail) -> String {
        let sky = Sky::get();
        let faces = match detail {
            MeshDetail::Fine => &sky.faces[FINE as usize],
            MeshDetail::Coarse => &sky.faces[COARSE as usize],
        };
        let count = faces.iter().flatten().max().map_or(0, |v| *v as usize + 1);
        let vertices = &self.mesh.vertices()[..count];
        let row = |values: &mut dyn Iterator<Item = String>| values.collect::<Vec<_>>().join(",");
        format!(
            "{{\"positions_mm\":[{}],\"normals\":[{}],\"indices\":[{}]}}",
            row(&mut vertices.iter().flatten().map(|c| format!("{c:.2}"))),
            row(&mut vertices.iter().flat_map(|p| self.shape.normal(*p)).map(|c| format!("{c:.3}"))),
            row(&mut faces.iter().flatten().map(u32::to_string)),
        )
    }

    /// A level line, where it meets the sectioning line, and its right half cut
    /// where the hair ends.
    fn half_parting(&self, up: f64) -> Option<(LevelLine, f64, Vec<Vec3>)> {
        if !(up > 0.0 && up < self.lines.rise.top()) {
            return None;
        }
        let line = LevelLine::on(&self.shape, Length::mm(self.lines.rise.level_at(up)?))?;
        let section = line.passes(self.lines.ear_line.forward).unwrap_or(0.0);
        let bears = |p: Vec3| self.hair.holds(seen(&self.shape, p));
        let mut right = line.right().to_vec();
        // The middle itself lies on the seam of the two halves.
        let end = (1..right.len()).find(|i| !bears(right[*i])).unwrap_or(right.len());
        if end < right.len() {
            let (mut inside, mut outside) = (right[end - 1], right[end]);
            for _ in 0..24 {
                let middle = lerp(inside, outside, 0.5);
                if bears(middle) { inside = middle } else { outside = middle }
            }
            right.truncate(end);
            if distance(inside, right[end - 1]) > 1e-3 {
                right.push(inside);
            }
        }
        (right.len() > 1).then_some((line, section, right))
    }

    /// For each taped parting its height and the tape's reading over the model's length.
    fn tape_factors(&self, taped: &[TapedParting]) -> Result<Vec<(f64, f64)>, MarkFault> {
        /// Beyond a quarter, the tape was not laid along that parting.
        const MOST: f64 = 1.25;
        let mut factors = Vec::new();
        for parting in taped {
            let height = parting.above_nape.to_mm();
            let length = 2.0 * self.half_parting(height).map_or(0.0, |(_, section, half)| lengths(&half)[half.len() - 1].min(section));
            let factor = parting.length.to_mm() / length;
            if !(1.0 / MOST..=MOST).contains(&factor) {
                return Err(MarkFault::of(&Message::PartingDisagrees {
                    up: millimetres(parting.above_nape),
                    taped: millimetres(parting.length),
                    given: millimetres(Length::mm(length)),
                }));
            }
            factors.push((height, factor));
        }
        factors.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(factors)
    }

    /// How the tape reads at a height: as at the taped partings below and
    /// above, in proportion; as at the last one beyond it.
    fn tape_factor(&self, height: f64) -> f64 {
        let above = self.taped.partition_point(|(h, _)| *h < height);
        match (above.checked_sub(1).and_then(|i| self.taped.get(i)), self.taped.get(above)) {
            (Some((h0, f0)), Some((h1, f1))) => f0 + (f1 - f0) * (height - h0) / (h1 - h0),
            (Some((_, f)), None) | (None, Some((_, f))) => *f,
            (None, None) => 1.0,
        }
    }
}
