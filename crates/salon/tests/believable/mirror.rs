//! A head whose two sides are told alike gets a map whose two sides are alike,
//! to the last digit.

use super::{Complaint, Trial, list, points, text};
use measure::vector::mirror;

/// The sites without a mirror image.
pub fn complaints(trial: &Trial) -> Result<Vec<Complaint>, Complaint> {
    if !trial.client.is_mirrored() {
        return Ok(Vec::new());
    }
    let mut places = Vec::new();
    for site in list(&trial.plan, "sites", "plan")? {
        let name = text(site, "site", "a site")?;
        let ends = points(site, "ends_mm", name)?;
        let tenths = |p: [f64; 3]| p.map(|x| (x * 1000.0).round() as i64);
        let (first, second) = (tenths(ends[0]), tenths(ends[1]));
        let (other, one) = (tenths(mirror(ends[0])), tenths(mirror(ends[1])));
        places.push((name, text(&site["piece"], "cut", name)?, [first, second], [one, other]));
    }
    Ok(places
        .iter()
        .filter(|(_, cut, _, image)| !places.iter().any(|(_, other_cut, place, _)| other_cut == cut && place == image))
        .map(|(name, ..)| Complaint::new("mirror", format!("{name} has no mirror image, and both sides are alike")))
        .collect())
}
