//! What the program says of clients, plans, stock and quotes: every sentence once.
//!
//! The sentences stand in `words/en.ftl` (see [`measure::words`]); here are their names in code.

use crate::client::fact::{Fact, words_of};
use measure::words::Sentence;

impl Fact {
    /// What it is called where people read it, as the label of its field: `Her own length`.
    #[must_use]
    pub fn name(self) -> &'static str {
        Message::words().text(&id_of_name(self)).unwrap_or_else(|| self.key())
    }
}

/// The message that holds a fact's name: `fact-hair-own-length-mm`.
fn id_of_name(fact: Fact) -> String {
    format!("fact-{}", fact.key().replace(['.', '_'], "-"))
}

measure::messages! {
    pub enum Message in include_str!("../words/en.ftl");
    NumberOutside "number-outside" { value, unit, low, high },
    NumberInAnotherUnit "number-in-another-unit" { value, unit, low, high, likely, millimetres },
    NumberNone "number-none" { unit },
    NumberNotWhole "number-not-whole" { value },
    WordUnknown "word-unknown" { word, known },
    WordMisspelt "word-misspelt" { word, known, near },
    GoalMissing "goal-missing",
    WishAlreadyLong "wish-already-long" { wanted, own },
    FullnessTwice "fullness-twice",
    StylesEmpty "styles-empty",
    PatchLookIncomplete "patch-look-incomplete",
    HairMissing "hair-missing",
    StrandMethodMissing "strand-method-missing",
    StrandReadingMissing "strand-reading-missing",
    HairAmountsApart "hair-amounts-apart" { density, tied, times },
    LengthNone "length-none" { value },
    HeadMissing "head-missing",
    CrownIncomplete "crown-incomplete",
    PartingIncomplete "parting-incomplete",
    AvoidIncomplete "avoid-incomplete",
    ColourMissing "colour-missing",
    ColourTwice "colour-twice",
    PhotoWithoutMarks "photo-without-marks",
    MarksWithoutPhoto "marks-without-photo",
    ShadeEmpty "shade-empty",
    ColourNone "colour-none" { numbers },
    LengthsEmpty "lengths-empty",
    FileUnnamed "file-unnamed",
    CurrencyNone "currency-none" { code },
    AmountNegative "amount-negative" { minor },
    AmountWithoutCurrency "amount-without-currency",
    BudgetNothing "budget-nothing" { minor },
    BudgetWithoutCurrency "budget-without-currency",
    LastSliceIncomplete "last-slice-incomplete",
    ListTooLong "list-too-long" { entries, most },
    TextTooLong "text-too-long" { letters, most },
    PriceTooHigh "price-too-high" { minor, most },
    PartOpen "part-open",
    WantedLengthOpen "wanted-length-open",
    WantedLengthUnused "wanted-length-unused",
    FullnessOpen "fullness-open",
    StylesOpen "styles-open",
    TiedAndNever "tied-and-never",
    ReactedAndNeverWorn "reacted-and-never-worn",
    StrandOpen "strand-open",
    OwnLengthOpen "own-length-open",
    ProcessedOpen "processed-open",
    DensityRare "density-rare" { density },
    StrandsDisagree "strands-disagree",
    FactsChangedElsewhere "facts-changed-elsewhere" { now, seen },
    HealthWithoutConsent "health-without-consent",
    SignatureEmpty "signature-empty",
    SignatureUnreadable "signature-unreadable",
    NoSkinTestWaits "no-skin-test-waits",
    AnotherKindOfEvent "another-kind-of-event",
    PhoneNone "phone-none" { phone },
    EmailNone "email-none" { email },
    SameRecord "same-record",
    RecordIsSetAside "record-is-set-aside" { kept },
    NotSetAside "not-set-aside",
    OthersSetAsideForIt "others-set-aside-for-it",
    VisitGoesOnThere "visit-goes-on-there",
    BothWear "both-wear",
    WearsThere "wears-there",
    BagThere "bag-there" { pieces },
    SetAsideStops "set-aside-stops" { says },
    SkinTestReadThatDay "skin-test-read-that-day",
    SkinTestReadBeforeSet "skin-test-read-before-set" { set },
    SkinTestMissing "skin-test-missing",
    SkinTestUnread "skin-test-unread",
    SkinTestReacted "skin-test-reacted",
    SkinTestHalfRead "skin-test-half-read",
    VerdictStops "verdict-stops" { says },
    VisitIsOpen "visit-is-open" { kind, day },
    VisitBeforeLast "visit-before-last" { day },
    VisitNeedsPlan "visit-needs-plan",
    VisitIsClosed "visit-is-closed",
    StepBeforeVisit "step-before-visit" { day },
    VisitGoesOn "visit-goes-on",
    NoVisitIsOpen "no-visit-is-open",
    NothingIsSetAt "nothing-is-set-at" { kind },
    SetStillIn "set-still-in" { pieces: usize },
    SiteHoldsPieces "site-holds-pieces" { site },
    NothingAtSite "nothing-at-site" { site },
    MovedTooFar "moved-too-far" { moved, most },
    AddedNowhere "added-nowhere" { by },
    SliceBearsAlready "slice-bears-already" { site },
    OnePieceTwice "one-piece-twice",
    OnePieceHere "one-piece-here",
    PieceNeitherHersNorOnShelf "piece-neither-hers-nor-on-shelf",
    PieceNotHers "piece-not-hers",
    PieceTooWide "piece-too-wide",
    PieceHasNoNewTape "piece-has-no-new-tape",
    OwnPiecesWaitForTape "own-pieces-wait-for-tape" { pieces: usize },
    PieceIsInHair "piece-is-in-hair" { site },
    PieceIsNoMore "piece-is-no-more" { state },
    HalfIsNotCut "half-is-not-cut",
    NotOnShelf "not-on-shelf" { shade, length, others },
    ReasonMissing "reason-missing",
    SayWhatWasSeen "say-what-was-seen",
    RegrowthNone "regrowth-none" { says },
    NothingToUndo "nothing-to-undo",
    StillIn "still-in" { pieces: usize },
    ClosingChecksMissing "closing-checks-missing",
    BondsPull "bonds-pull",
    NotComfortable "not-comfortable",
    SomethingShows "something-shows",
    BondsTooNear "bonds-too-near" { mm, asked },
    ReasonTooLong "reason-too-long" { most },
    NoSuchNumber "no-such-number" { what },
    LotCountedSince "lot-counted-since",
    TooFewToTakeAway "too-few-to-take-away",
    InvoiceRetape "invoice-retape",
    VisitInvoiced "visit-invoiced" { invoice },
    InvoiceBeforeVisit "invoice-before-visit" { visited, day },
    DueBeforeInvoice "due-before-invoice" { day },
    InvoiceLineNegative "invoice-line-negative",
    InvoiceOfNothing "invoice-of-nothing",
    NoPlanPlaced "no-plan-placed",
    PlanWithoutPrice "plan-without-price",
    TaxTooFine "tax-too-fine" { percent },
    SumNone "sum-none" { minor },
    NothingOwed "nothing-owed" { invoice },
    MoreThanOwed "more-than-owed" { sum, owed, invoice },
    MoreThanPaid "more-than-paid" { sum, paid, invoice },
    SpanBackwards "span-backwards",
    DayIsPast "day-is-past" { day, today },
    DayIsFarOff "day-is-far-off" { day, days },
    MinutesNone "minutes-none",
    PastMidnight "past-midnight" { at },
    PersonIsTaken "person-is-taken" { day, at, ends },
    ChairIsTaken "chair-is-taken" { chair, day, at, ends },
    MinutesUnknown "minutes-unknown",
    AppointmentIsCancelled "appointment-is-cancelled",
    AppointmentOfAnother "appointment-of-another",
    PieceTooHeavy "piece-too-heavy" { grams, most },
    PiecesTooShort "pieces-too-short" { longest, short },
    ShadeNotOnRing "shade-not-on-ring" { code },
    ShadeNearOneOnRing "shade-near-one-on-ring" { code, near },
    PhotoUnread "photo-unread",
    NoMixNear "no-mix-near",
    PiecesNotToBeHad "pieces-not-to-be-had" { pieces: u32, shade, length },
    BudgetShort "budget-short" { short, reaches: u32, sandwiches },
    OffTheHead "off-the-head",
    NothingToKeep "nothing-to-keep",
    GramsNone "grams-none" { grams, most },
    NoPlaceLeft "no-place-left",
    WishNotFilled "wish-not-filled" { added, wished, lacks },
    WishWithoutRoom "wish-without-room" { added, wished, lacks },
    NoSiteOfPlan "no-site-of-plan" { name },
    NoRoomForGrams "no-room-for-grams" { grams },
    RoomForPartOfGrams "room-for-part-of-grams" { room, grams },
    NoRoomForAnother "no-room-for-another",
    CircumferencesAreTied "circumferences-are-tied",
    EndsToSoften "ends-to-soften",
    DensityReckoned "density-reckoned",
    NoRing "no-ring",
    ShadeByEye "shade-by-eye",
    RowsClose "rows-close" { spacing, usual },
    OneSideHeavier "one-side-heavier" { heavier, more, less },
    OverLoadEarly "over-load-early" { days },
    DueByGrowth "due-by-growth",
    DueBySlip "due-by-slip",
    DueByLoad "due-by-load",
    DueByLongest "due-by-longest",
    NoPartingHere "no-parting-here",
    WholeMayBeSet "whole-may-be-set",
    HalvesMayBeSet "halves-may-be-set",
    NothingFitsHere "nothing-fits-here",
    WaySingleSided "way-single-sided",
    WayLighterPieces "way-lighter-pieces" { grams },
    WayBold "way-bold",
    WayUsualCare "way-usual-care",
    WayLighterWish "way-lighter-wish" { wish },
    WayOtherLength "way-other-length" { millimetres },
    WayWithoutStyle "way-without-style" { style },
    QuoteTime "quote-time",
    QuoteTimeDetail "quote-time-detail" { minutes, sandwiches: u32 },
    QuoteOrdered "quote-ordered",
    QuoteOrderedDetail "quote-ordered-detail" { packs: u32 },
    QuoteShipping "quote-shipping",
    RetapeServes "retape-serves" { days: u32 },
    QuoteTabs "quote-tabs",
    QuoteTabsDetail "quote-tabs-detail" { pieces: u32 },
    OwnWornOut "own-worn-out" { pieces: u32 },
    QuoteShelf "quote-shelf",
    QuoteShelfDetail "quote-shelf-detail" { pieces: u32 },
    TimeNotQuoted "time-not-quoted",
    HairNotQuoted "hair-not-quoted",
    HairWorn "hair-worn" { times, days, retapes: u32, each },
    ShelfUnpriced "shelf-unpriced" { pieces: u32 },
    SupplierTwice "supplier-twice",
    PriceNone "price-none" { minor },
    PackTwice "pack-twice",
    SupplierUnknown "supplier-unknown" { supplier },
    PackEmpty "pack-empty" { pieces },
    NeedTooLarge "need-too-large" { pieces },
    LotTooLarge "lot-too-large" { pieces },
    SuppliersTooMany "suppliers-too-many" { count },
    CostBeyondSums "cost-beyond-sums",
}

