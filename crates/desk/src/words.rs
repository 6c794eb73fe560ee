//! What the desk says of an act that cannot be done: every sentence once.
//!
//! The sentences stand in `words/en.ftl` (see [`measure::words`]); here are their names in
//! code. What the salon refuses is said there ([`salon::words`]).

measure::messages! {
    pub(crate) enum Message in include_str!("../words/en.ftl");
    LineNoJson "line-no-json" { cause },
    LineNoObject "line-no-object",
    ActUnknown "act-unknown" { act },
    ActUnlisted "act-unlisted" { act },
    KeyNotTaken "key-not-taken" { act, key, known },
    KeyNeeded "key-needed" { act, key },
    KeyUnread "key-unread" { key, cause },
    TimeNone "time-none",
    WordNone "word-none" { word, place, known },
    ChangedMeanwhile "changed-meanwhile" { what, now, seen },
    KeyStoodBefore "key-stood-before",
    Unknown "unknown" { what },
    ChangedElsewhere "changed-elsewhere" { now, seen },
    RecordsFault "records-fault" { fault },
    RingUnread "ring-unread" { cause },
    RingWrong "ring-wrong" { fault },
    PercentNone "percent-none",
    PriceNone "price-none",
    ZoneNone "zone-none",
    ConsentIncomplete "consent-incomplete",
    ConsentNotGiven "consent-not-given" { purpose },
    PiecesUncounted "pieces-uncounted" { most },
    DayNone "day-none" { cause },
    ExportWrong "export-wrong" { what },
    EventNone "event-none" { seq },
    EventOfAnother "event-of-another",
    ActNotCorrected "act-not-corrected" { act },
    ListBeyond "list-beyond" { name, lines, most },
    PackPriceBeyond "pack-price-beyond" { pack, minor, most },
    ShippingBeyond "shipping-beyond" { supplier, most },
    LotBeyond "lot-beyond" { lot, pieces, most },
    PackBeyond "pack-beyond" { pack, pieces, most },
    ErasedStays "erased-stays",
    SealedStays "sealed-stays",
    InvoicesStay "invoices-stay" { which },
    InvoicesLongAgo "invoices-long-ago",
    InvoicesAndEarlier "invoices-and-earlier" { numbers },
    RecordsWereErased "records-were-erased",
    OtherRecordsStay "other-records-stay" { records },
    OtherRecordErased "other-record-erased",
    ErasingOneOfSeveral "erasing-one-of-several" { records },
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
