//! The flat map in three panels: the back of the head, and either side before
//! the sectioning line.
//!
//! Every parting is drawn as a straight level line, with lengths along it as
//! they are on the head; at the back as high as it starts up the middle, at the
//! sides as high as it starts up the sectioning line. What gives way is the
//! distance between lines far from the middle, by a few hundredths. Above the
//! crown, and where the head turns into forehead and top, only the shape is
//! shown: nothing is measured there.

use crate::head::Head;
use crate::level::{forward_of, level_of};
use crate::point::{MapPoint, Panel, SkinPoint};
use crate::surface::SmoothSkin;
use measure::{Length, real};

/// The lines by which a panel is recognised, left to right or closed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PanelOutline {
    /// The edge of the panel's skin, closed.
    pub edge: Vec<MapPoint>,
    /// The line down the middle (back) or the sectioning line (sides), upward.
    pub axis: Vec<MapPoint>,
    /// The ears that are seen in it, closed.
    pub ears: Vec<Vec<MapPoint>>,
    /// The crown, where it lies in the panel.
    pub crown: Option<MapPoint>,
    /// The lowest line above which only the shape is shown.
    pub shape_only_from: f64,
}

/// How much of the way from crown to top is left of its height on the map, and
/// how it is drawn together.
const ABOVE_CROWN: f64 = 0.55;
/// Between these sideways slopes of the skin the side's measures give way to
/// its shape as seen from the side.
const MEASURED_FROM: f64 = 0.8;
const SHAPE_FROM: f64 = 0.3;
/// How wide an ear is drawn at the back, mm.
const EAR_SEEN: f64 = 13.0;

impl Head {
    /// Which panel a place of the hair is drawn on.
    #[must_use]
    pub fn panel_of(&self, p: SkinPoint) -> Panel {
        if self.is_behind_ears(p) {
            Panel::Back
        } else if p.0[0] < 0.0 {
            Panel::Left
        } else {
            Panel::Right
        }
    }

    /// The place of a skin point on a panel; none off the partings.
    #[must_use]
    pub fn on_panel(&self, panel: Panel, p: SkinPoint) -> Option<MapPoint> {
        let (up, along) = self.place_of(p)?;
        self.read_on_panel(panel, up, along)
    }

    /// The place on a panel that is read off a tape: so far up the middle, so
    /// far along the parting there from the middle, + to the client's right.
    #[must_use]
    pub fn read_on_panel(&self, panel: Panel, above_nape: Length, along: Length) -> Option<MapPoint> {
        match panel {
            Panel::Back => Some(MapPoint { x: along.to_mm(), y: self.back_height(above_nape.to_mm()) }),
            Panel::Left | Panel::Right => {
                let parting = self.parting(above_nape)?;
                let p = parting.at(along)?;
                let ahead = along.abs() - parting.section();
                let (t, e) = (ahead.to_mm(), self.up_ear_line(above_nape).map_or(f64::NAN, Length::to_mm));
                let (t, e) = self.side_place(p, t, e);
                let sign = if panel == Panel::Left { -1.0 } else { 1.0 };
                Some(MapPoint { x: sign * t, y: e })
            }
        }
    }

    /// The height on the back panel of a line that starts so far up the middle.
    #[must_use]
    pub fn back_height(&self, up: f64) -> f64 {
        let crown = self.height_above_nape(self.landmarks().crown).to_mm();
        let top = self.top_above_nape().to_mm();
        if up <= crown || top <= crown {
            return up;
        }
        let left = ((top - up) / (top - crown)).clamp(0.0, 1.0);
        crown + ABOVE_CROWN * (top - crown) * (1.0 - real::pow(left, 1.0 / ABOVE_CROWN))
    }

