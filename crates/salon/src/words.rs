//! What the program says of clients, plans, stock and quotes: every sentence once.
//!
//! The sentences stand in `words/en.ftl`, as messages of Project Fluent, where whoever
//! mends or translates them needs no Rust. Code names a sentence by a [`Message`], a type
//! with the arguments that it needs: a sentence that is not there, or lacks an argument, does
//! not compile or fails a test. English is the only language for now. The text is the same on
//! every machine: no locale is asked, no marks of direction stand round arguments, and
//! numbers come written by [`measure::text`].

use crate::client::fact::{Fact, words_of};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;

const ENGLISH: &str = include_str!("../words/en.ftl");

static BUNDLE: LazyLock<FluentBundle<FluentResource>> = LazyLock::new(|| {
    let mut bundle = FluentBundle::new_concurrent(vec!["en".parse().unwrap_or_default()]);
    bundle.set_use_isolating(false);
    // What cannot be parsed is left out by itself; a test holds that there is nothing of the kind.
    let resource = FluentResource::try_new(ENGLISH.to_owned()).unwrap_or_else(|(rest, _)| rest);
    bundle.add_resource_overriding(resource);
    bundle
});

static NAMES: LazyLock<BTreeMap<Fact, String>> =
    LazyLock::new(|| Fact::ALL.iter().map(|fact| (*fact, said(&id_of_name(*fact), None, None))).collect());

impl Fact {
    /// What it is called where people read it, as the label of its field: `Her own length`.
    #[must_use]
    pub fn name(self) -> &'static str {
        NAMES.get(&self).map_or_else(|| self.key(), String::as_str)
    }
}

/// The message that holds a fact's name: `fact-hair-own-length-mm`.
fn id_of_name(fact: Fact) -> String {
    format!("fact-{}", fact.key().replace(['.', '_'], "-"))
}

/// A message's words, or those of one of its attributes; nothing where it has no such attribute.
fn said(id: &str, attribute: Option<&str>, args: Option<&FluentArgs>) -> String {
    let Some(message) = BUNDLE.get_message(id) else { return id.to_owned() };
    let pattern = match attribute {
        None => message.value(),
        Some(name) => message.get_attribute(name).map(|found| found.value()),
    };
    let mut errors = Vec::new();
    pattern.map_or_else(String::new, |pattern| BUNDLE.format_pattern(pattern, args, &mut errors).into_owned())
}

macro_rules! messages {
    ($($name:ident $id:literal $({ $($argument:ident),+ })?),+ $(,)?) => {
        /// A sentence of `words/en.ftl` with what it speaks of, every argument as it is written.
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[allow(missing_docs, reason = "what each says stands in words/en.ftl, under its id")]
        pub enum Message {
            $($name $({ $($argument: String),+ })?),+
        }

        impl Message {
            /// Every message by its name here and its id in the file.
            pub const ALL: &'static [(&'static str, &'static str)] = &[$((stringify!($name), $id)),+];

            /// Its id in the file.
            #[must_use]
            pub const fn id(&self) -> &'static str {
                match self { $(Self::$name { .. } => $id),+ }
            }

            fn arguments(&self) -> Vec<(&'static str, &str)> {
                match self { $(Self::$name $({ $($argument),+ })? => vec![$($((stringify!($argument), $argument.as_str())),+)?]),+ }
            }

            /// Each of them once, every argument its own name in brackets.
            #[cfg(test)]
            fn one_of_each() -> Vec<Self> {
                vec![$(Self::$name $({ $($argument: concat!("<", stringify!($argument), ">").to_owned()),+ })?),+]
            }
        }
    };
}

