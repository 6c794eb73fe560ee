//! Under what each photograph is taken: camera, light, exposure and curve.
//!
//! Twelve easy and twelve hard recipes, and loose ones that pair freely what they hold.

use crate::chance::Chance;

/// Whose sensitivities a camera has.
#[derive(Clone, Copy, PartialEq)]
pub enum Maker {
    First,
    /// Layers of silicon one above the other: three channels much alike.
    Second,
    /// A relative of the first with other filters.
    Phone,
}

/// How one photograph is taken.
#[derive(Clone, Copy)]
pub struct Recipe {
    pub maker: Maker,
    /// Name of the light, or of two with `+`, which mix across the picture.
    pub light: &'static str,
    /// What a perfect white exposes, as a share of the scale: between these.
    pub white: (f64, f64),
    /// Strength of the S laid over the standard curve.
    pub curve: f64,
    /// Electrons at the top of the scale.
    pub well: f64,
    /// Spread of the board's blotches, each.
    pub blotches: f64,
    /// The chart lies on its side.
    pub on_side: bool,
    /// Uneven light, several bands of gloss, a chart that has aged.
    pub hard: bool,
}

const fn easy(maker: Maker, light: &'static str) -> Recipe {
    Recipe { maker, light, white: (0.72, 0.85), curve: 0.0, well: 8000.0, blotches: 0.0, on_side: false, hard: false }
}

const fn hard(maker: Maker, light: &'static str) -> Recipe {
    Recipe { maker, light, white: (0.5, 0.7), curve: 0.3, well: 2500.0, blotches: 0.015, on_side: false, hard: true }
}

use Maker::{First, Phone, Second};

pub const EASY: [Recipe; 12] = [
    easy(First, "D65"),
    easy(First, "D65"),
    easy(Phone, "D65"),
    easy(First, "D50"),
    easy(First, "D50"),
    easy(Second, "D50"),
    easy(First, "LED-B3"),
    easy(Phone, "LED-B4"),
    easy(First, "LED-V1"),
    easy(First, "FL11"),
    easy(Phone, "A"),
    easy(First, "D55"),
];

pub const HARD: [Recipe; 12] = [
    hard(First, "A"),
    hard(Phone, "A"),
    hard(Phone, "FL2"),
    hard(First, "FL11"),
    hard(Phone, "LED-B1"),
    hard(Phone, "LED-B2"),
    Recipe { white: (0.7, 0.8), ..hard(First, "LED-RGB1") },
    // The white patch is clipped.
    Recipe { white: (0.96, 1.0), ..hard(First, "LED-BH1") },
    Recipe { curve: 0.45, ..hard(First, "LED-V2") },
    Recipe { blotches: 0.04, ..hard(Second, "FL8") },
    hard(Phone, "D65+A"),
    // Too dark, and strong noise.
    Recipe { white: (0.34, 0.38), well: 1200.0, on_side: true, ..hard(First, "D75") },
];

/// Any camera under any light, exposed, bent and laid out as any of the recipes.
pub fn loose(chance: &mut Chance) -> Recipe {
    let list = if chance.unit() < 0.5 { &EASY } else { &HARD };
    let (maker, light) = (chance.pick(&[First, Second, Phone]), chance.pick(list).light);
    Recipe { maker, light, ..chance.pick(list) }
}
