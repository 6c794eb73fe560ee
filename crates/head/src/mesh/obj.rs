//! Meshes read from and written as OBJ text.

use super::{MOST_FACES, MOST_VERTICES, MeshFault, TriMesh};
use measure::vector::Vec3;
use std::fmt::Write as _;

impl TriMesh {
    /// Reads an OBJ text: its `v` and `f` lines, larger faces cut into
    /// triangles; everything else is passed over.
    ///
    /// *Errors*: the line that cannot be read, or what `new` refuses.
    pub fn from_obj(text: &str) -> Result<Self, MeshFault> {
        let mut vertices: Vec<Vec3> = Vec::new();
        let mut faces: Vec<[u32; 3]> = Vec::new();
        for (index, line) in text.lines().enumerate() {
            let fault = |what: String| MeshFault::Line { line: index + 1, what };
            let mut words = line.split_ascii_whitespace();
            match words.next() {
                Some("v") => vertices.push(read_vertex(&mut words).map_err(fault)?),
                Some("f") => read_face(words, vertices.len(), &mut faces).map_err(fault)?,
                _ => {}
            }
            if vertices.len() > MOST_VERTICES {
                return Err(MeshFault::TooLarge { things: "vertices", most: MOST_VERTICES });
            }
            if faces.len() > MOST_FACES {
                return Err(MeshFault::TooLarge { things: "faces", most: MOST_FACES });
            }
        }
        Self::new(vertices, faces)
    }

    /// The mesh as an OBJ text, with enough digits to read the same numbers back.
    #[must_use]
    pub fn to_obj(&self) -> String {
        let mut text = String::with_capacity(self.vertices.len() * 64);
        for [x, y, z] in &self.vertices {
            let _ = writeln!(text, "v {x} {y} {z}");
        }
        for [a, b, c] in &self.faces {
            let _ = writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1);
        }
        text
    }
}

fn read_vertex<'a>(words: &mut impl Iterator<Item = &'a str>) -> Result<Vec3, String> {
    let mut p = [0.0; 3];
    for c in &mut p {
        let word = words.next().ok_or("a vertex needs three numbers, as in \"v 1.0 2.0 3.0\"")?;
        *c = word
            .parse::<f64>()
            .map_err(|_| format!("\"{}\" is no number: a vertex needs three, as in \"v 1.0 2.0 3.0\"", shortened(word)))?;
        if !c.is_finite() {
            return Err(format!("\"{}\" is no usable coordinate: mend the export", shortened(word)));
        }
    }
    Ok(p)
}

fn read_face<'a>(words: impl Iterator<Item = &'a str>, count: usize, faces: &mut Vec<[u32; 3]>) -> Result<(), String> {
    let mut corners: Vec<u32> = Vec::with_capacity(4);
    for word in words {
        let number = word.split('/').next().unwrap_or(word);
        let index =
            number.parse::<i64>().map_err(|_| format!("\"{}\" names no vertex: a face is written as in \"f 1 2 3\"", shortened(word)))?;
        // OBJ counts from 1, and backward from the last with minus signs.
        let index = if index < 0 { count as i64 + index } else { index - 1 };
        if !(0..MOST_VERTICES as i64).contains(&index) {
            return Err(format!("\"{}\" names a vertex that is not there", shortened(word)));
        }
        corners.push(index as u32);
    }
    if corners.len() < 3 {
        return Err("a face needs three vertices or more, as in \"f 1 2 3\"".into());
    }
    for k in 1..corners.len() - 1 {
        faces.push([corners[0], corners[k], corners[k + 1]]);
    }
    Ok(())
}

/// A word short enough to repeat in a message.
fn shortened(word: &str) -> String {
    word.chars().take(40).collect()
}
