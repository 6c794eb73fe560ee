//! The client's file, section by section, as it is written and stored.
//!
//! Every field is optional here, so that a half-filled form keeps what it has;
//! [`super::check`] says what is missing. Words stay words until they are
//! checked, so that one misspelt word does not hide the other faults.

use serde::{Deserialize, Serialize};

macro_rules! section {
    ($(#[$doc:meta])* $name:ident { $($(#[$fdoc:meta])* $field:ident: $kind:ty),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $(
                $(#[$fdoc])*
                #[serde(default, skip_serializing_if = "Option::is_none")]
                pub $field: Option<$kind>
            ),+
        }

        impl $name {
            /// The keys this section knows, in the order they are asked.
            pub const KEYS: &'static [&'static str] = &[$(stringify!($field)),+];
        }
    };
}

section! {
    /// The whole file.
    ClientFile {
        /// Who she is.
        client: ClientSection,
        /// What she answered.
        consultation: ConsultationSection,
        /// Her hair.
        hair: HairSection,
        /// Her head, by tape measure.
        head: HeadSection,
        /// The colour of her ends.
        colour: ColourSection,
        /// The pieces the salon works with.
        pieces: PiecesSection,
        /// Where slices were at the last visit.
        last_visit: LastVisitSection,
        /// What the salon asks.
        prices: PricesSection,
    }
}
section! {
    /// Who she is.
    ClientSection {
        /// Her name, for the papers.
        name: String,
        /// Her age.
        age_years: f64,
    }
}
section! {
    /// What she answered.
    ConsultationSection {
        /// `thickness`, `length` or `both`.
        goal: String,
        /// The length she wants, from the nape.
        wanted_length_mm: f64,
        /// `light`, `natural` or `full`.
        fullness: String,
        /// Grams to add, instead of a fullness.
        added_g: f64,
        /// The gathered ends, round, instead of a fullness.
        ends_circumference_mm: f64,
        /// The styles she wears.
        styles: Vec<String>,
        /// Where she parts her hair.
        part: String,
        /// How much is dared: `careful`, `usual` or `bold`.
        care: String,
        /// How often she ties it up.
        ties_up: String,
        /// Sport, times a week.
        sport_per_week: f64,
        /// Whether she swims.
        swims: bool,
        /// How often she uses hot tools.
        hot_tools: String,
        /// Whether she wore extensions before.
        had_extensions: bool,
        /// Whether she reacted before.
        reacted_before: bool,
        /// Her allergies, in her words.
        allergies: Vec<String>,
        /// What is seen or felt on her scalp.
        scalp: Vec<String>,
        /// Her health and medicines.
        health: Vec<String>,
        /// Months since she gave birth; left out when not relevant.
        postpartum_months: f64,
        /// Days since her hair was lightened, when that is lately.
        bleached_days_ago: f64,
        /// How often she can come, in weeks.
        returns_weeks: f64,
        /// Looks at the patch test: hours after it was set, and what was seen.
        patch_test: Vec<PatchLook>,
        /// Whether she agrees.
        consent: bool,
        /// Whether her guardian agrees, when she is under age.
        guardian_consent: bool,
        /// The most she wants to spend, in minor units of the prices' currency.
        budget_minor: i64,
    }
}
section! {
    /// One look at the patch test.
    PatchLook {
        /// Hours after it was set.
        after_hours: f64,
        /// `clear` or `reacted`.
        seen: String,
    }
}
section! {
    /// Her hair.
    HairSection {
        /// Hairs on a square centimetre.
        density_per_cm2: f64,
        /// All her hair tied, round.
        tied_circumference_mm: f64,
        /// The strand by touch: `fine`, `medium` or `coarse`.
        strand: String,
        /// The strand measured.
        diameter_um: f64,
        /// How it was measured: `optical`, `calliper` or `weighed`.
        measured_by: String,
        /// Her own length, from the nape.
        own_length_mm: f64,
        /// `straight`, `wavy`, `curly` or `coily`.
        texture: String,
        /// `dry`, `normal` or `oily`.
        oil: String,
        /// `none`, `coloured`, `bleached` or `relaxed`.
        processed: String,
        /// `blunt` or `soft`.
        ends: String,
    }
}
section! {
    /// Her head, by tape measure.
    HeadSection {
        /// Round the head.
        circumference_mm: f64,
        /// From ear to ear over the crown.
        ear_to_ear_over_crown_mm: f64,
        /// Along the middle, from the front hairline to the ear-to-ear tape.
        front_hairline_to_tape_mm: f64,
        /// Along the middle, from the ear-to-ear tape to the nape hairline.
        tape_to_nape_hairline_mm: f64,
        /// From ear to ear behind the head.
        ear_to_ear_behind_mm: f64,
        /// Length of the head, by calliper.
        length_mm: f64,
        /// Breadth of the head, by calliper.
        breadth_mm: f64,
        /// What the tape lay on: `parted`, `smooth`, `full` or `none`.
        hair_under_tape: String,
        /// Why a measure outside the usual range is right after all.
        unusual_reason: String,
        /// How far the nape hairline lies below the occipital bone.
        nape_hairline_below_occiput_mm: f64,
        /// How far the crown whorl lies behind the ear-to-ear tape, along the middle.
        crown_behind_tape_mm: f64,
        /// How far the crown whorl lies from the middle, + to her right.
        crown_to_right_mm: f64,
        /// How far a peak of the front hairline comes down on the middle.
        front_peak_mm: f64,
        /// How far the front hairline runs back at the temples.
        temple_recession_mm: f64,
        /// Along the nape hairline, from its middle to the corner where it turns up.
        nape_half_width_mm: f64,
        /// How much higher (+) or lower (-) that corner lies than the middle.
        nape_corner_rise_mm: f64,
        /// Bare skin behind the ear, at the height of the notch.
        behind_ear_bare_mm: f64,
        /// From the ear-to-ear line level forward to the hairline, 45 mm above the ear.
        temple_hairline_mm: f64,
        /// How far behind the top of the ear the ear-to-ear line is combed.
        ear_line_back_mm: f64,
        /// Partings taped at the chair.
        taped_partings: Vec<TapedPartingEntry>,
        /// Places to keep free.
        avoid: Vec<AvoidEntry>,
    }
}
section! {
    /// A parting taped at the chair.
    TapedPartingEntry {
        /// Where it starts on the middle, up from the nape hairline.
        above_nape_mm: f64,
        /// Its length over the back: from ear-to-ear line to ear-to-ear line, or to the hair's edge.
        length_mm: f64,
        /// How much higher one end lay than the other, where that was looked at.
        tilt_mm: f64,
    }
}
section! {
    /// A place to keep free.
    AvoidEntry {
        /// `left`, `right` or `centre`.
        side: String,
        /// `nape`, `occipital`, `crown`, `parietal`, `temple` or `frontal`.
        zone: String,
        /// Why.
        reason: String,
    }
}
section! {
    /// The colour of her ends, said in one of three ways.
    ColourSection {
        /// CIELAB under D65.
        lab_d65: Vec<f64>,
        /// A shade of the ring.
        shade: String,
        /// A photo of the ends beside the chart.
        photo: String,
        /// Where the chart and the hair are in the photo.
        marks: String,
    }
}
section! {
    /// The pieces the salon works with.
    PiecesSection {
        /// Width of the tab.
        tab_width_mm: f64,
        /// Height of the tab.
        tab_height_mm: f64,
        /// Mass of one piece.
        mass_g: f64,
        /// The lengths on sale.
        lengths_mm: Vec<f64>,
        /// The ring's file.
        ring: String,
        /// The stock's file.
        stock: String,
        /// One piece with a backing strip to a slice; left out, the program may propose it.
        single_sided: bool,
        /// Whether a tab may lie across the middle at the back.
        tab_across_middle: bool,
    }
}
section! {
    /// Where slices were at the last visit, so that they rest.
    LastVisitSection {
        /// The slices.
        sites: Vec<LastSiteEntry>,
    }
}
section! {
    /// A slice of the last visit.
    LastSiteEntry {
        /// Where its parting started on the middle, up from the nape hairline.
        above_nape_mm: f64,
        /// Its middle along the parting from the midline, + to her right.
        along_mm: f64,
        /// Its width.
        width_mm: f64,
    }
}
section! {
    /// What the salon asks.
    PricesSection {
        /// Three letters, as in `EUR`.
        currency: String,
        /// One hour of work, in minor units.
        hour_minor: i64,
        /// One new tape tab, in minor units.
        tape_tab_minor: i64,
    }
}

