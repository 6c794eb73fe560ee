//! Every fact of a client's file by a name of its own, so that a fault, a form and a paper
//! speak of the same one without reading each other's words.

use craft::suitability::answers::{Goal, HotTools, Part, Style, TiesUp};
use std::fmt;

/// A section of a client's file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// Who she is.
    Client,
    /// What she answered.
    Consultation,
    /// Her hair.
    Hair,
    /// Her head, by tape measure.
    Head,
    /// The colour of her ends.
    Colour,
    /// The pieces the salon works with.
    Pieces,
    /// Where slices were at the last visit.
    LastVisit,
    /// What the salon asks.
    Prices,
}

impl Section {
    /// All of them, as the file has them.
    pub const ALL: [Self; 8] =
        [Self::Client, Self::Consultation, Self::Hair, Self::Head, Self::Colour, Self::Pieces, Self::LastVisit, Self::Prices];

    /// Its key in the file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Client => "client",
            Self::Consultation => "consultation",
            Self::Hair => "hair",
            Self::Head => "head",
            Self::Colour => "colour",
            Self::Pieces => "pieces",
            Self::LastVisit => "last_visit",
            Self::Prices => "prices",
        }
    }

    /// The section of that key.
    #[must_use]
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|section| section.key() == key)
    }
}

