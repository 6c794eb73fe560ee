# What the trade's rules say of a client, a place and a piece, in English.
#
# Numbers come written (measure::text); what is counted comes as a number, so that one may
# be said in other words than several. `.cure` is what to do. A rule of the consultation
# stands under its id: what it says, its `.reason`, and in `.next` who to see or what to do
# first, where it stops the work. What a rule with a number says stands beside its number
# (docs/rules.md), and not here.

### Verdicts.

verdict-go-ahead = go ahead
verdict-within-limits = go ahead within limits
verdict-not-today = not today
verdict-refer = refer

go-ahead = Go ahead: nothing answered stands against it.
go-ahead-within-limit = Go ahead within limits: one rule sets what the plan keeps to.
go-ahead-within-limits = Go ahead within limits: several rules set what the plan keeps to.
not-today = { $says } ({ $because }) { $next }
refer = { $says } ({ $because }) To see first: { $next }

### What was answered, beside the rule that it met.

because-consent-refused = consent: no
because-consent-open = consent: not answered
because-age = age: { $years }
because-guardian-refused = age: { $years }; guardian's consent: no
because-reacted = reacted before: yes
because-reaction-open = reacted before: not answered
because-patch-seen = patch test: something was seen
because-patch-unread = patch test: set, not read
because-patch-half-read = patch test: one reading of two
because-worn-before = extensions before: yes
because-never-worn = extensions before: no
because-worn-open = extensions before: not answered
because-allergy = allergies: { $answer }
because-scalp = scalp: { $answer }
because-health = health: { $answer }
because-birth = months since a birth: { $months }
because-own-length = own length: { $length }
because-relaxed = chemical services: relaxed
because-bleached = chemical services: bleached
because-lightened = { $days ->
    [one] lightened { $days } day ago
   *[other] lightened { $days } days ago
}
because-oily = roots: oily
because-blunt = ends: blunt
because-strand = strand: { $micrometres } um
because-strand-fine = strand: fine
because-density = density: { $density } to the cm2
because-tied = tied hair: { $round } round
because-tied-often = ties it up: often
because-tied-high = wears it tied high
because-returns = can come every { $weeks } weeks
because-swims = swims: yes
because-sport = sport: { $times } times a week
because-hot-tools = hot tools: { $often }
because-unanswered = not answered: { $questions }

### Questions that are still open.

open-age = how old she is
open-reaction = whether she ever reacted to extensions, adhesive or remover
open-allergies = what she is allergic to
open-scalp = what is seen or felt on her scalp
open-health = her health and medicines

### The rules of the consultation, in the order they are gone through.

## Agreement.
consultation-consent-refused = She does not agree: no work is done.
    .reason = The work needs her agreement, and she may stop it at any time.
    .next = Talk it through; come back to it when she agrees.
consultation-consent-open = Her consent is signed before the hair is touched.
    .reason = It was not answered yet.
consultation-age-guardian = Under age: a guardian signs before the hair is touched, and is there.
    .reason = She cannot sign alone, and pull on young hairlines begins its harm in childhood.
consultation-age-guardian-refused = Her guardian does not agree: no work is done.
    .reason = A minor cannot sign alone.
    .next = Talk it through with the guardian.
consultation-age-child = A child does not wear tapes.
    .reason = Pull on young hairlines begins its harm in childhood.
    .next = Offer clip-in hair for the one day it is wanted.
consultation-age-bears-less = From this age a slice is planned to bear less.
    .reason = Loss by traction was found more often from 35 years on.

## What she lived through with extensions.
consultation-history-reacted = She reacted to extensions, adhesive or remover before: no tapes and no test on her skin.
    .reason = A second contact can be far worse than the first, and a test is a contact.
    .next = A dermatologist, who can test safely and name what she must keep away from.
consultation-history-reaction-unknown = Ask about earlier reactions before anything touches her skin.
    .reason = It was not answered; someone who reacted before is never tested.
consultation-history-first-time = First tapes: a patch test is set and read before the day, and the first look is early.
    .reason = Nobody knows yet how her skin and hair take it.
consultation-history-worn-before = Worn before without a reaction: a new patch test is due for another tape, after a year, or after an illness or pregnancy.
    .reason = A clear test speaks for that tape and that time only.
consultation-patch-reacted = Her skin answered the patch test: no tapes.
    .reason = Something was seen under or about the patch.
    .next = A dermatologist; take the tape's and the remover's names and lots along.
