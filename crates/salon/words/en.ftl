# What the program says of a client's facts, a plan, a stock and a quote, in English.
#
# A message is what is wrong, as the beginning of a sentence that gets its capital and its
# stop where it is shown; `.cure` is what to do, a sentence of its own. A fact is called by
# its name below, never by its key in the file. Numbers come written (measure::text); what is
# counted comes as a number, so that one may be said in other words than several.

### The client's facts as they are asked: labels of their fields, and how sentences call them.

fact-client-name = Name
fact-client-age-years = Age

fact-consultation-goal = She wants
fact-consultation-wanted-length-mm = Wanted length
fact-consultation-fullness = How full
fact-consultation-added-g = Or: hair to add
fact-consultation-ends-circumference-mm = Or: gathered ends, round
fact-consultation-styles = Styles she wears
fact-consultation-part = Parting
fact-consultation-care = Care
fact-consultation-ties-up = Ties it up
fact-consultation-sport-per-week = Sport
fact-consultation-swims = Swims
fact-consultation-hot-tools = Hot tools
fact-consultation-had-extensions = Worn extensions before
fact-consultation-reacted-before = Reacted before
fact-consultation-allergies = Allergies
fact-consultation-scalp = Scalp, seen or felt today
fact-consultation-health = Health and medicines
fact-consultation-postpartum-months = Since she gave birth
fact-consultation-bleached-days-ago = Since it was lightened
fact-consultation-returns-weeks = Can come for a re-tape every
fact-consultation-patch-test = Patch test
fact-consultation-consent = She agrees to the work
fact-consultation-guardian-consent = Her guardian agrees
fact-consultation-budget-minor = She wants to spend at most

fact-consultation-patch-test-after-hours = Hours after it was set
fact-consultation-patch-test-seen = Seen

fact-hair-density-per-cm2 = Density
fact-hair-tied-circumference-mm = Tied hair, round
fact-hair-strand = Strand, by touch
fact-hair-diameter-um = Strand, measured
fact-hair-measured-by = Measured by
fact-hair-own-length-mm = Her own length
fact-hair-texture = Texture
fact-hair-oil = Roots
fact-hair-processed = Chemical services
fact-hair-ends = Her ends

fact-head-circumference-mm = Round the head
fact-head-ear-to-ear-over-crown-mm = Ear to ear over the crown
fact-head-front-hairline-to-tape-mm = Front hairline to that tape
fact-head-tape-to-nape-hairline-mm = That tape to the nape hairline
fact-head-ear-to-ear-behind-mm = Ear to ear behind the head
fact-head-length-mm = Length by calliper
fact-head-breadth-mm = Breadth by calliper
fact-head-hair-under-tape = Hair under the tape
fact-head-unusual-reason = Why an unusual measure is right
fact-head-nape-hairline-below-occiput-mm = Nape hairline below the occipital bone
fact-head-crown-behind-tape-mm = Crown whorl behind the ear-to-ear tape
fact-head-crown-to-right-mm = Whorl aside of the middle
fact-head-front-peak-mm = Peak of the front hairline
fact-head-temple-recession-mm = Hairline back at the temples
fact-head-nape-half-width-mm = Nape: middle to the corner
fact-head-nape-corner-rise-mm = Corner of the nape, above the middle
fact-head-behind-ear-bare-mm = Bare skin behind the ear
fact-head-temple-hairline-mm = Temple: ear-to-ear line to the hairline
fact-head-ear-line-back-mm = Ear-to-ear line behind the top of the ear
fact-head-taped-partings = Partings taped
fact-head-avoid = Places to keep free

fact-head-taped-partings-above-nape-mm = Where it starts, up the middle
fact-head-taped-partings-length-mm = Its length
fact-head-taped-partings-tilt-mm = One end higher by, if you looked

fact-head-avoid-side = Her side
fact-head-avoid-zone = Where
fact-head-avoid-reason = Why

fact-colour-lab-d65 = By instrument, as numbers
fact-colour-shade = By eye: the nearest shade of your ring
fact-colour-photo = By photo or instrument’s file
fact-colour-marks = Where chart and hair are in the photo

