"""Takes the scalp out of a volume scan of a head, as a table that `bench_scans` reads.

    python scalp_of_scan.py SCAN OUT.txt [--degrees 4] [--ears-mm UP FORWARD]

SCAN is a NIfTI volume (.nii, .nii.gz) or a project of the CT program InVesalius
(.inv3). Needs `pip install numpy scipy nibabel` in an environment of its own;
the project itself needs none of them. Scans that are free to use and lie in
package registries:

    Debian  mricron-data          /usr/share/mricron/templates/ch2.nii.gz
            one man's head, MRI, mean of 27 scans (Holmes et al. 1998); BSD-3-Clause
    PyPI    pydeface 2.1          pydeface/data/mean_reg2mean.nii.gz
            mean MRI of several heads; MIT
    Debian  invesalius-examples   .../examples/Cranium.inv3
            one head, CT; GPL-2 (so a table made of it stays out of this project)

How: skin is where the volume passes half-way between air and tissue. What is
thinner than 20 mm (ears, a head rest) is taken off by opening the filled body with
a ball of 10 mm. An ear is where the body with ears stands more than 3 mm out of the
body without; its notch lies in front of and below the middle of that patch by what the
program's own ear has between the two. The root of the nose is the deepest
place of the profile between brow and nose, half-way between the ears. Frame:
origin the foot of the root of the nose on the line through the notches,
x right, y to the root of the nose, z up, mm.
"""

import argparse
import plistlib
import tarfile

import numpy
from scipy import ndimage

CENTRE = numpy.array([0.0, 12.0, 40.0])
"""Where the rays start, mm: the centre of the program's own template."""
EAR_MIDDLE = numpy.array([-13.0, 4.0])
"""The middle of an ear behind and above its notch, mm, as in the program."""
BALL = 10.0
"""The ball that opens the body, mm."""
STEP = 1.0
"""The volume is brought to cubes of this size, mm."""


def load(path):
    """The scan in cubes of STEP, axes right, forward, up; whether it is a CT; and the place of its first voxel."""
    if path.endswith(".inv3"):
        with tarfile.open(path) as project:
            files = {member.name.split("/")[-1]: member for member in project.getmembers()}
            main = plistlib.load(project.extractfile(files["main.plist"]))
            matrix = main["matrix"]
            raw = numpy.frombuffer(project.extractfile(files[matrix["filename"]]).read(), dtype=matrix["dtype"])
            size = main["spacing"]
        # Slices run from the neck up or down; rows from back to front.
        volume = raw.reshape(matrix["shape"]).transpose(2, 1, 0).astype(numpy.float32)
        tissue = (volume > -300).sum((0, 1))
        if tissue[:5].sum() < tissue[-5:].sum():
            volume = volume[:, :, ::-1]
        ct, corner = True, numpy.zeros(3)
    else:
        import nibabel

        image = nibabel.as_closest_canonical(nibabel.load(path))
        volume = numpy.asarray(image.dataobj, dtype=numpy.float32)
        size = image.header.get_zooms()[:3]
        ct, corner = volume.min() < -500, image.affine[:3, 3]
    return ndimage.zoom(volume, [s / STEP for s in size], order=1), ct, corner


def largest(mask):
    labels, count = ndimage.label(mask)
    if count == 0:
        raise SystemExit("no body found in the scan")
    return labels == 1 + numpy.argmax(ndimage.sum_labels(mask, labels, range(1, count + 1)))


def skin_level(volume, ct):
    """Half-way between air and soft tissue."""
    if ct:
        return -500.0
    level = volume.mean()
    for _ in range(50):
        level = 0.5 * (volume[volume <= level].mean() + volume[volume > level].mean())
    return level


def bodies(volume, level):
    """The filled body with its ears, and without."""
    pad = 12
    # What the volume's lower end cuts off goes on below it.
    padded = numpy.pad(volume > level, ((pad, pad), (pad, pad), (0, pad)))
    padded = numpy.concatenate([numpy.repeat(padded[:, :, :1], pad, axis=2), padded], axis=2)
    body = largest(padded)
    near = ndimage.distance_transform_edt(~body) * STEP <= 4.0
    inner = ~largest(~near)
    filled = body | (ndimage.distance_transform_edt(inner) * STEP > 4.0)
    eroded = largest(ndimage.distance_transform_edt(filled) * STEP > BALL)
    opened = ndimage.distance_transform_edt(~eroded) * STEP <= BALL
    cut = (slice(pad, -pad), slice(pad, -pad), slice(pad, -pad))
    return filled[cut], (opened & filled)[cut]


def ear_middle(filled, opened, right):
    """The middle of the patch where one ear stands out: voxel coordinates, forward and up."""
    out = reach(filled, right) - reach(opened, right)
    patch = largest((out * STEP > 3.0) & (reach(opened, right) * STEP > 40.0))
    y, z = numpy.nonzero(patch)
    span = lambda v: numpy.percentile(v, [1, 99])
    print(f"{'right' if right else 'left'} ear: {numpy.ptp(span(y)) * STEP:.0f} mm long, {numpy.ptp(span(z)) * STEP:.0f} high")
    return numpy.array([span(y).mean(), span(z).mean()])


def reach(body, right):
    """How far out from the scan's middle a body reaches to one side."""
    middle = body.shape[0] // 2
    side = body[middle:] if right else body[middle - 1 :: -1]
    return numpy.where(side.any(0), side.shape[0] - 1 - numpy.argmax(side[::-1], axis=0), 0)


def notch(opened, right, at):
    """The place of the skin at a voxel's height and depth."""
    middle = opened.shape[0] // 2
    out = reach(opened, right)[tuple(numpy.rint(at).astype(int))]
    return numpy.array([middle + out if right else middle - 1 - out, at[0], at[1]], dtype=float)


