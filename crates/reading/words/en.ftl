# What is said of a picture and of what was read in it, in English.
#
# Numbers come written (measure::text).

### Why a picture cannot be read.

black = the photo is black, or nearly: take it again in good light
corners-outside = the chart's corners lie outside the photo: { tap-corners }
corners-cross = the chart's corners cross over: { tap-corners }
corners-turned = the chart's corners run the wrong way round: { tap-corners }
corners-close = the chart's corners lie too close together: { tap-corners }
tap-corners = tap them in order, brown patch, end of its row, black patch, white patch
left-out-unknown = the patches to leave out name one that is not there: they are counted from 0, the brown one, to 23, the black one
left-out-too-many = the patches to leave out are too many: with fewer than 12 of them no colour can be read
chart-turned = the chart's corners are turned: start at the brown patch, the white patch is the last corner
chart-missing = there is no 24-patch chart under the four corners: their colours are not the chart's; tap the chart's own corners, brown, turquoise, black, white
chart-too-alike = the chart's patches are too alike to be read: move into better light
outline-corners = the outline of the hair needs 3 to 500 corners: { draw-outline }
outline-outside = the outline of the hair lies outside the photo: { draw-outline }
outline-crosses = the outline of the hair crosses itself: { draw-outline }
outline-small = the outline of the hair is too small to read: { draw-outline }
outline-on-chart = the outline of the hair lies on the chart: { draw-outline }
outline-empty = the outline of the hair holds no pixels: { draw-outline }
outline-strands = the outline of the hair says how the strands run in words not known; write "along first edge to last edge" or leave it out, and: { draw-outline }
outline-of-ring = the outline of the hair stands for one of more than 60 swatches; take the ring in several photos, and: { draw-outline }
outline-beside = the outline of the hair stands for one of more than 60 swatches; lay only the few that are in question beside the ends, and: { draw-outline }
draw-outline = draw it round the ends, from the root side on
too-dark = the hair is darker than this camera's noise: give it more light, as near a window, and take the photo again
light-too-uneven = the light changes too much between chart and hair: lay them side by side, turn so that the window is behind you, and take the photo again
too-bright = nearly all of the hair is as bright as the camera can show: tap on the hair before taking the photo so that it comes out darker, and take it again
too-unsure = this photo would be read to no better than { $units } units, more than a whole level; { $worst }, and take the photo again
worst-chart = its chart does not come out true: lay it flat beside the hair in even light, without shadow or shine, wipe it, and let it fill more of the picture
worst-greys = the camera's noise has changed the greys: give it more light, as near a window
worst-light = the light is not the same on chart and hair: lay them side by side, with the window behind you
worst-clipping = the hair is at the end of what the camera can show: give dark hair more light, take light hair a little darker
worst-gloss = gloss hides the hair's own colour: turn it until most of it is without shine
patches-covered = { $patches } of the chart do not look like themselves: take away what lies on them, wipe the chart, see that no shadow falls on it, and take the photo again
swatch-unread = the swatch of { $code }: { $why }

### What is wrong in a picture that was read.

light-changes = The light changes between chart and hair: turn so that the window is behind you, or lay them closer together.
one-too-bright = { $patch } is too bright to count: take the photo a little darker.
several-too-bright = { $patches } are too bright to count: take the photo a little darker.
one-not-used = { $patch }, does not look like itself and was not used: see whether something lies on it, a stain or a shadow.
several-not-used = { $patches } do not look like themselves and were not used: see whether something lies on them, a stain or a shadow.
two-lights = Two lights of different colour fall on the board: turn the lamp off, or move away from the window.
hair-dark = The hair is so dark that the camera's noise hides some of it: give it more light.
hair-glossy = There is gloss along nearly all of the hair: turn it until more of it is without shine.
hair-white-with-shine = Parts of the hair are white with shine: turn the hair out of the light.
half-level-unsure = Below level 4 half a level cannot be told from a photo.
chart-small = The chart is small in this photo, its patches only { $pixels } pixels wide: go nearer, so that board, chart and hair fill the picture.

### The chart's patches by their looks and places.

patch = the { $look } patch, { $place } in the { $row } row
no-patch = no patch
patches = the { $looks } patches
look-brown = brown
look-pale-pink = pale pink
look-grey-blue = grey-blue
look-dull-green = dull green
look-lilac = lilac
look-pale-turquoise = pale turquoise
look-orange = orange
look-dark-blue = dark blue
look-coral-red = coral red
look-dark-purple = dark purple
look-yellow-green = yellow-green
look-golden-yellow = golden yellow
look-deep-blue = deep blue
look-green = green
look-red = red
look-yellow = yellow
look-pink = pink
look-turquoise-blue = turquoise blue
look-white = white
look-lightest-grey = lightest grey
look-light-grey = light grey
look-middle-grey = middle grey
look-dark-grey = dark grey
look-black = black
first = first
second = second
third = third
fourth = fourth
fifth = fifth
last = last
