//! What heads people have: catches a slip of the tape or of the keyboard.

use crate::measures::{MeasureFault, Measures, Tape};
use crate::words::Message;
use measure::Length;
use measure::text::{millimetres, number};
use measure::words::Sentence;

/// The least and the most that people measure, mm.
///
/// *Source*: key `niosh2003`, the whole range of 3 996 people, for circumference
/// and over the top; length and breadth: keys `ansur2`, `niosh2003`, with room
/// for children. The hairline tapes and round the back: our choice, about four
/// standard deviations round what the template gives.
const fn range(tape: Tape) -> (f64, f64) {
    match tape {
        Tape::Circumference => (475.0, 654.0),
        Tape::EarToEarOverCrown => (290.0, 425.0),
        Tape::FrontHairlineToTape => (35.0, 150.0),
        Tape::TapeToNapeHairline => (150.0, 320.0),
        Tape::EarToEarBehind => (170.0, 330.0),
        Tape::Length => (155.0, 235.0),
        Tape::Breadth => (120.0, 185.0),
    }
}

impl Tape {
    /// The least and the most that people measure.
    #[must_use]
    pub const fn usual_range(self) -> (Length, Length) {
        let (least, most) = range(self);
        (Length::mm(least), Length::mm(most))
    }
}

/// Beyond the range by more than this factor no reason helps: no head is so
/// small or so large.
const BEYOND_ALL: f64 = 1.3;

/// What is let through with a warning.
///
/// *Errors*: everything that is not, at once.
pub(crate) fn check(measures: &Measures) -> Result<Vec<String>, Vec<MeasureFault>> {
    let reason = measures.unusual_reason.as_deref().map(str::trim).filter(|r| !r.is_empty());
    let mut warnings = Vec::new();
    let mut faults = Vec::new();
    let given = [
        (Tape::Circumference, Some(measures.circumference)),
        (Tape::EarToEarOverCrown, measures.ear_to_ear_over_crown),
        (Tape::FrontHairlineToTape, measures.front_hairline_to_tape),
        (Tape::TapeToNapeHairline, measures.tape_to_nape_hairline),
        (Tape::EarToEarBehind, measures.ear_to_ear_behind),
        (Tape::Length, measures.length),
        (Tape::Breadth, measures.breadth),
    ];
    for (tape, value) in given {
        let Some(fault) = value.and_then(|v| odd(tape, v)) else { continue };
        match reason {
            Some(reason) if fault.reason_suffices => {
                warnings.push(Message::KeptBecause { what: fault.what, reason: reason.to_owned() }.into())
            }
            _ => faults.push(fault),
        }
    }
    if faults.is_empty() {
        faults.extend(impossible_pairs(measures));
    }
    if faults.is_empty() { Ok(warnings) } else { Err(faults) }
}

fn odd(tape: Tape, value: Length) -> Option<MeasureFault> {
    let (least, most) = range(tape);
    let mm = value.to_mm();
    if (least..=most).contains(&mm) {
        return None;
    }
    let (name, people_least, people_most) = (tape.words().to_owned(), number(least, 0), number(most, 0));
    let fault = |message: Message, reason_suffices| {
        Some(MeasureFault { tape, what: message.says(), cure: message.cure(), reason_suffices, likely: None })
    };
    if !mm.is_finite() || mm <= 0.0 {
        return fault(Message::NoLength { tape: name, read: mm.to_string(), least: people_least, most: people_most }, false);
    }
    let read = millimetres(value);
    let slip =
        [(25.4, Message::Inches), (10.0, Message::Centimetres), (2.54, Message::InchesAsCentimetres), (0.1, Message::TenTimesTooLarge)]
            .into_iter()
            .find(|(factor, _)| (least..=most).contains(&(mm * factor)));
    if let Some((factor, unit)) = slip {
        let then = number(mm * factor, 0);
        let slip = Message::OddByUnit { tape: name, read, least: people_least, most: people_most, unit: unit.to_string(), then };
        let likely = Some(Length::mm((mm * factor).round()));
        return fault(slip, false).map(|fault| MeasureFault { likely, ..fault });
    }
    if mm < least / BEYOND_ALL || mm > most * BEYOND_ALL {
        return fault(Message::OddBeyondAll { tape: name, read, least: people_least, most: people_most }, false);
    }
    fault(Message::Odd { tape: name, read, least: people_least, most: people_most }, true)
}

