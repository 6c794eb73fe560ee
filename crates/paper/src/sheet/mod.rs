//! The run sheet: everything for one visit, to be read beside the chair.

mod table;

use serde::Serialize;

pub(crate) use table::{RowLines, notes, rows, shade_lines, summary};

/// The template.
pub(crate) const TEMPLATE: &str = include_str!("../typ/run-sheet.typ");

/// What the template is filled with.
#[derive(Debug, Serialize)]
pub(crate) struct RunSheet {
    pub salon: String,
    pub client: String,
    pub date: Option<String>,
    pub facts: Vec<[String; 2]>,
    pub cautions: Vec<String>,
    pub open: Vec<String>,
    pub tools: Vec<String>,
    pub shades: ShadeTable,
    pub notes: Vec<String>,
    pub map_in_words: String,
    pub how_to_measure: String,
    pub rows: Vec<RowLines>,
    pub table_notes: Vec<String>,
    pub steps: Vec<Stage>,
    pub checks: Vec<String>,
    pub rests_on: Vec<String>,
}

/// The count of shades.
#[derive(Debug, Serialize)]
pub(crate) struct ShadeTable {
    pub columns: [&'static str; 5],
    pub lines: Vec<[String; 5]>,
}

/// Steps that belong together.
#[derive(Debug, Serialize)]
pub(crate) struct Stage {
    pub name: String,
    pub steps: Vec<StepLine>,
}

/// One step at the chair.
#[derive(Debug, Serialize)]
pub(crate) struct StepLine {
    pub number: String,
    pub says: String,
    pub details: Vec<String>,
    pub cautions: Vec<String>,
}
