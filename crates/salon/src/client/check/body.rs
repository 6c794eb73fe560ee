//! Her hair and her head.

use super::{Check, named};
use crate::client::facts::{Avoid, HeadFacts};
use crate::client::file::{HairSection, HeadSection};
use craft::hair::{self, HairFacts, MeasuredBy};
use craft::suitability::plausible as usual;
use head::{CrownMark, HairUnderTape, Marks, Measures, Side, TapedParting, Zone};
use measure::{Density, Length, RuleBook};

impl Check {
    pub(super) fn hair(&mut self, section: &HairSection) -> HairFacts {
        let density = self.number("hair.density_per_cm2", section.density_per_cm2, &usual::DENSITY);
        let tied = self.length("hair.tied_circumference_mm", section.tied_circumference_mm, &usual::TIED);
        let width = self.number("hair.diameter_um", section.diameter_um, &usual::DIAMETER).map(Length::um);
        let by = self.word("hair.measured_by", "measured_by", section.measured_by.as_ref(), named::<MeasuredBy>);
        let strand = self.word("hair.strand", "strand", section.strand.as_ref(), named::<hair::Strand>);
        if section.density_per_cm2.is_none() && section.tied_circumference_mm.is_none() {
            let cure = "Count a square centimetre (density_per_cm2) or measure her tied hair (tied_circumference_mm).";
            self.fault("hair.density_per_cm2", "how much hair she has is missing", "hair-needed", cure);
        }
        if section.diameter_um.is_some() && section.measured_by.is_none() {
            let what = "a strand was measured, and how is missing";
            let cure = "Write measured_by = \"optical\", \"calliper\" or \"weighed\": the same strand reads differently.";
            self.fault("hair.measured_by", what, "strand-method", cure);
        }
        if section.measured_by.is_some() && section.diameter_um.is_none() {
            let cure = "Write diameter_um, or leave measured_by out.";
            self.fault("hair.diameter_um", "how a strand was measured is said, and not what was read", "strand-method", cure);
        }
        if section.strand.is_none() && section.diameter_um.is_none() {
            self.warn("hair.strand is missing: the usual strand with a wide range is assumed.");
        }
        if section.own_length_mm.is_none() {
            self.warn("hair.own_length_mm is missing: measure it, a sandwich needs hair to hide it.");
        }
        let own_length = self.length("hair.own_length_mm", section.own_length_mm, &usual::HAIR_LENGTH);
        let facts = HairFacts {
            density: density.map(Density::per_cm2),
            tied_circumference: tied,
            strand,
            diameter: width.zip(by),
            own_length,
            texture: self.word("hair.texture", "texture", section.texture.as_ref(), named::<hair::Texture>),
            oil: self.word("hair.oil", "oil", section.oil.as_ref(), named::<hair::Oil>),
            processed: self.word("hair.processed", "processed", section.processed.as_ref(), named::<hair::Processed>),
            ends: self.word("hair.ends", "ends", section.ends.as_ref(), named::<hair::Ends>),
        };
        if section.processed.is_none() {
            self.warn("hair.processed is missing: heat is kept as low as for bleached hair.");
        }
        self.amount_of_hair(&facts);
        facts
    }

    /// A count and a tied tail that tell of hair several times apart cannot
    /// both be right: one was likely read in another unit.
    pub(super) fn amount_of_hair(&mut self, facts: &HairFacts) {
        let book = RuleBook::standard();
        if let Some(density) = facts.density {
            let counted = density.to_per_cm2();
            let (least, most) = (book.value(&hair::DENSITY_LEAST), book.value(&hair::DENSITY_MOST));
            if counted < least || counted > most {
                self.warn(format!("hair.density_per_cm2 = {counted:.0} is rarely seen: count it once more."));
            }
        }
        if let (Some((diameter, _)), Some(strand)) = (facts.diameter, facts.strand)
            && hair::Strand::of_diameter(diameter) != strand
        {
            self.warn("hair.strand and hair.diameter_um disagree: the measured diameter is used.");
        }
        let (Some(density), Some(tied)) = (facts.density, facts.tied_circumference) else { return };
        let diameter = facts.diameter.map_or(Length::um(book.value(&hair::DIAMETER_START)), |(d, _)| d);
        let in_tail = hair::strands_in_tail(tied, diameter, book.value(&hair::PACKING));
        let counted = density.to_per_cm2() * book.value(&hair::SCALP_AREA);
        let apart = (in_tail / counted).max(counted / in_tail);
        if apart > book.value(&usual::AMOUNTS_APART) {
            let what = format!(
                "{:.0} to the cm2 and {:.0} mm round when tied tell of hair {apart:.0} times apart",
                density.to_per_cm2(),
                tied.to_mm()
            );
            let cure = "Measure both again (the tail tightly tied, in millimetres), or keep the one that is sure.";
            self.fault("hair.tied_circumference_mm", what, usual::AMOUNTS_APART.id, cure);
        }
    }