    /// Where a place of the side lies on its panel: by its readings where the
    /// skin faces sideways, as seen from the side where it faces up or forward.
    fn side_place(&self, p: SkinPoint, ahead: f64, up: f64) -> (f64, f64) {
        let sideways = self.shape().normal(p.0)[0].abs();
        let share = ((MEASURED_FROM - sideways) / (MEASURED_FROM - SHAPE_FROM)).clamp(0.0, 1.0);
        let share = share * share * (3.0 - 2.0 * share);
        let seen = (forward_of(p.0) - self.lines.ear_line.forward, level_of(p.0) - self.lines.ear_line.ear_top_level);
        let up = if up.is_finite() { up } else { seen.1 };
        (ahead + share * (seen.0 - ahead), up + share * (seen.1 - up))
    }

    /// The lines of the three panels, in the order of [`Panel::ALL`].
    #[must_use]
    pub fn panel_outlines(&self) -> [PanelOutline; 3] {
        let right = self.side_outline();
        [self.back_outline(), mirrored(right.clone()), right]
    }

    /// The lines of a panel.
    #[must_use]
    pub fn panel_outline(&self, panel: Panel) -> PanelOutline {
        match panel {
            Panel::Back => self.back_outline(),
            Panel::Left => mirrored(self.side_outline()),
            Panel::Right => self.side_outline(),
        }
    }

    fn back_outline(&self) -> PanelOutline {
        /// How far apart the lines are whose ends make the edge, mm.
        const EVERY: f64 = 4.0;
        let marks = self.landmarks();
        let top = self.top_above_nape().to_mm();
        // The nape hairline itself, then the ends of the back's lines upward.
        let nape = marks.nape_hairline.iter().filter(|p| p.0[0] >= 0.0).filter_map(|p| self.near_the_nape(*p));
        let mut right: Vec<MapPoint> = nape.collect();
        let from = right.last().map_or(0.0, |p| p.y);
        let mut up = EVERY;
        while up < top {
            let Some(parting) = self.parting(Length::mm(up)) else { break };
            let end = parting.back_end().to_mm();
            if up > from + 0.5 {
                right.push(MapPoint { x: end, y: self.back_height(up) });
            }
            if parting.section().to_mm() <= 0.0 {
                break;
            }
            up += EVERY;
        }
        let highest = right.last().map_or(0.0, |p| p.y);
        let mut edge: Vec<MapPoint> = right.iter().skip(1).rev().map(|p| MapPoint { x: -p.x, y: p.y }).collect();
        // From the left end at the top down to the nape and up again on the right.
        edge.extend(right);
        let crown = self.on_panel(Panel::Back, marks.crown);
        PanelOutline {
            edge,
            axis: vec![MapPoint { x: 0.0, y: 0.0 }, MapPoint { x: 0.0, y: highest }],
            ears: self.ears_from_behind(),
            shape_only_from: crown.map_or(highest, |p| p.y),
            crown,
        }
    }

    /// A place at or under the level of the nape hairline's middle, where no
    /// parting starts: as far aside as along the hairline.
    fn near_the_nape(&self, p: SkinPoint) -> Option<MapPoint> {
        let up = self.lines.rise.up_to(level_of(p.0));
        let line = crate::level::LevelLine::on(self.shape(), Length::mm(level_of(p.0)))?;
        Some(MapPoint { x: line.along_of(p.0).to_mm(), y: up })
    }

    /// The rear edge of each ear where it lies, as wide as an ear seen from behind.
    fn ears_from_behind(&self) -> Vec<Vec<MapPoint>> {
        let middle = self.lines.ear.iter().map(|p| forward_of(*p)).sum::<f64>() / self.lines.ear.len() as f64;
        let ear_line = &self.lines.ear_line;
        // Over its upper half the ear is seen as far as the sectioning line: what
        // lies before its top turns away.
        let half_up = self.lines.ear.iter().map(|p| level_of(*p)).sum::<f64>() / self.lines.ear.len() as f64;
        let seen = |p: &&[f64; 3]| forward_of(**p) <= if level_of(**p) > half_up { ear_line.forward.min(middle) } else { middle };
        let mut rear: Vec<MapPoint> = self.lines.ear.iter().filter(seen).filter_map(|p| self.near_the_nape(SkinPoint(*p))).collect();
        rear.sort_by(|a, b| a.y.total_cmp(&b.y));
        if rear.len() < 3 {
            return Vec::new();
        }
        let (low, high) = (rear[0].y, rear[rear.len() - 1].y);
        // Out again as an ear stands off: widest in the upper half.
        let out = rear.iter().rev().map(|p| {
            let share = (p.y - low) / (high - low);
            let stands_off = EAR_SEEN * real::sin(std::f64::consts::PI * share.clamp(0.0, 1.0)).max(0.0).sqrt();
            MapPoint { x: p.x + stands_off, y: p.y }
        });
        let right: Vec<MapPoint> = rear.iter().copied().chain(out).collect();
        let left = right.iter().map(|p| MapPoint { x: -p.x, y: p.y }).collect();
        vec![left, right]
    }