consultation-patch-open = The patch test is set and not yet fully read: no tapes before both readings are clear.
    .reason = About a third of reactions show only at the second reading.
    .next = Read it at 48 and at 96 hours; the visit can be booked from then on.
consultation-history-unanswered = Questions of health and skin are open: ask them before the hair is touched.
    .reason = An open question is not a no.

## Allergies.
consultation-allergy-adhesive = She answered an allergy to adhesives of the kind tapes are made with: no tapes and no test on her skin.
    .reason = Tape adhesive can carry remains of the same substances.
    .next = A dermatologist, for a proper patch test with the tape's ingredients.
consultation-allergy-colophony = She answered an allergy to colophony: no tapes unless the maker states in writing that there is none.
    .reason = Rosin is used to make adhesives tacky.
    .next = A dermatologist; bring the tape's safety data sheet.
consultation-allergy-scent = She answered an allergy to limonene, linalool or scent: remover, cleaner and care without them.
    .reason = Limonene that has met air is a common allergen, and many removers are made with it.
consultation-allergy-latex = She answered an allergy to latex: nitrile gloves, no latex bands, and the tape's sheet is read for natural rubber.
    .reason = Gloves, bands and some adhesives hold natural rubber.
consultation-allergy-nickel = She answered an allergy to nickel: combs, clips and pliers on her skin are free of nickel.
    .reason = Nickel is the most frequent allergen on scalps that were tested.
consultation-allergy-atopy = She answered hay fever, asthma or eczema: patch test, moving air, an early look.
    .reason = Such skin reacts to rubbing and to vapour sooner.
consultation-allergy-unknown = She answered an allergy that no rule here knows: not before it is clear whether tape, remover or care hold it.
    .reason = An answer is never passed over.
    .next = Ask her what happens and when, compare the safety data sheets, and have her ask her doctor.

## Scalp.
consultation-scalp-pain = A sore, tender or burning scalp was answered: no tapes.
    .reason = Any pull makes it worse, and pain is among the early signs that hair is under too much of it.
    .next = A doctor or dermatologist.
consultation-scalp-thinning-edges = Thinning at the hairline was answered: no tapes and no tight styles.
    .reason = Lasting pull thins the hairline first, and what is lost late does not come back.
    .next = A dermatologist, soon: early it can grow back.
consultation-scalp-patchy-loss = Bare or thin patches, or fast loss without a known cause, were answered: no tapes.
    .reason = Its cause has to be known first.
    .next = A dermatologist.
consultation-scalp-shedding = Much more hair than usual is coming out: no tapes.
    .reason = Tapes add pull and hide how much is lost; its cause has to be known first.
    .next = A doctor or dermatologist.
consultation-scalp-bumps = Pustules or bumps at the roots were answered: no tapes.
    .reason = They are among the early signs of too much pull, and may also be an infection.
    .next = A doctor or dermatologist.
consultation-scalp-broken-hairs = Many short broken hairs or white sleeves on the hairs were answered: no tapes.
    .reason = They are among the signs of pull that goes on.
    .next = A dermatologist.
consultation-scalp-smooth-bare-skin = Smooth, bare or shiny skin where hair grew was answered: no tapes.
    .reason = Such places must not be pulled on.
    .next = A dermatologist.
consultation-scalp-infected = An infection of the scalp was answered: no service on it.
    .reason = It can be passed on by tools and hands.
    .next = A doctor or pharmacist; come back when it is cleared.
consultation-scalp-broken-skin = Broken, cut or weeping skin was answered: not before it is healed.
    .reason = Adhesive and remover do not belong on open skin.
    .next = A pharmacist or doctor if it does not heal within days.
consultation-scalp-lice = Lice were answered: no service before the morning after the first treatment, and no tapes until the head is clear.
    .reason = They are passed on by tools, and tapes hide them.
    .next = A pharmacist.
consultation-scalp-flaking = A flaking, itching or reddened scalp was answered: not before it is calm.
    .reason = A bond does not hold on flakes, and a restless scalp must not be covered.
    .next = A pharmacist or doctor.
consultation-scalp-sunburn = A sunburnt scalp was answered: not before it is healed.
    .reason = Remover and pull hurt burnt skin.
    .next = A pharmacist if it blisters.
