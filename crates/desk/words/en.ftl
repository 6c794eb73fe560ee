# What is said when an act cannot be done, and of what stays when a client is erased, in English.
#
# A message is what is wrong; `.cure` is what to do. A line of `act` is written with keys:
# here a sentence may name the key that it is about.

### The line of an act.

line-no-json = the line is no JSON ({ $cause })
    .cure = Write one JSON object a line.
line-no-object = the line is no JSON object
    .cure = Write one JSON object a line.
act-unknown = there is no act { $act }
    .cure = `act --list` tells every act with what it takes.
act-unlisted = there is no act { $act }
    .cure = `act --list` tells every act.
key-not-taken = { $act } takes no { $key }
    .cure = It takes { $known }.
key-needed = { $act } needs { $key }
    .cure = Say it in the line.
key-unread = { $key } cannot be read ({ $cause })
    .cure = Write it as acts are written.
time-none = `at` is no time of day
    .cure = Write hours and minutes, as in 10:30.
word-none = { $word } is no { $place }
    .cure = Say one of { $known }.
changed-meanwhile = { $what } was changed in the meantime: version { $now } is in force, this began from { $seen }
    .cure = Look at what is in force, then do it again.
key-stood-before = this key stood under another line before
    .cure = Give every act a key of its own.

### What an act refuses.

unknown = no { $what } has this number: it may have been removed, or the address is mistyped
changed-elsewhere = this was changed elsewhere in the meantime (version { $now }, yours began from { $seen }): look at it again before saving
    .cure = Look at both versions, then do it again.
records-fault = { $fault }
    .cure = Nothing was written; mend what is said and do it again.
ring-unread = the ring cannot be read ({ $cause })
    .cure = Write it as a ring's file holds it.
ring-wrong = { $fault }
    .cure = Mend the shade that is named.
percent-none = a share of a hundred lies between 0 and 100, with three decimals at most
    .cure = Say it again.
price-none = that is no price
    .cure = Say it in the currency's smallest unit, from 0 up.
zone-none = there is no such time zone
    .cure = Say it as calendars do, as in Europe/Paris.
consent-incomplete = a consent needs `purpose` and `wording`
    .cure = Say what she agreed to and the version of the words she read.
consent-not-given = she has not agreed to { $purpose }
    .cure = Nothing is to be done.
pieces-uncounted = that is no count of pieces: 1 to { $most }
    .cure = Count them again.
day-none = { $cause }
    .cure = Write it as year-month-day.
export-wrong = { $what }
    .cure = Take an export as it was written.
event-none = there is no event { $seq } to correct
    .cure = Look at its number again.
event-of-another = that event is another client's
    .cure = A correction stays with the client it is about.
act-not-corrected = { $act } is not corrected
    .cure = Say it anew: what was said last is in force, and what was said before stays in the book.

### What is beyond all measure in a stock.

list-beyond = The list { $name } has { $lines } lines, more than { $most }: leave out what is not sold any more.
pack-price-beyond = The pack { $pack } costs { $minor } minor units, which is no price: write zero or more, at most { $most }.
shipping-beyond = The shipping of { $supplier } is no price: write minor units, zero or more, at most { $most }.
lot-beyond = Lot { $lot } has { $pieces } pieces on the shelf, more than { $most }: count it again.
pack-beyond = The pack { $pack } holds { $pieces } pieces, more than { $most }: write how many it holds.

### What stays when a client is erased, and why.

erased-stays = that a client with this number was erased, when, by whom and why: so that a restored backup leaves her out
sealed-stays = the sealed events themselves, which nobody can open any more: so that the chain of all records stays whole
invoices-stay = her invoices ({ $which }): number, day, sums, what was paid, and the name they were made out to, since the law asks that books are kept
invoices-long-ago = from more than a year ago
invoices-and-earlier = { $numbers }, and earlier ones
records-were-erased = her records were erased
other-records-stay = { $records } of the same person, whole, and no longer said to be hers together with this one
other-record-erased = the other record was erased
erasing-one-of-several = { $records } records are hers, and it is not said which go
    .cure = Say `records`: `all` erases every one of them, `this` the one that is named.
