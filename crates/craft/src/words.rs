//! What the trade's rules say: every sentence once.
//!
//! The sentences stand in `words/en.ftl` (see [`measure::words`]); here are their names in
//! code. What a rule with a number says stands beside its number, since whoever checks the
//! one reads the other; so do the reasons why a limit is of its kind. Where a fault lies is
//! written as the floor above reads it, and is no sentence.

measure::messages! {
    pub(crate) enum Message in include_str!("../words/en.ftl");
    VerdictGoAhead "verdict-go-ahead",
    VerdictWithinLimits "verdict-within-limits",
    VerdictNotToday "verdict-not-today",
    VerdictRefer "verdict-refer",
    GoAhead "go-ahead",
    GoAheadWithinLimit "go-ahead-within-limit",
    GoAheadWithinLimits "go-ahead-within-limits",
    NotToday "not-today" { says, because, next },
    Refer "refer" { says, because, next },
    BecauseConsentRefused "because-consent-refused",
    BecauseConsentOpen "because-consent-open",
    BecauseAge "because-age" { years },
    BecauseGuardianRefused "because-guardian-refused" { years },
    BecauseReacted "because-reacted",
    BecauseReactionOpen "because-reaction-open",
    BecausePatchSeen "because-patch-seen",
    BecausePatchUnread "because-patch-unread",
    BecausePatchHalfRead "because-patch-half-read",
    BecauseWornBefore "because-worn-before",
    BecauseNeverWorn "because-never-worn",
    BecauseWornOpen "because-worn-open",
    BecauseAllergy "because-allergy" { answer },
    BecauseScalp "because-scalp" { answer },
    BecauseHealth "because-health" { answer },
    BecauseBirth "because-birth" { months },
    BecauseOwnLength "because-own-length" { length },
    BecauseRelaxed "because-relaxed",
    BecauseBleached "because-bleached",
    BecauseLightened "because-lightened" { days: u64 },
    BecauseOily "because-oily",
    BecauseBlunt "because-blunt",
    BecauseStrand "because-strand" { micrometres },
    BecauseStrandFine "because-strand-fine",
    BecauseDensity "because-density" { density },
    BecauseTied "because-tied" { round },
    BecauseTiedOften "because-tied-often",
    BecauseTiedHigh "because-tied-high",
    BecauseReturns "because-returns" { weeks },
    BecauseSwims "because-swims",
    BecauseSport "because-sport" { times },
    BecauseHotTools "because-hot-tools" { often },
    BecauseUnanswered "because-unanswered" { questions },
    OpenAge "open-age",
    OpenReaction "open-reaction",
    OpenAllergies "open-allergies",
    OpenScalp "open-scalp",
    OpenHealth "open-health",
    FloorBareSkin "floor-bare-skin",
    FloorKeptFree "floor-kept-free",
    FloorPassedOver "floor-passed-over",
    FloorNearNape "floor-near-nape",
    FloorNearFace "floor-near-face",
    FloorNearEar "floor-near-ear",
    FloorNearBehindEar "floor-near-behind-ear",
    FloorCrown "floor-crown",
    FloorTop "floor-top",
    FloorSparse "floor-sparse",
    FloorSectionLine "floor-section-line",
    FloorBow "floor-bow",
    FloorTabGap "floor-tab-gap",
    FloorRowSpacing "floor-row-spacing",
    FloorBrick "floor-brick",
    FloorRest "floor-rest",
    FloorShows "floor-shows",
    FloorTooHeavy "floor-too-heavy",
    NoPartingStarts "no-parting-starts" { up },
    TabBeyondParting "tab-beyond-parting",
    LikelyShows "likely-shows" { style },
    BorderNape "border-nape",
    BorderFace "border-face",
    BorderEar "border-ear",
    BorderBehindEar "border-behind-ear",
    PlaceUp "place-up" { up },
    PlaceUpAndAlong "place-up-and-along" { up, along },
    MayShow "may-show" { style, chances: u64 },
    CarriesMuch "carries-much" { times, end },
    LittleClearance "little-clearance" { free, border },
    DoesNotRest "does-not-rest",
    WhyClearance "why-clearance" { free, border, least },
    WhyFirstParting "why-first-parting" { up },
    WhyMargin "why-margin" { tab, slice },
    WhySlice "why-slice" { thickness, least, most },
    WhySliceMarked "why-slice-marked" { thickness, most },
    WhyHidden "why-hidden" { style, hidden, deep, wished, chances: u64 },
    WhySideBySide "why-side-by-side",
    WhyBrick "why-brick",
    WhyCarriedLast "why-carried-last",
    WhyCarriedBeforeLast "why-carried-before-last",
    WhyHalf "why-half",
    WhyLone "why-lone",
    AlreadyInOffHair "already-in-off-hair",
    ShortOfWish "short-of-wish" { grams, cause },
    NoRoomOnRows "no-room-on-rows",
    PiecesAllTooHeavy "pieces-all-too-heavy" { grams },
    NoPieceOffered "no-piece-offered",
    NoPartingBetween "no-parting-between" { nape, crown },
    NoPlaceForTab "no-place-for-tab",
    AllKeptFree "all-kept-free",
    CureLighterPieces "cure-lighter-pieces" { grams },
    CureHalfPieces "cure-half-pieces",
    CureSingleSided "cure-single-sided",
    CureFewerStyles "cure-fewer-styles",
    CureNone "cure-none",
    CureEither "cure-either" { cures },
    CureOr "cure-or",
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::suitability::CONSULTATION;
    use crate::suitability::book::id_of_words;
    use measure::words::disagreements;

    #[test]
    fn every_sentence_is_in_the_file_and_the_file_says_nothing_else() {
        let rules: Vec<String> = CONSULTATION.iter().map(|rule| id_of_words(rule)).collect();
        assert_eq!(disagreements::<Message>(&rules), Vec::<String>::new());
        for rule in CONSULTATION {
            assert!(!rule.says().is_empty() && !rule.reason().is_empty(), "{} says nothing, or not why", rule.id);
        }
    }
}
