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
mod marks;
mod measures;
pub mod mesh;
mod midline;
pub mod model;
pub mod panels;
pub mod parting;
pub mod path;
mod piece_of_line;
mod plausible;
pub mod point;
mod region;
mod sight;
pub mod size;
mod sky;
mod sphere;
pub mod surface;
mod template;
mod trace;
pub mod view;
mod words;

pub use course::Courses;
pub use face::FacedSkin;
pub use head::{Head, MeshDetail, Whereabouts};
pub use landmark::Landmarks;
pub use level::LevelLine;
pub use marks::{CrownMark, MarkFault, Marks, TapedParting};
pub use measures::{Doubt, HairUnderTape, MeasureFault, Measures, SizeSigma, Tape};
pub use mesh::{MeshFault, TriMesh};
pub use model::Template;
pub use panels::PanelOutline;
pub use parting::Parting;
pub use path::check_geodesic;
pub use point::{Border, MapPoint, Panel, Side, SkinPoint, Zone};
pub use size::{Arcs, Fit, HairAllowance, NextMeasure, Outlook, fit, fit_to, outlook};
pub use surface::{Ellipsoid, ScalpShape, SmoothSkin, Sphere, Spheroid};
pub use view::View;