/// A sentence that was kept by its words, with facts called by their names.
///
/// *Meaning*: plans and faults that were kept before sentences came from here name facts by
/// their keys in the file, as `hair.own_length_mm` or `(tied_circumference_mm)`. Nobody at the
/// chair reads keys; words that answer a fact, as `high_ponytail`, are told with spaces.
///
/// ```
/// use salon::words::without_keys;
/// assert_eq!(without_keys("hair.strand is missing: look."), "“Strand, by touch” was not asked: look.");
/// assert_eq!(without_keys("worn as a high_ponytail, e.g. daily"), "worn as a high ponytail, e.g. daily");
/// ```
#[must_use]
pub fn without_keys(kept: &str) -> String {
    let is_of_key = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '_' | '.');
    let mut out = String::new();
    let mut rest = kept;
    while let Some(at) = rest.find(is_of_key) {
        let (before, from) = rest.split_at(at);
        let end = from.find(|c| !is_of_key(c)).unwrap_or(from.len());
        let (run, after) = from.split_at(end);
        let word = run.trim_end_matches('.');
        out.push_str(before);
        match fact_named(word) {
            Some(fact) => out.push_str(&format!("“{}”", fact.name())),
            None if is_answer(word) => out.push_str(&word.replace('_', " ")),
            None => out.push_str(word),
        }
        out.push_str(&run[word.len()..]);
        rest = after;
    }
    out.push_str(rest);
    out.replace("” is missing", "” was not asked")
}

