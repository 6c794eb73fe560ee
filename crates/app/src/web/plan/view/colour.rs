//! The shades of a plan: her ends, the mix of whole pieces, and the nearest single
//! shades.

use crate::web::frame::page::moment;
use crate::web::frame::swatch;
use desk::KeptPlan;
use measure::text::{counted, number};

/// The shades.
pub struct ColourView {
    /// The colour of the ends on the screen, where it is known.
    pub ends: Option<String>,
    /// The reading it was made with: its address, and when the hair was seen.
    pub read: Option<(String, String)>,
    /// Each shade of the mix.
    pub mix: Vec<MixView>,
    /// How near the mix comes.
    pub apart: String,
    /// The nearest single shades.
    pub nearest: Vec<(String, String, String)>,
    /// What to know.
    pub notes: Vec<String>,
}

/// One shade of the mix.
pub struct MixView {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its screen colour.
    pub fill: String,
    /// Its pieces.
    pub pieces: String,
}

/// The shades, and how near their mix comes to her ends.
pub fn colour(kept: &KeptPlan) -> ColourView {
    let told = &kept.plan.colour;
    let sure = told.uncertainty_de00.map_or_else(String::new, |sure| format!("; the reading is sure to {}", number(sure, 1)));
    ColourView {
        read: kept.read.as_ref().map(|read| (format!("/readings/{}", read.id), moment(read.seen_ms))),
        ends: told.lab_d65.map(|lab| swatch::of_lab(lab.into())),
        mix: told
            .mix
            .iter()
            .map(|(code, pieces)| MixView {
                code: code.clone(),
                name: told.shade_names.get(code).cloned().unwrap_or_default(),
                fill: swatch::of_plan(&kept.plan, code),
                pieces: counted(*pieces as usize, "piece", "pieces"),
            })
            .collect(),
        apart: told
            .mix_de00
            .map_or_else(String::new, |apart| format!("The mix lies {} from her ends (CIEDE2000{sure}).", number(apart, 2))),
        nearest: told
            .nearest
            .iter()
            .map(|near| {
                let name = told.shade_names.get(&near.code).cloned().unwrap_or_default();
                (near.code.clone(), name, number(near.de00, 2))
            })
            .collect(),
        notes: told.notes.clone(),
    }
}
