//! The readings of a head fitted together: the head they make, which of them cannot
//! be right, and what one more would bring.

use super::HeadSection;
use super::readings::{CROWN_BEHIND, NAPE_BELOW, OF_THE_HAIRLINE, READINGS, field_of, is_given, leave_out};
use crate::{Fault, Place};
use craft::suitability::plausible::HEAD_ROUND;
use head::{Courses, Fit, MarkFault, Marks, MeasureFault, Measures, NextMeasure, SizeSigma, Tape, Zone};
use measure::Length;

/// Why a reading cannot be right.
#[derive(Debug, Clone)]
pub enum WhyWrong {
    /// It is no reading of its kind, or none without another.
    Reading(Fault),
    /// No head has it.
    Measure(MeasureFault),
    /// It cannot lie on the head that the others make.
    Place(MarkFault),
}

/// A reading that cannot be right, by section and key.
pub type WrongReading = (&'static str, WhyWrong);

/// What readings come to.
#[derive(Debug)]
pub struct FittedHead {
    /// The head; nothing where there is none yet. Else the readings that cannot be right.
    pub head: Result<Option<(Fit, Courses)>, Vec<WrongReading>>,
    /// The marks on it, where they can be read.
    pub marks: Option<Marks>,
    /// Readings that hardly anybody has; the head is there all the same, as if the
    /// reason why they are right were written.
    pub unusual: Vec<MeasureFault>,
}

/// The usual head, by the tape round it alone.
#[must_use]
pub fn usual_head() -> Measures {
    Measures::of_circumference(Length::mm(HEAD_ROUND.value))
}

/// Fits the readings of a head together.
#[must_use]
pub fn fitted(section: &HeadSection) -> FittedHead {
    let mut fitted = FittedHead { head: Ok(None), marks: None, unusual: Vec::new() };
    fitted.head = fit(section, &mut fitted);
    fitted
}

fn fit(section: &HeadSection, told: &mut FittedHead) -> Result<Option<(Fit, Courses)>, Vec<WrongReading>> {
    let measures = match section.measures() {
        Ok(measures) => measures,
        Err(faults) => {
            let wrong: Vec<WrongReading> = faults.into_iter().filter_map(placed).filter(|(name, _)| is_given(section, name)).collect();
            return if wrong.is_empty() { without_size(section, told) } else { Err(wrong) };
        }
    };
    let tell = |faults: Vec<MeasureFault>| -> Vec<WrongReading> {
        faults.into_iter().map(|fault| (field_of(fault.tape), WhyWrong::Measure(fault))).collect()
    };
    let fit = match head::fit(&measures) {
        Ok(fit) => fit,
        // Unusual, not impossible: the head is there while the reason is still to be written.
        Err(faults) if faults.iter().all(|fault| fault.reason_suffices) => {
            told.unusual.extend(faults);
            head::fit(&Measures { unusual_reason: Some("not written yet".to_owned()), ..measures }).map_err(tell)?
        }
        Err(faults) => return Err(tell(faults)),
    };
    let marks = section.marks().map_err(|faults| faults.into_iter().filter_map(placed).collect::<Vec<_>>())?;
    told.marks = Some(marks.clone());
    match Courses::of(&fit, &marks) {
        Ok(courses) => Ok(Some((fit, courses))),
        Err(fault) => match blamed(section) {
            Some(name) => Err(vec![(name, WhyWrong::Place(fault))]),
            None => Ok(None),
        },
    }
}

/// A fault at the reading that it is about.
fn placed(fault: Fault) -> Option<WrongReading> {
    let Place::Fact(fact) = fault.place else { return None };
    let name = READINGS.into_iter().find(|name| *name == fact.key())?;
    Some((name, WhyWrong::Reading(fault)))
}

/// The reading without which the rest can lie on a head: it is at fault. The
/// likeliest are tried first.
fn blamed(section: &HeadSection) -> Option<&'static str> {
    OF_THE_HAIRLINE
        .into_iter()
        .chain([CROWN_BEHIND, field_of(Tape::TapeToNapeHairline), NAPE_BELOW, field_of(Tape::FrontHairlineToTape)])
        .filter(|name| is_given(section, name))
        .find(|name| {
            let mut without = section.clone();
            leave_out(&mut without, name);
            let marks = without.marks().unwrap_or_default();
            without.measures().ok().and_then(|m| head::fit(&m).ok()).is_some_and(|fit| Courses::of(&fit, &marks).is_ok())
        })
}