/// Whether a word is one that answers a fact in the file; a code of hers may look alike.
fn is_answer(word: &str) -> bool {
    Fact::ALL.iter().any(|fact| words_of(*fact).contains(&word))
}

/// The fact of a key: of section and key, or of a key that only one section has.
fn fact_named(word: &str) -> Option<Fact> {
    if word.contains('.') {
        return Fact::of_key(word);
    }
    let mut known = Fact::ALL.iter().copied().filter(|fact| word.contains('_') && fact.list().is_none() && fact.last_key() == word);
    known.next().filter(|_| known.next().is_none())
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::words::disagreements;

    #[test]
    fn every_sentence_is_in_the_file_and_the_file_says_nothing_else() {
        let names: Vec<String> = Fact::ALL.iter().map(|fact| id_of_name(*fact)).collect();
        assert_eq!(disagreements::<Message>(&["cure"], &names), Vec::<String>::new());
    }

    #[test]
    fn one_is_not_said_as_several() {
        let detail = |pieces| Message::QuoteShelfDetail { pieces }.to_string();
        assert_eq!([detail(1), detail(2)], ["1 piece at the price of the cheapest pack", "2 pieces at the price of the cheapest pack"]);
    }

    #[test]
    fn sentences_that_were_kept_are_told_without_keys() {
        for (kept, told) in [
            ("hair.strand is missing: a wide range is assumed.", "“Strand, by touch” was not asked: a wide range is assumed."),
            ("it was not measured (front_hairline_to_tape_mm): 10 mm", "it was not measured (“Front hairline to that tape”): 10 mm"),
            ("Write 2.5 g. e.g. nothing stays.", "Write 2.5 g. e.g. nothing stays."),
            ("Keep high_ponytail.", "Keep high ponytail."),
            ("shade ash_5 or S_05 is not on the ring", "shade ash_5 or S_05 is not on the ring"),
            ("Zoë’s, 12… hair.oil.", "Zoë’s, 12… “Roots”."),
            ("", ""),
        ] {
            assert_eq!(without_keys(kept), told);
        }
    }
}
