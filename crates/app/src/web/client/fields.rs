//! Every fact of a client's file as it is asked on the page, in the order of a visit.
//!
//! One table: the form is drawn from it, and what is typed is read by it. Units
//! and words belong to the file's own sections; what is usual and what is not is
//! for the floors below to say.

use craft::suitability::words::Question;
use salon::client::Fact;

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
    /// What is answered.
    pub fact: Fact,
    /// How it is answered: words, a number or a choice.
    pub kind: Kind,
}

/// One fact.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// The fact that is asked; nothing for [`HEALTH_CONSENT`], which is none of her file.
    pub fact: Option<Fact>,
    /// Its name in the form: section and key in the client's file, as `hair.strand`.
    pub name: &'static str,
    /// How it is answered.
    pub kind: Kind,
    /// How to measure it, or what it is for.
    pub hint: &'static str,
    /// Whether it opens a part of the group, with this heading.
    pub heading: Option<(&'static str, &'static str)>,
}

impl Cell {
    /// Its key in the file.
    pub const fn key(&self) -> &'static str {
        self.fact.last_key()
    }

    /// What is asked.
    pub fn label(&self) -> &'static str {
        self.fact.name()
    }
}

impl Field {
    /// What is asked.
    pub fn label(&self) -> &'static str {
        self.fact.map_or("She agrees that her health answers are kept", Fact::name)
    }

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

const fn field(fact: Fact, kind: Kind, hint: &'static str) -> Field {
    Field { fact: Some(fact), name: fact.key(), kind, hint, heading: None }
}

const MM: Kind = Kind::Number { unit: "mm" };

/// Her consent to keeping health answers: no fact of her file.
pub const HEALTH_CONSENT: &str = "consent.health";

const CONSENT_TO_HEALTH: Field = Field {
    fact: None,
    name: HEALTH_CONSENT,
    kind: Kind::YesNo,
    hint: "Asked by itself, and only for the answers below. She may take it back at any time: the answers are destroyed then.",
    heading: None,
};

/// The groups in the order of a visit.
pub const GROUPS: &[Group] = &[CONSULTATION, HAIR, HEAD, COLOUR, WISH, PRICES];

const CONSULTATION: Group = Group {
    id: "consultation",
    title: "Consultation",
    says: "Who she is, what happened before and how she lives. Health answers decide the limits of the plan; they are kept encrypted and never leave this machine.",
    fields: &[
        field(Fact::Name, Kind::Words, "As it stands on her papers. A first name or a number will do."),
        field(Fact::Age, Kind::Number { unit: "years" }, ""),
        field(Fact::Consent, Kind::YesNo, "After the risks and the aftercare were explained."),
        field(Fact::GuardianConsent, Kind::YesNo, "Only when she is under age."),
        CONSENT_TO_HEALTH,
        field(Fact::HadExtensions, Kind::YesNo, "").under("History", ""),
        field(Fact::ReactedBefore, Kind::YesNo, "To extensions, their adhesive or a remover."),
        field(Fact::PatchTest, PATCH_LOOKS, "One line for each look at it."),
        field(Fact::Allergies, Kind::OwnWords(Question::Allergies), "").under(
            "Allergies, scalp and health",
            "Ask each of the three, and note “none” when she names nothing: not asked and nothing named are not the same. The program never diagnoses; some answers send her to a doctor first.",
        ),
        field(Fact::Scalp, Kind::OwnWords(Question::Scalp), "Part the hair and look before you ask."),
        field(Fact::Health, Kind::OwnWords(Question::Health), ""),
        field(Fact::Postpartum, Kind::Number { unit: "months" }, "Leave empty when it does not apply."),
        field(Fact::TiesUp, TIES_UP, "").under("How she lives", ""),
        field(Fact::Sport, Kind::Number { unit: "times a week" }, ""),
        field(Fact::Swims, Kind::YesNo, ""),
        field(Fact::HotTools, HOT_TOOLS, "Straightener, tongs or hot brush."),
        field(Fact::Returns, Kind::Number { unit: "weeks" }, ""),
    ],
};