consultation-scalp-thinner-overall = Hair that became thinner on top or at the parting was answered: only light pieces, only where it is dense.
    .reason = Thin places cannot carry a slice; its cause is worth a look.
    .next = Suggest a talk with a doctor; it does not stop light work.
consultation-scalp-quiet-condition = A scalp condition that is quiet was answered: nothing tight, an early look, and out at the first flare.
    .reason = A flare must not be covered or pulled on.
consultation-scalp-unknown = Something was answered of her scalp that no rule here knows: not before it is clear.
    .reason = An answer is never passed over.
    .next = Have a doctor or pharmacist look at it, or ask her again and choose the answer that fits.

## Health.
consultation-health-cancer-treatment = Cancer treatment that takes hair was answered: no tapes.
    .reason = Hair and skin are at their weakest, and new hair has to carry itself first.
    .next = Her cancer team; to be thought of again with 100 mm of new even hair and their agreement.
consultation-health-cancer-treatment-over = Cancer treatment that has ended was answered: not before there are 100 mm of new even hair and her team agrees.
    .reason = New hair grows about 10 mm a month and is fine at first.
    .next = Her cancer team.
consultation-health-postpartum = She gave birth lately: not before the months of shedding are over.
    .reason = Shedding begins two to five months after a birth and goes on for three to six.
    .next = Wait; a doctor if it goes on beyond a year. Leave the months out when she did not give birth lately.
consultation-health-postpartum-late = She gave birth within the last year: light pieces, and only when hardly a hair comes with a gentle pull.
    .reason = Shedding may not be over.
consultation-health-isotretinoin = Isotretinoin was answered: not while she takes it.
    .reason = Skin and hair are dry and fragile under it.
    .next = Her doctor, about when it is over; never a word from us on stopping a medicine.
consultation-health-hair-loss-named = A hair loss that a doctor has named was answered: no tapes until that doctor agrees.
    .reason = Only the doctor who knows it can say whether it bears any pull.
    .next = The doctor or dermatologist who named it.
consultation-health-earlier-loss = Hair lost earlier by pull and grown back was answered: a slice bears less, and the first look is early.
    .reason = What gave way once gives way sooner.
consultation-health-pulls-hair = Pulling at her own hair was answered: not now.
    .reason = A bond invites the hand.
    .next = Whoever she trusts with it, or her doctor.
consultation-health-scalp-operation = An operation on the scalp or a hair transplant was answered: not before the surgeon agrees.
    .reason = Healing skin and new hairs bear no pull.
    .next = The surgeon or clinic.
consultation-health-pregnancy = Pregnancy was answered: moving air, the least volatile remover, short sittings, and shedding after the birth explained.
    .reason = Nothing found speaks against tapes; vapour and long sitting are to be kept small.
consultation-health-breathing = Trouble with breathing was answered: moving air and the least volatile remover.
    .reason = Vapour of remover can set it off.
consultation-health-scan-due = A scan is due: tapes hold no metal, but she asks the radiology desk, and clips and beads come out.
    .reason = Metal and magnets do not go together.
consultation-health-unknown = Something was answered of her health that no rule here knows: not before it is clear.
    .reason = An answer is never passed over.
    .next = Have her ask her doctor whether tapes, pull and solvent vapour are all right for her.

## Her hair.
consultation-hair-too-short = Her own hair is too short to hide and hold a sandwich.
    .reason = Short hair slips out of the bond and shows it.
    .next = Wait until it has grown.
consultation-hair-short = Her own hair is only just long enough: check the length at every slice.
    .reason = Short hair slips out of the bond and shows it.
consultation-hair-fine = Fine hair: more clearance.
    .reason = Fine hair hides a bond less.
consultation-hair-fine-and-sparse = Fine and sparse hair: lighter pieces, more clearance, a smaller plan.
    .reason = Few thin hairs carry each sandwich, and hide it less.
consultation-hair-too-sparse = Her hair is too sparse to carry and hide tapes.
    .reason = No slice holds enough hairs.
    .next = Offer hair that hangs on nothing of hers; a doctor if it became so.
consultation-hair-thin-strands = Her strands measure thinner than is usual: light pieces, only where it is dense; suggest a doctor's look.
    .reason = Healthy women's strands measured 50 micrometres or more on average.
    .next = Suggest a talk with a doctor; it does not stop light work.
consultation-hair-tied-often = Hair that is often tied up: more clearance at every edge.
    .reason = A tied style lifts the hair that hides the bond.