fact-pieces-tab-width-mm = Tab, wide
fact-pieces-tab-height-mm = Tab, tall
fact-pieces-mass-g = One piece weighs
fact-pieces-lengths-mm = Lengths on sale
fact-pieces-ring = Ring
fact-pieces-stock = Stock
fact-pieces-single-sided = One piece with a backing strip
fact-pieces-tab-across-middle = A tab across the middle at the back

fact-last-visit-sites = Where slices were at the last visit

fact-last-visit-sites-above-nape-mm = Where its parting starts, up the middle
fact-last-visit-sites-along-mm = Along it from the midline, + to her right
fact-last-visit-sites-width-mm = Slice, wide

fact-prices-currency = Currency
fact-prices-hour-minor = One hour of work
fact-prices-tape-tab-minor = One new tape tab

### What cannot be right, or is still missing, in a client's facts.

number-outside = { $value } { $unit } is outside { $low } to { $high } { $unit }
    .cure = Measure or read it again and write it in { $unit }.
number-in-another-unit = { $value } { $unit } is outside { $low } to { $high } { $unit }
    .cure = Did you read { $likely }? In millimetres it is { $millimetres }.
number-none = this is no number
    .cure = Measure or read it again and write it in { $unit }.
number-not-whole = { $value } is not a whole number
    .cure = Write a whole number.
word-unknown = "{ $word }" is no answer here
    .cure = Write one of: { $known }.
word-misspelt = "{ $word }" is no answer here
    .cure = Did you mean "{ $near }"? Write one of: { $known }.

goal-missing = what she wants is missing
    .cure = Say thickness, length or both.
wish-already-long = she wants { $wanted }, and her own hair is already { $own } long
    .cure = Write a longer wanted length, or say thickness when only thickness is wanted.
fullness-twice = the fullness is said in more than one way
    .cure = Keep one of the three: how full, the grams to add, or the gathered ends round.
styles-empty = the list of styles is empty
    .cure = Name at least one style she wears; worn down is one.
patch-look-incomplete = a look at the patch test is not complete
    .cure = Say for each look how many hours after it was set, and whether the skin was clear or reacted.

hair-missing = how much hair she has is missing
    .cure = Count a square centimetre (“{ fact-hair-density-per-cm2 }”) or measure her tied hair (“{ fact-hair-tied-circumference-mm }”).
strand-method-missing = a strand was measured, and how is missing
    .cure = Say whether by microscope, calliper or weighing (optical, calliper, weighed): the same strand reads differently.
strand-reading-missing = how a strand was measured is said, and not what was read
    .cure = Write what was read, or leave out how it was measured.
hair-amounts-apart = { $density } to the cm2 and { $tied } round when tied tell of hair { $times } times apart
    .cure = Measure both again (the tail tightly tied, in millimetres), or keep the one that is sure.

length-none = { $value } is no length
    .cure = Measure again, in millimetres.
head-missing = the size of her head is missing
    .cure = Measure round the head above the brows and the widest point of the back.
crown-incomplete = the crown is said to lie aside, and not how far back
    .cure = Measure along the middle from the ear-to-ear tape to the whorl, and write that too.
parting-incomplete = a taped parting is not complete
    .cure = Say for each parting where it starts, up the middle, and how long it is.
avoid-incomplete = a place to keep free needs a side and a zone
    .cure = Say both, as in left and temple; why it is kept free may stand beside them.

colour-missing = the colour of her ends is missing
    .cure = { colour-ways }
colour-twice = the colour is said in more than one way
    .cure = { colour-ways }
colour-ways = Keep one of the three: the colour that was read, the shade by eye, or the three numbers.
photo-without-marks = the photo has no marks
    .cure = Say where the chart and the hair are in the photo.
marks-without-photo = marks are given without a photo
    .cure = Give the photo too, or leave its marks out.
shade-empty = the shade is empty
    .cure = Write the code of a shade of the ring.
