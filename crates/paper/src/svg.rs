//! A small writer of SVG: every attribute and text passes through one escape.

use std::fmt::Write;

/// An SVG document being written.
pub(crate) struct Svg {
    out: String,
    open: Vec<&'static str>,
}

impl Svg {
    /// A document with its frame in user units, which are millimetres on A4.
    pub(crate) fn new(width: f64, height: f64, title: &str, description: &str) -> Self {
        let mut svg = Self { out: String::with_capacity(32 * 1024), open: Vec::new() };
        svg.out.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        let (w, h) = (coordinate(width), coordinate(height));
        svg.open(
            "svg",
            &[
                ("xmlns", "http://www.w3.org/2000/svg"),
                ("viewBox", &format!("0 0 {w} {h}")),
                ("width", &format!("{w}mm")),
                ("height", &format!("{h}mm")),
                ("role", "img"),
                ("aria-labelledby", "map-title map-description"),
                ("font-family", FONTS),
            ],
        );
        svg.element("title", &[("id", "map-title")], title);
        svg.element("desc", &[("id", "map-description")], description);
        svg
    }

    /// Opens an element that later ones go into.
    pub(crate) fn open(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.start(name, attributes);
        self.out.push_str(">\n");
        self.open.push(name);
    }

    /// Closes the element opened last.
    pub(crate) fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            let _ = writeln!(self.out, "</{name}>");
        }
    }

    /// An element with text in it.
    pub(crate) fn element(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.start(name, attributes);
        let _ = writeln!(self.out, ">{}</{name}>", escaped(text));
    }

    /// An element with nothing in it.
    pub(crate) fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.start(name, attributes);
        self.out.push_str("/>\n");
    }

    /// The finished document.
    pub(crate) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }

    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) {
        let _ = write!(self.out, "<{name}");
        for (key, value) in attributes {
            let _ = write!(self.out, " {key}=\"{}\"", escaped(value));
        }
    }
}

/// Plain sans faces found on most machines; none is embedded.
const FONTS: &str = "'Source Sans 3', 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif";

/// A coordinate with two decimals: a hundredth of a millimetre on paper.
pub(crate) fn coordinate(value: f64) -> String {
    measure::text::number(if value.is_finite() { value } else { 0.0 }, 2)
}

/// The path through points, closed when it is an outline.
pub(crate) fn path_through(points: &[[f64; 2]], ending: Ending) -> String {
    let mut out = String::new();
    for (i, [x, y]) in points.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { "M" } else { "L" }, coordinate(*x), coordinate(*y));
    }
    if ending == Ending::Closed && !points.is_empty() {
        out.push('Z');
    }
    out
}

/// How a path ends.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// As a line.
    Open,
    /// Back at its start.
    Closed,
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_and_attributes_cannot_break_out() {
        let mut svg = Svg::new(10.0, 10.0, "<t>", "\"&\"");
        svg.element("text", &[("class", "\" onload=\"x")], "</text><script>\u{1}");
        let out = svg.finish();
        assert!(!out.contains("<script>") && !out.contains("\" onload=\"x") && !out.contains('\u{1}'));
        assert!(out.contains("&lt;t&gt;") && out.ends_with("</svg>\n"));
    }

    #[test]
    fn coordinates_are_short_and_finite() {
        assert_eq!(coordinate(-0.001), "0");
        assert_eq!(coordinate(f64::INFINITY), "0");
        assert_eq!(path_through(&[[0.0, 1.0], [2.5, 3.126]], Ending::Closed), "M0 1L2.5 3.13Z");
    }
}
