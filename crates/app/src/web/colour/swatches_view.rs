//! Swatches photographed beside her ends: their order in one photo, and whether a
//! match holds in a photo under a second light.

use super::beside_view::stored;
use super::start::OpenReading;
use super::words;
use crate::web::frame::page::moment;
use crate::web::frame::swatch;
use colour::ciede2000;
use craft::matching::{Ring, second_light};
use desk::{KeptReading, SwatchBeside};
use measure::text::{fixed, list};

/// What a photo under a second light said.
pub struct CheckView {
    /// When.
    pub when: String,
    /// The shade.
    pub code: String,
    /// Under the first light.
    pub first: String,
    /// Under the second.
    pub second: String,
    /// In words.
    pub says: &'static str,
    /// Whether it holds.
    pub holds: bool,
}

/// One of several swatches beside her ends.
pub struct RankedView {
    /// Its code.
    pub code: String,
    /// Its name on the ring.
    pub name: String,
    /// Its colour in the photo, on a screen.
    pub fill: String,
    /// How far it is from her ends.
    pub de00: String,
    /// How far that may be off.
    pub sure: String,
    /// The same in words.
    pub says: &'static str,
    /// Of one that the photo cannot tell from the nearest: how far they are apart.
    pub told: String,
}

fn ranked(kept: &KeptReading) -> (&[reading::Ranked], &[reading::Unread]) {
    match kept {
        KeptReading::Photo { ranking, unread, .. } => (ranking, unread),
        KeptReading::Instrument { .. } => (&[], &[]),
    }
}

/// The swatches in one photo, the nearest first.
pub fn ranking(kept: &KeptReading, ring: &Ring) -> Vec<RankedView> {
    let (ranking, _) = ranked(kept);
    let first = ranking.first().map_or("", |one| one.code.as_str());
    let view = |(at, one): (usize, &reading::Ranked)| RankedView {
        code: one.code.clone(),
        name: ring.shades.iter().find(|shade| shade.code == one.code).map(|shade| shade.name.clone()).unwrap_or_default(),
        fill: swatch::of_lab(one.lab_d65),
        de00: fixed(one.de00, 1),
        sure: fixed(one.sure_to, 1),
        says: words::difference(one.de00),
        told: if at == 0 || one.told_from_first {
            String::new()
        } else {
            format!("In this photo {} from {first}, less than it can tell.", fixed(one.from_first_de00, 1))
        },
    };
    ranking.iter().enumerate().map(view).collect()
}

/// How sure it is which swatch is the nearest.
pub fn ranked_say(kept: &KeptReading) -> String {
    let (ranking, _) = ranked(kept);
    let Some((first, others)) = ranking.split_first() else { return String::new() };
    let alike: Vec<&str> = others.iter().filter(|one| !one.told_from_first).map(|one| one.code.as_str()).collect();
    if alike.is_empty() {
        let margin = others.first().map_or(0.0, |second| second.de00 - first.de00);
        return if others.first().is_some_and(|second| margin > second.sure_to.max(first.sure_to)) {
            format!("{} is the nearest, and the photo is sure of it.", first.code)
        } else {
            format!(
                "{} is the nearest. The photo tells the swatches apart, but not surely which of them is nearer: let your eye decide.",
                first.code
            )
        };
    }
    format!(
        "{} is the nearest, but this photo cannot tell it from {}: either will look the same in it. Let your eye decide.",
        first.code,
        list(&alike)
    )
}

/// Those that could not be read, and why.
pub fn unread(kept: &KeptReading) -> Vec<String> {
    let (_, unread) = ranked(kept);
    unread.iter().map(|one| format!("The swatch of {} could not be read: {}.", one.code, one.why)).collect()
}