colour-none = { $numbers } is no colour: three numbers, lightness 0 to 100, the others within 128 of zero
    .cure = Write L*, a* and b* as the instrument shows them.

lengths-empty = the list of lengths is empty
    .cure = List the lengths on sale, or leave it out.
file-unnamed = the file name is empty
    .cure = Write the file's name, or leave it out.
currency-none = "{ $code }" is no currency
    .cure = Write its three capital letters, as in "EUR".
amount-negative = { $minor } is less than nothing
    .cure = Write an amount of zero or more.
amount-without-currency = an amount stands without a currency
    .cure = { currency-to-say }
budget-nothing = a budget of { $minor } buys nothing
    .cure = Write it in minor units, or leave it out.
budget-without-currency = the budget has no currency
    .cure = { currency-to-say }
currency-to-say = Say the currency of the prices in three letters, as in "EUR".
last-slice-incomplete = a slice of the last visit is not complete
    .cure = Say for each slice where its parting starts, how far along it lies and how wide it is.

list-too-long = this list has { $entries } entries, more than { $most }
    .cure = Keep the { $most } that matter most.
text-too-long = a text has { $letters } letters, more than { $most }
    .cure = Shorten it.
price-too-high = { $minor } is more than any price, { $most } minor units
    .cure = Write the amount again, in minor units in a file.

### What was not asked, and what is taken instead.

part-open = “{ fact-consultation-part }” was not asked: a centre part is assumed.
wanted-length-open = “{ fact-consultation-wanted-length-mm }” was not asked: the longest pieces on sale are assumed.
wanted-length-unused = “{ fact-consultation-wanted-length-mm }” is not used: the goal is thickness.
fullness-open = “{ fact-consultation-fullness }” was not asked: natural is assumed.
styles-open = “{ fact-consultation-styles }” was not asked: worn down is assumed.
tied-and-never = She never ties her hair up, and wears a style that is tied: the plan hides the bonds in that style too.
reacted-and-never-worn = She reacted before, though she never wore extensions: ask her to what. The reaction counts.
strand-open = “{ fact-hair-strand }” was not asked: the usual strand with a wide range is assumed.
own-length-open = “{ fact-hair-own-length-mm }” was not asked: measure it, a sandwich needs hair to hide it.
processed-open = “{ fact-hair-processed }” was not asked: heat is kept as low as for bleached hair.
density-rare = “{ fact-hair-density-per-cm2 }” = { $density } is rarely seen: count it once more.
strands-disagree = “{ fact-hair-strand }” and “{ fact-hair-diameter-um }” disagree: the measured diameter is used.

### What a client's book refuses.

facts-changed-elsewhere = her facts were changed elsewhere in the meantime (version { $now }, yours began from { $seen })
    .cure = Look at both versions, then save again.
phone-none = "{ $phone }" is no telephone number
    .cure = Write its digits, with a country's code where it has one, or leave it out.
email-none = "{ $email }" is no e-mail address
    .cure = Write it as name@place without a name before it, or leave it out.
same-record = that is one record and not two
    .cure = Name the record that is to be set aside, and the one that is kept.
record-is-set-aside = this record is set aside: she is kept as { $kept }
    .cure = Go on in the record that is kept; or say that they are two people after all.
not-set-aside = this record is not set aside
    .cure = Name the one that is.
others-set-aside-for-it = another record is set aside for this one
    .cure = Keep this one and set the other aside.
visit-goes-on-there = a visit goes on in this record
    .cure = Close it first.
both-wear = a set is in her hair by both records
    .cure = Take one out at a visit, or say of its plan that it did not go in; then say that they are one person's.
wears-there = a set is in her hair by this record
    .cure = Keep this one and set the other aside.
bag-there = { $pieces } of her pieces lie in her bag by this record
    .cure = Keep this one and set the other aside; or retire those pieces at a visit first.
set-aside-stops = in another record of hers, { $says }
health-without-consent = health answers are kept only with her consent to that, and none is recorded
    .cure = Ask her; record her consent for `health` with the wording she read, or leave the answers out.
