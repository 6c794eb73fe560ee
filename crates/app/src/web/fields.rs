//! Every fact of a client's file as it is asked on the page, in the order of a visit.
//!
//! One table: the form is drawn from it, and what is typed is read by it. Units
//! and words belong to the file's own sections; what is usual and what is not is
//! for the floors below to say.

use craft::suitability::words::Question;

/// How one fact is asked and answered.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A few words.
    Words,
    /// A number in a unit; lengths are shown in centimetres too.
    Number {
        /// The unit as written beside the field.
        unit: &'static str,
    },
    /// Several numbers in one unit.
    Numbers {
        /// The unit as written beside the field.
        unit: &'static str,
    },
    /// An amount, typed as on a price list and kept in minor units.
    Amount,
    /// One of a few words.
    Choice(&'static [(&'static str, &'static str)]),
    /// Yes, no, or not asked.
    YesNo,
    /// Any of a few words.
    Several(&'static [(&'static str, &'static str)]),
    /// Any of the words that the rules know, and her own words.
    OwnWords(Question),
    /// A shade of the salon's ring.
    Shade,
    /// A colour that was read from a photo of hers.
    Reading,
    /// L*, a*, b*.
    Lab,
    /// Lines of a few answers each.
    Lines {
        /// What one line is called.
        one: &'static str,
        /// The answers of a line.
        cells: &'static [Cell],
    },
}

/// One answer of a repeated line.
#[derive(Debug, Clone, Copy)]
pub struct Cell {
    /// Its key in the file.
    pub key: &'static str,
    /// What is asked.
    pub label: &'static str,
    /// How it is answered: words, a number or a choice.
    pub kind: Kind,
}

/// One fact.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// Section and key in the client's file, as `hair.strand`.
    pub name: &'static str,
    /// What is asked.
    pub label: &'static str,
    /// How it is answered.
    pub kind: Kind,
    /// How to measure it, or what it is for.
    pub hint: &'static str,
    /// Whether it opens a part of the group, with this heading.
    pub heading: Option<(&'static str, &'static str)>,
}

impl Field {
    const fn under(self, heading: &'static str, says: &'static str) -> Self {
        Self { heading: Some((heading, says)), ..self }
    }
}

/// The facts of one station of the visit.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// Its anchor on the page.
    pub id: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What it is about.
    pub says: &'static str,
    /// Its facts.
    pub fields: &'static [Field],
}