/// The keys a section knows; nothing when no section has that name. The empty
/// name stands for the file itself, whose keys are its sections.
#[must_use]
pub fn known_keys(section: &str) -> Option<&'static [&'static str]> {
    Some(match section {
        "" => ClientFile::KEYS,
        "client" => ClientSection::KEYS,
        "consultation" => ConsultationSection::KEYS,
        "consultation.patch_test" => PatchLook::KEYS,
        "hair" => HairSection::KEYS,
        "head" => HeadSection::KEYS,
        "head.avoid" => AvoidEntry::KEYS,
        "head.taped_partings" => TapedPartingEntry::KEYS,
        "colour" => ColourSection::KEYS,
        "pieces" => PiecesSection::KEYS,
        "last_visit" => LastVisitSection::KEYS,
        "last_visit.sites" => LastSiteEntry::KEYS,
        "prices" => PricesSection::KEYS,
        _ => return None,
    })
}

/// The known word nearest to a misspelt one, when one is near enough to be
/// meant: at most a third of its letters differ.
#[must_use]
pub fn nearest_key<'a>(unknown: &str, known: &[&'a str]) -> Option<&'a str> {
    let wrong = unknown.trim().to_lowercase().replace(['-', ' '], "_");
    // How many letters to put in, take out, change or swap with their neighbour.
    let edits = |word: &str| strsim::osa_distance(&wrong, word);
    let (distance, word) = known.iter().map(|word| (edits(word), *word)).min_by_key(|(distance, _)| *distance)?;
    let near_enough = distance <= (wrong.chars().count().max(word.chars().count()) / 3).max(1);
    (near_enough || shares_a_part(unknown, word)).then_some(word)
}

/// Whether one is the other with a part added or left off, as `length` for `length_mm`.
fn shares_a_part(unknown: &str, word: &str) -> bool {
    unknown.len() >= 3 && (word.starts_with(&format!("{unknown}_")) || unknown.starts_with(&format!("{word}_")))
}
