//! What the consultation hears, without a name on it.

pub use crate::hair::{Ends, MeasuredBy, Oil, Processed, Strand, Texture};

use measure::{Days, Density, Length};
use serde::{Deserialize, Serialize};

macro_rules! spoken {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant),+
        }

        impl $name {
            /// Every word that may be answered, in the order it is offered.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// The answer as it is written in a client's file.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The answer of that word, or nothing when no answer is written so.
            #[must_use]
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }
        }
    };
}

spoken! {
    /// What the client comes for.
    Goal {
        /// More hair at the length she has.
        Thickness = "thickness",
        /// Longer hair.
        Length = "length",
        /// Both.
        Both = "both",
    }
}
spoken! {
    /// A way she wears her hair.
    Style {
        /// Loose.
        Down = "down",
        /// Tied at the nape.
        LowPonytail = "low_ponytail",
        /// Tied at the level of the ears.
        MidPonytail = "mid_ponytail",
        /// Tied at the crown.
        HighPonytail = "high_ponytail",
        /// The upper half tied, the lower half loose.
        HalfUp = "half_up",
        /// Wound up at the back.
        Bun = "bun",
        /// In one plait down the back.
        Plait = "plait",
    }
}
spoken! {
    /// Where she parts her hair.
    Part {
        /// Down the middle.
        Centre = "centre",
        /// On the left.
        Left = "left",
        /// On the right.
        Right = "right",
        /// Nowhere: combed back.
        None = "none",
    }
}
spoken! {
    /// How often something is done.
    TiesUp {
        /// Never.
        Never = "never",
        /// Now and then.
        Sometimes = "sometimes",
        /// Most days.
        Often = "often",
    }
}
spoken! {
    /// How often an iron or tongs touch her hair.
    HotTools {
        /// Never.
        Never = "never",
        /// About once a week.
        Weekly = "weekly",
        /// Most days.
        Daily = "daily",
    }
}

/// The plain answers of one consultation.
///
/// *Meaning*: an absent answer is `None`, never a guess; an empty list means
/// "asked, and nothing named".
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Answers {
    /// Her age in whole years.
    pub age_years: Option<u32>,
    /// Whether she agrees to the work.
    pub consent: Option<bool>,
    /// Whether her guardian agrees, when she is a minor.
    pub guardian_consent: Option<bool>,
    /// Whether she has worn extensions before.
    pub had_extensions: Option<bool>,
    /// Whether she reacted to them, to their adhesive or to a remover.
    pub reacted_before: Option<bool>,
    /// What she is allergic to, in her words.
    pub allergies: Option<Vec<String>>,
    /// What is seen or felt on the scalp.
    pub scalp: Option<Vec<String>>,
    /// What she says of her health and medicines.
    pub health: Option<Vec<String>>,
    /// Months since she gave birth, when that is lately.
    pub postpartum_months: Option<f64>,
    /// How often she can come for a re-tape.
    pub returns_every: Option<Days>,
    /// How long ago her hair was lightened.
    pub since_bleach: Option<Days>,
    /// What came of the patch test.
    pub patch_test: Option<super::patch_test::PatchLog>,
    /// The styles she wears.
    pub styles: Vec<Style>,
    /// How often she ties her hair up.
    pub ties_up: Option<TiesUp>,
    /// How many times a week she does sport.
    pub sport_per_week: Option<u32>,
    /// Whether she swims.
    pub swims: Option<bool>,
    /// How often she uses hot tools.
    pub hot_tools: Option<HotTools>,
    /// Hairs on a square centimetre.
    pub density: Option<Density>,
    /// Her tied hair, round.
    pub tied_circumference: Option<Length>,
    /// The strand by touch.
    pub strand: Option<Strand>,
    /// The strand measured.
    pub diameter: Option<Length>,
    /// Her own length, from the nape.
    pub own_length: Option<Length>,
    /// How her hair falls.
    pub texture: Option<Texture>,
    /// How oily her roots are.
    pub oil: Option<Oil>,
    /// Chemical services.
    pub processed: Option<Processed>,
    /// The look of her ends.
    pub ends: Option<Ends>,
}