signature-empty = there is no signature yet
    .cure = Let her sign on the pad, or type her name and tick that it stands for her signature.
signature-unreadable = that is no signature as the pad draws one
    .cure = Clear the pad and let her sign again.
no-skin-test-waits = no skin test of hers is waiting to be read
    .cure = Set a test first and read it when its time has come.
another-kind-of-event = that event says something of another kind
    .cure = Say the act that was meant, of the same kind as the one that is wrong.
no-such-number = no { $what } has this number
    .cure = Check the number: it may have been removed, or mistyped.
lot-counted-since = that lot was counted since
    .cure = Count the lot again: what was counted last is in force.
too-few-to-take-away = fewer pieces lie there than would have to be taken away
    .cure = Count the lot instead.

### What the salon's money refuses, and its own words.

invoice-retape = Re-tape, with new tabs
visit-invoiced = this visit has an invoice already, number { $invoice }
    .cure = Look at that invoice; take a payment on it, or give one back.
invoice-before-visit = the visit is on { $visited } and the invoice would be of { $day }
    .cure = Make the invoice on the day of the visit or after.
due-before-invoice = it would be due before { $day }, the day it is made
    .cure = Say the day of the invoice or a later one.
invoice-line-negative = a line of the invoice is less than nothing
    .cure = Look at the prices of the plan, then make it anew.
invoice-of-nothing = there is nothing to be paid for this visit
    .cure = Set the price of an hour or of packs, then make the plan anew; a visit without a charge needs no invoice.
no-plan-placed = no set of hers is in that this visit could be charged by
    .cure = Say the day on which her plan's set went in first.
plan-without-price = her plan has no price
    .cure = Set a currency and prices, then make the plan anew.
tax-too-fine = { $percent } of a hundred is finer than a tax is written
    .cure = Set it with three decimals at most.
sum-none = { $minor } is no sum that changes hands
    .cure = Say whole minor units, one or more.
nothing-owed = nothing is owed on invoice { $invoice }
    .cure = Check the number of the invoice.
more-than-owed = { $sum } is more than the { $owed } owed on invoice { $invoice }
    .cure = Take what is owed at most; what is paid for something else goes on its own invoice.
more-than-paid = { $sum } is more than the { $paid } paid on invoice { $invoice }
    .cure = Give back what was paid at most.

span-backwards = the last day is before the first
    .cure = Say the earlier day first.

### What the diary refuses.

day-is-past = { $day } is past: it is { $today }
    .cure = Say a day from { $today } on.
day-is-far-off = { $day } is { $days } days ahead
    .cure = Check the year; if it is meant, say why.
minutes-none = an appointment takes a minute at least
    .cure = Say how many minutes it takes.
past-midnight = begun at { $at } it would go on past midnight
    .cure = Begin earlier, or say fewer minutes.
person-is-taken = somebody else is booked then: on { $day } from { $at } to { $ends }
    .cure = Choose another time or another person.
chair-is-taken = at { $chair } somebody sits then: on { $day } from { $at } to { $ends }
    .cure = Choose another time or another chair.
minutes-unknown = no plan of hers says how long that takes
    .cure = Say the minutes, or make her plan first.
appointment-is-cancelled = this appointment was cancelled
    .cure = Book a new one.
appointment-of-another = this appointment is another client's
    .cure = Check its number.

### What a plan cannot do as wished.

piece-too-heavy = a piece of { $grams } g is heavier than this client's hair may carry
    .cure = Take pieces of at most { $most } g.
pieces-too-short = the longest piece on the shelf is { $longest }, { $short } short of the wish
    .cure = Order a longer length, or agree on this one with her.
shade-not-on-ring = shade { $code } is not on the ring
    .cure = Choose a code of the ring.
shade-near-one-on-ring = shade { $code } is not on the ring
    .cure = Choose a code of the ring. Did you mean { $near }?
photo-unread = the photo of the ends was not read
    .cure = Give the photo with its marks, or the colour as numbers or as a shade.