/// Measures that cannot both be right, whatever the head.
fn impossible_pairs(measures: &Measures) -> Vec<MeasureFault> {
    let around = measures.circumference;
    let mut faults = Vec::new();
    let mut refuse = |tape: Tape, value: Length, share: f64, than: Message| {
        if value > around * share {
            let longer = Message::LongerThan {
                tape: tape.words().to_owned(),
                read: millimetres(value),
                than: than.says(),
                round: millimetres(around),
            };
            faults.push(MeasureFault { tape, what: longer.says(), cure: longer.cure(), reason_suffices: false, likely: None });
        }
    };
    // A closed tape round any body is at least twice the body's breadth or length.
    for (tape, value) in [(Tape::Length, measures.length), (Tape::Breadth, measures.breadth)] {
        if let Some(value) = value {
            refuse(tape, value, 0.5, Message::HalfRound);
        }
    }
    for (tape, value) in [(Tape::EarToEarOverCrown, measures.ear_to_ear_over_crown), (Tape::EarToEarBehind, measures.ear_to_ear_behind)] {
        if let Some(value) = value {
            refuse(tape, value, 0.8, Message::FourFifthsRound);
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first_fault(mm: f64) -> MeasureFault {
        check(&Measures::of_circumference(Length::mm(mm))).unwrap_err().remove(0)
    }

    #[test]
    fn slips_of_unit_are_asked_about() {
        assert!(first_fault(22.0).cure.contains("inches? Then write 559"), "{}", first_fault(22.0));
        assert!(first_fault(220.0).cure.contains("inches"), "{}", first_fault(220.0));
        assert!(first_fault(56.0).cure.contains("centimetres? Then write 560"), "{}", first_fault(56.0));
        assert!(first_fault(5600.0).cure.contains("write 560"), "{}", first_fault(5600.0));
        for mm in [22.0, 56.0, 220.0, 5600.0, 0.0, -560.0, f64::NAN, f64::INFINITY] {
            let mut measures = Measures::of_circumference(Length::mm(mm));
            measures.unusual_reason = Some("child".into());
            assert!(check(&measures).is_err(), "{mm} needs more than a reason");
        }
    }

    #[test]
    fn the_usual_range_ends_where_the_survey_did() {
        // *Source*: key `niosh2003`, least and most circumference of the survey.
        for (mm, usual) in [(474.9, false), (475.0, true), (654.0, true), (654.1, false)] {
            assert_eq!(check(&Measures::of_circumference(Length::mm(mm))).is_ok(), usual, "{mm}");
        }
    }

    #[test]
    fn a_reason_lets_an_unusual_head_through_and_is_kept() {
        let mut measures = Measures::of_circumference(Length::mm(460.0));
        assert!(check(&measures).unwrap_err()[0].reason_suffices);
        measures.unusual_reason = Some("a child of four".into());
        assert!(check(&measures).unwrap()[0].contains("a child of four"));
        measures.unusual_reason = Some("  ".into());
        assert!(check(&measures).is_err(), "an empty reason is none");
    }

    #[test]
    fn tapes_that_no_head_can_have_are_refused_together() {
        let mut measures = Measures::of_circumference(Length::mm(500.0));
        measures.ear_to_ear_over_crown = Some(Length::mm(600.0));
        measures.breadth = Some(Length::mm(0.0));
        assert_eq!(check(&measures).unwrap_err().len(), 2);
        measures.ear_to_ear_over_crown = Some(Length::mm(420.0));
        measures.breadth = None;
        assert!(check(&measures).unwrap_err()[0].what.contains("ear to ear"));
    }
}
