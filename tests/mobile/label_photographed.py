"""The printed label as a phone's camera sees it: on a unit's dark case, askew, badly lit.

The pictures are made, not taken: the sticker that the app prints is put on a dark case, seen
from aside, blurred, lit and spoilt, and packed as a camera packs it (JPEG).
"""

from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from logic.records.label import sticker
from logic.records.record import SealedRecord

WIDE, HIGH = 1800, 2400  # pixels, a phone's camera at a fifth of what most write


@dataclass(frozen=True)
class Shot:
    """How the photo is taken.

    ``turned`` in degrees; ``aslant`` is how much narrower the far edge is than the near one,
    ``filled`` how much of the width the sticker takes, ``blur`` a radius in pixels, ``light``
    the share of the paper's white that is left, ``glare`` how much of the sticker's width a
    reflection covers, ``noise`` the grey steps that single pixels are off.
    """

    turned: float = 0.0
    aslant: float = 0.0
    filled: float = 0.6
    blur: float = 1.0
    light: float = 0.85
    glare: float = 0.0
    noise: float = 4.0
    upright_by_exif: bool = False


def photograph(sealed: SealedRecord, shot: Shot, seed: int = 1) -> bytes:
    """Return the JPEG that a camera would write of a record's sticker."""
    rng = np.random.default_rng(seed)
    paper = sticker.picture(sealed, 300).convert("L")
    wide = round(WIDE * shot.filled)
    paper = paper.resize((wide, round(paper.height * wide / paper.width)), Image.Resampling.LANCZOS)
    if shot.glare:
        paper = _with_glare(paper, shot.glare)
    mask = Image.new("L", paper.size, 255)
    case = Image.new("L", (WIDE, HIGH), 60)
    draw = ImageDraw.Draw(case)
    for left in range(0, WIDE, 90):  # the fins of its heat sink
        draw.rectangle((left, 0, left + 40, HIGH), fill=85)
    at = ((WIDE - paper.width) // 2, (HIGH - paper.height) // 2)
    for picture in (paper, mask):
        laid = Image.new("L", (WIDE, HIGH), 0)
        laid.paste(picture, at)
        seen = _seen_from(laid, shot)
        if picture is paper:
            shown = seen
        else:
            case.paste(shown, (0, 0), seen)
    blurred = case.filter(ImageFilter.GaussianBlur(shot.blur))
    pixels = np.asarray(blurred, dtype=float) * shot.light
    falling_off = np.linspace(1.0, 0.6, WIDE)[None, :]  # the light comes from the left
    pixels = pixels * falling_off + rng.normal(0.0, shot.noise, (HIGH, WIDE))
    taken = Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).convert("RGB")
    written = BytesIO()
    if shot.upright_by_exif:
        exif = Image.Exif()
        exif[0x0112] = 6  # Orientation: turn it a quarter clockwise to look at it
        taken.transpose(Image.Transpose.ROTATE_90).save(written, "JPEG", quality=80, exif=exif)
    else:
        taken.save(written, "JPEG", quality=80)
    return written.getvalue()


def _seen_from(picture: Image.Image, shot: Shot) -> Image.Image:
    turned = picture.rotate(shot.turned, Image.Resampling.BICUBIC)
    if not shot.aslant:
        return turned
    near = np.array([[0, 0], [WIDE, 0], [WIDE, HIGH], [0, HIGH]], dtype=float)
    inward = WIDE * shot.aslant / 2
    far = near + np.array([[inward, HIGH * 0.1], [-inward, HIGH * 0.1], [0, 0], [0, 0]])
    return turned.transform(
        (WIDE, HIGH), Image.Transform.PERSPECTIVE, _mapping(far, near), Image.Resampling.BICUBIC
    )


def _mapping(seen: np.ndarray, laid: np.ndarray) -> list[float]:
    """Return the eight figures of the plane's mapping from what is seen to what is laid."""
    rows, wanted = [], []
    for (x, y), (u, v) in zip(seen, laid, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        wanted += [u, v]
    return list(np.linalg.solve(np.array(rows), np.array(wanted)))


def _with_glare(paper: Image.Image, share: float) -> Image.Image:
    """Put a white reflection over the middle of the sticker."""
    across = paper.width * share
    middle = (paper.width * 0.55, paper.height * 0.45)
    spot = Image.new("L", paper.size, 0)
    box = (middle[0] - across / 2, middle[1] - across / 2)
    ImageDraw.Draw(spot).ellipse((*box, box[0] + across, box[1] + across), fill=255)
    spot = spot.filter(ImageFilter.GaussianBlur(across / 12))
    return Image.composite(Image.new("L", paper.size, 255), paper, spot)
