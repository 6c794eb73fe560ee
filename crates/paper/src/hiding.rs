//! How a style hides the bonds of a plan: the head from behind, coloured by how
//! much of a bond would be hidden at each place.

use craft::coverage::{Style, StyleFlow};
use head::{Head, SkinPoint, TriMesh, View};
use measure::{Angle, Length};
use salon::plan::Plan;
use std::fmt::Write;

/// Halvings of the icosahedron's edges: facets of about 7 mm on a head.
const HALVINGS: u32 = 4;
/// Shares of a bond that is hidden, each up to which its colour stands; the
/// fourth is replaced by what is enough.
const SHADES: [(f64, &str); 6] =
    [(0.5, "#b5432a"), (0.75, "#cf6a3d"), (0.88, "#e0904f"), (0.0, "#f0b669"), (0.99, "#7fb0b9"), (1.01, "#2f7f8c")];
/// Hair grows dense over so much skin inside the hairline.
const EDGE: Length = Length::mm(6.0);

/// One style on the head of a plan, seen from behind, at a scale of one to one.
///
/// *Meaning*: `enough` is the share of a bond that must be hidden for it not to show.
#[must_use]
pub fn hiding_svg(head: &Head, flow: &StyleFlow, enough: f64, plan: &Plan) -> String {
    let view = View::new(Angle::deg(180.0), Angle::deg(12.0));
    let shape = head.shape();
    let mesh = TriMesh::icosphere(shape, HALVINGS);
    let heat = flow.coverage_by_vertex(&mesh);
    let outline = view.outline(shape, 180);
    let mut out = String::new();
    // Writing into a string cannot fail.
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-98 -135 196 205\" width=\"196mm\" height=\"205mm\" role=\"img\" \
         font-family=\"'Source Sans 3','DejaVu Sans',sans-serif\"><title>{}</title>",
        title(flow.style())
    );
    let _ = write!(out, "<path d=\"{}\" fill=\"#ecdfd3\" stroke=\"#8a7a6c\" stroke-width=\".6\"/>", path(&view, &outline, true));
    let mut bands: Vec<String> = vec![String::new(); SHADES.len()];
    let grown: Vec<f64> = mesh.vertices().iter().map(|p| head.hair_share(SkinPoint(*p), EDGE)).collect();
    for face in mesh.faces() {
        let corners = face.map(|v| {
            let p = SkinPoint(mesh.vertices()[v as usize]);
            Corner { at: view.place(p), hidden: heat[v as usize], grown: grown[v as usize] }
        });
        let seen = face.iter().all(|v| view.faces(shape, SkinPoint(mesh.vertices()[*v as usize])));
        if seen {
            fill(&mut bands, &corners, enough);
        }
    }
    for (band, (_, fill)) in bands.iter().zip(SHADES) {
        let _ = write!(out, "<path d=\"{band}\" fill=\"{fill}\" stroke=\"{fill}\" stroke-width=\".3\" stroke-linejoin=\"round\"/>");
    }
    for course in flow.courses() {
        let mut seen: Vec<SkinPoint> = course.into_iter().step_by(2).filter(|p| view.faces(shape, *p)).collect();
        seen.dedup();
        if seen.len() > 2 {
            let _ = write!(
                out,
                "<path d=\"{}\" fill=\"none\" stroke=\"#2b211a\" stroke-opacity=\".3\" stroke-width=\".25\"/>",
                path(&view, &seen, false)
            );
        }
    }
    for site in &plan.sites {
        let ends = site.ends_mm.map(SkinPoint);
        if ends.iter().all(|p| view.faces(shape, *p)) {
            let line = path(&view, &ends, false);
            let _ = write!(
                out,
                "<path d=\"{line}\" stroke=\"#fff\" stroke-width=\"4.4\"/><path d=\"{line}\" stroke=\"#26221f\" stroke-width=\"3\"/>"
            );
        }
    }
    out.push_str("</svg>\n");
    out
}

fn title(style: Style) -> String {
    format!("How well a bond is hidden, hair worn {}: red shows, blue is hidden", style.word().replace('_', " "))
}

/// A corner of a facet as it is drawn.
#[derive(Clone, Copy)]
struct Corner {
    at: [f64; 2],
    /// Share of a bond that is hidden.
    hidden: f64,
    /// How far it bears hair.
    grown: f64,
}

impl Corner {
    fn between(self, other: Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            at: [mix(self.at[0], other.at[0]), mix(self.at[1], other.at[1])],
            hidden: mix(self.hidden, other.hidden),
            grown: mix(self.grown, other.grown),
        }
    }
}

/// Adds a facet to the bands that it takes part in, cut along their borders.
fn fill(bands: &mut [String], corners: &[Corner; 3], enough: f64) {
    let grown = cut(corners, |c| c.grown - 0.5);
    let mut from = -0.01;
    for (band, (up_to, _)) in bands.iter_mut().zip(SHADES) {
        let to = if up_to == 0.0 { enough } else { up_to };
        let within = cut(&cut(&grown, |c| c.hidden - from), |c| to - c.hidden);
        if within.len() > 2 {
            for (i, corner) in within.iter().enumerate() {
                let _ = write!(band, "{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, corner.at[0], corner.at[1]);
            }
            band.push('Z');
        }
        from = to;
    }
}

/// The part of a convex shape where a value is above zero.
fn cut(corners: &[Corner], value: impl Fn(&Corner) -> f64) -> Vec<Corner> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    for (i, corner) in corners.iter().enumerate() {
        let next = &corners[(i + 1) % corners.len()];
        let (here, there) = (value(corner), value(next));
        if here > 0.0 {
            kept.push(*corner);
        }
        if (here > 0.0) != (there > 0.0) {
            kept.push(corner.between(*next, here / (here - there)));
        }
    }
    kept
}

fn path(view: &View, points: &[SkinPoint], closed: bool) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let [x, y] = view.place(*p);
        let _ = write!(d, "{}{x:.1} {y:.1}", if i == 0 { "M" } else { "L" });
    }
    if closed {
        d.push('Z');
    }
    d
}
