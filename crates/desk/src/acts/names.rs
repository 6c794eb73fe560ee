//! The acts by name, and the words that each may bear.

/// Every act with the keys it takes; those in brackets may be left out.
pub const ACTS: &[(&str, &[&str])] = &[
    (
        "house set",
        &[
            "[name]",
            "[currency]",
            "[zone]",
            "[tax_percent]",
            "[prices_include_tax]",
            "[hour_minor]",
            "[tape_tab_minor]",
            "[deposit_percent]",
            "[pieces]",
            "[version]",
        ],
    ),
    ("person add", &["name", "role"]),
    ("ring set", &["shades", "[version]"]),
    ("prices set", &["packs", "suppliers", "currency", "[version]"]),
    ("client add", &["facts", "[consents]", "[label]"]),
    ("client change", &["client", "facts", "[consents]", "[label]", "[version]"]),
    ("client erase", &["client", "reason"]),
    ("consent give", &["client", "purpose", "wording", "[version]"]),
    ("consent withdraw", &["client", "purpose", "[version]"]),
    ("skin test set", &["client", "lot", "place", "[version]"]),
    ("skin test read", &["client", "found", "[version]"]),
    (
        "pack receive",
        &["lot", "supplier", "shade", "length_mm", "pieces", "[mass_g]", "[tab_width_mm]", "[price_minor]", "packs", "[version]"],
    ),
    ("shelf count", &["shade", "length_mm", "lot", "pieces", "reason", "[version]"]),
    ("shelf count all", &["on_hand", "[version]"]),
    ("colour keep", &["client", "reading", "[version]"]),
    ("plan make", &["client", "[seed]", "[version]"]),
    ("plan place day", &["plan", "day", "[version]"]),
    ("layout keep", &["plan", "sites", "[taken_out]", "[add_g]", "[version]"]),
    ("visit begin", &["client", "kind", "[plan]", "[version]"]),
    ("visit replan", &["visit", "plan", "[version]"]),
    ("piece place", &["visit", "site", "[upper]", "[lower]", "[moved_mm]", "[version]"]),
    ("piece skip", &["visit", "site", "reason", "[version]"]),
    ("piece halve", &["piece"]),
    ("piece take out", &["visit", "site", "state", "[shed_hairs]", "[version]"]),
    ("piece clean", &["visit", "piece", "[version]"]),
    ("piece re-tape", &["visit", "piece", "[version]"]),
    ("piece retire", &["visit", "piece", "reason", "[version]"]),
    ("step undo", &["visit", "[version]"]),
    ("regrowth measure", &["visit", "site", "mm", "[version]"]),
    ("scalp see", &["visit", "region", "found", "[version]"]),
    ("visit close", &["visit", "[moves_freely]", "[mm_off_scalp]", "[nothing_shows]", "[comfortable]", "[version]"]),
    ("correct", &["event", "instead"]),
    ("appointment book", &["client", "kind", "day", "at", "[minutes]", "[person]", "[chair]", "[version]"]),
    ("appointment move", &["appointment", "[client]", "[day]", "[at]", "[minutes]", "[person]", "[version]"]),
    ("appointment cancel", &["appointment", "[client]", "[reason]", "[version]"]),
    ("invoice make", &["client", "visit", "[name]", "[due]", "[version]"]),
    ("payment take", &["invoice", "minor", "by", "[person]", "[version]"]),
    ("payment return", &["invoice", "minor", "by", "[person]", "[version]"]),
];

/// Keys that every act takes; where an act takes one of them for itself, it means that:
/// the time of an appointment, the way something is paid.
pub(super) const COMMON: &[&str] = &["act", "on", "at", "by", "key", "because"];