consultation-hair-processed = Bleached or relaxed hair: a slice bears less, and less heat.
    .reason = Pull on chemically treated hair was found with more than three times the odds of loss.
consultation-hair-bleached-lately = Lightened within the last two weeks: not yet.
    .reason = The hair is at its weakest and the skin still raw.
    .next = Book from two weeks after it.
consultation-hair-oily = Oily roots: wash twice, no conditioner near the roots, look at the bonds early.
    .reason = Oil loosens a bond.
consultation-hair-blunt-ends = Blunt ends are softened before a piece goes in.
    .reason = A blunt line shows above longer hair.

## How she lives.
consultation-life-cannot-return = She cannot come for a re-tape in time: tapes are not for her now.
    .reason = Left longer, they mat, pull and hurt.
    .next = Offer hair that she can take out herself.
consultation-life-swims = She swims: rinse, plait, and expect a shorter hold.
    .reason = Water, chlorine and sun cream loosen bonds.
consultation-life-sport = Much sport: sweat and tying up shorten the hold; an early look.
    .reason = Sweat and oil loosen bonds.
consultation-life-hot-tools = Hot tools: the cap for her hair, never near a bond.
    .reason = Heat softens adhesive and what it does to hair stays.

### What keeps a place free, and what would open it.

floor-bare-skin = No hair grows there.
    .cure = Keep to skin that bears hair; check the hairline measures.
floor-kept-free = The place is kept free, as was asked.
    .cure = Lift the keep-out if it no longer holds.
floor-passed-over = The place was passed over at the chair.
    .cure = Plan anew if hair may go there after all.
floor-near-nape = It is too near the nape hairline: it would show when hair is tied up.
    .cure = Set it higher, or agree that hair is not worn up.
floor-near-face = It is too near the hairline at the face.
    .cure = Set it further from the hairline.
floor-near-ear = It is too near the ear.
    .cure = Set it further from the ear.
floor-near-behind-ear = It is too near the hairline behind the ear.
    .cure = Set it further from the hairline.
floor-crown = It is higher than the crown.
    .cure = Set it below the crown.
floor-top = It is above the horseshoe line, where hair is parted anew every day and seen from above.
    .cure = Keep below the horseshoe line.
floor-sparse = Her hair is not dense enough there, and only dense places may carry today.
    .cure = Keep to the regions where her hair is dense.
floor-section-line = The tab would lie across a section line.
    .cure = Set it wholly on one side of the line, or allow a tab across the middle.
floor-bow = The parting bends too much under the tab.
    .cure = Take a half, or set it lower, where the parting runs straighter.
floor-tab-gap = It stands too near its neighbour.
    .cure = Move it along the parting, away from its neighbour.
floor-row-spacing = Its parting is too near that of another row.
    .cure = Set it on the parting of the row that is there, or further from it.
floor-brick = It stands over a piece of the row below, where brick is due.
    .cure = Move it aside, so that its middle stands over a gap.
floor-rest = This hair carried slices at the last visits and must rest.
    .cure = Let this hair rest until the next visit.
floor-shows = The bond would more likely show than not in a style she wears.
    .cure = Leave out the style that shows most, or set it where more hair lies over it.
floor-too-heavy = The slice would carry more than anyone sets.
    .cure = Take lighter pieces, halves, or one piece with a backing strip.

no-parting-starts = No parting starts { $up } up the middle.
tab-beyond-parting = The tab reaches beyond the end of the parting.
likely-shows = The bond would more likely show than not when hair is worn { $style }.

border-nape = the nape hairline
border-face = the hairline at the face
border-ear = the ear
border-behind-ear = the hairline behind the ear

place-up = { $up } up the middle
place-up-and-along = { $up } up the middle, { $along } along

### What the models say of a site that may stand.

may-show = It may show when hair is worn { $style }: about { $chances ->
    [one] { $chances } chance
   *[other] { $chances } chances
} in a hundred.
carries-much = Its slice carries { $times } times what is usual for such hair; beyond { $end } times it would not be set.
little-clearance = { $free } from { $border }: fine or often tied hair would like a little more.
does-not-rest = This hair carried a slice at the last visit and does not rest.

### Why a site is where it is.

