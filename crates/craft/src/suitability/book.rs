//! The consultation's named rules: what was answered, what follows, and why.
//!
//! A rule names what was answered. It never names a disease that nobody
//! answered, and whatever stops the work says who to see about it.

use measure::Grade;
use serde::Serialize;

/// What follows when a rule is met, gentlest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// Said to the technician; the plan stays as it is.
    Note,
    /// The plan keeps to a limit.
    Limit,
    /// No tapes today.
    NotToday,
    /// No tapes until the person named has looked at it.
    Refer,
}

/// A limit that a rule sets on the plan or the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Change {
    /// More clearance because the hair hides little.
    ClearanceForFineHair,
    /// More clearance because the hair is often tied up.
    ClearanceForTiedHair,
    /// A slice bears less: age, or earlier loss.
    BearsLess,
    /// Lighter pieces, and a ceiling on the sandwich.
    LighterPieces,
    /// A remover and a cleaner without limonene and scent.
    LimoneneFree,
    /// Gloves without latex.
    LatexFree,
    /// Clips and pliers without nickel against the skin.
    NickelFree,
    /// Moving air, and the least volatile remover.
    Ventilate,
    /// A patch test before the day.
    PatchTest,
    /// A guardian signs.
    Guardian,
    /// She signs.
    Consent,
    /// Pieces go only where her hair is dense.
    DensePlacesOnly,
    /// A shorter time to the first look.
    EarlyLook,
}

impl Change {
    /// What it changes, in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ClearanceForFineHair => "more clearance at every edge, for hair that hides little",
            Self::ClearanceForTiedHair => "more clearance at every edge, for hair that is tied up",
            Self::BearsLess => "a slice is planned to bear less",
            Self::LighterPieces => "lighter pieces, with a ceiling on the sandwich",
            Self::LimoneneFree => "remover, cleaner and care without limonene and scent",
            Self::LatexFree => "gloves and bands without latex",
            Self::NickelFree => "combs, clips and pliers without nickel on her skin",
            Self::Ventilate => "moving air and the least volatile remover",
            Self::PatchTest => "a patch test, set and read before the day",
            Self::Guardian => "a guardian signs before her hair is touched",
            Self::Consent => "she signs before her hair is touched",
            Self::DensePlacesOnly => "pieces only where her hair is dense",
            Self::EarlyLook => "an early look at the bonds",
        }
    }
}

impl Effect {
    /// What follows, in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Note => "go ahead",
            Self::Limit => "within limits",
            Self::NotToday => "not today",
            Self::Refer => "refer",
        }
    }
}

/// The rule of that name.
///
/// ```
/// use craft::suitability::book::{Effect, rule_named};
/// assert_eq!(rule_named("scalp-pain").map(|rule| rule.effect), Some(Effect::Refer));
/// assert_eq!(rule_named("scalp-paint"), None);
/// ```
#[must_use]
pub fn rule_named(id: &str) -> Option<&'static ConsultationRule> {
    CONSULTATION.iter().copied().find(|rule| rule.id == id)
}

/// One named rule of the consultation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ConsultationRule {
    /// A short stable name.
    pub id: &'static str,
    /// What it says, to the technician.
    pub says: &'static str,
    /// Why, in plain words.
    pub reason: &'static str,
    /// What follows.
    pub effect: Effect,
    /// Who to see, or what to do first; empty when nothing is stopped.
    pub next: &'static str,
    /// The limits it sets.
    pub changes: &'static [Change],
    /// How well it is founded.
    pub grade: Grade,
    /// A key of SOURCES.bib; empty when there is none.
    pub source: &'static str,
}

macro_rules! rules {
    ($($name:ident = $id:literal, $effect:ident, $says:literal, $reason:literal, next $next:literal, [$($change:ident),*], $grade:ident, $source:literal;)+) => {
        $(
            #[doc = $says]
            pub const $name: ConsultationRule = ConsultationRule {
                id: $id,
                says: $says,
                reason: $reason,
                effect: Effect::$effect,
                next: $next,
                changes: &[$(Change::$change),*],
                grade: Grade::$grade,
                source: $source,
            };
        )+
        /// Every rule of the consultation, in the order it is gone through.
        pub const CONSULTATION: &[&ConsultationRule] = &[$(&$name),+];
    };
}