const HAIR: Group = Group {
    id: "hair",
    title: "Hair",
    says: "Clean, dry and combed through. Either the density or the tied circumference is enough; each further answer narrows the ranges.",
    fields: &[
        field(Fact::TiedRound, MM, "Tie all of it at the nape, tight and smooth. Lay the tape once round, just below the tie."),
        field(
            Fact::Density,
            Kind::Number { unit: "hairs/cm²" },
            "Counted under a magnifier behind the ear and at the back, or leave empty.",
        ),
        field(Fact::Strand, STRAND, "Roll one hair between finger and thumb: hardly felt, felt, or like thread."),
        field(Fact::Diameter, Kind::Number { unit: "µm" }, "The mean of several hairs from the back."),
        field(Fact::MeasuredBy, MEASURED_BY, "A calliper presses the hair flat, so it reads otherwise than a microscope."),
        field(Fact::OwnLength, MM, "From the nape hairline, combed straight down."),
        field(Fact::Ends, ENDS, "Blunt ends show where they stop; they are softened before."),
        field(Fact::Texture, TEXTURE, ""),
        field(Fact::Oil, OIL, "A day after washing."),
        field(Fact::Processed, PROCESSED, "What is in the lengths now."),
        field(Fact::Bleached, Kind::Number { unit: "days" }, "Leave empty when it does not apply."),
    ],
};

const HEAD: Group = Group {
    id: "head",
    title: "Head",
    says: "By tape measure, in millimetres; the circumference alone is enough, every further reading makes the map truer.",
    fields: &[
        field(
            Fact::Around,
            MM,
            "Above the brows, close over the ears, round the farthest place at the back. The same height on both sides, snug, not tight.",
        ),
        field(
            Fact::OverCrown,
            MM,
            "From the notch before one ear opening straight up over the top to the other. Leave the tape on for the next two.",
        ),
        field(Fact::FrontToTape, MM, "Along the middle, from the hairline back to the ear-to-ear tape."),
        field(Fact::TapeToNape, MM, "On along the middle, down to the lowest hair at the nape."),
        field(Fact::Behind, MM, "From notch to notch round the back, over the bump of the occipital bone."),
        field(Fact::HairUnderTape, HAIR_UNDER_TAPE, "What the tape lay on; it is taken off the reading."),
        field(
            Fact::TempleHairline,
            MM,
            "Go 45 mm straight up from the top of the ear, then level forward to where the hair begins. It decides what fits before the ears.",
        ),
        field(Fact::NapeHalfWidth, MM, "Along the nape hairline, from its middle to the corner where it turns up behind the ear."),
        field(Fact::HeadLength, MM, "From between the brows to the farthest place at the back.")
            .under("If you have more", "A calliper reading, and where the nape hairline lies."),
        field(Fact::HeadBreadth, MM, "The widest place above the ears."),
        field(Fact::NapeBelowOcciput, MM, "From the bump at the back straight down to the hairline."),
        field(
            Fact::NapeCornerRise,
            MM,
            "How much higher the corner lies than the middle of the nape hairline; with a minus when it lies lower.",
        ),
        field(Fact::BehindEarBare, MM, "Level back from the ear, at the height of its opening, to where the hair begins."),
        field(
            Fact::EarLineBack,
            MM,
            "Only when you comb it so: it runs straight up from the top of the ear. With a minus when it runs before it.",
        ),
        field(Fact::CrownBehindTape, MM, "Along the middle, from the tape back to where the hair turns round.").under(
            "The crown",
            "Where hair worn down begins to fall: nothing is set above it. Not marked, it is put where it lies on most heads.",
        ),
        field(Fact::CrownToRight, MM, "Plus to her right, minus to her left."),
        field(Fact::FrontPeak, MM, "How far it comes down on the middle. Leave empty without one.")
            .under("The front hairline, and partings taped at the chair", "Only where she differs from most."),
        field(Fact::TempleRecession, MM, "How far behind its middle."),
        field(
            Fact::TapedPartings,
            TAPED,
            "Comb one level at the back and lay the tape along it, from ear-to-ear line to ear-to-ear line or to the hair’s edge: the map then reads as the tape does.",
        ),
        field(Fact::UnusualReason, Kind::Words, "Only when a reading was questioned and you measured again.").under("On this head", ""),
        field(Fact::Avoid, AVOID, "A cowlick, a scar, a tender place."),
    ],
};