    pub(super) fn head(&mut self, section: &HeadSection) -> Option<HeadFacts> {
        let mut measured = |key: &str, value: Option<f64>| {
            let value = value?;
            if value.is_finite() && value > 0.0 {
                return Some(Length::mm(value));
            }
            let place = format!("head.{key}");
            self.fault(&place, format!("{value} is no length"), "head-measure", "Measure again, in millimetres.");
            None
        };
        let circumference = measured("circumference_mm", section.circumference_mm);
        let over_crown = measured("ear_to_ear_over_crown_mm", section.ear_to_ear_over_crown_mm);
        let front = measured("front_hairline_to_tape_mm", section.front_hairline_to_tape_mm);
        let back = measured("tape_to_nape_hairline_mm", section.tape_to_nape_hairline_mm);
        let behind = measured("ear_to_ear_behind_mm", section.ear_to_ear_behind_mm);
        let length = measured("length_mm", section.length_mm);
        let breadth = measured("breadth_mm", section.breadth_mm);
        if section.circumference_mm.is_none() {
            let cure = "Measure round the head above the brows and the widest point of the back.";
            self.fault("head.circumference_mm", "the size of her head is missing", "head-needed", cure);
        }
        let under = self.word("head.hair_under_tape", "hair_under_tape", section.hair_under_tape.as_ref(), named::<HairUnderTape>);
        let marks = self.marks(section);
        let avoid = self.avoid(section);
        Some(HeadFacts {
            measures: Measures {
                circumference: circumference?,
                ear_to_ear_over_crown: over_crown,
                front_hairline_to_tape: front,
                tape_to_nape_hairline: back,
                ear_to_ear_behind: behind,
                length,
                breadth,
                hair_under_tape: under.unwrap_or_default(),
                unusual_reason: section.unusual_reason.clone(),
            },
            marks,
            avoid,
        })
    }

    pub(super) fn marks(&mut self, section: &HeadSection) -> Marks {
        let behind = self.length("head.crown_behind_tape_mm", section.crown_behind_tape_mm, &usual::CROWN_BEHIND_TAPE);
        let aside = self.length("head.crown_to_right_mm", section.crown_to_right_mm, &usual::CROWN_ASIDE);
        if section.crown_to_right_mm.is_some() && section.crown_behind_tape_mm.is_none() {
            let cure = "Measure along the middle from the ear-to-ear tape to the whorl, and write crown_behind_tape_mm.";
            self.fault("head.crown_behind_tape_mm", "the crown is said to lie aside, and not how far back", "marks-complete", cure);
        }
        let mut taped_partings = Vec::new();
        for (at, entry) in section.taped_partings.iter().flatten().enumerate() {
            let place = format!("head.taped_partings[{at}]");
            let above = self.length(&format!("{place}.above_nape_mm"), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let length = self.length(&format!("{place}.length_mm"), entry.length_mm, &usual::PARTING_LENGTH);
            if entry.above_nape_mm.is_none() || entry.length_mm.is_none() {
                let cure = "Write { above_nape_mm = 60, length_mm = 240 } for each parting.";
                self.fault(&place, "a taped parting is not complete", "marks-complete", cure);
            }
            if let (Some(above_nape), Some(length)) = (above, length) {
                let tilt = self.length(&format!("{place}.tilt_mm"), entry.tilt_mm, &usual::PARTING_TILT);
                taped_partings.push(TapedParting { above_nape, length, tilt });
            }
        }
        Marks {
            nape_hairline_below_occiput: self.length(
                "head.nape_hairline_below_occiput_mm",
                section.nape_hairline_below_occiput_mm,
                &usual::NAPE_BELOW_OCCIPUT,
            ),
            crown: behind.map(|behind_tape| CrownMark { behind_tape, to_the_right: aside.unwrap_or(Length::ZERO) }),
            front_peak: self.length("head.front_peak_mm", section.front_peak_mm, &usual::FRONT_PEAK),
            temple_recession: self.length("head.temple_recession_mm", section.temple_recession_mm, &usual::RECESSION),
            nape_half_width: self.length("head.nape_half_width_mm", section.nape_half_width_mm, &usual::NAPE_HALF_WIDTH),
            nape_corner_rise: self.length("head.nape_corner_rise_mm", section.nape_corner_rise_mm, &usual::NAPE_CORNER_RISE),
            behind_ear_bare: self.length("head.behind_ear_bare_mm", section.behind_ear_bare_mm, &usual::BEHIND_EAR_BARE),
            temple_hairline: self.length("head.temple_hairline_mm", section.temple_hairline_mm, &usual::TEMPLE_HAIRLINE),
            ear_line_back: self.length("head.ear_line_back_mm", section.ear_line_back_mm, &usual::EAR_LINE_BACK),
            taped_partings,
        }
    }

    pub(super) fn avoid(&mut self, section: &HeadSection) -> Vec<Avoid> {
        let mut places = Vec::new();
        for (at, entry) in section.avoid.iter().flatten().enumerate() {
            let place = format!("head.avoid[{at}]");
            let side = self.word(&format!("{place}.side"), "side", entry.side.as_ref(), named::<Side>);
            let zone = self.word(&format!("{place}.zone"), "zone", entry.zone.as_ref(), |word| {
                if word == "temple" { Some(Zone::Temporal) } else { named::<Zone>(word) }
            });
            if entry.side.is_none() || entry.zone.is_none() {
                let cure = "Write { side = \"left\", zone = \"temple\", reason = \"cowlick\" }.";
                self.fault(&place, "a place to keep free needs a side and a zone", "avoid-complete", cure);
            }
            if let (Some(side), Some(zone)) = (side, zone) {
                places.push(Avoid { side, zone, reason: entry.reason.clone().unwrap_or_default() });
            }
        }
        places
    }
}
