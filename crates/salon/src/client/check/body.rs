//! Her hair and her head.

use super::{Check, named};
use crate::client::Fact;
use crate::client::facts::{Avoid, HeadFacts};
use crate::client::file::{HairSection, HeadSection};
use crate::fault::Place;
use crate::words::Message;
use craft::hair::{self, HairFacts, MeasuredBy};
use craft::suitability::plausible as usual;
use head::{CrownMark, HairUnderTape, Marks, Measures, Side, TapedParting, Zone};
use measure::text::{millimetres, number};
use measure::{Density, Length, RuleBook};

impl Check {
    pub(super) fn hair(&mut self, section: &HairSection) -> HairFacts {
        let density = self.number(Fact::Density, section.density_per_cm2, &usual::DENSITY);
        let tied = self.length(Fact::TiedRound, section.tied_circumference_mm, &usual::TIED);
        let width = self.number(Fact::Diameter, section.diameter_um, &usual::DIAMETER).map(Length::um);
        let by = self.word(Fact::MeasuredBy, section.measured_by.as_ref(), named::<MeasuredBy>);
        let strand = self.word(Fact::Strand, section.strand.as_ref(), named::<hair::Strand>);
        if section.density_per_cm2.is_none() && section.tied_circumference_mm.is_none() {
            self.fault(Fact::Density, &Message::HairMissing, "hair-needed");
        }
        if section.diameter_um.is_some() && section.measured_by.is_none() {
            self.fault(Fact::MeasuredBy, &Message::StrandMethodMissing, "strand-method");
        }
        if section.measured_by.is_some() && section.diameter_um.is_none() {
            self.fault(Fact::Diameter, &Message::StrandReadingMissing, "strand-method");
        }
        if section.strand.is_none() && section.diameter_um.is_none() {
            self.warn(&Message::StrandOpen);
        }
        if section.own_length_mm.is_none() {
            self.warn(&Message::OwnLengthOpen);
        }
        let own_length = self.length(Fact::OwnLength, section.own_length_mm, &usual::HAIR_LENGTH);
        let facts = HairFacts {
            density: density.map(Density::per_cm2),
            tied_circumference: tied,
            strand,
            diameter: width.zip(by),
            own_length,
            texture: self.word(Fact::Texture, section.texture.as_ref(), named::<hair::Texture>),
            oil: self.word(Fact::Oil, section.oil.as_ref(), named::<hair::Oil>),
            processed: self.word(Fact::Processed, section.processed.as_ref(), named::<hair::Processed>),
            ends: self.word(Fact::Ends, section.ends.as_ref(), named::<hair::Ends>),
        };
        if section.processed.is_none() {
            self.warn(&Message::ProcessedOpen);
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
                self.warn(&Message::DensityRare { density: number(counted, 0) });
            }
        }
        if let (Some((diameter, _)), Some(strand)) = (facts.diameter, facts.strand)
            && hair::Strand::of_diameter(diameter) != strand
        {
            self.warn(&Message::StrandsDisagree);
        }
        let (Some(density), Some(tied)) = (facts.density, facts.tied_circumference) else { return };
        let diameter = facts.diameter.map_or(Length::um(book.value(&hair::DIAMETER_START)), |(d, _)| d);
        let in_tail = hair::strands_in_tail(tied, diameter, book.value(&hair::PACKING));
        let counted = density.to_per_cm2() * book.value(&hair::SCALP_AREA);
        let apart = (in_tail / counted).max(counted / in_tail);
        if apart > book.value(&usual::AMOUNTS_APART) {
            let message =
                Message::HairAmountsApart { density: number(density.to_per_cm2(), 0), tied: millimetres(tied), times: number(apart, 0) };
            self.fault(Fact::TiedRound, &message, usual::AMOUNTS_APART.id);
        }
    }

    pub(super) fn head(&mut self, section: &HeadSection) -> Option<HeadFacts> {
        let mut measured = |fact: Fact, value: Option<f64>| {
            let value = value?;
            if value.is_finite() && value > 0.0 {
                return Some(Length::mm(value));
            }
            self.fault(fact, &Message::LengthNone { value: value.to_string() }, "head-measure");
            None
        };
        let circumference = measured(Fact::Around, section.circumference_mm);
        let over_crown = measured(Fact::OverCrown, section.ear_to_ear_over_crown_mm);
        let front = measured(Fact::FrontToTape, section.front_hairline_to_tape_mm);
        let back = measured(Fact::TapeToNape, section.tape_to_nape_hairline_mm);
        let behind = measured(Fact::Behind, section.ear_to_ear_behind_mm);
        let length = measured(Fact::HeadLength, section.length_mm);
        let breadth = measured(Fact::HeadBreadth, section.breadth_mm);
        if section.circumference_mm.is_none() {
            self.fault(Fact::Around, &Message::HeadMissing, "head-needed");
        }
        let under = self.word(Fact::HairUnderTape, section.hair_under_tape.as_ref(), named::<HairUnderTape>);
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
        let behind = self.length(Fact::CrownBehindTape, section.crown_behind_tape_mm, &usual::CROWN_BEHIND_TAPE);
        let aside = self.length(Fact::CrownToRight, section.crown_to_right_mm, &usual::CROWN_ASIDE);
        if section.crown_to_right_mm.is_some() && section.crown_behind_tape_mm.is_none() {
            self.fault(Fact::CrownBehindTape, &Message::CrownIncomplete, "marks-complete");
        }
        let mut taped_partings = Vec::new();
        for (at, entry) in section.taped_partings.iter().flatten().enumerate() {
            let above = self.length(Place::Answer(Fact::TapedAboveNape, at), entry.above_nape_mm, &usual::ABOVE_NAPE);
            let length = self.length(Place::Answer(Fact::TapedLength, at), entry.length_mm, &usual::PARTING_LENGTH);
            if entry.above_nape_mm.is_none() || entry.length_mm.is_none() {
                self.fault(Place::Line(Fact::TapedPartings, at), &Message::PartingIncomplete, "marks-complete");
            }
            if let (Some(above_nape), Some(length)) = (above, length) {
                let tilt = self.length(Place::Answer(Fact::TapedTilt, at), entry.tilt_mm, &usual::PARTING_TILT);
                taped_partings.push(TapedParting { above_nape, length, tilt });
            }
        }
        Marks {
            nape_hairline_below_occiput: self.length(
                Fact::NapeBelowOcciput,
                section.nape_hairline_below_occiput_mm,
                &usual::NAPE_BELOW_OCCIPUT,
            ),
            crown: behind.map(|behind_tape| CrownMark { behind_tape, to_the_right: aside.unwrap_or(Length::ZERO) }),
            front_peak: self.length(Fact::FrontPeak, section.front_peak_mm, &usual::FRONT_PEAK),
            temple_recession: self.length(Fact::TempleRecession, section.temple_recession_mm, &usual::RECESSION),
            nape_half_width: self.length(Fact::NapeHalfWidth, section.nape_half_width_mm, &usual::NAPE_HALF_WIDTH),
            nape_corner_rise: self.length(Fact::NapeCornerRise, section.nape_corner_rise_mm, &usual::NAPE_CORNER_RISE),
            behind_ear_bare: self.length(Fact::BehindEarBare, section.behind_ear_bare_mm, &usual::BEHIND_EAR_BARE),
            temple_hairline: self.length(Fact::TempleHairline, section.temple_hairline_mm, &usual::TEMPLE_HAIRLINE),
            ear_line_back: self.length(Fact::EarLineBack, section.ear_line_back_mm, &usual::EAR_LINE_BACK),
            taped_partings,
        }
    }

    pub(super) fn avoid(&mut self, section: &HeadSection) -> Vec<Avoid> {
        let mut places = Vec::new();
        for (at, entry) in section.avoid.iter().flatten().enumerate() {
            let side = self.word(Place::Answer(Fact::AvoidSide, at), entry.side.as_ref(), named::<Side>);
            let zone = self.word(Place::Answer(Fact::AvoidZone, at), entry.zone.as_ref(), |word| {
                if word == "temple" { Some(Zone::Temporal) } else { named::<Zone>(word) }
            });
            if entry.side.is_none() || entry.zone.is_none() {
                self.fault(Place::Line(Fact::Avoid, at), &Message::AvoidIncomplete, "avoid-complete");
            }
            if let (Some(side), Some(zone)) = (side, zone) {
                places.push(Avoid { side, zone, reason: entry.reason.clone().unwrap_or_default() });
            }
        }
        places
    }
}
