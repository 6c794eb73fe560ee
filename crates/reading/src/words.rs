//! What is said of a picture and of what was read in it: every sentence once.
//!
//! The sentences stand in `words/en.ftl` (see [`measure::words`]); here are their names in
//! code. What is wrong is told apart by its type and never by its words.

measure::messages! {
    pub(crate) enum Message in include_str!("../words/en.ftl");
    Black "black",
    CornersOutside "corners-outside",
    CornersCross "corners-cross",
    CornersTurned "corners-turned",
    CornersClose "corners-close",
    LeftOutUnknown "left-out-unknown",
    LeftOutTooMany "left-out-too-many",
    ChartTurned "chart-turned",
    ChartMissing "chart-missing",
    ChartTooAlike "chart-too-alike",
    OutlineCorners "outline-corners",
    OutlineOutside "outline-outside",
    OutlineCrosses "outline-crosses",
    OutlineSmall "outline-small",
    OutlineOnChart "outline-on-chart",
    OutlineEmpty "outline-empty",
    OutlineStrands "outline-strands",
    OutlineOfRing "outline-of-ring",
    OutlineBeside "outline-beside",
    TooDark "too-dark",
    LightTooUneven "light-too-uneven",
    TooBright "too-bright",
    TooUnsure "too-unsure" { units, worst },
    WorstChart "worst-chart",
    WorstGreys "worst-greys",
    WorstLight "worst-light",
    WorstClipping "worst-clipping",
    WorstGloss "worst-gloss",
    PatchesCovered "patches-covered" { patches },
    SwatchUnread "swatch-unread" { code, why },
    LightChanges "light-changes",
    OneTooBright "one-too-bright" { patch },
    SeveralTooBright "several-too-bright" { patches },
    OneNotUsed "one-not-used" { patch },
    SeveralNotUsed "several-not-used" { patches },
    TwoLights "two-lights",
    HairDark "hair-dark",
    HairGlossy "hair-glossy",
    HairWhiteWithShine "hair-white-with-shine",
    HalfLevelUnsure "half-level-unsure",
    ChartSmall "chart-small" { pixels },
    Patch "patch" { look, place, row },
    NoPatch "no-patch",
    Patches "patches" { looks },
    LookBrown "look-brown",
    LookPalePink "look-pale-pink",
    LookGreyBlue "look-grey-blue",
    LookDullGreen "look-dull-green",
    LookLilac "look-lilac",
    LookPaleTurquoise "look-pale-turquoise",
    LookOrange "look-orange",
    LookDarkBlue "look-dark-blue",
    LookCoralRed "look-coral-red",
    LookDarkPurple "look-dark-purple",
    LookYellowGreen "look-yellow-green",
    LookGoldenYellow "look-golden-yellow",
    LookDeepBlue "look-deep-blue",
    LookGreen "look-green",
    LookRed "look-red",
    LookYellow "look-yellow",
    LookPink "look-pink",
    LookTurquoiseBlue "look-turquoise-blue",
    LookWhite "look-white",
    LookLightestGrey "look-lightest-grey",
    LookLightGrey "look-light-grey",
    LookMiddleGrey "look-middle-grey",
    LookDarkGrey "look-dark-grey",
    LookBlack "look-black",
    First "first",
    Second "second",
    Third "third",
    Fourth "fourth",
    Fifth "fifth",
    Last "last",
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::words::disagreements;

    #[test]
    fn every_sentence_is_in_the_file_and_the_file_says_nothing_else() {
        assert_eq!(disagreements::<Message>(&[], &[]), Vec::<String>::new());
    }
}
