//! One client's head: the fitted scalp with everything that is asked of it.

use crate::landmark::{Landmarks, Marks};
use crate::mesh::TriMesh;
use crate::parting::Parting;
use crate::point::{Border, MapPoint, Side, SkinPoint, Zone};
use crate::size::Fit;
use crate::surface::ScalpShape;
use measure::Length;

/// A mark that cannot be on this head.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} {cure}")]
pub struct MarkFault {
    /// What is odd.
    pub what: String,
    /// How to mend it.
    pub cure: String,
}

/// One client's head.
#[derive(Debug, Clone)]
pub struct Head {
    shape: ScalpShape,
    mesh: TriMesh,
    landmarks: Landmarks,
    warnings: Vec<String>,
}

impl Head {
    /// The head of a fit, with what else was seen on it.
    ///
    /// *Errors*: a mark that cannot lie on this head.
    pub fn new(_fit: &Fit, _marks: &Marks) -> Result<Self, MarkFault> {
        Err(MarkFault { what: "heads are not laid out yet.".into(), cure: String::new() })
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
    /// Whether hair grows at a place.
    #[must_use]
    pub fn bears_hair(&self, p: SkinPoint) -> bool {
        p.0[2] > 0.0
    }
    /// How far inside the hair a place is, smoothly: 0 outside, 1 from `ramp` inward.
    #[must_use]
    pub fn hair_share(&self, p: SkinPoint, _ramp: Length) -> f64 {
        f64::from(u8::from(self.bears_hair(p)))
    }
    /// The region a place is in.
    #[must_use]
    pub fn zone(&self, _p: SkinPoint) -> Zone {
        Zone::Nape
    }
    /// Distance along the skin from the nape hairline.
    #[must_use]
    pub fn height_above_nape(&self, p: SkinPoint) -> Length {
        Length::mm(p.0[2])
    }
    /// Distance along the skin from a border of the hair.
    #[must_use]
    pub fn clearance(&self, _border: Border, p: SkinPoint) -> Length {
        Length::mm(p.0[2])
    }
    /// Whether a place is behind the ear-to-ear line.
    #[must_use]
    pub fn is_behind_ears(&self, p: SkinPoint) -> bool {
        p.0[1] < 0.0
    }
    /// The parting at a distance from the nape hairline, over the hair-bearing
    /// skin behind and above the ears; none where no hair is.
    #[must_use]
    pub fn parting(&self, _above_nape: Length) -> Option<Parting> {
        None
    }
    /// The client's side a place is on; `Centre` within half a millimetre of the middle.
    #[must_use]
    pub fn side_of(&self, p: SkinPoint) -> Side {
        if p.0[0].abs() <= 0.5 { Side::Centre } else if p.0[0] < 0.0 { Side::Left } else { Side::Right }
    }
    /// One standard error of a place, from shape, landmarks and distance to the nearest measured line.
    #[must_use]
    pub fn sigma_at(&self, _p: SkinPoint) -> Length {
        Length::mm(3.0)
    }
    /// The place on the flat map.
    #[must_use]
    pub fn to_map(&self, p: SkinPoint) -> MapPoint {
        MapPoint { x: p.0[0], y: p.0[2] }
    }
}