/// Readings without the tape round the head give no head, but each can still be no
/// reading: they are judged on a usual head.
fn without_size(section: &HeadSection, told: &mut FittedHead) -> Result<Option<(Fit, Courses)>, Vec<WrongReading>> {
    if section.circumference_mm.is_some() {
        return Ok(None);
    }
    let on_usual_head = HeadSection { circumference_mm: Some(HEAD_ROUND.value), ..section.clone() };
    fit(&on_usual_head, told).map(|_| None)
}

/// One of the three sizes of a head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeadSize {
    /// From brow to the back.
    Length,
    /// From side to side.
    Breadth,
    /// From the ears to the top.
    Height,
}

impl HeadSize {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Length, Self::Breadth, Self::Height];

    /// The size of a fitted head.
    #[must_use]
    pub fn of(self, fit: &Fit) -> Length {
        match self {
            Self::Length => fit.length,
            Self::Breadth => fit.breadth,
            Self::Height => fit.tragion_to_top,
        }
    }

    /// How sure it is: its standard error.
    #[must_use]
    pub fn sure(self, sigma: &SizeSigma) -> Length {
        match self {
            Self::Length => sigma.length,
            Self::Breadth => sigma.breadth,
            Self::Height => sigma.tragion_to_top,
        }
    }
}

/// What one more measure makes surer the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surer {
    /// A size.
    Size(HeadSize),
    /// Places of a region.
    Places(Zone),
}

/// What one more measure would bring.
#[derive(Debug, Clone)]
pub struct OneMore {
    /// The measure.
    pub measure: NextMeasure,
    /// What it helps most.
    pub surer: Surer,
    /// The standard error of that as it is.
    pub before: Length,
    /// The standard error of that then.
    pub after: Length,
}

impl OneMore {
    fn gain(&self) -> f64 {
        (self.before - self.after).to_mm()
    }
}

/// Less than this nobody notices, mm. Our choice.
const NOTICED: f64 = 0.3;

/// The regions whose sureness is told.
pub const TOLD_REGIONS: [Zone; 5] = [Zone::Nape, Zone::Occipital, Zone::Crown, Zone::Parietal, Zone::Frontal];

/// The measures worth taking next, were each to read what is expected, the best first.
#[must_use]
pub fn one_more(fit: &Fit, courses: &Courses, marks: &Marks) -> Vec<OneMore> {
    let mut steps: Vec<OneMore> = Vec::new();
    for step in head::outlook(fit) {
        let of = |size: HeadSize| OneMore {
            measure: step.next,
            surer: Surer::Size(size),
            before: size.sure(&fit.sigma),
            after: size.sure(&step.sigma),
        };
        let mut best = of(HeadSize::Length);
        for size in HeadSize::ALL {
            if of(size).gain() > best.gain() {
                best = of(size);
            }
        }
        steps.push(best);
    }
    let ending = [Tape::FrontHairlineToTape, Tape::TapeToNapeHairline, Tape::EarToEarBehind];
    steps.extend(ending.into_iter().filter_map(|tape| surer_places(fit, courses, marks, tape)));
    steps.retain(|step| step.gain() >= NOTICED);
    steps.sort_by(|a, b| b.gain().total_cmp(&a.gain()));
    steps
}

/// What a tape that ends at a hairline or behind the head would bring to the region it
/// helps most.
fn surer_places(fit: &Fit, courses: &Courses, marks: &Marks, tape: Tape) -> Option<OneMore> {
    let mut with = fit.clone();
    let expected = courses.of_tape(tape).windows(2).fold(Length::ZERO, |sum, w| sum + w[0].straight_to(w[1]));
    let slot = match tape {
        Tape::FrontHairlineToTape => &mut with.measures.front_hairline_to_tape,
        Tape::TapeToNapeHairline => &mut with.measures.tape_to_nape_hairline,
        Tape::EarToEarBehind => &mut with.measures.ear_to_ear_behind,
        _ => return None,
    };
    if slot.is_some() {
        return None;
    }
    *slot = Some(if tape == Tape::EarToEarBehind { expected + fit.hair.ear_to_ear_behind } else { expected });
    let after = Courses::of(&with, marks).ok()?;
    let mut best: Option<OneMore> = None;
    for zone in TOLD_REGIONS {
        let place = courses.middle_of(zone);
        let found = OneMore {
            measure: NextMeasure::Take(tape),
            surer: Surer::Places(zone),
            before: courses.sigma_at(place),
            after: after.sigma_at(place),
        };
        if found.gain() > best.as_ref().map_or(0.0, OneMore::gain) {
            best = Some(found);
        }
    }
    best
}