why-clearance = { $free } are free to { $border }; { $least } is the least.
why-first-parting = The first parting, { $up } up the middle from the nape hairline.
why-margin = A tab of { $tab } takes a slice of { $slice } mm.
why-slice = A slice of { $thickness } mm: { $least } mm at least keep its load under what is marked, { $most } mm at most can be taken.
why-slice-marked = A slice of { $thickness } mm: no thickness that can be taken keeps its load under what is marked, { $most } mm at most can be taken.
why-hidden = Least hidden worn { $style }: { $hidden } % of the bond, { $deep } strands deep where { $wished } is wished for; about { $chances ->
    [one] { $chances } chance
   *[other] { $chances } chances
} in a hundred that it shows.
why-side-by-side = One of the first rows, side by side.
why-brick = In brick with the row below.
why-carried-last = This hair carried a slice at the last visit; no better place was left.
why-carried-before-last = This hair carried a slice at the visit before the last; no better place was left.
why-half = A half fits where a whole one does not, or meets the wish more closely.
why-lone = It has no mirror image: the other side takes none here.

### What a layout cannot do, and what would open it.

already-in-off-hair = A sandwich already in does not lie on hair-bearing skin as the head was measured.
    .cure = Check the measures of the head and of its parting.
short-of-wish = The layout falls { $grams } g short of the wish: no open place is left for another sandwich.
    .cure = Most of what is free is kept free because: { $cause } Look at the ways on, or agree on less hair.
no-room-on-rows = No room is left on the rows.
pieces-all-too-heavy = No piece on the shelf may be used.
    .cure = Offer pieces whose sandwich weighs at most { $grams } g.
no-piece-offered = No piece on the shelf may be used.
    .cure = Offer at least one piece.
no-parting-between = The nape keeps { $nape } free and nothing goes above { $crown } at the crown: no parting lies between.
    .cure = Ask whether she can leave out wearing her hair up, and measure the nape hairline again.
no-place-for-tab = No place on this head takes a tab.
    .cure = Look at the hairline measures and at what is kept free.
all-kept-free = Every place that would take a tab is kept free.
    .cure = Look at the hairline measures and at what is kept free.

cure-lighter-pieces = take pieces of at most { $grams } g
cure-half-pieces = cut the pieces in half
cure-single-sided = set one piece with a backing strip
cure-fewer-styles = leave out the styles that draw this hair against its growth
cure-none = Nothing tried here opens it.
cure-either = Either { $cures }.
cure-or = { ", or " }

### How hair is worn, how thick a slice is, how a row is set.

worn-down = down
worn-low-ponytail = in a low ponytail
worn-mid-ponytail = in a middle ponytail
worn-high-ponytail = in a high ponytail
worn-half-up = half up
worn-bun = in a bun
worn-plait = in a plait

limit-hanging = what a hair carries all day
limit-tug = what a hair bears when it is tugged
limit-thinnest = the thinnest that is taken
limit-contact = tape that meets tape
limit-see-through = a slice that can be seen through
limit-thickest = the thickest that is taken
no-slice = no slice fits: { $least_by } asks for at least { $least } mm, { $most_by } for at most { $most } mm
no-slice-holds-enough = no slice fits: { $least_by } asks for more hair than any slice holds, { $most_by } for at most { $most } mm

setting-side-by-side = side by side
setting-brick = brick

### How a row is combed, and a site is found on it.

sections = Her head upright, her gaze level: comb a clean line down the middle, and one straight up over the head from the top of each ear, where the ear joins the head; clip the four sections away. Work starts at the nape.
how-to-comb = Comb each line straight from its start to its end, alike on both sides: with her gaze level it runs level. To find a tab, measure along the line to the tab’s middle: at the back from the middle, at the sides from the ear-to-ear line.
row-called = Row { $number }
left-line-called = Left line { $number }
right-line-called = Right line { $number }
comb-level = start { $start } up the middle, comb straight and level to both sides
comb-towards = start { $start } up the middle, comb straight towards { $end }
comb-to = start { $start } up the middle, comb straight to { $end }
comb-forward = start { $start } up the ear-to-ear line from the top of the ear, comb straight forward to the hairline
comb-forward-so-far = start { $start } up the ear-to-ear line from the top of the ear, comb straight forward to the hairline, { $end } from the front of the ear
at-the-top = at the top
above = { $way } above
below = { $way } below
top-of-ears = the top of each ear
from-top-of-ears = { $way } the top of each ear
on-the-middle = on the middle
from-the-middle = { $way } from the middle
from-the-ear-line = { $way } from the ear-to-ear line