def landmarks(volume, ct, shift):
    """Both notches and the root of the nose, by the geometry."""
    # Thin ears fill their voxels in part, so half the level shows them whole.
    level = skin_level(volume, ct)
    filled, opened = bodies(volume, level if ct else 0.5 * level)
    middles = [ear_middle(filled, opened, right) for right in (False, True)]
    skin, _ = bodies(volume, level)
    cosine, sine = 1.0, 0.0
    for _ in range(4):
        # Forward and up in the frame, as the scan is pitched.
        forward, up = numpy.array([cosine, sine]), numpy.array([-sine, cosine])
        off = (shift[1] - EAR_MIDDLE[0]) * forward + (shift[0] - EAR_MIDDLE[1]) * up
        left, right = (notch(opened, side, middle + off / STEP) for side, middle in zip((False, True), middles))
        nose = nasion(skin, left, right)
        ahead = (nose - 0.5 * (left + right))[1:]
        cosine, sine = ahead / numpy.linalg.norm(ahead)
    return left, right, nose


def nasion(filled, left, right):
    """The root of the nose: the deepest place of the profile between brow and nose."""
    sideways = (right - left) / numpy.linalg.norm(right - left)
    between = 0.5 * (left + right)
    forward = numpy.cross([0.0, 0.0, 1.0], sideways)
    up = numpy.cross(sideways, forward)
    body = ndimage.gaussian_filter(filled.astype(numpy.float32), 1.0 / STEP)
    heights = numpy.arange(-60.0, 90.0, 0.5)
    outs = numpy.arange(160.0, 40.0, -0.25)
    profile = []
    for h in heights:
        line = between + (forward * outs[:, None] + up * h) / STEP
        inside = ndimage.map_coordinates(body, line.T, order=1, cval=0.0) > 0.5
        profile.append(outs[numpy.argmax(inside)] if inside.any() else 0.0)
    profile = ndimage.gaussian_filter1d(numpy.array(profile), 2.0)
    # From the forehead down, the first place that is set back from above and below.
    dips = [k for k in range(10, len(heights) - 10) if profile[k] > 40 and profile[k] == profile[k - 10 : k + 11].min()
            and profile[k - 20 : k].max() > profile[k] + 1.5]
    dips = [k for k in dips if -20 < heights[k] < 60]
    if not dips:
        raise SystemExit("no root of the nose found: the scan has no face")
    k = max(dips)
    return between + (forward * profile[k] + up * heights[k]) / STEP


def main():
    options = argparse.ArgumentParser()
    options.add_argument("scan")
    options.add_argument("out")
    options.add_argument("--degrees", type=int, default=4)
    options.add_argument("--ears-mm", type=float, nargs=2, default=[0.0, 0.0], metavar=("UP", "FORWARD"))
    options.add_argument("--landmarks", type=float, nargs=9, metavar="MM", help="left notch, right notch, root of the nose, in the scan's own frame, where they are published")
    options.add_argument("--name", default="a scalp", help="what the table's first line says")
    asked = options.parse_args()
    volume, ct, corner = load(asked.scan)
    if asked.landmarks:
        left, right, nose = ((numpy.array(asked.landmarks[k : k + 3]) - corner) / STEP for k in (0, 3, 6))
        up = numpy.cross(right - left, nose - left)
        up /= numpy.linalg.norm(up)
        ahead = numpy.cross(up, right - left)
        more = (asked.ears_mm[1] * ahead / numpy.linalg.norm(ahead) + asked.ears_mm[0] * up) / STEP
        left, right = left + more, right + more
    else:
        left, right, nose = landmarks(volume, ct, asked.ears_mm)
    _, opened = bodies(volume, skin_level(volume, ct))
    sideways = (right - left) / numpy.linalg.norm(right - left)
    origin = left + sideways * ((nose - left) @ sideways)
    forward = (nose - origin) / numpy.linalg.norm(nose - origin)
    up = numpy.cross(sideways, forward)
    print(f"ears {numpy.linalg.norm(right - left) * STEP:.1f} mm apart, root of the nose {numpy.linalg.norm(nose - origin) * STEP:.1f} mm in front; voxels {left} {right} {nose}")
    soft = ndimage.gaussian_filter(opened.astype(numpy.float32), 1.0 / STEP)
    outs = numpy.arange(170.0, 20.0, -0.25)
    rows = []
    for polar in numpy.radians(numpy.arange(0, 180 + asked.degrees, asked.degrees)):
        row = []
        for round_ in numpy.radians(numpy.arange(0, 360, asked.degrees)):
            ray = numpy.array([numpy.sin(polar) * numpy.cos(round_), numpy.sin(polar) * numpy.sin(round_), numpy.cos(polar)])
            places = CENTRE + ray * outs[:, None]
            line = origin + (places[:, :1] * sideways + places[:, 1:2] * forward + places[:, 2:] * up) / STEP
            inside = ndimage.map_coordinates(soft, line.T, order=1, cval=-1.0)
            k = int(numpy.argmax(inside >= 0.5))
            # Off the volume's edge there is no skin to be seen.
            if inside[k] < 0.5 or k == 0 or inside[k - 1] < 0.0:
                row.append("-")
                continue
            share = (0.5 - inside[k]) / (inside[k - 1] - inside[k])
            row.append(f"{outs[k] + 0.25 * share:.1f}")
        rows.append(" ".join(row))
    with open(asked.out, "w", encoding="ascii") as file:
        file.write(f"# {asked.name}\n# radius from (0, 12, 40) in mm; rows: angle from straight up, columns: from the right to the front\n")
        file.write("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
