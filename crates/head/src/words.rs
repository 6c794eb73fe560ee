//! What is said of a head's measures and marks: every sentence once.
//!
//! The sentences stand in `words/en.ftl` (see [`measure::words`]); here are their names in
//! code. What is wrong with a mesh or a template of harmonics is told to whoever wrote that
//! file, line by line, and stays beside the reading of it.

measure::messages! {
    pub(crate) enum Message in include_str!("../words/en.ftl");
    TapeRound "tape-round",
    TapeOverTop "tape-over-top",
    TapeFront "tape-front",
    TapeNape "tape-nape",
    TapeBehind "tape-behind",
    CalliperLength "calliper-length",
    CalliperBreadth "calliper-breadth",
    KeptBecause "kept-because" { what, reason },
    NoLength "no-length" { tape, read, least, most },
    Odd "odd" { tape, read, least, most },
    OddBeyondAll "odd-beyond-all" { tape, read, least, most },
    OddByUnit "odd-by-unit" { tape, read, least, most, unit, then },
    Inches "inches",
    Centimetres "centimetres",
    InchesAsCentimetres "inches-as-centimetres",
    TenTimesTooLarge "ten-times-too-large",
    LongerThan "longer-than" { tape, read, than, round },
    HalfRound "half-round",
    FourFifthsRound "four-fifths-round",
    DoubtLonger "doubt-longer" { tape, by },
    DoubtShorter "doubt-shorter" { tape, by },
    MarkOutside "mark-outside" { mark, read, least, most },
    MarkNapeBelowOcciput "mark-nape-below-occiput",
    MarkFrontPeak "mark-front-peak",
    MarkRecession "mark-recession",
    MarkCrownBehind "mark-crown-behind",
    MarkCrownBeside "mark-crown-beside",
    MarkNapeHalfWidth "mark-nape-half-width",
    MarkNapeCornerRise "mark-nape-corner-rise",
    MarkBehindEar "mark-behind-ear",
    MarkTemple "mark-temple",
    MarkEarLineBack "mark-ear-line-back",
    PartingNone "parting-none" { long, up },
    PartingTilted "parting-tilted" { up, higher },
    PartingDisagrees "parting-disagrees" { up, taped, given },
    CornerUnderEar "corner-under-ear",
    NapeBeyondHead "nape-beyond-head",
    FrontBeyondHead "front-beyond-head",
    NapeAboveBack "nape-above-back",
    NapeBelowHead "nape-below-head",
    NoLineFromEars "no-line-from-ears",
    TempleBeyondHead "temple-beyond-head",
    FrontUnmeasured "front-unmeasured",
    NapeUnmeasured "nape-unmeasured",
    CrownUnmarked "crown-unmarked",
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::words::disagreements;

    #[test]
    fn every_sentence_is_in_the_file_and_the_file_says_nothing_else() {
        assert_eq!(disagreements::<Message>(&["cure"], &[]), Vec::<String>::new());
    }
}