const COLOUR: Group = Group {
    id: "colour",
    title: "Colour",
    says: "Read at the ends, never at the roots. One of three ways: from a photo beside the chart, by instrument, or by eye.",
    fields: &[
        field(Fact::Photo, Kind::Reading, "A photo with your phone is enough. What you have typed so far is saved first."),
        field(Fact::Shade, Kind::Shade, "In daylight from a window, the swatch laid into her ends."),
        field(
            Fact::Lab,
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
        field(Fact::Goal, GOAL, ""),
        field(Fact::Fullness, FULLNESS, ""),
        field(Fact::WantedLength, MM, "From the nape hairline, when length matters."),
        field(Fact::Added, Kind::Number { unit: "g" }, "Instead of how full, when you know the grams."),
        field(Fact::EndsRound, MM, "Instead of how full, when she shows you how thick."),
        field(Fact::Styles, STYLES, "Nothing may show in any of them. More styles leave fewer places."),
        field(Fact::Parting, PART, ""),
        field(Fact::Care, CARE, ""),
        field(Fact::TabWidth, MM, "").under("Pieces", "Left empty, the salon’s own pieces from Settings are used."),
        field(Fact::TabHeight, MM, ""),
        field(Fact::Mass, Kind::Number { unit: "g" }, ""),
        field(
            Fact::SingleSided,
            Kind::YesNo,
            "Instead of two pieces to a sandwich: half the load, half the hair. Left open, the plan may propose it.",
        ),
        field(Fact::TabAcrossMiddle, Kind::YesNo, "Otherwise every tab stands wholly on one side of the line down the middle."),
        field(Fact::Lengths, Kind::Numbers { unit: "mm" }, "Several, with spaces between."),
        field(Fact::LastSites, LAST_SITES, "So that they rest this time.")
            .under("Last visit", "Only when she wore a set before and you have its map."),
    ],
};

const PRICES: Group = Group {
    id: "prices",
    title: "Prices",
    says: "Left empty, the salon’s own prices from Settings are used.",
    fields: &[
        field(Fact::Budget, Kind::Amount, ""),
        field(Fact::Hour, Kind::Amount, ""),
        field(Fact::TapeTab, Kind::Amount, ""),
        field(Fact::Currency, Kind::Words, "Three letters, as in EUR."),
    ],
};

const PATCH_LOOKS: Kind = Kind::Lines {
    one: "look",
    cells: &[
        Cell { fact: Fact::PatchHours, kind: Kind::Number { unit: "h" } },
        Cell { fact: Fact::PatchSeen, kind: Kind::Choice(&[("clear", "Nothing"), ("reacted", "A reaction")]) },
    ],
};
const AVOID: Kind = Kind::Lines {
    one: "place",
    cells: &[
        Cell {
            fact: Fact::AvoidSide, kind: Kind::Choice(&[("left", "Client’s left"), ("centre", "Middle"), ("right", "Client’s right")])
        },
        Cell {
            fact: Fact::AvoidZone,
            kind: Kind::Choice(&[
                ("nape", "Nape"),
                ("occipital", "Back of the head"),
                ("crown", "Crown"),
                ("parietal", "Side"),
                ("temple", "Temple"),
                ("frontal", "Front"),
            ]),
        },
        Cell { fact: Fact::AvoidReason, kind: Kind::Words },
    ],
};
const TAPED: Kind = Kind::Lines {
    one: "parting",
    cells: &[
        Cell { fact: Fact::TapedAboveNape, kind: MM },
        Cell { fact: Fact::TapedLength, kind: MM },
        Cell { fact: Fact::TapedTilt, kind: MM },
    ],
};
const LAST_SITES: Kind = Kind::Lines {
    one: "slice",
    cells: &[
        Cell { fact: Fact::LastAboveNape, kind: MM },
        Cell { fact: Fact::LastAlong, kind: MM },
        Cell { fact: Fact::LastWidth, kind: MM },
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

/// The field that asks a fact; none where the page asks it another way.
#[must_use]
pub fn of(fact: Fact) -> Option<&'static Field> {
    GROUPS.iter().flat_map(|group| group.fields).find(|field| field.fact == Some(fact))
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
    fn the_temple_is_asked_at_the_height_of_its_rule() {
        let height = craft::suitability::plausible::TEMPLE_AT.value;
        assert!(named("head.temple_hairline_mm").unwrap().hint.contains(&format!("Go {height} mm straight up")));
    }

    #[test]
    fn the_cells_of_lines_are_the_keys_of_their_section() {
        for field in GROUPS.iter().flat_map(|group| group.fields) {
            if let Kind::Lines { cells, .. } = field.kind {
                let keys: Vec<&str> = cells.iter().map(Cell::key).collect();
                assert_eq!(known_keys(field.name), Some(keys.as_slice()), "{}", field.name);
            }
        }
    }
}