messages! {
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
    ErasingOneOfSeveral "erasing-one-of-several" { records },
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
    SetStillIn "set-still-in" { pieces },
    SiteHoldsPieces "site-holds-pieces" { site },
    NothingAtSite "nothing-at-site" { site },
    MovedTooFar "moved-too-far" { moved, most },
    OnePieceTwice "one-piece-twice",
    OnePieceHere "one-piece-here",
    PieceNeitherHersNorOnShelf "piece-neither-hers-nor-on-shelf",
    PieceNotHers "piece-not-hers",
    PieceTooWide "piece-too-wide",
    PieceHasNoNewTape "piece-has-no-new-tape",
    OwnPiecesWaitForTape "own-pieces-wait-for-tape" { pieces },
    PieceIsInHair "piece-is-in-hair" { site },
    PieceIsNoMore "piece-is-no-more" { state },
    HalfIsNotCut "half-is-not-cut",
    NotOnShelf "not-on-shelf" { shade, length, others },
    ReasonMissing "reason-missing",
    SayWhatWasSeen "say-what-was-seen",
    RegrowthNone "regrowth-none" { says },
    NothingToUndo "nothing-to-undo",
    StillIn "still-in" { pieces },
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
    MinutesUnknown "minutes-unknown",
    AppointmentIsCancelled "appointment-is-cancelled",
    AppointmentOfAnother "appointment-of-another",
    PieceTooHeavy "piece-too-heavy" { grams, most },
    PiecesTooShort "pieces-too-short" { longest, short },
    ShadeNotOnRing "shade-not-on-ring" { code },
    ShadeNearOneOnRing "shade-near-one-on-ring" { code, near },
    PhotoUnread "photo-unread",
    NoMixNear "no-mix-near",
    PiecesNotToBeHad "pieces-not-to-be-had" { pieces, shade, length },
    BudgetShort "budget-short" { short, reaches, sandwiches },
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
    QuoteTimeDetail "quote-time-detail" { minutes, sandwiches },
    QuoteOrdered "quote-ordered",
    QuoteOrderedDetail "quote-ordered-detail" { packs },
    QuoteShipping "quote-shipping",
    QuoteShelf "quote-shelf",
    QuoteShelfDetail "quote-shelf-detail" { pieces },
    TimeNotQuoted "time-not-quoted",
    HairNotQuoted "hair-not-quoted",
    HairWorn "hair-worn" { times, days, retapes, each },
    ShelfUnpriced "shelf-unpriced" { pieces },
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

impl Message {
    /// What to do, where the message says it; otherwise nothing.
    #[must_use]
    pub fn cure(&self) -> String {
        said(self.id(), Some("cure"), Some(&self.fluent()))
    }

    fn fluent(&self) -> FluentArgs<'_> {
        self.arguments().into_iter().map(|(name, text)| (name, FluentValue::String(Cow::Borrowed(text)))).collect()
    }
}

impl fmt::Display for Message {
    /// What is wrong, or is to be known.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&said(self.id(), None, Some(&self.fluent())))
    }
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
    use std::collections::BTreeSet;

    /// The ids of the file, read without its own reader.
    fn ids() -> Vec<&'static str> {
        let begins = |line: &&str| line.starts_with(|c: char| c.is_ascii_lowercase());
        ENGLISH.lines().filter(begins).filter_map(|line| line.split_once(" = ")).map(|(id, _)| id).collect()
    }

    #[test]
    fn the_file_is_read_to_its_end_and_no_message_stands_twice() {
        let read = FluentResource::try_new(ENGLISH.to_owned());
        assert!(read.is_ok(), "{:?}", read.err().map(|(_, errors)| errors));
        let once: BTreeSet<&str> = ids().into_iter().collect();
        assert_eq!(once.len(), ids().len());
    }

    #[test]
    fn every_message_is_in_the_file_and_the_file_says_nothing_else() {
        let known: BTreeSet<String> =
            Message::ALL.iter().map(|(_, id)| (*id).to_owned()).chain(Fact::ALL.iter().map(|fact| id_of_name(*fact))).collect();
        for id in &known {
            assert!(BUNDLE.has_message(id), "en.ftl has no {id}");
        }
        // What is no message of its own stands inside others.
        let inside = |id: &str| ENGLISH.contains(&format!("{{ {id} }}"));
        for id in ids() {
            assert!(known.contains(id) || inside(id), "en.ftl says {id}, which nothing asks for");
        }
    }

    #[test]
    fn every_message_says_each_of_its_arguments_and_nothing_that_it_lacks() {
        for message in Message::one_of_each() {
            let found = BUNDLE.get_message(message.id()).unwrap();
            let args = message.fluent();
            let mut errors = Vec::new();
            let mut all = BUNDLE.format_pattern(found.value().unwrap(), Some(&args), &mut errors).into_owned();
            for attribute in found.attributes() {
                assert_eq!(attribute.id(), "cure", "{} has {}", message.id(), attribute.id());
                all.push_str(&BUNDLE.format_pattern(attribute.value(), Some(&args), &mut errors));
            }
            assert!(errors.is_empty(), "{}: {errors:?}", message.id());
            for (name, text) in message.arguments() {
                assert!(all.contains(text), "{} never says {name}", message.id());
            }
            assert!(!all.contains(['{', '}', '\u{2068}', '\u{2069}']), "{all}");
        }
    }

    /// A key of the file, or an example of how the file is written, means nothing at the chair.
    #[test]
    fn no_sentence_shows_how_a_file_is_written() {
        let written = |text: &str| {
            let snake = |word: &str| word.contains('_') && word.chars().any(char::is_alphabetic);
            text.split(|c: char| !(c.is_alphanumeric() || c == '_')).any(snake) || text.contains(" = \"") || text.contains(" = [")
        };
        for message in Message::one_of_each() {
            for text in [message.to_string(), message.cure()] {
                let bare = message.arguments().into_iter().fold(text, |text, (_, said)| text.replace(said, ""));
                assert!(!written(&bare), "{}: {bare}", message.id());
            }
        }
        for fact in Fact::ALL {
            assert!(!written(fact.name()) && fact.name() != id_of_name(*fact), "{fact}");
        }
        assert!(written("Write goal = \"both\".") && written("leave own_length_mm out") && !written("Measure again."));
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