macro_rules! facts {
    ($($section:ident $path:literal { $($(#[$doc:meta])* $fact:ident $key:literal),+ $(,)? })+) => {
        /// A fact of a client's file, or one answer of a line of a list there.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Fact {
            $($($(#[$doc])* $fact),+),+
        }

        impl Fact {
            /// All of them, as the file has them.
            pub const ALL: &'static [Self] = &[$($(Self::$fact),+),+];

            /// Section and key as in the file, `hair.strand`; of an answer in a list without
            /// the line's number, `head.avoid.side`.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $($(Self::$fact => concat!($path, ".", $key)),+),+ }
            }

            /// The key alone, without its section: `strand`.
            #[must_use]
            pub const fn last_key(self) -> &'static str {
                match self { $($(Self::$fact => $key),+),+ }
            }

            /// The section it stands in.
            #[must_use]
            pub const fn section(self) -> Section {
                match self { $($(Self::$fact => Section::$section),+),+ }
            }

            /// The list whose lines it is an answer of; nothing for a fact that stands by itself.
            #[must_use]
            pub fn list(self) -> Option<Self> {
                let path = match self { $($(Self::$fact => $path),+),+ };
                Self::of_key(path)
            }
        }
    };
}

facts! {
    Client "client" {
        /// Her name.
        Name "name",
        /// Her age.
        Age "age_years",
    }
    Consultation "consultation" {
        /// What she wants.
        Goal "goal",
        /// The length she wants.
        WantedLength "wanted_length_mm",
        /// How full.
        Fullness "fullness",
        /// Grams to add.
        Added "added_g",
        /// The gathered ends, round.
        EndsRound "ends_circumference_mm",
        /// The styles she wears.
        Styles "styles",
        /// Where she parts her hair.
        Parting "part",
        /// How much is dared.
        Care "care",
        /// How often she ties it up.
        TiesUp "ties_up",
        /// Sport, times a week.
        Sport "sport_per_week",
        /// Whether she swims.
        Swims "swims",
        /// How often she uses hot tools.
        HotTools "hot_tools",
        /// Whether she wore extensions before.
        HadExtensions "had_extensions",
        /// Whether she reacted before.
        ReactedBefore "reacted_before",
        /// Her allergies.
        Allergies "allergies",
        /// What is seen or felt on her scalp.
        Scalp "scalp",
        /// Her health and medicines.
        Health "health",
        /// Months since she gave birth.
        Postpartum "postpartum_months",
        /// Days since her hair was lightened.
        Bleached "bleached_days_ago",
        /// How often she can come.
        Returns "returns_weeks",
        /// Looks at the patch test.
        PatchTest "patch_test",
        /// Whether she agrees.
        Consent "consent",
        /// Whether her guardian agrees.
        GuardianConsent "guardian_consent",
        /// The most she wants to spend.
        Budget "budget_minor",
    }
    Consultation "consultation.patch_test" {
        /// Hours after the patch test was set.
        PatchHours "after_hours",
        /// What was seen of it.
        PatchSeen "seen",
    }
    Hair "hair" {
        /// Hairs on a square centimetre.
        Density "density_per_cm2",
        /// All her hair tied, round.
        TiedRound "tied_circumference_mm",
        /// The strand by touch.
        Strand "strand",
        /// The strand measured.
        Diameter "diameter_um",
        /// How it was measured.
        MeasuredBy "measured_by",
        /// Her own length.
        OwnLength "own_length_mm",
        /// How it falls.
        Texture "texture",
        /// How soon her roots are oily.
        Oil "oil",
        /// Chemical services.
        Processed "processed",
        /// Whether her ends are blunt.
        Ends "ends",
    }
    Head "head" {
        /// Round the head.
        Around "circumference_mm",
        /// From ear to ear over the crown.
        OverCrown "ear_to_ear_over_crown_mm",
        /// From the front hairline to the ear-to-ear tape.
        FrontToTape "front_hairline_to_tape_mm",
        /// From the ear-to-ear tape to the nape hairline.
        TapeToNape "tape_to_nape_hairline_mm",
        /// From ear to ear behind the head.
        Behind "ear_to_ear_behind_mm",
        /// Length by calliper.
        HeadLength "length_mm",
        /// Breadth by calliper.
        HeadBreadth "breadth_mm",
        /// What the tape lay on.
        HairUnderTape "hair_under_tape",
        /// Why an unusual measure is right.
        UnusualReason "unusual_reason",
        /// How far the nape hairline lies below the occipital bone.
        NapeBelowOcciput "nape_hairline_below_occiput_mm",
        /// How far the crown whorl lies behind the ear-to-ear tape.
        CrownBehindTape "crown_behind_tape_mm",
        /// How far the crown whorl lies from the middle.
        CrownToRight "crown_to_right_mm",
        /// A peak of the front hairline.
        FrontPeak "front_peak_mm",
        /// How far the front hairline runs back at the temples.
        TempleRecession "temple_recession_mm",
        /// From the middle of the nape hairline to its corner.
        NapeHalfWidth "nape_half_width_mm",
        /// How much higher that corner lies.
        NapeCornerRise "nape_corner_rise_mm",
        /// Bare skin behind the ear.
        BehindEarBare "behind_ear_bare_mm",
        /// From the ear-to-ear line forward to the hairline.
        TempleHairline "temple_hairline_mm",
        /// How far behind the top of the ear the ear-to-ear line is combed.
        EarLineBack "ear_line_back_mm",
        /// Partings taped at the chair.
        TapedPartings "taped_partings",
        /// Places to keep free.
        Avoid "avoid",
    }
    Head "head.taped_partings" {
        /// Where a taped parting starts.
        TapedAboveNape "above_nape_mm",
        /// How long it is.
        TapedLength "length_mm",
        /// How much higher one end lay.
        TapedTilt "tilt_mm",
    }
    Head "head.avoid" {
        /// The side of a place to keep free.
        AvoidSide "side",
        /// Where it is.
        AvoidZone "zone",
        /// Why it is kept free.
        AvoidReason "reason",
    }
    Colour "colour" {
        /// The colour as numbers.
        Lab "lab_d65",
        /// The colour as a shade of the ring.
        Shade "shade",
        /// The colour from a photo.
        Photo "photo",
        /// Where chart and hair are in that photo.
        Marks "marks",
    }
    Pieces "pieces" {
        /// Width of the tab.
        TabWidth "tab_width_mm",
        /// Height of the tab.
        TabHeight "tab_height_mm",
        /// Mass of one piece.
        Mass "mass_g",
        /// The lengths on sale.
        Lengths "lengths_mm",
        /// The ring.
        Ring "ring",
        /// The stock.
        Stock "stock",
        /// One piece with a backing strip to a slice.
        SingleSided "single_sided",
        /// Whether a tab may lie across the middle.
        TabAcrossMiddle "tab_across_middle",
    }
    LastVisit "last_visit" {
        /// The slices of the last visit.
        LastSites "sites",
    }
    LastVisit "last_visit.sites" {
        /// Where the slice's parting starts.
        LastAboveNape "above_nape_mm",
        /// How far along it lies.
        LastAlong "along_mm",
        /// How wide it is.
        LastWidth "width_mm",
    }
    Prices "prices" {
        /// The currency.
        Currency "currency",
        /// One hour of work.
        Hour "hour_minor",
        /// One new tape tab.
        TapeTab "tape_tab_minor",
    }
}

impl Fact {
    /// The fact of that section and key.
    #[must_use]
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|fact| fact.key() == key)
    }

    /// The fact as it is asked: itself, or the list that it is an answer of.
    #[must_use]
    pub fn asked(self) -> Self {
        self.list().unwrap_or(self)
    }
}

impl fmt::Display for Fact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

/// The words that answer a fact, in the order they are offered; none where it is answered otherwise.
#[must_use]
pub fn words_of(fact: Fact) -> &'static [&'static str] {
    match fact {
        Fact::Goal => Goal::WORDS,
        Fact::Fullness => &["light", "natural", "full"],
        Fact::Styles => Style::WORDS,
        Fact::Parting => Part::WORDS,
        Fact::TiesUp => TiesUp::WORDS,
        Fact::HotTools => HotTools::WORDS,
        Fact::Strand => &["fine", "medium", "coarse"],
        Fact::MeasuredBy => &["optical", "calliper", "weighed"],
        Fact::Texture => &["straight", "wavy", "curly", "coily"],
        Fact::Oil => &["dry", "normal", "oily"],
        Fact::Processed => &["none", "coloured", "bleached", "relaxed"],
        Fact::Ends => &["blunt", "soft"],
        Fact::HairUnderTape => &["parted", "smooth", "full", "none"],
        Fact::Care => &["careful", "usual", "bold"],
        Fact::AvoidSide => &["left", "centre", "right"],
        Fact::AvoidZone => &["nape", "occipital", "crown", "parietal", "temple", "frontal"],
        Fact::PatchSeen => &["clear", "reacted"],
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::client::known_keys;

    #[test]
    fn every_key_of_the_file_is_a_fact_and_no_other() {
        let mut of_the_file = Vec::new();
        for section in known_keys("").unwrap() {
            assert_eq!(Section::of_key(section).map(Section::key), Some(*section));
            for key in known_keys(section).unwrap() {
                let path = format!("{section}.{key}");
                of_the_file.extend(known_keys(&path).into_iter().flatten().map(|cell| format!("{path}.{cell}")));
                of_the_file.push(path);
            }
        }
        let mut facts: Vec<&str> = Fact::ALL.iter().map(|fact| fact.key()).collect();
        of_the_file.sort_unstable();
        facts.sort_unstable();
        assert_eq!(facts, of_the_file);
    }

    #[test]
    fn an_answer_of_a_line_is_asked_with_its_list() {
        assert_eq!(Fact::AvoidSide.asked(), Fact::Avoid);
        assert_eq!(Fact::LastAlong.list(), Some(Fact::LastSites));
        assert_eq!((Fact::Strand.asked(), Fact::Strand.list()), (Fact::Strand, None));
        for fact in Fact::ALL {
            assert!(fact.key().starts_with(fact.section().key()) && fact.key().ends_with(fact.last_key()));
        }
    }
}
