# What is said of a head's measures and marks, in English.
#
# A message is what is odd; `.cure` is how to mend it. Numbers come written (measure::text).

### The measures, as sentences call them.

tape-round = the tape round the head
tape-over-top = the tape from ear to ear over the top
tape-front = the tape from the front hairline to the ear-to-ear tape
tape-nape = the tape from the ear-to-ear tape to the nape hairline
tape-behind = the tape from ear to ear round the back
calliper-length = the calliper length
calliper-breadth = the calliper breadth

### Measures that cannot be right, or need a reason.

kept-because = { $what } Kept because: { $reason }.
no-length = { $tape } reads { $read } mm, which is no length.
    .cure = Leave it out if it was not measured; people have { $least } to { $most } mm.
odd = { $tape } reads { $read }; people have { $least } to { $most } mm.
    .cure = Measure again; if it is right (a child, a very large head), go on by giving the reason.
odd-beyond-all = { $tape } reads { $read }; people have { $least } to { $most } mm.
    .cure = No head is like that: measure again, in millimetres.
odd-by-unit = { $tape } reads { $read }; people have { $least } to { $most } mm.
    .cure = Was it read in { $unit }? Then write { $then }.
inches = inches
centimetres = centimetres
inches-as-centimetres = inches, written as if they were centimetres
ten-times-too-large = tenths of a millimetre or centimetres, ten times too large
longer-than = { $tape } reads { $read }, which is longer than { $than } ({ $round } round).
    .cure = Measure both again; perhaps the two were swapped.
half-round = half the tape round the head, which no head can be
four-fifths-round = four fifths of the tape round the head, which no head can be
doubt-longer = the measures do not agree: { $tape } is { $by } longer than the others suggest. Measure it again first; if it stays so, measure the others again
doubt-shorter = the measures do not agree: { $tape } is { $by } shorter than the others suggest. Measure it again first; if it stays so, measure the others again

### Marks that cannot be on this head.

mark-outside = { $mark } reads { $read }; { $least } to { $most } mm is possible.
    .cure = Measure again, in millimetres.
mark-nape-below-occiput = the nape hairline below the occipital bone
mark-front-peak = the peak of the front hairline
mark-recession = the temples' recession
mark-crown-behind = the crown behind the ear-to-ear tape
mark-crown-beside = the crown beside the midline
mark-nape-half-width = the nape hairline from its middle to its corner
mark-nape-corner-rise = the rise of the nape hairline's corner
mark-behind-ear = the bare skin behind the ear
mark-temple = the way from the sectioning line to the temple's hairline
mark-ear-line-back = the sectioning line behind the top of the ear
parting-none = a parting taped as { $long } long, { $up } above the nape, is none.
    .cure = Tape it again from end to end, in millimetres.
parting-tilted = the parting { $up } up the middle was taped with one end { $higher } higher than the other: it is not level.
    .cure = Comb it again, her gaze level, towards the same height on both sides, and tape it then.
parting-disagrees = the parting { $up } up the middle was taped as { $taped }; this head gives { $given } there.
    .cure = Tape it again over the back, from ear-to-ear line to ear-to-ear line or to the hair's edge behind the ears, and look at where it starts.
corner-under-ear = the corner of the nape hairline would lie under the ear.
    .cure = Measure again along the nape hairline, from its middle to where it turns up, and how much higher that corner lies.
nape-beyond-head = the nape hairline would lie beyond the head.
    .cure = Measure it again along the middle, from the ear-to-ear tape.
front-beyond-head = the front hairline would lie beyond the head.
    .cure = Measure it again along the middle, from the ear-to-ear tape.
nape-above-back = the nape hairline would lie above the back of the head.
    .cure = Measure it again down to the lowest hair.
nape-below-head = the nape hairline would lie below the head as it was measured.
    .cure = Measure again from the ear-to-ear tape down to the lowest hair, and how the corner lies to it.
no-line-from-ears = no line runs up from the top of the ears on this head.
    .cure = Measure the head again, ear to ear over the crown.
temple-beyond-head = the temple's hairline would lie beyond the head.
    .cure = Measure it again, level forward from the line that runs up from the top of the ear, 45 mm above the ear.

### What was not measured, and what is taken instead.

front-unmeasured = the front hairline was not measured: it is set where most people's is, give or take 10 mm
nape-unmeasured = the nape hairline was not measured: it is set 35 mm below the occipital bone, give or take 15 mm; every height above it moves with it
crown-unmarked = the crown whorl was not marked: it is set on the midline where it lies on average, but it may be 50 mm off and to either side; look at it and mark it