const fn field(name: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Field {
    Field { name, label, kind, hint, heading: None }
}

const MM: Kind = Kind::Number { unit: "mm" };

/// Her consent to keeping health answers: no fact of her file.
pub const HEALTH_CONSENT: &str = "consent.health";

/// The groups in the order of a visit.
pub const GROUPS: &[Group] = &[CONSULTATION, HAIR, HEAD, COLOUR, WISH, PRICES];

const CONSULTATION: Group = Group {
    id: "consultation",
    title: "Consultation",
    says: "Who she is, what happened before and how she lives. Health answers decide the limits of the plan; they are kept encrypted and never leave this machine.",
    fields: &[
        field("client.name", "Name", Kind::Words, "As it stands on her papers. A first name or a number will do."),
        field("client.age_years", "Age", Kind::Number { unit: "years" }, ""),
        field("consultation.consent", "She agrees to the work", Kind::YesNo, "After the risks and the aftercare were explained."),
        field("consultation.guardian_consent", "Her guardian agrees", Kind::YesNo, "Only when she is under age."),
        field(
            HEALTH_CONSENT,
            "She agrees that her health answers are kept",
            Kind::YesNo,
            "Asked by itself, and only for the answers below. She may take it back at any time: the answers are destroyed then.",
        ),
        field("consultation.had_extensions", "Worn extensions before", Kind::YesNo, "").under("History", ""),
        field("consultation.reacted_before", "Reacted before", Kind::YesNo, "To extensions, their adhesive or a remover."),
        field("consultation.patch_test", "Patch test", PATCH_LOOKS, "One line for each look at it."),
        field("consultation.allergies", "Allergies", Kind::OwnWords(Question::Allergies), "").under(
            "Allergies, scalp and health",
            "Ask each of the three, and note “none” when she names nothing: not asked and nothing named are not the same. The program never diagnoses; some answers send her to a doctor first.",
        ),
        field("consultation.scalp", "Scalp, seen or felt today", Kind::OwnWords(Question::Scalp), "Part the hair and look before you ask."),
        field("consultation.health", "Health and medicines", Kind::OwnWords(Question::Health), ""),
        field("consultation.postpartum_months", "Since she gave birth", Kind::Number { unit: "months" }, "Leave empty when it does not apply."),
        field("consultation.ties_up", "Ties it up", TIES_UP, "").under("How she lives", ""),
        field("consultation.sport_per_week", "Sport", Kind::Number { unit: "times a week" }, ""),
        field("consultation.swims", "Swims", Kind::YesNo, ""),
        field("consultation.hot_tools", "Hot tools", HOT_TOOLS, "Straightener, tongs or hot brush."),
        field("consultation.returns_weeks", "Can come for a re-tape every", Kind::Number { unit: "weeks" }, ""),
    ],
};

const HAIR: Group = Group {
    id: "hair",
    title: "Hair",
    says: "Clean, dry and combed through. Either the density or the tied circumference is enough; each further answer narrows the ranges.",
    fields: &[
        field(
            "hair.tied_circumference_mm",
            "Tied hair, round",
            MM,
            "Tie all of it at the nape, tight and smooth. Lay the tape once round, just below the tie.",
        ),
        field(
            "hair.density_per_cm2",
            "Density",
            Kind::Number { unit: "hairs/cm²" },
            "Counted under a magnifier behind the ear and at the back, or leave empty.",
        ),
        field("hair.strand", "Strand, by touch", STRAND, "Roll one hair between finger and thumb: hardly felt, felt, or like thread."),
        field("hair.diameter_um", "Strand, measured", Kind::Number { unit: "µm" }, "The mean of several hairs from the back."),
        field("hair.measured_by", "Measured by", MEASURED_BY, "A calliper presses the hair flat, so it reads otherwise than a microscope."),
        field("hair.own_length_mm", "Her own length", MM, "From the nape hairline, combed straight down."),
        field("hair.ends", "Her ends", ENDS, "Blunt ends show where they stop; they are softened before."),
        field("hair.texture", "Texture", TEXTURE, ""),
        field("hair.oil", "Roots", OIL, "A day after washing."),
        field("hair.processed", "Chemical services", PROCESSED, "What is in the lengths now."),
        field(
            "consultation.bleached_days_ago",
            "Since it was lightened",
            Kind::Number { unit: "days" },
            "Leave empty when it does not apply.",
        ),
    ],
};

const HEAD: Group = Group {
    id: "head",
    title: "Head",
    says: "By tape measure, in millimetres; the circumference alone is enough, every further reading makes the map truer.",
    fields: &[
        field(
            "head.circumference_mm",
            "Round the head",
            MM,
            "Above the brows, close over the ears, round the farthest place at the back. The same height on both sides, snug, not tight.",
        ),
        field(
            "head.ear_to_ear_over_crown_mm",
            "Ear to ear over the crown",
            MM,
            "From the notch before one ear opening straight up over the top to the other. Leave the tape on for the next two.",
        ),
        field(
            "head.front_hairline_to_tape_mm",
            "Front hairline to that tape",
            MM,
            "Along the middle, from the hairline back to the ear-to-ear tape.",
        ),
        field(
            "head.tape_to_nape_hairline_mm",
            "That tape to the nape hairline",
            MM,
            "On along the middle, down to the lowest hair at the nape.",
        ),
        field(
            "head.ear_to_ear_behind_mm",
            "Ear to ear behind the head",
            MM,
            "From notch to notch round the back, over the bump of the occipital bone.",
        ),
        field("head.hair_under_tape", "Hair under the tape", HAIR_UNDER_TAPE, "What the tape lay on; it is taken off the reading."),
        field(
            "head.temple_hairline_mm",
            "Temple: ear-to-ear line to the hairline",
            MM,
            "Go 45 mm straight up from the top of the ear, then level forward to where the hair begins. It decides what fits before the ears.",
        ),
        field(
            "head.nape_half_width_mm",
            "Nape: middle to the corner",
            MM,
            "Along the nape hairline, from its middle to the corner where it turns up behind the ear.",
        ),
        field("head.length_mm", "Length by calliper", MM, "From between the brows to the farthest place at the back.")
            .under("If you have more", "A calliper reading, and where the nape hairline lies."),
        field("head.breadth_mm", "Breadth by calliper", MM, "The widest place above the ears."),
        field(
            "head.nape_hairline_below_occiput_mm",
            "Nape hairline below the occipital bone",
            MM,
            "From the bump at the back straight down to the hairline.",
        ),
        field(
            "head.nape_corner_rise_mm",
            "Corner of the nape, above the middle",
            MM,
            "How much higher the corner lies than the middle of the nape hairline; with a minus when it lies lower.",
        ),
        field(
            "head.behind_ear_bare_mm",
            "Bare skin behind the ear",
            MM,
            "Level back from the ear, at the height of its opening, to where the hair begins.",
        ),
        field(
            "head.ear_line_back_mm",
            "Ear-to-ear line behind the top of the ear",
            MM,
            "Only when you comb it so: it runs straight up from the top of the ear. With a minus when it runs before it.",
        ),
        field(
            "head.crown_behind_tape_mm",
            "Crown whorl behind the ear-to-ear tape",
            MM,
            "Along the middle, from the tape back to where the hair turns round.",
        )
        .under(
            "The crown",
            "Where hair worn down begins to fall: nothing is set above it. Not marked, it is put where it lies on most heads.",
        ),
        field("head.crown_to_right_mm", "Whorl aside of the middle", MM, "Plus to her right, minus to her left."),
        field("head.front_peak_mm", "Peak of the front hairline", MM, "How far it comes down on the middle. Leave empty without one.")
            .under("The front hairline, and partings taped at the chair", "Only where she differs from most."),
        field("head.temple_recession_mm", "Hairline back at the temples", MM, "How far behind its middle."),
        field(
            "head.taped_partings",
            "Partings taped",
            TAPED,
            "Comb one level at the back and lay the tape along it, from ear-to-ear line to ear-to-ear line or to the hair’s edge: the map then reads as the tape does.",
        ),
        field(
            "head.unusual_reason",
            "Why an unusual measure is right",
            Kind::Words,
            "Only when a reading was questioned and you measured again.",
        )
        .under("On this head", ""),
        field("head.avoid", "Places to keep free", AVOID, "A cowlick, a scar, a tender place."),
    ],
};

const COLOUR: Group = Group {
    id: "colour",
    title: "Colour",
    says: "Read at the ends, never at the roots. One of three ways: from a photo beside the chart, by instrument, or by eye.",
    fields: &[
        field(
            "colour.photo",
            "By photo or instrument’s file",
            Kind::Reading,
            "A photo with your phone is enough. What you have typed so far is saved first.",
        ),
        field(
            "colour.shade",
            "By eye: the nearest shade of your ring",
            Kind::Shade,
            "In daylight from a window, the swatch laid into her ends.",
        ),
        field(
            "colour.lab_d65",
            "By instrument, as numbers",
            Kind::Lab,
            "CIELAB under D65: lightness, red to green, yellow to blue. Leave empty when the colour comes another way.",
        ),
    ],
};

const WISH: Group = Group {
    id: "wish",
    title: "Wish and pieces",
    says: "What she wants to walk out with, how she will wear it, and the pieces you work with.",
    fields: &[
        field("consultation.goal", "She wants", GOAL, ""),
        field("consultation.fullness", "How full", FULLNESS, ""),
        field("consultation.wanted_length_mm", "Wanted length", MM, "From the nape hairline, when length matters."),
        field("consultation.added_g", "Or: hair to add", Kind::Number { unit: "g" }, "Instead of how full, when you know the grams."),
        field("consultation.ends_circumference_mm", "Or: gathered ends, round", MM, "Instead of how full, when she shows you how thick."),
        field("consultation.styles", "Styles she wears", STYLES, "Nothing may show in any of them. More styles leave fewer places."),
        field("consultation.part", "Parting", PART, ""),
        field("consultation.care", "Care", CARE, ""),
        field("pieces.tab_width_mm", "Tab, wide", MM, "").under("Pieces", "Left empty, the salon’s own pieces from Settings are used."),
        field("pieces.tab_height_mm", "Tab, tall", MM, ""),
        field("pieces.mass_g", "One piece weighs", Kind::Number { unit: "g" }, ""),
        field(
            "pieces.single_sided",
            "One piece with a backing strip",
            Kind::YesNo,
            "Instead of two pieces to a sandwich: half the load, half the hair. Left open, the plan may propose it.",
        ),
        field(
            "pieces.tab_across_middle",
            "A tab across the middle at the back",
            Kind::YesNo,
            "Otherwise every tab stands wholly on one side of the line down the middle.",
        ),
        field("pieces.lengths_mm", "Lengths on sale", Kind::Numbers { unit: "mm" }, "Several, with spaces between."),
        field("last_visit.sites", "Where slices were at the last visit", LAST_SITES, "So that they rest this time.")
            .under("Last visit", "Only when she wore a set before and you have its map."),
    ],
};

const PRICES: Group = Group {
    id: "prices",
    title: "Prices",
    says: "Left empty, the salon’s own prices from Settings are used.",
    fields: &[
        field("consultation.budget_minor", "She wants to spend at most", Kind::Amount, ""),
        field("prices.hour_minor", "One hour of work", Kind::Amount, ""),
        field("prices.tape_tab_minor", "One new tape tab", Kind::Amount, ""),
        field("prices.currency", "Currency", Kind::Words, "Three letters, as in EUR."),
    ],
};

const PATCH_LOOKS: Kind = Kind::Lines {
    one: "look",
    cells: &[
        Cell { key: "after_hours", label: "Hours after it was set", kind: Kind::Number { unit: "h" } },
        Cell { key: "seen", label: "Seen", kind: Kind::Choice(&[("clear", "Nothing"), ("reacted", "A reaction")]) },
    ],
};
const AVOID: Kind = Kind::Lines {
    one: "place",
    cells: &[
        Cell {
            key: "side",
            label: "Her side",
            kind: Kind::Choice(&[("left", "Client’s left"), ("centre", "Middle"), ("right", "Client’s right")]),
        },
        Cell {
            key: "zone",
            label: "Where",
            kind: Kind::Choice(&[
                ("nape", "Nape"),
                ("occipital", "Back of the head"),
                ("crown", "Crown"),
                ("parietal", "Side"),
                ("temple", "Temple"),
                ("frontal", "Front"),
            ]),
        },
        Cell { key: "reason", label: "Why", kind: Kind::Words },
    ],
};
const TAPED: Kind = Kind::Lines {
    one: "parting",
    cells: &[
        Cell { key: "above_nape_mm", label: "Where it starts, up the middle", kind: MM },
        Cell { key: "length_mm", label: "Its length", kind: MM },
        Cell { key: "tilt_mm", label: "One end higher by, if you looked", kind: MM },
    ],
};
const LAST_SITES: Kind = Kind::Lines {
    one: "slice",
    cells: &[
        Cell { key: "above_nape_mm", label: "Where its parting starts, up the middle", kind: MM },
        Cell { key: "along_mm", label: "Along it from the midline, + to her right", kind: MM },
        Cell { key: "width_mm", label: "Slice, wide", kind: MM },
    ],
};
const TIES_UP: Kind = Kind::Choice(&[("never", "Never"), ("sometimes", "Sometimes"), ("often", "Often")]);
const HOT_TOOLS: Kind = Kind::Choice(&[("never", "Never"), ("weekly", "Weekly"), ("daily", "Daily")]);
const STRAND: Kind = Kind::Choice(&[("fine", "Fine"), ("medium", "Medium"), ("coarse", "Coarse")]);
const MEASURED_BY: Kind = Kind::Choice(&[("optical", "Microscope"), ("calliper", "Calliper"), ("weighed", "Weighing")]);
const TEXTURE: Kind = Kind::Choice(&[("straight", "Straight"), ("wavy", "Wavy"), ("curly", "Curly"), ("coily", "Coily")]);
const OIL: Kind = Kind::Choice(&[("dry", "Dry"), ("normal", "Normal"), ("oily", "Oily")]);
const PROCESSED: Kind = Kind::Choice(&[("none", "None"), ("coloured", "Coloured"), ("bleached", "Bleached"), ("relaxed", "Relaxed")]);
const ENDS: Kind = Kind::Choice(&[("blunt", "Blunt"), ("soft", "Soft")]);
const HAIR_UNDER_TAPE: Kind = Kind::Choice(&[
    ("parted", "Parted, on the skin"),
    ("smooth", "Smooth, flat"),
    ("full", "Thick or curly"),
    ("none", "None: the skin itself"),
]);
const GOAL: Kind = Kind::Choice(&[("thickness", "Thickness"), ("length", "Length"), ("both", "Both")]);
const FULLNESS: Kind = Kind::Choice(&[("light", "Light"), ("natural", "Natural"), ("full", "Full")]);
const CARE: Kind = Kind::Choice(&[("careful", "Careful"), ("usual", "Usual"), ("bold", "Bold")]);
const STYLES: Kind = Kind::Several(&[
    ("down", "Down"),
    ("low_ponytail", "Low ponytail"),
    ("mid_ponytail", "Middle ponytail"),
    ("high_ponytail", "High ponytail"),
    ("half_up", "Half up"),
    ("bun", "Bun"),
    ("plait", "Plait"),
]);
const PART: Kind = Kind::Choice(&[("centre", "Centre"), ("left", "Left"), ("right", "Right"), ("none", "None")]);

/// The field of that name.
#[must_use]
pub fn named(name: &str) -> Option<&'static Field> {
    GROUPS.iter().flat_map(|group| group.fields).find(|field| field.name == name)
}

