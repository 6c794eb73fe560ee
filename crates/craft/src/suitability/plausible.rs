//! What an answer can be at all: outside its range it was misread or mistyped.
//!
//! The value is the usual one; the range is what is taken without a question.

use measure::{Grade, Rule};

numbers! {
    /// The rules of what an answer can be.
    pub const RULES;
    AGE = "usual-age", "A client's age.", 34.0, (3.0, 110.0), "years", OurChoice, "";
    HAIR_LENGTH = "usual-hair-length", "Hair, from the nape.", 350.0, (10.0, 2000.0), "mm", OurChoice, "";
    TIED = "usual-tied-hair", "Tied hair, round.", 80.0, (15.0, 250.0), "mm", OurChoice, "";
    DENSITY = "usual-density", "Hairs on a square centimetre.", 190.0, (30.0, 400.0), "hairs/cm2", OurChoice, "barman1965";
    DIAMETER = "usual-diameter", "Thickness of a strand, in all people measured.", 65.0, (15.0, 181.0), "um", Handbook, "robbins2012";
    AMOUNTS_APART = "usual-amounts-apart", "A count and a tied tail may tell of amounts of hair so many times apart.", 4.0, (2.0, 6.0), "", OurChoice, "";
    ADDED_MASS = "usual-added-mass", "Hair added in one set.", 100.0, (2.0, 500.0), "g", OurChoice, "";
    SPORT = "usual-sport", "Sport in a week.", 2.0, (0.0, 21.0), "times", OurChoice, "";
    POSTPARTUM = "usual-postpartum", "Months since a birth that are worth saying.", 12.0, (0.0, 60.0), "months", OurChoice, "";
    BLEACHED = "usual-bleached", "Days since hair was lightened.", 30.0, (0.0, 3650.0), "days", OurChoice, "";
    RETURNS = "usual-returns", "Weeks between two visits.", 7.0, (1.0, 52.0), "weeks", CommonPractice, "";
    PATCH_HOURS = "usual-patch-hours", "Hours between setting a patch and looking at it.", 48.0, (0.0, 2000.0), "h", OurChoice, "";
    HEAD_ROUND = "usual-head-round", "The tape round the head, over smooth hair.", 560.0, (440.0, 680.0), "mm", OurChoice, "";
    TEMPLE_AT = "usual-temple-reading", "How far up the sectioning line from the top of the ear the temple is read in the drawing.", 45.0, (25.0, 80.0), "mm", OurChoice, "";
    NAPE_BELOW_OCCIPUT = "usual-nape-below-occiput", "The nape hairline lies so far below the occipital bone.", 35.0, (5.0, 120.0), "mm", OurChoice, "";
    CROWN_BEHIND_TAPE = "usual-crown-behind-tape", "The crown whorl lies so far behind the ear-to-ear tape, along the middle.", 62.5, (0.0, 140.0), "mm", OurChoice, "";
    CROWN_ASIDE = "usual-crown-aside", "The crown whorl lies so far from the middle, + to her right.", 0.0, (-60.0, 60.0), "mm", OurChoice, "";
    FRONT_PEAK = "usual-front-peak", "A peak of the front hairline comes down so far.", 0.0, (0.0, 40.0), "mm", OurChoice, "";
    RECESSION = "usual-temple-recession", "The front hairline runs back so far at the temples.", 22.0, (0.0, 70.0), "mm", OurChoice, "";
    NAPE_HALF_WIDTH = "usual-nape-half-width", "The nape hairline from its middle to the corner where it turns up.", 45.0, (25.0, 70.0), "mm", OurChoice, "";
    NAPE_CORNER_RISE = "usual-nape-corner-rise", "The nape hairline's corner lies so much higher (+) or lower (-) than its middle.", 0.0, (-20.0, 25.0), "mm", OurChoice, "";
    BEHIND_EAR_BARE = "usual-behind-ear-bare", "Bare skin behind the ear, at the height of the notch.", 10.0, (0.0, 25.0), "mm", OurChoice, "";
    TEMPLE_HAIRLINE = "usual-temple-hairline", "From the ear-to-ear line level forward to the hairline, 45 mm above the ear.", 65.0, (45.0, 90.0), "mm", OurChoice, "";
    EAR_LINE_BACK = "usual-ear-line-back", "The ear-to-ear line is combed so far behind the top of the ear.", 0.0, (-20.0, 20.0), "mm", OurChoice, "";
    PARTING_TILT = "usual-parting-tilt", "One end of a level parting lies so much higher than the other, by the tape's own error.", 0.0, (-10.0, 10.0), "mm", OurChoice, "";
    PARTING_LENGTH = "usual-parting-length", "A parting over the back, to the ear-to-ear lines or the hair's edge.", 220.0, (40.0, 500.0), "mm", OurChoice, "";
    ABOVE_NAPE = "usual-above-nape", "Where a parting starts, up the middle from the nape hairline.", 60.0, (0.0, 450.0), "mm", OurChoice, "";
    ALONG = "usual-along", "A place along a parting, from the middle.", 0.0, (-350.0, 350.0), "mm", OurChoice, "";
    TAB_WIDTH = "usual-tab-width", "Width of a tab.", 40.0, (8.0, 80.0), "mm", CommonPractice, "";
    TAB_HEIGHT = "usual-tab-height", "Height of a tab.", 9.0, (3.0, 20.0), "mm", CommonPractice, "";
    PIECE_MASS = "usual-piece-mass", "Mass of one piece.", 2.5, (0.3, 6.0), "g", CommonPractice, "";
    PIECE_LENGTH = "usual-piece-length", "Length of the hair of a piece.", 500.0, (100.0, 1200.0), "mm", CommonPractice, "";
}