no-mix-near = no mix of this ring comes near enough to her ends
    .cure = Order a shade nearer to her ends, or agree on the visible difference with her before anything is bought.
pieces-not-to-be-had = { $pieces ->
    [one] { $pieces } piece of { $shade } at { $length } is on no shelf and in no pack
   *[other] { $pieces } pieces of { $shade } at { $length } are on no shelf and in no pack
}
    .cure = Add packs of that shade and length, or choose another length or mix.
budget-short = the budget is { $short } short of the quote
    .cure = { $reaches ->
        [one] About { $reaches } of { $sandwiches } sandwiches fits the budget: agree on a lighter set, or on more money.
       *[other] About { $reaches } of { $sandwiches } sandwiches fit the budget: agree on a lighter set, or on more money.
    }
off-the-head = that place is off the head
    .cure = Drop it on hair-bearing skin.
nothing-to-keep = This is the plan as it stands: there is nothing to keep
    .cure = Move a sandwich or take one out first.
grams-none = { $grams } g cannot be added
    .cure = Give grams from 0 to { $most }.
no-place-left = no place is left for another sandwich
    .cure = Agree that it is enough, or put in pieces that bring more hair each.
wish-not-filled = { $added } g of the { $wished } g wished are placed: { $lacks } g short
    .cure = Fill up to the wish, or agree on this much with her.
wish-without-room = { $added } g of the { $wished } g wished are placed: { $lacks } g short
    .cure = Agree on this much with her, or look at the ways on.

no-site-of-plan = { $name } is no site of this plan
    .cure = Name the sites as the plan does.
no-room-for-grams = There is no room for the { $grams } g to be added
room-for-part-of-grams = There is room for { $room } g of the { $grams } g to be added
no-room-for-another = There is no room for another sandwich: the plan stays as it is

### What a plan says of itself.

circumferences-are-tied = Circumferences are of hair gathered and tied, at the packing of a tied tail; they may be a third off.
ends-to-soften = Her own ends stop with a step that would be seen: soften them before, and blend after.
density-reckoned = Density was reckoned from the tied circumference, not counted.
no-ring = No ring was given: the shades are to be matched by eye.
shade-by-eye = The shade was chosen by eye at the ends; no reading was matched.
rows-close = The rows stand { $spacing } mm apart: nothing rests between rows under { $usual } mm apart, so at the next visit other hair is hard to find.
one-side-heavier = the client's { $heavier } carries { $more } g and her other side { $less } g: a part at a side, a whorl, or what is kept free makes the two halves of her head differ
over-load-early = At usual growth a slice comes over its load limit after { $days } days: lighter pieces, or look at the bonds then.
due-by-growth = Due by growth.
due-by-slip = Due by the hold of the bonds.
due-by-load = Due by the load on a slice.
due-by-longest = Due by the longest wear.

### The answer to a tap on an empty place.

no-parting-here = No parting runs here: no hair grows, or it is the top of the head.
whole-may-be-set = A whole sandwich may be set here.
halves-may-be-set = A sandwich of halves may be set here.
nothing-fits-here = No sandwich fits here.

### Ways on from a plan that stops short.

way-single-sided = One piece with a backing strip to a slice
way-lighter-pieces = Pieces of { $grams } g
way-bold = Bold instead of usual care
way-usual-care = Usual care instead of careful
way-lighter-wish = A lighter wish: { $wish }
way-other-length = Hair of { $millimetres } mm
way-without-style = Never worn { $style }

### The quote.

