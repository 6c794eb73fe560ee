//! Whether this client can wear tapes, within which limits, and why.
//!
//! Every answer feeds named rules. A rule says what was answered and what
//! follows from it; nothing here names a disease that nobody answered, and
//! every stop says who to see. The rules are usual caution, not medicine: local
//! rules and the technician's licence come first.

// Before the rooms that lay out their tables with it.
macro_rules! numbers {
    ($(#[$doc:meta])* $shown:vis const $table:ident; $($name:ident = $id:literal, $says:literal, $value:literal, ($low:literal, $high:literal), $unit:literal, $grade:ident, $source:literal;)+) => {
        $(
            #[doc = $says]
            pub const $name: Rule = Rule {
                id: $id,
                says: $says,
                value: $value,
                range: ($low, $high),
                unit: $unit,
                grade: Grade::$grade,
                source: $source,
            };
        )+
        $(#[$doc])*
        $shown const $table: &[&Rule] = &[$(&$name),+];
    };
}

pub mod answers;
pub mod book;
pub mod irons;
mod judge;
pub mod patch_test;
pub mod plausible;
pub mod remover;
pub mod words;

pub use answers::Answers;
pub use book::{CONSULTATION, Change, ConsultationRule, Effect};
pub use judge::{Judgement, Limits, Met, PatchNeed, PullSite, Verdict, judge, more_hairs_than_usual, strand_thinner_than_usual};

use measure::{Grade, Rule};

numbers! {
    const NUMBERS;
    OF_AGE = "age-of-age", "Below this age a guardian signs.", 18.0, (16.0, 21.0), "years", CommonPractice, "";
    CHILD_BELOW = "age-child-below", "Below this age no tapes at all.", 13.0, (13.0, 18.0), "years", OurChoice, "afifi2021";
    BEARS_LESS_FROM = "age-bears-less-from", "From this age a slice is planned to bear less.", 35.0, (30.0, 60.0), "years", Measured, "cameroon223";
    BEARS_LESS = "load-bears-less", "From that age on, or after earlier loss by pull, what a slice may bear is multiplied by this.", 0.75, (0.5, 1.0), "", OurChoice, "cameroon223";
    POSTPARTUM_WAIT = "health-postpartum-wait", "After a birth, this many months pass before tapes.", 9.0, (9.0, 12.0), "months", OurChoice, "postpartum2016";
    POSTPARTUM_CARE = "health-postpartum-care", "Up to this many months after a birth the plan stays light.", 12.0, (12.0, 18.0), "months", OurChoice, "postpartum2016";
    BIRTH_ASKED_UNTIL = "consultation-birth-asked-until", "Up to this age she is asked whether she gave birth lately.", 55.0, (50.0, 60.0), "years", OurChoice, "";
    OWN_LENGTH_LEAST = "hair-own-length-least", "Shorter own hair than this carries no tapes.", 100.0, (100.0, 150.0), "mm", OurChoice, "";
    OWN_LENGTH_EASY = "hair-own-length-easy", "From this own length a slice holds without a second look.", 120.0, (100.0, 180.0), "mm", OurChoice, "";
    FINE_BELOW = "hair-fine-below", "A thinner strand than this is fine.", 60.0, (50.0, 65.0), "um", OurChoice, "rakowska2009";
    VERY_FINE_BELOW = "hair-very-fine-below", "Thinner than this, and sparse, the plan is smaller.", 55.0, (50.0, 60.0), "um", OurChoice, "rakowska2009";
    SPARSE_BELOW = "hair-sparse-below", "Fewer hairs than this to the square centimetre is sparse.", 120.0, (95.0, 150.0), "per_cm2", OurChoice, "birnbaum2018";
    TOO_SPARSE_BELOW = "hair-too-sparse-below", "Fewer hairs than this to the square centimetre carries no tapes.", 60.0, (60.0, 95.0), "per_cm2", OurChoice, "birnbaum2018";
    TIED_LOW_BELOW = "hair-tied-low-below", "Tied hair that measures less round than this is sparse.", 51.0, (40.0, 60.0), "mm", CommonPractice, "";
    USUAL_STRAND_FRONT = "hair-usual-strand-front", "Healthy women's strands at the forehead measured at least this on average.", 53.0, (53.0, 53.0), "um", Measured, "rakowska2009";
    USUAL_STRAND_ELSEWHERE = "hair-usual-strand-elsewhere", "Healthy women's strands elsewhere measured at least this on average.", 50.0, (50.0, 50.0), "um", Measured, "rakowska2009";
    PULL_USUAL = "hair-pull-usual", "A gentle pull on fifty to sixty hairs usually brings at most this many.", 2.0, (2.0, 2.0), "hairs", Measured, "mcdonald2017";
    BLEACH_WAIT = "hair-bleach-wait", "After lightening, this many days pass before tapes.", 14.0, (14.0, 42.0), "days", OurChoice, "";
    CLEARANCE_MORE = "clearance-more", "Fine hair, and hair often tied up, each multiply every clearance by this.", 1.25, (1.0, 1.6), "", OurChoice, "";
    LIGHT_SANDWICH = "load-light-sandwich", "Where light pieces are asked, a sandwich weighs at most this.", 3.0, (1.0, 4.0), "g", OurChoice, "";
    WEAR_CAP = "wear-cap", "Tapes come out no later than this many days after they went in.", 56.0, (28.0, 84.0), "days", Handbook, "aguhpodcast";
    RETURNS_LATEST = "life-returns-latest", "She must be able to come for a re-tape every so many weeks at the latest.", 8.0, (6.0, 12.0), "weeks", CommonPractice, "";
    EARLY_LOOK = "life-early-look", "Where an early look is asked, the bonds are looked at after this many days.", 14.0, (7.0, 21.0), "days", OurChoice, "";
    SPORT_OFTEN = "life-sport-often", "Sport so many times a week shortens the hold.", 4.0, (2.0, 7.0), "per week", OurChoice, "";
}

/// The rules of this chapter.
pub const RULES: &[&Rule] = &{
    const LEN: usize = NUMBERS.len() + irons::RULES.len() + patch_test::RULES.len() + remover::RULES.len() + plausible::RULES.len();
    let mut all: [&Rule; LEN] = [&OF_AGE; LEN];
    let parts: [&[&Rule]; 5] = [NUMBERS, irons::RULES, patch_test::RULES, remover::RULES, plausible::RULES];
    let (mut part, mut at) = (0, 0);
    while part < parts.len() {
        let mut inside = 0;
        while inside < parts[part].len() {
            all[at] = parts[part][inside];
            at += 1;
            inside += 1;
        }
        part += 1;
    }
    all
};