/// What the swatch in the same photo says of the photo and of the match.
pub fn swatch_says(kept: &KeptReading, ring: &Ring) -> String {
    let KeptReading::Photo { reading, swatch: Some(swatch), ranking, .. } = kept else { return String::new() };
    // Of several the ranking says it.
    if ranking.len() > 1 {
        return String::new();
    }
    let apart = ciede2000(reading.lab_d65, swatch.lab_d65);
    let side_by_side = format!(
        "In the same photo, her ends and the swatch of {} are {} apart: {}.",
        swatch.code,
        fixed(apart, 1),
        words::difference(apart)
    );
    match stored(ring, &swatch.code) {
        Some(own) => {
            format!("{side_by_side} The swatch itself reads {} from what the ring says of it.", fixed(ciede2000(own, swatch.lab_d65), 1))
        }
        None => side_by_side,
    }
}

/// What photos of a swatch under a second light said.
pub fn checks(reading: &OpenReading, all: &[OpenReading], ring: &Ring) -> Vec<CheckView> {
    let id = reading.line.id.to_string();
    let first_swatch = match &reading.kept {
        KeptReading::Photo { swatch, .. } => swatch.as_ref(),
        KeptReading::Instrument { .. } => None,
    };
    all.iter()
        .filter(|later| later.kept.second_of() == Some(id.as_str()))
        .filter_map(|later| {
            let KeptReading::Photo { reading: second, swatch: Some(beside), .. } = &later.kept else { return None };
            let own = first_swatch.filter(|swatch: &&SwatchBeside| swatch.code == beside.code).map(|swatch| swatch.lab_d65);
            let swatch = own.or_else(|| stored(ring, &beside.code))?;
            let sure = reading.kept.uncertainty().unwrap_or(0.0).hypot(second.uncertainty_de00);
            let check = second_light([reading.kept.lab_d65(), swatch], [second.lab_d65, beside.lab_d65], sure);
            Some(CheckView {
                when: moment(later.line.seen_ms),
                code: beside.code.clone(),
                first: fixed(check.first_de00, 1),
                second: fixed(check.second_de00, 1),
                says: words::second_light(&check),
                holds: check.holds,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::colour::match_view::tests::ring;

    fn read_from_photo(id_of_first: Option<&str>, ends: [f64; 3], swatch: Option<[f64; 3]>) -> KeptReading {
        let text = serde_json::json!({
            "by": "photo", "marks": { "chart_corners": [[0, 0], [1, 0], [1, 1], [0, 1]], "hair": [[2, 0], [3, 0], [3, 1]] },
            "second_of": id_of_first,
            "swatch": swatch.map(|lab| serde_json::json!({ "code": "S05", "lab_d65": lab, "uncertainty_de00": 1.0 })),
            "reading": {
                "lab_d50": ends, "lab_d65": ends, "tones": [], "uncertainty_de00": 1.0, "level": 5.0, "warnings": [],
                "residuals": { "chart_de00": 0.4, "grey_error": 0.01, "curve_strength": 0, "light_range": 1.1, "board_spread": 0.01, "clipped": 0 },
            },
        });
        serde_json::from_value(text).unwrap()
    }

    fn line(kept: KeptReading) -> OpenReading {
        let id = "0190b7a0-0000-7000-8000-000000000001";
        let line = desk::FiledReading {
            id: id.parse().unwrap(),
            client: id.parse().unwrap(),
            photo: None,
            kept: kept.clone(),
            seen_ms: 0,
            superseded: false,
        };
        OpenReading { line, kept }
    }

    #[test]
    fn a_swatch_that_leaves_her_ends_under_a_second_light_does_not_hold() {
        let first = line(read_from_photo(None, [29.5, 8.5, 18.5], None));
        let id = first.line.id.to_string();
        let near = line(read_from_photo(Some(&id), [29.5, 8.5, 18.5], Some([29.9, 8.4, 18.3])));
        let far = line(read_from_photo(Some(&id), [29.5, 8.5, 18.5], Some([36.0, 12.0, 20.0])));
        let told = checks(&first, &[near, far], &ring());
        assert_eq!(told.iter().map(|check| check.holds).collect::<Vec<_>>(), [true, false]);
        assert_eq!(told[0].first, "0.0", "the ring's own colour stands for a swatch the first photo does not show");
    }
}