### The steps at the chair: what is done, `.how`, the `.caution` that belongs there, and what to `.confirm`.

step-right-client = Stop: is this the right client, and may it be done today?
    .how = Say her name and the plan's verdict; look at her scalp; read the answers on health and allergies once more.
    .caution = Sore, broken or flaking skin, sudden shedding, pain or an earlier reaction: do not go on; she sees a doctor or dermatologist first.
consent-signed = consent signed
guardian-signed = guardian signed
patch-read = patch test read at { $first } and { $second } hours: what was seen
step-tools = Lay out the tools
    .how = Flat pliers, two metal tail combs, four butterfly clips, a slide clip, a soft brush, the printed map.
gloves-without-latex = Nitrile gloves, no latex, no latex bands.
gloves = Nitrile gloves for remover and adhesive.
nickel-free = Combs, clips and pliers that touch her skin are free of nickel.
scent-free = Remover, cleaner and care without limonene and scent.
moving-air = Window open or fan on throughout; the least volatile remover.
step-chair = Set the chair to your shoulders
    .how = Her head at the height of your chest for the nape, lower for the crown; a rest of five to ten minutes every { $minutes } minutes.
step-lay-out = Lay out the pieces in the order they go in
    .how = { $sandwiches ->
        [one] { $sandwiches } sandwich
       *[other] { $sandwiches } sandwiches
    } in { $rows ->
        [one] { $rows } row
       *[other] { $rows } rows
    }: count shades and lengths against the list on the first page.
    .confirm = { $sandwiches ->
        [one] { $sandwiches } sandwich counted
       *[other] { $sandwiches } sandwiches counted
    }
step-wash-oily = Wash and dry
    .how = Wash twice with a clarifying shampoo, no conditioner on the roots; dry completely, roots first.
step-wash = Wash and dry
    .how = Freshly washed, no conditioner on the roots; dry completely.
step-soften = Soften the blunt ends
    .how = Point cut or thin the last few centimetres, so that her own ends do not make a step under the pieces.
step-sections = Make the four first sections
    .how = { sections }
step-first-section = Take the first section at the nape
    .how = Measure { $up } up from the nape hairline at the middle and comb the first parting there. { $why }
first-section-deep = The section is { $deep } deep or more, so that nothing shows when the hair is tied up.
first-section-lowest = Nothing goes below it.
step-first-piece = Stop: hold the first piece beside her ends
    .how = Daylight, beside the ends and never the roots. Read shade and length off the pack.
    .caution = Once it has been in, hair cannot go back.
    .confirm = shade and length on the pack
step-parting = { $row }: comb the parting
    .how = { $combed }; set { $setting }.
set-side-by-side = side by side
set-in-brick = in brick: no gap over a gap
set-as-below = side by side with the row below
step-look-at-back = Let the back down and brush
    .how = Is it enough? If not, add where the map still has room, and nothing above the crown, before going on.
step-site = { $site }: { $shade } { $length }, { $cut }
    .how = { $place }. Slice { $wide } wide and { $thick } mm thick, thin enough to see through; both ends of the { $tab } tab stay bare. Lower piece under the slice { $off } off the scalp, { $closing }, press the whole bond with flat pliers from both ends.
half-piece = half piece
full-piece = full piece
closed-by-strip = comb as a ruler, backing strip over it (one piece only here)
closed-by-piece = comb as a ruler, upper piece over it
other-than-first-strip = Other than the first: one piece and a backing strip, no second piece.
other-than-first-pieces = Other than the first: two pieces, no backing strip.
one-chance = One chance: hold the position with the comb before the second piece or the strip closes it. It must move up and down without pulling.
step-warm = Warm the bonds, if they need it
    .how = A temperature-controlled iron at most { $degrees } degC, tapped, never drawn.
    .caution = Not on damp hair, not near the skin, not after remover until all is dry and aired. Heat that reached a bond makes it slower to remove.
step-blend = Blend the ends
    .how = Razor, thinning scissors or point cutting; never a blunt straight line.
step-checks = Stop: before she leaves
    .how = Every bond moves up and down without pulling and sits { $off } off the scalp; tie the hair up as she wears it: nothing shows. Count the pieces used against the list.
    .caution = Pain or a headache means too tight: take that sandwich out and set it again.
    .confirm = { $sandwiches ->
        [one] { $sandwiches } sandwich in, no pain, aftercare sheet given, next date made
       *[other] { $sandwiches } sandwiches in, no pain, aftercare sheet given, next date made
    }
