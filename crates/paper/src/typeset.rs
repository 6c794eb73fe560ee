//! Setting a page: typst as a library, in a world of our own.
//!
//! The world holds one template, one common part, the data as a JSON file and
//! perhaps a drawing. There is no disk, no network, no clock and no package in
//! it. What a user typed reaches a template only as data, never as source, so
//! that no name can be read as an instruction.

use crate::fault::PaperFault;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

/// The faces that the papers are set in.
///
/// *Meaning*: `regular` and `bold` are the bytes of TrueType or OpenType files of
/// one sans family. With both empty the papers are set in the faces that the
/// typesetter carries, which have no plain sans: readable, not handsome.
#[derive(Debug, Clone, Default)]
pub struct Fonts {
    /// The upright face of usual weight.
    pub regular: Vec<u8>,
    /// The bold one.
    pub bold: Vec<u8>,
}

/// The part that all the templates share.
const COMMON: &str = include_str!("typ/common.typ");

/// What a template is set with.
pub(crate) struct Copy<'a> {
    /// The template's source.
    pub template: &'static str,
    /// What fills it.
    pub data: serde_json::Value,
    /// A drawing, as SVG, that the template may place.
    pub drawing: Option<String>,
    /// The faces.
    pub fonts: &'a Fonts,
    /// The day written into the file as the day it was made.
    pub date: Option<jiff::civil::Date>,
}

/// Sets the pages.
pub(crate) fn pages(copy: &Copy<'_>) -> Result<PagedDocument, PaperFault> {
    let desk = Desk::new(copy)?;
    let set = typst::compile::<PagedDocument>(&desk).output.map_err(|faults| {
        let said: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
        PaperFault::Setting(said.join("; "))
    });
    // The typesetter remembers what it set; a client's page must not stay there.
    typst::comemo::evict(0);
    set
}

/// Sets the pages and writes them as an accessible PDF.
pub(crate) fn pdf(copy: &Copy<'_>) -> Result<Vec<u8>, PaperFault> {
    let document = pages(copy)?;
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|fault| PaperFault::Setting(fault.message().to_string()))?;
    let timestamp = copy.date.and_then(|date| {
        let day =
            Datetime::from_ymd_hms(i32::from(date.year()), u8::try_from(date.month()).ok()?, u8::try_from(date.day()).ok()?, 0, 0, 0)?;
        Some(Timestamp::new_utc(day))
    });
    let options = PdfOptions {
        ident: Smart::Auto,
        creator: Smart::Custom(Some("Strandwright".to_owned())),
        timestamp,
        standards,
        ..PdfOptions::default()
    };
    let written = typst_pdf::pdf(&document, &options).map_err(|faults| {
        let said: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
        PaperFault::Setting(said.join("; "))
    });
    typst::comemo::evict(0);
    written
}

/// The whole world that a template sees.
struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    main: FileId,
    files: BTreeMap<&'static str, Bytes>,
}

impl Desk {
    fn new(copy: &Copy<'_>) -> Result<Self, PaperFault> {
        let mut fonts = own_fonts(copy.fonts)?;
        fonts.extend(carried_fonts().iter().cloned());
        let mut data = copy.data.clone();
        printable(&mut data, &fonts);
        if let Some(fields) = data.as_object_mut() {
            let families: Vec<String> = fonts.first().map(|font| font.info().family.to_string()).into_iter().collect();
            fields.insert("families".to_owned(), families.into());
        }
        let mut files = BTreeMap::new();
        files.insert("main.typ", Bytes::from_string(copy.template));
        files.insert("common.typ", Bytes::from_string(COMMON));
        files.insert("data.json", Bytes::from_string(data.to_string()));
        if let Some(drawing) = &copy.drawing {
            files.insert("drawing.svg", Bytes::from_string(printable_text(drawing, &fonts)));
        }
        let main = VirtualPath::new("main.typ").map_err(|fault| PaperFault::Setting(fault.to_string()))?;
        Ok(Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            main: RootedPath::new(VirtualRoot::Project, main).intern(),
            files,
        })
    }

    fn bytes(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.vpath().get_without_slash();
        if *id.root() != VirtualRoot::Project {
            return Err(FileError::AccessDenied);
        }
        self.files.get(path).cloned().ok_or_else(|| FileError::NotFound(path.into()))
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let text = self.bytes(id)?;
        let text = text.as_str().map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.bytes(id)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    /// There is no today here: a paper is the same on any day.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Makes every text fit the faces at hand: an accessible page may hold no
/// character that none of them can draw, and one client's emoji must not cost
/// her the page.
fn printable(value: &mut serde_json::Value, fonts: &[Font]) {
    match value {
        serde_json::Value::String(text) => *text = printable_text(text, fonts),
        serde_json::Value::Array(items) => items.iter_mut().for_each(|item| printable(item, fonts)),
        serde_json::Value::Object(fields) => fields.values_mut().for_each(|field| printable(field, fonts)),
        _ => {}
    }
}

/// `text` with one `?` for every run of characters that no face can draw.
fn printable_text(text: &str, fonts: &[Font]) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let drawn = c.is_ascii() || fonts.iter().any(|font| font.info().coverage.contains(u32::from(c)));
        if drawn {
            out.push(c);
        } else if !out.ends_with('?') {
            out.push('?');
        }
    }
    out
}

/// The faces that were handed in.
fn own_fonts(fonts: &Fonts) -> Result<Vec<Font>, PaperFault> {
    let mut own = Vec::new();
    for (bytes, which) in [(&fonts.regular, "regular"), (&fonts.bold, "bold")] {
        if bytes.is_empty() {
            continue;
        }
        own.push(Font::new(Bytes::new(bytes.clone()), 0).ok_or(PaperFault::Font(which))?);
    }
    Ok(own)
}

/// The faces that the typesetter carries, read once.
fn carried_fonts() -> &'static [Font] {
    static CARRIED: OnceLock<Vec<Font>> = OnceLock::new();
    CARRIED.get_or_init(|| typst_kit::fonts::embedded().map(|(font, _)| font).collect())
}
