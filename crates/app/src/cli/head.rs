//! `head fit`: the scalp from tape measures.

use super::rim;
use crate::error::Failure;
use clap::{Args, Subcommand};
use head::{Template, TriMesh};
use measure::Length;
use salon::client::HeadSection;
use serde::Deserialize;
use serde_json::json;
use std::path::PathBuf;

/// What can be asked of a head.
#[derive(Debug, Subcommand)]
pub enum HeadCommand {
    /// Fit the scalp to tape measures.
    Fit(FitArgs),
}

/// The measures and where the surface goes.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// A file with a [head] section, or - for standard input.
    head: PathBuf,
    /// Write the fitted scalp as OBJ, in mm.
    #[arg(long)]
    mesh: Option<PathBuf>,
    /// Another template of the same shape as the one built in (JSON).
    #[arg(long)]
    template: Option<PathBuf>,
}

/// A file that may hold nothing but a head.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeadFile {
    head: HeadSection,
}

/// A mean head in harmonics; other keys tell where it comes from.
#[derive(Debug, Deserialize)]
struct TemplateFile {
    centre: [f64; 3],
    coef: Vec<f64>,
    inion: [f64; 3],
}

/// Halvings of the icosahedron's edges: 10 242 vertices, 3.5 mm apart on a head.
const HALVINGS: u32 = 5;

/// Prints the fit as JSON.
///
/// *Errors*: the file cannot be read, or holds measures that no head has.
pub fn run(command: HeadCommand) -> Result<(), Failure> {
    let HeadCommand::Fit(args) = command;
    let text = rim::read_text(&args.head)?;
    let file: HeadFile = rim::from_toml(&text, &rim::shown(&args.head))?;
    let measures = file.head.measures().map_err(|faults| rim::bad_facts(&rim::shown(&args.head), &faults))?;
    let fitted = match &args.template {
        None => head::fit(&measures),
        Some(path) => {
            let file: TemplateFile = rim::read_json(path)?;
            let template = Template::of_harmonics(file.centre, &file.coef, file.inion)
                .map_err(|fault| Failure::bad_input(format!("{}: {fault}", rim::shown(path))))?;
            head::fit_to(&measures, &template)
        }
    };
    let fit = fitted.map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(|fault| format!("{}: {fault}", rim::shown(&args.head))).collect();
        Failure::bad_input(lines.join("\n"))
    })?;
    if let Some(path) = &args.mesh {
        rim::write_file(path, TriMesh::icosphere(&fit.shape, HALVINGS).to_obj().as_bytes())?;
    }
    let mm = |length: Length| (length.to_mm() * 100.0).round() / 100.0;
    rim::print_json(&json!({
        "length_mm": mm(fit.length),
        "breadth_mm": mm(fit.breadth),
        "tragion_to_top_mm": mm(fit.tragion_to_top),
        "arcs_mm": {
            "circumference": mm(fit.arcs.circumference),
            "ear_to_ear_over_crown": mm(fit.arcs.ear_to_ear_over_crown),
            "ear_to_ear_behind": mm(fit.arcs.ear_to_ear_behind),
        },
        "sigma_mm": {
            "length": mm(fit.sigma.length),
            "breadth": mm(fit.sigma.breadth),
            "tragion_to_top": mm(fit.sigma.tragion_to_top),
        },
        "warnings": fit.warnings,
    }))
}