step-early-look = Make a date for an early look
    .how = In { $days } days: bonds, skin and hairline, five minutes.
step-take-out = Next visit: take the pieces out in order
    .how = { $remover }, soaked in, then peel; the second piece slides out. Lay each down in the order it came out.
    .caution = Removers burn: no flame, no hot tool until rinsed, dried and aired for { $minutes } minutes. Gloves, eyes covered, window open. A bond that was heated takes longer: wait, never pull.
remover = An acetone-free remover
remover-without-scent = An acetone-free remover without limonene or scent
step-retape = Clean and re-tape
    .how = Rub the old adhesive off with a dry towel, new adhesive on; wash her hair, no conditioner on the roots, dry; put the pieces back in order on rested hair.

### When a set is due.

due-sooner = due after { $days } days, sooner than six weeks, because of her own records
due-very-soon = her records ask for less than four weeks: look for the cause (oil, preparation, load) before setting again
longest-wear-set = longest wear set to { $days } days: { $reason }
longest-wear-outside = longest wear: { $days } days is outside { $least } to { $most }: beyond that no reason helps
longest-wear-unexplained = longest wear: { $days } days is more than the usual { $usual }: write down the reason

### What she takes home.

first-two-days = The first two days
keep-dry = Keep the bonds dry for { $hours } hours: no washing, no sauna, no swimming, no hard sport.
do-not-tie = Do not tie the hair tightly.
washing = Washing
shampoo-scalp = Shampoo the scalp gently, conditioner on the lengths only, never on the roots or the bonds.
wash-oily = Wash as soon as the roots feel oily: oil loosens the tape. No dry oil, silicone serum or mask near the bonds.
oil-below-bonds = Keep oil, mask and serum a hand's breadth below the bonds.
dry-bonds = Dry the bonds first and completely.
brushing = Brushing and sleeping
brush-upward = Brush morning and evening from the ends upward, with the other hand holding the hair above.
detangle-dry = Detangle before washing, never when the bonds are wet: wet hair pulls several times harder.
sleep-in-plait = Sleep with dry hair in a loose plait.
swimming = Swimming
plait-and-rinse = Plait the hair and keep it out of the water where you can; rinse with clear water straight after and dry the bonds.
heat = Heat
tools-away = Keep every hot tool { $way } away from the bonds.
warm-air = Dry with air that is warm, not hot: at most { $degrees } degrees at the hair.
iron-at-most = At most { $degrees } degrees on dry hair, one pass; none on damp hair.
no-hot-tool = No hot tool on this hair.
every-day-is-a-lot = Every day is a lot: leave days without heat, the pieces do not grow back.
loose-hairs = Loose hairs when they come out
loose-in-bond = Each bond holds back the hairs that you would have lost anyway: about { $loose } of { $hairs } by day { $due }, each with a small white end. That is not damage.
next-date = Your next date
comes-out = The set comes out about day { $due } and never stays in longer than { $closes } days.
never-pull = Never pull a piece out yourself, and never cut one out.
something-wrong = When something is wrong
come-back = Pain, a headache, itching, redness or sore places: come back within { $hours } hours to have the pieces out; do not wait for your date.
see-a-doctor = If it does not settle, if the skin blisters or weeps, or if hair falls suddenly or in patches: see a doctor or a dermatologist.
call-for-help = Swelling of the face or trouble with breathing: call the emergency number.
look-again = Skin can react late: look again after { $days } days.
constant-pull = Constant pull can thin the hair, and long pull can do so for good: tell us when anything feels tight.
nothing-with-scent = Use nothing with limonene or scent near the bonds.

### What her hair's measures leave open.

rare-density = a density of { $density } strands per cm2 is rare (usual: { $least } to { $most }): count once more
amount-unknown = neither density nor tied circumference is known: density is assumed and its range is wide
strand-unknown = strand thickness is not known: a class by touch (fine, medium, coarse) would narrow every range
own-length-unknown = the length of her own hair is not known: where it stops cannot be shown
optical-reads-wider = an optical width reads up to 41 % wider than a calliper on the same hair: the range allows for it
hair-does-not-fit = tied circumference, density and strand thickness do not fit together: measure the tail at the tie once more

