//! One client's head: the fitted scalp with everything that is asked of it.

use crate::chart::{Chart, MapDistortion, RUNGS_APART, Rung, Weighing, distortion};
use crate::field::{Fields, LINE_START, Spot, level_line, plain, to_right};
use crate::landmark::{HORSESHOE_SINE, Landmarks, Lines, Marks, TapedParting};
use crate::mesh::TriMesh;
use crate::model::tape_plane;
use crate::parting::Parting;
use crate::point::{Border, MapPoint, Side, SkinPoint, Zone};
use crate::region::{Patch, seen};
use crate::sight::Sureness;
use crate::size::Fit;
use crate::sky::{COARSE, FINE, Sky};
use crate::surface::{ScalpShape, SmoothSkin};
use crate::vector::{Vec3, add, cross, distance, dot, lerp, scale, unit};
use measure::Length;
use std::sync::OnceLock;

/// A mark that cannot be on this head.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} {cure}")]
pub struct MarkFault {
    /// What is odd.
    pub what: String,
    /// How to mend it.
    pub cure: String,
}

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
    /// Whether it lies behind the ear-to-ear line.
    pub is_behind_ears: bool,
    /// The region.
    pub zone: Zone,
    /// Distance along the skin from each border, in the order of [`Border::ALL`].
    pub clearances: [Length; 4],
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
#[derive(Debug, Clone)]
pub struct Head {
    shape: ScalpShape,
    mesh: TriMesh,
    lines: Lines,
    landmarks: Landmarks,
    fields: Fields,
    hair: Patch,
    sureness: Sureness,
    taped: Vec<(f64, f64)>,
    tape_plane: Vec3,
    occipital_height: f64,
    /// Where on the midline the height above the nape hairline is greatest, mm behind the tape.
    summit_at: f64,
    chart: OnceLock<Chart>,
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
            hair: Patch::within(&shape, &lines.border),
            sureness: Sureness::of(fit, nape_known, &lines),
            tape_plane: tape_plane(shape.stretch()),
            occipital_height: 0.0,
            summit_at: 0.0,
            taped: Vec::new(),
            chart: OnceLock::new(),
            shape,
            mesh,
            lines,
            landmarks,
            fields,
            warnings,
        };
        head.summit_at = head.find_summit();
        head.occipital_height = head.height_above_nape(head.landmarks.occipital).to_mm();
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
                let zone = || self.zone_on(*normal, self.is_behind_ears(*place), || here.clearances[0]);
                answers.push(here.bears_hair.then(|| (1.0, zone())));
                continue;
            }
            let here = self.whereabouts(*place);
            let from_border = here.clearances.into_iter().fold(Length::mm(f64::INFINITY), Length::min).to_mm();
            let free = from_border - if here.bears_hair { ramp.to_mm() } else { 0.0 };
            let level = (here.clearances[0].to_mm() - self.occipital_height).abs();
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

    /// The region a place is in: nape below the occipital bone; before the
    /// ear-to-ear line frontal above the horseshoe line and temporal below;
    /// behind it crown above the horseshoe line, and below it occipital where
    /// the skin faces back, parietal where it faces sideways.
    #[must_use]
    pub fn zone(&self, p: SkinPoint) -> Zone {
        self.zone_at(p, || self.height_above_nape(p))
    }

    fn zone_at(&self, p: SkinPoint, height: impl Fn() -> Length) -> Zone {
        self.zone_on(self.shape.normal(p.0), self.is_behind_ears(p), height)
    }

    fn zone_on(&self, normal: Vec3, is_behind_ears: bool, height: impl Fn() -> Length) -> Zone {
        let on_top = dot(normal, ScalpShape::up()) > HORSESHOE_SINE;
        if !is_behind_ears {
            return if on_top { Zone::Frontal } else { Zone::Temporal };
        }
        if height().to_mm() < self.occipital_height {
            Zone::Nape
        } else if on_top {
            Zone::Crown
        } else if normal[0].abs() > HORSESHOE_SINE {
            Zone::Parietal
        } else {
            Zone::Occipital
        }
    }

    /// Distance along the skin from the nape hairline.
    ///
    /// *Accuracy*: within 0.2 mm on the fitted shape; how well the shape and
    /// the hairline are known says [`Head::sigma_at`].
    #[must_use]
    pub fn height_above_nape(&self, p: SkinPoint) -> Length {
        Length::mm(self.fields.nape(&self.spot(p.0)))
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
        })
    }

    /// Everything about a place at once, at little more than the price of one answer.
    #[must_use]
    pub fn whereabouts(&self, p: SkinPoint) -> Whereabouts {
        let spot = self.spot(p.0);
        let clearances = Border::ALL.map(|border| self.clearance_at(border, &spot));
        Whereabouts {
            bears_hair: self.hair.holds(spot.seen),
            is_behind_ears: self.is_behind_ears(p),
            zone: self.zone_at(p, || clearances[0]),
            clearances,
        }
    }

    /// Least distance along the skin from a border over a row of places, such
    /// as the slice of a sandwich.
    #[must_use]
    pub fn clearance_of(&self, border: Border, places: &[SkinPoint]) -> Length {
        places.iter().map(|p| self.clearance(border, *p)).fold(Length::mm(f64::INFINITY), Length::min)
    }

    /// Whether a place is behind the ear-to-ear line.
    #[must_use]
    pub fn is_behind_ears(&self, p: SkinPoint) -> bool {
        dot(self.tape_plane, p.0) < 0.0
    }

    /// The parting at a distance from the nape hairline: on hair-bearing skin,
    /// from the midline to where the hair ends on either side. None where the
    /// midline has no hair at that height.
    ///
    /// *Meaning*: where partings were taped, distances along this one are
    /// stretched as theirs were, so that a taped length is met exactly.
    #[must_use]
    pub fn parting(&self, above_nape: Length) -> Option<Parting> {
        let height = above_nape.to_mm();
        let (up_midline, right) = self.half_parting(height)?;
        Parting::of_half(height, up_midline, right, self.tape_factor(height))
    }

    /// The parting at a height next to a parting already made: the one so
    /// much farther from the nape hairline.
    #[must_use]
    pub fn parting_above(&self, below: &Parting, by: Length) -> Option<Parting> {
        self.parting(below.above_nape() + by)
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

    /// The place on the flat map: the scalp laid flat as seen from behind,
    /// the middle of the nape hairline at the origin, the client's left on the left.
    #[must_use]
    pub fn to_map(&self, p: SkinPoint) -> MapPoint {
        self.chart().place(&self.shape, p.0)
    }

    fn chart(&self) -> &Chart {
        self.chart.get_or_init(|| {
            let weighing = Weighing {
                heights: self.fields.nape_values(),
                bears_hair: &|p| self.bears_hair(SkinPoint(p)),
                ahead: &|p| dot(self.tape_plane, p),
            };
            let hairline = Rung { up_midline: 0.0, right: self.lines.nape.clone() };
            let partings = (1..).map_while(|k| {
                let (up_midline, right) = self.half_parting(RUNGS_APART * f64::from(k))?;
                Some(Rung { up_midline, right })
            });
            let rungs: Vec<Rung> = std::iter::once(hairline).chain(partings).collect();
            Chart::draw(&self.shape, self.mesh.vertices(), &weighing, &rungs)
        })
    }

    /// How much the flat map changes lengths on this head's hair-bearing skin.
    #[must_use]
    pub fn map_distortion(&self) -> MapDistortion {
        /// Places closer to a border would step off the hair, mm.
        const MARGIN: f64 = 6.0;
        const NUDGE: f64 = 2.0;
        let places: Vec<(Vec3, Vec3, bool)> = self
            .mesh
            .vertices()
            .iter()
            .step_by(7)
            .filter(|p| self.bears_hair(SkinPoint(**p)) && self.border_distance(SkinPoint(**p)).to_mm() > MARGIN)
            .map(|p| {
                let normal = self.shape.normal(*p);
                let e = unit(cross([0.1, 0.2, 1.0], normal));
                let f = cross(normal, e);
                let rise = |d: Vec3| {
                    let step = |sign: f64| self.fields.nape(&self.spot(self.shape.project(add(*p, scale(d, sign * NUDGE)))));
                    step(1.0) - step(-1.0)
                };
                (*p, unit(add(scale(e, rise(e)), scale(f, rise(f)))), self.is_behind_ears(SkinPoint(*p)))
            })
            .collect();
        distortion(&self.shape, &places, |p| self.to_map(SkinPoint(p)))
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

    /// How far behind the ear-to-ear tape the hair-bearing midline has a height
    /// above the nape hairline.
    fn midline_at(&self, height: f64) -> Option<f64> {
        let mut low = self.lines.nape_at;
        let mut high = self.summit_at;
        let height_at = |along: f64| self.fields.nape(&self.spot(self.lines.midline.at(along)));
        if !(height > 0.0 && height < height_at(high)) {
            return None;
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if height_at(middle) < height { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }

    /// Where on the midline the height above the nape hairline is greatest: in
    /// front of it the way round the sides is shorter.
    fn find_summit(&self) -> f64 {
        let height_at = |along: f64| self.fields.nape(&self.spot(self.lines.midline.at(along)));
        let (mut along, mut best) = (self.lines.nape_at, 0.0);
        // Down the field's rise in steps of 2 mm; it has one summit.
        while along > self.lines.front_at {
            let next = height_at(along - 2.0);
            if next < best {
                break;
            }
            best = next;
            along -= 2.0;
        }
        along
    }

    /// Where a level of a field is a little to the right of the midline, near a
    /// distance along it.
    fn beside_midline(&self, field: &[f64], level: f64, along: f64) -> Option<Vec3> {
        /// Near the summit lines leave the midline steeply.
        const WINDOW: f64 = 25.0;
        let place = |along: f64| {
            let [_, y, z] = self.lines.midline.at(along);
            self.shape.project([LINE_START, y, z])
        };
        let value = |along: f64| plain(&self.shape, &self.mesh, field, place(along));
        let (mut low, mut high) = ((along + WINDOW).min(self.lines.nape_at), along - WINDOW);
        if !(value(low) <= level && value(high) > level) {
            return None;
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if value(middle) <= level { low = middle } else { high = middle }
        }
        Some(place(0.5 * (low + high)))
    }

    /// Where a parting starts, mm up the midline, and its right half, cut where
    /// the hair ends.
    fn half_parting(&self, height: f64) -> Option<(f64, Vec<Vec3>)> {
        let along = self.midline_at(height)?;
        let field = self.fields.nape_values();
        let beside = self.beside_midline(field, height, along)?;
        let mut line = level_line(&self.shape, &self.mesh, field, height, self.lines.midline.at(along), beside);
        let bears = |p: Vec3| self.hair.holds(seen(&self.shape, p));
        let end = (1..line.len()).find(|i| !bears(line[*i])).unwrap_or(line.len());
        if end < line.len() {
            let (mut inside, mut outside) = (line[end - 1], line[end]);
            for _ in 0..20 {
                let middle = self.shape.project(lerp(inside, outside, 0.5));
                if bears(middle) { inside = middle } else { outside = middle }
            }
            line.truncate(end);
            if distance(inside, line[end - 1]) > 1e-3 {
                line.push(inside);
            }
        }
        (line.len() > 1).then(|| (self.lines.nape_at - along, line))
    }

    /// For each taped parting its height and the tape's reading over the model's length.
    fn tape_factors(&self, taped: &[TapedParting]) -> Result<Vec<(f64, f64)>, MarkFault> {
        /// Beyond a quarter, the tape was not laid along that parting.
        const MOST: f64 = 1.25;
        let mut factors = Vec::new();
        for parting in taped {
            let height = parting.above_nape.to_mm();
            let (_, half) = self.half_parting(height).unwrap_or_default();
            let length = 2.0 * half.windows(2).map(|w| distance(w[0], w[1])).sum::<f64>();
            let factor = parting.length.to_mm() / length;
            if !(1.0 / MOST..=MOST).contains(&factor) {
                return Err(MarkFault {
                    what: format!("the parting {height:.0} mm above the nape was taped as {:.0} mm; this head gives {length:.0} mm there.", parting.length.to_mm()),
                    cure: "Tape it again from hairline to hairline, or look at its height above the nape.".into(),
                });
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