/// An offered word as the form says it, so that one thing has one name.
#[must_use]
pub fn offered_as(name: &str, word: &str) -> String {
    let known = match named(name).map(|field| field.kind) {
        Some(Kind::Several(words) | Kind::Choice(words)) => words.iter().find(|(offered, _)| *offered == word),
        _ => None,
    };
    known.map_or_else(|| measure::text::capital(&paper::words::spoken(word)), |(_, says)| (*says).to_owned())
}

/// A style as the form says it.
#[must_use]
pub fn style_name(word: &str) -> String {
    offered_as("consultation.styles", word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use salon::client::known_keys;
    use std::collections::BTreeSet;

    /// Keys that name files on a disk: on the page the salon's own ring and stock
    /// stand in their place, and marks go with their photo.
    const FILES: &[&str] = &["colour.marks", "pieces.ring", "pieces.stock"];

    #[test]
    fn every_fact_of_the_file_is_asked_once_and_nothing_else() {
        let mut of_the_file = BTreeSet::new();
        for section in known_keys("").unwrap() {
            for key in known_keys(section).unwrap() {
                of_the_file.insert(format!("{section}.{key}"));
            }
        }
        for file in FILES {
            assert!(of_the_file.remove(*file), "{file} is no longer a key");
        }
        let asked: Vec<&str> = GROUPS.iter().flat_map(|group| group.fields).map(|field| field.name).collect();
        let mut once: BTreeSet<String> = asked.iter().map(|name| (*name).to_owned()).collect();
        assert_eq!(asked.len(), once.len(), "a fact is asked twice");
        assert!(once.remove(HEALTH_CONSENT), "her consent is asked too, and is no fact");
        assert_eq!(once, of_the_file);
    }

    /// What one page offers no other may drop: a word that the form does not
    /// know would be lost when the form is saved.
    #[test]
    fn the_form_offers_every_style_and_care_that_a_plan_knows() {
        let offered = |name: &str| match named(name).unwrap().kind {
            Kind::Several(words) | Kind::Choice(words) => words.iter().map(|(word, _)| *word).collect::<Vec<_>>(),
            _ => panic!("{name} offers no words"),
        };
        assert_eq!(offered("consultation.styles"), craft::coverage::Style::ALL.map(|style| style.word()));
        assert_eq!(offered("consultation.care"), craft::placement::Care::ALL.map(|care| care.word()));
    }

    #[test]
    fn the_cells_of_lines_are_the_keys_of_their_section() {
        for field in GROUPS.iter().flat_map(|group| group.fields) {
            if let Kind::Lines { cells, .. } = field.kind {
                let keys: Vec<&str> = cells.iter().map(|cell| cell.key).collect();
                assert_eq!(known_keys(field.name), Some(keys.as_slice()), "{}", field.name);
            }
        }
    }
}