quote-time = Time
quote-time-detail = { $sandwiches ->
    [one] { $minutes } minutes for { $sandwiches } sandwich, prepared and blended
   *[other] { $minutes } minutes for { $sandwiches } sandwiches, prepared and blended
}
quote-tabs = New tape
quote-tabs-detail = { $pieces ->
    [one] for { $pieces } piece of her own that goes back in
   *[other] for { $pieces } pieces of her own that go back in
}
quote-ordered = Hair ordered
quote-ordered-detail = { $packs ->
    [one] { $packs } pack
   *[other] { $packs } packs
}
quote-shipping = Shipping
quote-shelf = Hair from the shelf
quote-shelf-detail = { $pieces ->
    [one] { $pieces } piece at the price of the cheapest pack
   *[other] { $pieces } pieces at the price of the cheapest pack
}
time-not-quoted = The hour has no price: time is not in the quote.
hair-not-quoted = No stock or packs were given: the hair is not in the quote.
hair-worn = { $retapes ->
    [0] The hair is worn { $times } time of { $days } days, with { $retapes } re-tapes at { $each } each; tabs come with new pieces.
    [one] The hair is worn { $times } times of { $days } days, with { $retapes } re-tape at { $each }; tabs come with new pieces.
   *[other] The hair is worn { $times } times of { $days } days, with { $retapes } re-tapes at { $each } each; tabs come with new pieces.
}
retape-serves = { $days ->
    [one] This re-tape serves until the next, { $days } day on.
   *[other] This re-tape serves until the next, { $days } days on.
}
own-worn-out = { $pieces ->
    [one] { $pieces } piece of hers was worn as often as a set is worn: new hair is reckoned for it. Look at it when it is out.
   *[other] { $pieces } pieces of hers were worn as often as a set is worn: new hair is reckoned for them. Look at them when they are out.
}
shelf-unpriced = { $pieces ->
    [one] { $pieces } piece from the shelf has no pack to price it by.
   *[other] { $pieces } pieces from the shelf have no pack to price them by.
}

### What makes an order impossible.

supplier-twice = this supplier stands twice
    .cure = Keep one entry for each supplier.
price-none = { $minor } is no price
    .cure = Write minor units, zero or more.
pack-twice = this pack stands twice
    .cure = Give each pack its own id.
supplier-unknown = its supplier "{ $supplier }" is not listed
    .cure = Add the supplier with its shipping, or correct the name.
pack-empty = a pack of { $pieces } pieces
    .cure = Write how many pieces the pack holds.
need-too-large = { $pieces } pieces are needed
    .cure = Write how many pieces this set takes.
lot-too-large = { $pieces } pieces
    .cure = Count the shelf again.
suppliers-too-many = { $count } suppliers at once
    .cure = Leave out those not bought from.
cost-beyond-sums = the cost is beyond all sums of money
    .cure = Check prices and pieces.

## Visits and pieces

skin-test-read-that-day = the skin test was read on that day already
    .cure = Read it again on its next day, or correct what was said.
skin-test-read-before-set = it was set on { $set }, after that day
    .cure = Check the day.
skin-test-missing = no skin test of hers was set
    .cure = Set one and read it when its time has come, or say why it goes ahead without one; the reason is kept.
skin-test-unread = her skin test was not read at 48 hours or later
    .cure = Read it when its time has come, or say why it goes ahead without; the reason is kept.
skin-test-reacted = her skin test showed a reaction
    .cure = No tape goes on her skin or hair: she asks her doctor first. Passing this takes a reason, which is kept.
skin-test-half-read = The skin test was read once: one reaction in three shows only at the second reading, 96 hours after it was set.
verdict-stops = the consultation stops it: { $says }
    .cure = Look at her answers again; passing this takes a reason, which is kept.
visit-is-open = a visit of hers goes on: { $kind }, begun on { $day }
    .cure = Close it first.
visit-before-last = her last visit was on { $day }
    .cure = Check the day: a visit begins no earlier than the one before it.
visit-needs-plan = it goes by a plan, and none is named
    .cure = Make her plan for that day and name it.
visit-is-closed = that visit is closed
    .cure = Begin a new one; what was closed is corrected by its event.
step-before-visit = the visit began on { $day }
    .cure = Check the day.
visit-goes-on = that visit goes on
    .cure = Close it first: what was done is charged, not what is meant to be.
no-visit-is-open = no visit of hers goes on
    .cure = Begin one: her pieces are seen to at a visit.
nothing-is-set-at = nothing is set at a visit of this kind: { $kind }
    .cure = Begin an application, a re-tape or a check.