    fn side_outline(&self) -> PanelOutline {
        const EVERY: f64 = 2.0;
        let ear_line = &self.lines.ear_line;
        let seen = |p: SkinPoint| {
            let up = ear_line.reading(level_of(p.0));
            let ahead = crate::level::LevelLine::on(self.shape(), Length::mm(level_of(p.0)))
                .and_then(|line| Some(line.along_of(p.0).to_mm() - line.passes(ear_line.forward)?))
                .unwrap_or_else(|| forward_of(p.0) - ear_line.forward);
            let (x, y) = self.side_place(p, ahead, up);
            MapPoint { x, y }
        };
        // The front hairline from the middle down to the ear, then over the
        // ear's top back to the sectioning line, and up that line.
        let mut edge: Vec<MapPoint> = self.landmarks().front_hairline.iter().filter(|p| p.0[0] >= 0.0).map(|p| seen(*p)).collect();
        let over_ear = self.lines.ear.iter().filter(|p| {
            forward_of(**p) >= ear_line.forward && level_of(**p) > edge.last().map_or(f64::NEG_INFINITY, |q| q.y + ear_line.ear_top_level)
        });
        let mut over: Vec<MapPoint> = over_ear.map(|p| seen(SkinPoint(*p))).collect();
        over.sort_by(|a, b| b.x.total_cmp(&a.x));
        edge.extend(over);
        let axis: Vec<MapPoint> = ear_line.right().iter().map(|p| seen(SkinPoint(*p))).collect();
        edge.extend(axis.iter().copied());
        // Along the middle of the head forward to the hairline's middle.
        let middle = self.landmarks().midline.iter().filter(|p| forward_of(p.0) > ear_line.forward);
        let mut over_top: Vec<MapPoint> =
            middle.map(|p| MapPoint { x: forward_of(p.0) - ear_line.forward, y: level_of(p.0) - ear_line.ear_top_level }).collect();
        over_top.sort_by(|a, b| a.x.total_cmp(&b.x));
        edge.extend(over_top);
        let mut up = EVERY;
        let mut shape_only_from = f64::INFINITY;
        while let Some(level) = ear_line.level_at(up) {
            let line = crate::level::LevelLine::on(self.shape(), Length::mm(level));
            let p = line.and_then(|line| line.at(Length::mm(line.passes(ear_line.forward)?)));
            if p.is_some_and(|p| self.shape().normal(p)[0].abs() < std::f64::consts::FRAC_1_SQRT_2) {
                shape_only_from = up;
                break;
            }
            up += EVERY;
        }
        PanelOutline { edge, axis, ears: vec![self.lines.ear.iter().map(|p| seen(SkinPoint(*p))).collect()], crown: None, shape_only_from }
    }
}

fn mirrored(outline: PanelOutline) -> PanelOutline {
    let turn = |line: Vec<MapPoint>| line.into_iter().map(|p| MapPoint { x: -p.x, y: p.y }).collect::<Vec<_>>();
    PanelOutline {
        edge: turn(outline.edge),
        axis: turn(outline.axis),
        ears: outline.ears.into_iter().map(turn).collect(),
        crown: outline.crown.map(|p| MapPoint { x: -p.x, y: p.y }),
        shape_only_from: outline.shape_only_from,
    }
}
