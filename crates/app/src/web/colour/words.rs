//! Numbers of colour in plain words.

use craft::matching::{ACCEPTABLE, DIFFERENT, LightCheck, NO_VISIBLE, Ring};
use measure::text::fixed;
use reading::UncertaintyParts;

/// A difference as the eye sees it.
pub fn difference(de00: f64) -> &'static str {
    if de00 <= NO_VISIBLE.value {
        "no difference to be seen"
    } else if de00 <= ACCEPTABLE.value {
        "an acceptable blend"
    } else if de00 <= DIFFERENT.value {
        "seen side by side, may disappear when layered"
    } else {
        "a different shade"
    }
}

/// How sure a reading is, by shades of her ring: as far as from one to its nearest
/// neighbour, or so many in a row. Nothing where the ring has too few to say.
pub fn in_shades(uncertainty: f64, ring: &Ring) -> String {
    let Some(steps) = ring.steps_of(uncertainty) else { return String::new() };
    match steps {
        little if little < 0.75 => "That is less than from one shade of your ring to its neighbour.".to_owned(),
        one if one < 1.5 => "That is about as far as from one shade of your ring to its neighbour.".to_owned(),
        some => format!("That is about as far as {some:.0} shades of your ring in a row."),
    }
}

/// What to do about how sure a reading is.
pub fn sureness(uncertainty: f64) -> &'static str {
    if uncertainty <= ACCEPTABLE.value {
        "As sure as a photo gets."
    } else if uncertainty <= DIFFERENT.value {
        "It narrows the ring, your eye decides: hold the swatches to her ends before you order."
    } else {
        "It narrows the ring to the nearest few shades, no more: lay two or three swatches beside her ends and take a second photo, or take this one again in better light."
    }
}

/// What the uncertainty is made of, largest first, what hardly counts left out.
pub fn parts(parts: &UncertaintyParts) -> Vec<(&'static str, f64)> {
    let mut all = vec![
        ("What no photo gets below: a camera sees three colours, not a spectrum", parts.least),
        ("The chart’s patches near her colour do not all come out true", parts.chart),
        ("Ways of reading this picture that do equally well on its chart differ", parts.accounts),
        ("The grey patches do not come out grey: the phone has changed contrast or tint", parts.greys),
        ("The light is not the same on chart and hair", parts.light),
        ("Parts of the hair are too bright to read", parts.clipping),
        ("Shine lies over much of the hair", parts.gloss),
    ];
    all.retain(|(_, part)| *part >= 0.1);
    all.sort_by(|p, q| q.1.total_cmp(&p.1));
    all
}

/// A light by the name it has in the salon.
pub fn light(name: &str) -> &str {
    match name {
        "D65" => "Daylight at the window",
        "A" => "Warm bulb in the evening",
        "LED-B1" => "Warm LED",
        "FL11" => "Shop tube",
        other => other,
    }
}

/// What a second light said of a match.
pub fn second_light(check: &LightCheck) -> &'static str {
    if check.holds {
        "Holds: under this light the swatch is no further off than the readings are sure."
    } else {
        "Does not hold: under this light the swatch lies further from her ends. Choose for the light she lives in, or look for another shade."
    }
}

/// How far a reading has moved from the first.
pub fn moved(fading: &craft::matching::Fading) -> String {
    if !fading.seen {
        return format!("{} from the first: no more than the readings are sure", fixed(fading.de00, 1));
    }
    let lightness = if fading.lightness > 0.0 { "lighter" } else { "darker" };
    let chroma = if fading.chroma > 0.0 { "more colour" } else { "less colour" };
    format!("{} from the first: {lightness}, {chroma}", fixed(fading.de00, 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use colour::{Lab, Light};

    #[test]
    fn each_side_of_each_limit_has_its_own_words() {
        let words: Vec<&str> = [1.0, 1.01, 2.0, 2.01, 3.5, 3.51].into_iter().map(difference).collect();
        assert_eq!(words[1], words[2]);
        assert_eq!(words[3], words[4]);
        let distinct: std::collections::BTreeSet<&str> = words.into_iter().collect();
        assert_eq!(distinct.len(), 4);
    }

    #[test]
    fn doubt_is_counted_in_shades_of_her_ring() {
        let shade = |at: u32| craft::matching::Shade {
            code: format!("S{at}"),
            name: String::new(),
            lab_d65: Some(Lab::new(20.0 + 3.0 * f64::from(at), 8.0, 18.0)),
            xyz_d65: None,
            reflectance: None,
            measured_by: None,
            uncertainty_de00: None,
        };
        let ring = Ring { shades: (0..12).map(shade).collect() };
        assert!(in_shades(1.0, &ring).contains("less than"));
        assert!(in_shades(2.8, &ring).contains("about as far as from one shade"));
        assert!(in_shades(7.5, &ring).contains("3 shades"), "{}", in_shades(7.5, &ring));
        assert_eq!(in_shades(2.0, &Ring { shades: (0..3).map(shade).collect() }), "");
        assert_eq!(in_shades(2.0, &Ring::default()), "");
    }

    #[test]
    fn every_light_of_a_match_has_a_name_in_the_salon() {
        for known in [Light::D65, Light::A, Light::WARM_LED, Light::SHOP_TUBE] {
            assert_ne!(light(known.name()), known.name());
        }
    }
}