set-still-in = { $pieces ->
    [one] { $pieces } of her pieces is in her hair already: a re-tape takes it out first.
   *[other] { $pieces } of her pieces are in her hair already: a re-tape takes them out first.
}
site-holds-pieces = { $site } holds pieces already
    .cure = Take them out first, or take the step back.
nothing-at-site = nothing of hers is at { $site }
    .cure = Look at her map: only what is in her hair is taken out or measured.
moved-too-far = { $moved } mm is no move of a sandwich
    .cure = Say how far it was moved along its parting, at most { $most } mm; farther away it is another place of a new plan.
added-nowhere = { $by } mm from its middle is no place on that parting
    .cure = Say how far from the middle of the place beside it the new one lies, and towards which side.
slice-bears-already = the hair there hangs at { $site } already: a slice bears one sandwich
    .cure = Set it farther away, or say why it goes there all the same.
one-piece-twice = one piece cannot lie above and below
    .cure = Name two pieces, or leave them out and they are chosen.
one-piece-here = one piece with a backing strip goes here
    .cure = Name the upper one alone.
piece-neither-hers-nor-on-shelf = that piece is neither hers nor on the shelf
    .cure = A piece never goes from one head to another: check its number, or take one from the shelf.
piece-not-hers = that piece is not hers
    .cure = Check its number: only pieces from her own hair are seen to at her visit.
piece-too-wide = a whole piece is wider than this place
    .cure = Cut it in half first, or say why the whole one goes in.
piece-has-no-new-tape = it has no new adhesive (T18)
    .cure = Rub off the old, put on new and record that it was re-taped; or say why it goes in as it is.
own-pieces-wait-for-tape = { $pieces ->
    [one] { $pieces } of her own pieces lies there without new adhesive
   *[other] { $pieces } of her own pieces lie there without new adhesive
}
    .cure = { $pieces ->
        [one] Record it as re-taped, or as retired; or say why a new piece is taken.
       *[other] Record them as re-taped, or as retired; or say why a new piece is taken.
    }
piece-is-in-hair = it is in her hair, at { $site }
    .cure = Take it out first.
piece-is-no-more = it is worn no more: { $state }
    .cure = Take another piece.
half-is-not-cut = a half is not cut again
    .cure = Take a whole piece.
not-on-shelf = no piece of { $shade } of { $length } is on the shelf, and { $others } of other lengths
    .cure = Record the pack that came, name the pieces, skip the place, or say why pieces that no record holds are set.
reason-missing = no reason is said
    .cure = Say why in a few words; it is kept.
say-what-was-seen = nothing is said
    .cure = Say where, and what was seen.
regrowth-none = { $says }
    .cure = Say how much has grown since it was set, in millimetres: the way from the scalp, less the room it had when it was set.
nothing-to-undo = nothing was done yet at this visit
    .cure = There is nothing to take back.
still-in = { $pieces ->
    [one] { $pieces } piece is still in her hair that should be out
   *[other] { $pieces } pieces are still in her hair that should be out
}
    .cure = { $pieces ->
        [one] Take it out, or say why it stays; the reason is kept.
       *[other] Take them out, or say why they stay; the reason is kept.
    }
closing-checks-missing = the closing checks are not said
    .cure = Say whether every bond moves freely, how far off the scalp they sit, whether nothing shows tied up, and whether it is comfortable.
bonds-pull = a bond pulls when it is moved (T9)
    .cure = Set that one anew before she leaves; or say why it stays.
not-comfortable = she is not comfortable
    .cure = Find the bond that pulls and set it anew; pain is never worn in. Or say why it stays.
something-shows = something shows with the hair tied up (T6)
    .cure = Move or take out what shows; or say why it stays.
bonds-too-near = bonds sit { $mm } mm off the scalp; { $asked } mm are asked (T9)
    .cure = Measure again in millimetres, and set anew what sits too near; or say why it stays.
reason-too-long = that reason is longer than { $most } letters
    .cure = Say it in fewer words.