rules! {
    // Agreement.
    CONSENT_REFUSED = "consent-refused", NotToday, "She does not agree: no work is done.", "The work needs her agreement, and she may stop it at any time.", next "Talk it through; come back to it when she agrees.", [], CommonPractice, "";
    CONSENT_OPEN = "consent-open", Limit, "Her consent is signed before the hair is touched.", "It was not answered yet.", next "", [Consent], CommonPractice, "";
    GUARDIAN = "age-guardian", Limit, "Under age: a guardian signs before the hair is touched, and is there.", "She cannot sign alone, and pull on young hairlines begins its harm in childhood.", next "", [Guardian, EarlyLook], Measured, "afifi2021";
    GUARDIAN_REFUSED = "age-guardian-refused", NotToday, "Her guardian does not agree: no work is done.", "A minor cannot sign alone.", next "Talk it through with the guardian.", [], CommonPractice, "";
    CHILD = "age-child", NotToday, "A child does not wear tapes.", "Pull on young hairlines begins its harm in childhood.", next "Offer clip-in hair for the one day it is wanted.", [], OurChoice, "afifi2021";
    AGE_35 = "age-bears-less", Limit, "From this age a slice is planned to bear less.", "Loss by traction was found more often from 35 years on.", next "", [BearsLess], Measured, "cameroon223";

    // What she lived through with extensions.
    REACTED = "history-reacted", Refer, "She reacted to extensions, adhesive or remover before: no tapes and no test on her skin.", "A second contact can be far worse than the first, and a test is a contact.", next "A dermatologist, who can test safely and name what she must keep away from.", [], Measured, "thyssen2012";
    REACTED_UNKNOWN = "history-reaction-unknown", Limit, "Ask about earlier reactions before anything touches her skin.", "It was not answered; someone who reacted before is never tested.", next "", [], Measured, "thyssen2012";
    FIRST_TIME = "history-first-time", Limit, "First tapes: a patch test is set and read before the day, and the first look is early.", "Nobody knows yet how her skin and hair take it.", next "", [PatchTest, EarlyLook], Measured, "higgins2013";
    WORN_BEFORE = "history-worn-before", Note, "Worn before without a reaction: a new patch test is due for another tape, after a year, or after an illness or pregnancy.", "A clear test speaks for that tape and that time only.", next "", [], OurChoice, "higgins2013";
    PATCH_REACTED = "patch-reacted", Refer, "Her skin answered the patch test: no tapes.", "Something was seen under or about the patch.", next "A dermatologist; take the tape's and the remover's names and lots along.", [], Measured, "higgins2013";
    PATCH_OPEN = "patch-open", NotToday, "The patch test is set and not yet fully read: no tapes before both readings are clear.", "About a third of reactions show only at the second reading.", next "Read it at 48 and at 96 hours; the visit can be booked from then on.", [PatchTest], Measured, "higgins2013";
    UNANSWERED = "history-unanswered", Limit, "Questions of health and skin are open: ask them before the hair is touched.", "An open question is not a no.", next "", [], OurChoice, "";

    // Allergies.
    ALLERGY_ADHESIVE = "allergy-adhesive", Refer, "She answered an allergy to adhesives of the kind tapes are made with: no tapes and no test on her skin.", "Tape adhesive can carry remains of the same substances.", next "A dermatologist, for a proper patch test with the tape's ingredients.", [], Measured, "rolls2019";
    ALLERGY_COLOPHONY = "allergy-colophony", Refer, "She answered an allergy to colophony: no tapes unless the maker states in writing that there is none.", "Rosin is used to make adhesives tacky.", next "A dermatologist; bring the tape's safety data sheet.", [], CommonPractice, "";
    ALLERGY_SCENT = "allergy-scent", Limit, "She answered an allergy to limonene, linalool or scent: remover, cleaner and care without them.", "Limonene that has met air is a common allergen, and many removers are made with it.", next "", [LimoneneFree, PatchTest], Measured, "christensson2014";
    ALLERGY_LATEX = "allergy-latex", Limit, "She answered an allergy to latex: nitrile gloves, no latex bands, and the tape's sheet is read for natural rubber.", "Gloves, bands and some adhesives hold natural rubber.", next "", [LatexFree], CommonPractice, "";
    ALLERGY_NICKEL = "allergy-nickel", Limit, "She answered an allergy to nickel: combs, clips and pliers on her skin are free of nickel.", "Nickel is the most frequent allergen on scalps that were tested.", next "", [NickelFree], Measured, "scalpallergens2017";
    ATOPY = "allergy-atopy", Limit, "She answered hay fever, asthma or eczema: patch test, moving air, an early look.", "Such skin reacts to rubbing and to vapour sooner.", next "", [PatchTest, Ventilate, EarlyLook], Measured, "atopic2021";
    ALLERGY_UNKNOWN = "allergy-unknown", NotToday, "She answered an allergy that no rule here knows: not before it is clear whether tape, remover or care hold it.", "An answer is never passed over.", next "Ask her what happens and when, compare the safety data sheets, and have her ask her doctor.", [], OurChoice, "";

    // Scalp.
    SCALP_PAIN = "scalp-pain", Refer, "A sore, tender or burning scalp was answered: no tapes.", "Any pull makes it worse, and pain is among the early signs that hair is under too much of it.", next "A doctor or dermatologist.", [], Measured, "billero2018";
    SCALP_EDGES = "scalp-thinning-edges", Refer, "Thinning at the hairline was answered: no tapes and no tight styles.", "Lasting pull thins the hairline first, and what is lost late does not come back.", next "A dermatologist, soon: early it can grow back.", [], Measured, "billero2018";
    SCALP_PATCHES = "scalp-patchy-loss", Refer, "Bare or thin patches, or fast loss without a known cause, were answered: no tapes.", "Its cause has to be known first.", next "A dermatologist.", [], Handbook, "messenger2012";
    SCALP_SHEDDING = "scalp-shedding", Refer, "Much more hair than usual is coming out: no tapes.", "Tapes add pull and hide how much is lost; its cause has to be known first.", next "A doctor or dermatologist.", [], Measured, "sinclair2015";
    SCALP_BUMPS = "scalp-bumps", Refer, "Pustules or bumps at the roots were answered: no tapes.", "They are among the early signs of too much pull, and may also be an infection.", next "A doctor or dermatologist.", [], Measured, "billero2018";
    SCALP_BREAKAGE = "scalp-broken-hairs", Refer, "Many short broken hairs or white sleeves on the hairs were answered: no tapes.", "They are among the signs of pull that goes on.", next "A dermatologist.", [], Measured, "billero2018";
    SCALP_SCARRED = "scalp-smooth-bare-skin", Refer, "Smooth, bare or shiny skin where hair grew was answered: no tapes.", "Such places must not be pulled on.", next "A dermatologist.", [], Measured, "billero2018";
    SCALP_INFECTED = "scalp-infected", Refer, "An infection of the scalp was answered: no service on it.", "It can be passed on by tools and hands.", next "A doctor or pharmacist; come back when it is cleared.", [], Standard, "ccr16-984";
    SCALP_BROKEN_SKIN = "scalp-broken-skin", NotToday, "Broken, cut or weeping skin was answered: not before it is healed.", "Adhesive and remover do not belong on open skin.", next "A pharmacist or doctor if it does not heal within days.", [], Standard, "ccr16-984";
    SCALP_LICE = "scalp-lice", NotToday, "Lice were answered: no service before the morning after the first treatment, and no tapes until the head is clear.", "They are passed on by tools, and tapes hide them.", next "A pharmacist.", [], Standard, "ccr16-984";
    SCALP_FLAKING = "scalp-flaking", NotToday, "A flaking, itching or reddened scalp was answered: not before it is calm.", "A bond does not hold on flakes, and a restless scalp must not be covered.", next "A pharmacist or doctor.", [], Handbook, "aadpsoriasis";
    SCALP_SUNBURN = "scalp-sunburn", NotToday, "A sunburnt scalp was answered: not before it is healed.", "Remover and pull hurt burnt skin.", next "A pharmacist if it blisters.", [], CommonPractice, "";
    SCALP_THINNER = "scalp-thinner-overall", Limit, "Hair that became thinner on top or at the parting was answered: only light pieces, only where it is dense.", "Thin places cannot carry a slice; its cause is worth a look.", next "Suggest a talk with a doctor; it does not stop light work.", [LighterPieces, DensePlacesOnly, EarlyLook], Measured, "rakowska2009";
    SCALP_QUIET = "scalp-quiet-condition", Limit, "A scalp condition that is quiet was answered: nothing tight, an early look, and out at the first flare.", "A flare must not be covered or pulled on.", next "", [EarlyLook, ClearanceForTiedHair], Handbook, "aadpsoriasis";
    SCALP_UNKNOWN = "scalp-unknown", NotToday, "Something was answered of her scalp that no rule here knows: not before it is clear.", "An answer is never passed over.", next "Have a doctor or pharmacist look at it, or ask her again and choose the answer that fits.", [], OurChoice, "";

    // Health.
    CHEMOTHERAPY = "health-cancer-treatment", Refer, "Cancer treatment that takes hair was answered: no tapes.", "Hair and skin are at their weakest, and new hair has to carry itself first.", next "Her cancer team; to be thought of again with 100 mm of new even hair and their agreement.", [], Measured, "cancerie";
    CHEMOTHERAPY_OVER = "health-cancer-treatment-over", NotToday, "Cancer treatment that has ended was answered: not before there are 100 mm of new even hair and her team agrees.", "New hair grows about 10 mm a month and is fine at first.", next "Her cancer team.", [], Measured, "cancerie";
    POSTPARTUM = "health-postpartum", NotToday, "She gave birth lately: not before the months of shedding are over.", "Shedding begins two to five months after a birth and goes on for three to six.", next "Wait; a doctor if it goes on beyond a year. Leave the months out when she did not give birth lately.", [], OurChoice, "postpartum2016";
    POSTPARTUM_LATE = "health-postpartum-late", Limit, "She gave birth within the last year: light pieces, and only when hardly a hair comes with a gentle pull.", "Shedding may not be over.", next "", [LighterPieces, EarlyLook], OurChoice, "postpartum2016";
    ISOTRETINOIN = "health-isotretinoin", NotToday, "Isotretinoin was answered: not while she takes it.", "Skin and hair are dry and fragile under it.", next "Her doctor, about when it is over; never a word from us on stopping a medicine.", [], OurChoice, "";
    HAIR_LOSS_NAMED = "health-hair-loss-named", Refer, "A hair loss that a doctor has named was answered: no tapes until that doctor agrees.", "Only the doctor who knows it can say whether it bears any pull.", next "The doctor or dermatologist who named it.", [], Handbook, "messenger2012";
    EARLIER_LOSS = "health-earlier-loss", Limit, "Hair lost earlier by pull and grown back was answered: a slice bears less, and the first look is early.", "What gave way once gives way sooner.", next "", [BearsLess, EarlyLook], OurChoice, "billero2018";
    PULLS_HAIR = "health-pulls-hair", NotToday, "Pulling at her own hair was answered: not now.", "A bond invites the hand.", next "Whoever she trusts with it, or her doctor.", [], OurChoice, "";
    SCALP_OPERATION = "health-scalp-operation", NotToday, "An operation on the scalp or a hair transplant was answered: not before the surgeon agrees.", "Healing skin and new hairs bear no pull.", next "The surgeon or clinic.", [], OurChoice, "";
    PREGNANCY = "health-pregnancy", Limit, "Pregnancy was answered: moving air, the least volatile remover, short sittings, and shedding after the birth explained.", "Nothing found speaks against tapes; vapour and long sitting are to be kept small.", next "", [Ventilate, PatchTest], OurChoice, "";
    BREATHING = "health-breathing", Limit, "Trouble with breathing was answered: moving air and the least volatile remover.", "Vapour of remover can set it off.", next "", [Ventilate], CommonPractice, "";
    SCAN_DUE = "health-scan-due", Note, "A scan is due: tapes hold no metal, but she asks the radiology desk, and clips and beads come out.", "Metal and magnets do not go together.", next "", [], OurChoice, "";
    HEALTH_UNKNOWN = "health-unknown", NotToday, "Something was answered of her health that no rule here knows: not before it is clear.", "An answer is never passed over.", next "Have her ask her doctor whether tapes, pull and solvent vapour are all right for her.", [], OurChoice, "";

    // Her hair.
    OWN_TOO_SHORT = "hair-too-short", NotToday, "Her own hair is too short to hide and hold a sandwich.", "Short hair slips out of the bond and shows it.", next "Wait until it has grown.", [], OurChoice, "";
    OWN_SHORT = "hair-short", Limit, "Her own hair is only just long enough: check the length at every slice.", "Short hair slips out of the bond and shows it.", next "", [ClearanceForFineHair], OurChoice, "";
    FINE = "hair-fine", Limit, "Fine hair: more clearance.", "Fine hair hides a bond less.", next "", [ClearanceForFineHair], CommonPractice, "";
    FINE_AND_SPARSE = "hair-fine-and-sparse", Limit, "Fine and sparse hair: lighter pieces, more clearance, a smaller plan.", "Few thin hairs carry each sandwich, and hide it less.", next "", [LighterPieces, EarlyLook], OurChoice, "rakowska2009";
    SPARSE_FOR_ANYTHING = "hair-too-sparse", NotToday, "Her hair is too sparse to carry and hide tapes.", "No slice holds enough hairs.", next "Offer hair that hangs on nothing of hers; a doctor if it became so.", [], OurChoice, "birnbaum2018";
    THIN_STRANDS = "hair-thin-strands", Limit, "Her strands measure thinner than is usual: light pieces, only where it is dense; suggest a doctor's look.", "Healthy women's strands measured 50 micrometres or more on average.", next "Suggest a talk with a doctor; it does not stop light work.", [LighterPieces, DensePlacesOnly], Measured, "rakowska2009";
    TIED_OFTEN = "hair-tied-often", Limit, "Hair that is often tied up: more clearance at every edge.", "A tied style lifts the hair that hides the bond.", next "", [ClearanceForTiedHair], CommonPractice, "";
    PROCESSED = "hair-processed", Limit, "Bleached or relaxed hair: a slice bears less, and less heat.", "Pull on chemically treated hair was found with more than three times the odds of loss.", next "", [], Measured, "khumalo2008";
    BLEACHED_LATELY = "hair-bleached-lately", NotToday, "Lightened within the last two weeks: not yet.", "The hair is at its weakest and the skin still raw.", next "Book from two weeks after it.", [], OurChoice, "";
    OILY = "hair-oily", Note, "Oily roots: wash twice, no conditioner near the roots, look at the bonds early.", "Oil loosens a bond.", next "", [], CommonPractice, "";
    BLUNT_ENDS = "hair-blunt-ends", Note, "Blunt ends are softened before a piece goes in.", "A blunt line shows above longer hair.", next "", [], CommonPractice, "";

    // How she lives.
    CANNOT_RETURN = "life-cannot-return", NotToday, "She cannot come for a re-tape in time: tapes are not for her now.", "Left longer, they mat, pull and hurt.", next "Offer hair that she can take out herself.", [], Handbook, "aguhpodcast";
    SWIMS = "life-swims", Note, "She swims: rinse, plait, and expect a shorter hold.", "Water, chlorine and sun cream loosen bonds.", next "", [], CommonPractice, "";
    SPORT = "life-sport", Note, "Much sport: sweat and tying up shorten the hold; an early look.", "Sweat and oil loosen bonds.", next "", [EarlyLook], CommonPractice, "";
    HOT_TOOLS = "life-hot-tools", Note, "Hot tools: the cap for her hair, never near a bond.", "Heat softens adhesive and what it does to hair stays.", next "", [], Measured, "heat1984";
}
