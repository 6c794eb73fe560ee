//! What one more measure would bring: the errors of the sizes with it.

use super::Fit;
use super::solution::{CALLIPER_ERROR, TapeReading, predicted, readings, sigma, solve};
use crate::measures::{HairUnderTape, SizeSigma, Tape};
use crate::model::Template;

/// One more thing that could be done at the chair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NextMeasure {
    /// A tape or calliper not yet laid on.
    Take(Tape),
    /// The same tapes again, along a parted line.
    PartTheHair,
}

/// What it would do to the errors of the sizes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// The step.
    pub next: NextMeasure,
    /// One standard error of each size after it.
    pub sigma: SizeSigma,
}

/// What each measure that is still open would bring, were it to read what this
/// fit expects.
///
/// *Meaning*: the errors come from the same covariance as those of the fit. Of
/// the tapes only those are listed that say something about size; the ones that
/// end at a hairline place landmarks, which is told by the errors of places.
///
/// ```
/// use head::{Measures, fit, outlook};
/// use measure::Length;
/// // With one tape alone there is a measure worth taking next.
/// let fitted = fit(&Measures::of_circumference(Length::mm(560.0))).unwrap();
/// assert!(!outlook(&fitted).is_empty());
/// ```
#[must_use]
pub fn outlook(fit: &Fit) -> Vec<Outlook> {
    let template = Template::standard();
    let stretch = fit.shape.stretch();
    let taken = readings(&fit.measures);
    let hair = fit.measures.hair_under_tape.allowance();
    let after = |readings: &[TapeReading]| {
        let solution = solve(template, readings);
        sigma(template, &solution, template.sizes(solution.stretch))
    };
    let mut steps = Vec::new();
    for (tape, error) in [(Tape::EarToEarOverCrown, hair.over_error), (Tape::Length, CALLIPER_ERROR), (Tape::Breadth, CALLIPER_ERROR)] {
        if taken.iter().all(|reading| reading.tape != tape) {
            let mut more = taken.clone();
            more.push(TapeReading { tape, scalp: predicted(template, tape, stretch), error });
            steps.push(Outlook { next: NextMeasure::Take(tape), sigma: after(&more) });
        }
    }
    if !matches!(fit.measures.hair_under_tape, HairUnderTape::Parted | HairUnderTape::None) {
        let parted = HairUnderTape::Parted.allowance();
        let again: Vec<TapeReading> = taken
            .iter()
            .map(|reading| {
                let error = match reading.tape {
                    Tape::Circumference => parted.around_error,
                    Tape::EarToEarOverCrown => parted.over_error,
                    _ => reading.error,
                };
                TapeReading { scalp: predicted(template, reading.tape, stretch), error, ..*reading }
            })
            .collect();
        steps.push(Outlook { next: NextMeasure::PartTheHair, sigma: after(&again) });
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::super::{Measures, fit};
    use super::*;
    use crate::course::Courses;
    use crate::marks::Marks;
    use measure::Length;

    fn mm(x: f64) -> Length {
        Length::mm(x)
    }

    #[test]
    fn what_was_promised_is_what_the_measure_brings() {
        // Own judge: take the measure at the value expected and fit again.
        let mut measures = Measures::of_circumference(mm(560.0));
        let before = fit(&measures).unwrap();
        for step in outlook(&before) {
            let NextMeasure::Take(tape) = step.next else { continue };
            let reading = predicted(Template::standard(), tape, before.shape.stretch());
            let mut with = measures.clone();
            match tape {
                Tape::EarToEarOverCrown => with.ear_to_ear_over_crown = Some(mm(reading) + before.hair.ear_to_ear_over_crown),
                Tape::Length => with.length = Some(mm(reading)),
                _ => with.breadth = Some(mm(reading)),
            }
            let after = fit(&with).unwrap();
            assert!((after.sigma.tragion_to_top - step.sigma.tragion_to_top).abs().to_mm() < 0.01, "{tape:?}");
            assert!((after.sigma.length - step.sigma.length).abs().to_mm() < 0.01);
            assert!((after.sigma.breadth - step.sigma.breadth).abs().to_mm() < 0.01);
        }
        measures.ear_to_ear_over_crown = Some(mm(343.0));
        measures.length = Some(mm(188.0));
        measures.breadth = Some(mm(147.0));
        measures.hair_under_tape = HairUnderTape::Parted;
        assert!(outlook(&fit(&measures).unwrap()).is_empty(), "nothing more is to be had");
    }

    #[test]
    fn no_measure_makes_a_head_less_known() {
        for around in [500.0, 560.0, 620.0] {
            let fit = fit(&Measures::of_circumference(mm(around))).unwrap();
            for step in outlook(&fit) {
                assert!(step.sigma.length <= fit.sigma.length + mm(0.02), "{step:?}");
                assert!(step.sigma.breadth <= fit.sigma.breadth + mm(0.02), "{step:?}");
                assert!(step.sigma.tragion_to_top <= fit.sigma.tragion_to_top + mm(0.02), "{step:?}");
            }
        }
    }

    /// The tape that was fed is the tape that is drawn: readings with next to
    /// no error, fitted, and measured again along the course on the fitted skin.
    #[test]
    fn the_course_of_a_tape_is_as_long_as_the_tape_that_was_fed() {
        let template = Template::standard();
        for s in [[1.0; 3], [1.06, 0.95, 1.02], [0.93, 1.04, 0.97]] {
            let tight = |tape| TapeReading { tape, scalp: predicted(template, tape, s), error: 0.01 };
            let fed = [tight(Tape::Circumference), tight(Tape::EarToEarOverCrown), tight(Tape::Length), tight(Tape::Breadth)];
            let found = solve(template, &fed).stretch;
            let mut head = fit(&Measures::of_circumference(mm(560.0))).unwrap();
            head.shape = template.shape.stretched(found);
            let courses = Courses::of(&head, &Marks::default()).unwrap();
            for reading in fed {
                let line = courses.of_tape(reading.tape);
                let drawn: f64 = line.windows(2).map(|w| w[0].straight_to(w[1]).to_mm()).sum();
                assert!((drawn - reading.scalp).abs() < 0.1, "{:?}: {drawn} drawn, {} fed", reading.tape, reading.scalp);
            }
        }
    }
}
