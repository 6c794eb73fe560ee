//! Labels for packs and for the bags of clients' pieces: a sheet of 24 on A4, each with
//! a 2-D code that opens its page.
//!
//! *Source*: the code, its level M and its quiet zone of four modules; key `iso18004`.

use crate::fault::PaperFault;
use crate::paper::filled;
use crate::typeset::{Copy, Fonts, pdf};
use crate::words::one_line;
use qrcode::{Color, EcLevel, QrCode};
use serde::Serialize;
use std::fmt::Write;

/// Labels on a sheet: three beside each other, eight below each other.
pub const LABELS_ON_A_SHEET: usize = 24;

/// Modules that stay white round a code.
const QUIET: usize = 4;

/// What stands on one label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// What it is, large.
    pub heading: String,
    /// What is to be read without a reader, from the most important down.
    pub lines: Vec<String>,
    /// What a reader of its code reads.
    pub code: String,
}

#[derive(Serialize)]
struct Sheet {
    salon: String,
    first: usize,
    labels: Vec<Drawn>,
}

#[derive(Serialize)]
struct Drawn {
    heading: String,
    lines: Vec<String>,
    code: String,
    says: String,
}

/// Labels as an accessible PDF, on sheets whose first `used` labels are gone already.
///
/// *Errors*: a face that is no font; what a code is to say is longer than any code holds.
pub fn labels(labels: &[Label], used: usize, salon: Option<&str>, fonts: &Fonts) -> Result<Vec<u8>, PaperFault> {
    let drawn = |label: &Label| {
        Ok(Drawn {
            heading: one_line(&label.heading),
            lines: label.lines.iter().map(|line| one_line(line)).collect(),
            code: code_svg(&label.code)?,
            says: format!("A code that opens {}", label.code),
        })
    };
    let sheet = Sheet {
        salon: salon.map(one_line).unwrap_or_default(),
        first: used % LABELS_ON_A_SHEET,
        labels: labels.iter().map(drawn).collect::<Result<_, PaperFault>>()?,
    };
    pdf(&Copy { template: include_str!("typ/labels.typ"), data: filled(&sheet)?, drawing: None, fonts, date: None })
}

/// A text as a 2-D code, an SVG drawing of one unit a module.
///
/// *Errors*: it is longer than any code holds.
pub fn code_svg(text: &str) -> Result<String, PaperFault> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| PaperFault::Code(text.chars().count()))?;
    let (width, dark) = (code.width(), code.to_colors());
    let side = width + 2 * QUIET;
    let mut path = String::new();
    for (y, row) in dark.chunks(width).enumerate() {
        let mut x = 0;
        while x < width {
            let run = row[x..].iter().take_while(|module| **module == Color::Dark).count();
            if run > 0 {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET);
            }
            x += run.max(1);
        }
    }
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}
