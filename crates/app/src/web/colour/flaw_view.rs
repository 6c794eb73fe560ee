//! What is wrong in a photo, drawn on it: numbers that match the sentences.

use reading::{Flaw, Place};

/// One fault as a page shows it.
pub struct FlawView {
    /// Its number, in the picture and before its sentence.
    pub number: usize,
    /// What is wrong and what to do.
    pub says: String,
    /// The outlines of its areas, as points of a polygon.
    pub areas: Vec<String>,
    /// The shaft of its arrow: from x, y to x, y.
    pub shaft: Option<[String; 4]>,
    /// The head of its arrow, as points of a polygon.
    pub head: String,
    /// Where its number stands.
    pub at: [String; 2],
}

/// The faults of a photo, and how large numbers and arrow heads are drawn, in its pixels.
pub struct FlawsView {
    /// The faults.
    pub flaws: Vec<FlawView>,
    /// Radius of a number's disc.
    pub disc: String,
    /// Height of its figure.
    pub letter: String,
    /// How far below the middle the figure's foot stands.
    pub foot: String,
}

impl FlawsView {
    /// Of a photo of so many pixels; the numbers keep off the places of `free`.
    pub fn of(flaws: &[Flaw], (width, height): (usize, usize), free: &[[f64; 2]]) -> Self {
        let disc = width.max(height) as f64 / 32.0;
        let mut taken: Vec<[f64; 2]> = free.to_vec();
        let views =
            flaws.iter().enumerate().map(|(at, flaw)| view(at + 1, flaw, disc, [width as f64, height as f64], &mut taken)).collect();
        Self { flaws: views, disc: short(disc), letter: short(1.35 * disc), foot: short(0.45 * disc) }
    }
}

fn short(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0)
}

fn points(outline: &[[f64; 2]]) -> String {
    outline.iter().map(|[x, y]| format!("{},{}", short(*x), short(*y))).collect::<Vec<_>>().join(" ")
}

fn view(number: usize, flaw: &Flaw, disc: f64, size: [f64; 2], taken: &mut Vec<[f64; 2]>) -> FlawView {
    let (areas, shaft, head, wished) = match &flaw.place {
        Place::Areas(areas) => (areas.iter().map(|area| points(area)).collect(), None, String::new(), edges(areas)),
        Place::Arrow([from, to]) => {
            let (head, foot) = arrow_head(*from, *to, 1.6 * disc);
            let along = [0.5, 0.35, 0.65, 0.2, 0.8].map(|share| [0, 1].map(|k| from[k] + share * (to[k] - from[k])));
            (Vec::new(), Some([from[0], from[1], foot[0], foot[1]].map(short)), points(&head), along.to_vec())
        }
    };
    let inside = |p: &[f64; 2]| [0, 1].map(|k| p[k].clamp(1.2 * disc, (size[k] - 1.2 * disc).max(1.2 * disc)));
    let places: Vec<[f64; 2]> = wished.iter().map(inside).collect();
    let room = |p: &[f64; 2]| taken.iter().map(|other| (other[0] - p[0]).hypot(other[1] - p[1])).fold(f64::INFINITY, f64::min);
    let at = places
        .iter()
        .find(|place| room(place) > 2.4 * disc)
        .or_else(|| places.iter().max_by(|p, q| room(p).total_cmp(&room(q))))
        .copied()
        .unwrap_or_default();
    taken.push(at);
    FlawView { number, says: flaw.says.clone(), areas, shaft, head, at: at.map(short) }
}

/// Places for the number of areas: the middles of their edges, the upper ones first.
fn edges(areas: &[Vec<[f64; 2]>]) -> Vec<[f64; 2]> {
    let of = |area: &Vec<[f64; 2]>| -> Vec<[f64; 2]> {
        let mut middles: Vec<[f64; 2]> = (0..area.len())
            .map(|i| (area[i], area[(i + 1) % area.len()]))
            .map(|(p, q)| [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0])
            .collect();
        middles.sort_by(|p, q| p[1].total_cmp(&q[1]));
        middles
    };
    areas.iter().flat_map(of).collect()
}

/// A triangle at the end of a line, and where the line ends in it.
fn arrow_head(from: [f64; 2], to: [f64; 2], long: f64) -> ([[f64; 2]; 3], [f64; 2]) {
    let (x, y) = (to[0] - from[0], to[1] - from[1]);
    let far = x.hypot(y).max(1e-6);
    let along = [x / far, y / far];
    let foot = [0, 1].map(|k| to[k] - along[k] * long.min(far));
    let aside = [-along[1], along[0]].map(|v| v * 0.5 * long.min(far));
    ([to, [foot[0] + aside[0], foot[1] + aside[1]], [foot[0] - aside[0], foot[1] - aside[1]]], foot)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_in_the_photo_and_not_on_each_other() {
        let chart = vec![vec![[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [0.0, 200.0]]];
        let flaw = |place: Place| Flaw { says: "So.".to_owned(), place };
        let flaws = [flaw(Place::Areas(chart.clone())), flaw(Place::Areas(chart)), flaw(Place::Arrow([[20.0, 20.0], [320.0, 20.0]]))];
        let found = FlawsView::of(&flaws, (640, 480), &[]);
        let at: Vec<[f64; 2]> = found.flaws.iter().map(|flaw| [0, 1].map(|k| flaw.at[k].parse().unwrap())).collect();
        for (i, p) in at.iter().enumerate() {
            assert!(p[0] > 20.0 && p[1] > 20.0 && p[0] < 620.0 && p[1] < 460.0, "{p:?}");
            assert!(at[..i].iter().all(|q| (p[0] - q[0]).hypot(p[1] - q[1]) >= 40.0), "{at:?}");
        }
        let [_, _, x, _] = found.flaws[2].shaft.clone().unwrap();
        assert!(x.parse::<f64>().unwrap() < 320.0 && found.flaws[2].head.starts_with("320,20"), "{}", found.flaws[2].head);
    }
}