### How well the ring meets her ends.

not-reachable = Not reachable with this ring: the best mix is still { $away } away. Look for a nearer shade or colour the hair.
shade-apart = { $code } ({ $apart } apart)
shade-from-it = { $code } ({ $apart } from it)
cannot-tell-apart = The reading is sure to about { $sure }: it cannot tell { $near } from { $others }. Hold the swatches to the ends.
about-as-far = The reading is sure to about { $sure }: { $near } and { $others } are about as far from her ends, and differ from each other. Hold the swatches to the ends.
would-show-stripes = The nearest mix on paper joins shades { $apart } apart, which would show as stripes; another is advised.
off-under-light = Under light { $light } the match is { $off } off: look at it there before it goes in.
holds-for-one-light = A match by three colours holds for one light: check it in daylight and under the salon's lamps.
pieces-not-shared = { $pieces ->
    [one] { $pieces } piece cannot be shared out: ask for 1 to { $most }
   *[other] { $pieces } pieces cannot be shared out: ask for 1 to { $most }
}
no-colour-to-match = the colour to match is { $colour }: L is 0 to 100, a and b within 128 of 0

### What cannot be true of hair, of a piece, of growth, of wear.

density-outside = hair: a density of { $density } strands per cm2 is outside 30 to 400: count again over one square centimetre
tied-outside = hair: a tied circumference of { $round } mm is outside 15 to 250 mm: measure at the tie, in millimetres
diameter-outside = hair: a strand diameter of { $diameter } um is outside 17 to 181 um: give micrometres
own-length-outside = hair: an own length of { $length } mm is outside 5 to 2000 mm: measure from the nape, in millimetres
hair-area-outside = hair: a hair-bearing area of { $area } cm2 is outside 200 to 1200 cm2: check the head's measures
tab-width-outside = pieces: a tab width of { $width } mm is outside 8 to 80 mm: give millimetres
tab-height-outside = pieces: a tab height of { $height } mm is outside 3 to 25 mm: give millimetres
piece-mass-outside = pieces: a mass of { $mass } g for one piece is outside 0.2 to 10 g: give the mass of one piece, not of the pack
piece-length-outside = pieces: a length of { $length } mm is outside 100 to 1200 mm: give millimetres
worn-too-shortly = regrowth: { $days } days of wear: a measure needs at least 7 days
growth-outside = regrowth: { $rate } mm a day is outside 0.1 to 0.8: measure from the scalp to the upper edge of the bond, in millimetres
no-site = "{ $name }" names no place of a plan: write section, row and number, as in B1.2
no-bonds-recorded = no bonds are recorded: give at least one row of lower,upper in days
wear-no-days = record { $record } (counted from 1): { $value } is no number of days from 0 up
wear-backwards = record { $record } (counted from 1): upper { $upper } lies before lower { $lower }: a bond slips after it was last seen holding
wear-on-day-zero = record { $record } (counted from 1): a bond that slipped on day 0 was never set: leave it out, or give the day on which it was found as upper
all-bonds-hold = { $bonds ->
    [one] the { $bonds } bond still holds: how long bonds last cannot be told until at least one has slipped
   *[other] all { $bonds } bonds still hold: how long they last cannot be told until at least one has slipped
}
slipped-at-one-age = every bond that slipped may have slipped at one and the same age: how the ages spread cannot be told; look more often or wait for more bonds
wear-unbounded = the records set no bound to the wear curve: most spans begin at day 0; write down when each bond was last seen holding

### What is wrong with a ring, or a table of one.

ring-empty = the ring has no shades: add at least one
ring-too-large = the ring has { $shades } shades, more than { $most }: split it
shade-twice = two shades have the code "{ $code }": give each its own
shade-without-colour = shade "{ $code }" has no colour: give L, a and b, or X, Y and Z, or its reflectance
shade-wrong = shade "{ $code }": { $what }
ring-line = line { $line }: { $what }
colour-no-hair-has = the colour lies outside what hair has; X Y Z are written with white = 1, L from 0 to 100
column-unknown = no column is called "{ $column }": use { $known }
values-miscounted = { $values ->
    [one] { $values } value where the heading names { $columns }
   *[other] { $values } values where the heading names { $columns }
}
value-no-number = "{ $text }" is no number for { $column }
value-missing = { $column } is missing
