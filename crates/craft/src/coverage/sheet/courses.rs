//! The lines of a sheet as hair runs along them, for a picture.

use super::{Node, Sheet};
use measure::vector::{Vec3, along};

/// Free-hanging hair is drawn so far below its last touch with the head, mm.
const HANGS: f64 = 60.0;

impl Sheet {
    /// Every so many lines as hair runs along them, root first; hair that has
    /// left the head goes on straight down, against `up`.
    pub(in crate::coverage) fn courses(&self, every: usize, up: Vec3) -> Vec<Vec<Vec3>> {
        let mut courses = Vec::new();
        for i in (0..self.lines()).step_by(every.max(1)) {
            let line = &self.line(i)[..=self.ends[i]];
            let source = (self.sources[i].k.round() as usize).min(self.ends[i]);
            // Drawn from its source to the start of the line.
            courses.push(rooted(line[..=source].iter().rev()));
            // Fallen from its source to the end, or off the head.
            let leaves = self.leaving[i].map(|leaving| (leaving.k as usize).min(self.ends[i]));
            let mut fallen = rooted(line[source..=leaves.unwrap_or(self.ends[i]).max(source)].iter());
            if let (Some(_), Some(&last)) = (leaves, fallen.last()) {
                fallen.push(along(last, up, -HANGS));
            }
            courses.push(fallen);
        }
        courses.retain(|course| course.len() > 2);
        courses
    }
}

/// The places of nodes from the first that bears hair.
fn rooted<'a>(nodes: impl Iterator<Item = &'a Node>) -> Vec<Vec3> {
    nodes.skip_while(|node| node.rate.strands <= 0.0).map(|node| node.p).collect()
}
