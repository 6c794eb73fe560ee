//! The skin of a head: size, surface, distances, partings, landmarks.
//!
//! From a few tape measures to a scalp in millimetres ([`fit`]), then to a
//! [`Head`]: landmarks, hair-bearing skin, distances along the skin, partings
//! as they are combed, and a flat map. It knows nothing of pieces or drawing.

pub mod course;
pub mod face;
mod field;
pub mod head;
pub mod landmark;
pub mod level;
pub mod mesh;
mod midline;
pub mod model;
pub mod panels;
pub mod parting;
pub mod path;
mod plausible;
pub mod point;
mod region;
mod sight;
pub mod size;
mod sky;
pub mod surface;
mod template;
mod trace;
pub mod view;

pub use course::Courses;
pub use face::FacedSkin;
pub use head::{Head, MarkFault, MeshDetail, Whereabouts};
pub use landmark::{CrownMark, Landmarks, Marks, TapedParting};
pub use level::LevelLine;
pub use mesh::{MeshFault, TriMesh};
pub use model::Template;
pub use panels::PanelOutline;
pub use parting::Parting;
pub use path::check_geodesic;
pub use point::{Border, MapPoint, Panel, Side, SkinPoint, Zone};
pub use size::{
    Arcs, Doubt, Fit, HairAllowance, HairUnderTape, MeasureFault, Measures, NextMeasure, Outlook, SizeSigma, Tape, fit, fit_to, outlook,
};
pub use surface::{Ellipsoid, ScalpShape, SmoothSkin, Sphere, Spheroid};
pub use view::View;
