"""How long a printed record and a label take, and how large they are.

    python -m tests.benchmarks.paper

The record is a commissioning of sixty steps with four photos of a phone's size.
"""

import hashlib
import io
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from logic.records.label.encoding import decode, encode
from logic.records.label.sticker import write_label_pdf, write_label_png
from logic.records.paper.reader import check_pdf
from logic.records.paper.report import write_pdf
from logic.records.qr import symbol
from tests.logic.records import sample_records
from tests.paths import CHECKOUT

TIMES = 7


def photo(folder: Path, number: int) -> tuple[str, Path]:
    from PIL import Image

    content = io.BytesIO()
    picture = Image.effect_noise((4000, 3000), 30 + number).convert("RGB")
    picture.save(content, "JPEG", quality=70)
    path = folder / f"{number}.jpg"
    path.write_bytes(content.getvalue())
    return hashlib.sha256(content.getvalue()).hexdigest(), path


def median_ms(work: Callable[[], object]) -> float:
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def say(what: str, value: float, unit: str) -> None:
    print(f"{what:<44} {value:9.1f} {unit}")


def main() -> None:
    folder = Path(tempfile.mkdtemp())
    photos = dict(photo(folder, number) for number in range(4))
    steps = (sample_records.commissioning_steps("e" * 64) * 6)[:60]
    bare = [step.model_copy(update={"photos": ()}) for step in steps]
    shown = [
        step.model_copy(update={"photos": (digest,)})
        for step, digest in zip(bare, photos, strict=False)
    ]
    without = sample_records.seal(sample_records.commissioning(steps=tuple(bare)))
    record = sample_records.seal(sample_records.commissioning(steps=(*shown, *bare[len(shown) :])))
    path = folder / "record.pdf"
    imports = "import logic.records.paper.front, logic.records.paper.photos"
    command = [sys.executable, "-c", imports]
    nothing = [sys.executable, "-c", "import logic.records.paper.report"]
    cold = median_ms(lambda: subprocess.run(command, cwd=CHECKOUT, check=True))
    say(
        "loading the printer, once",
        cold - median_ms(lambda: subprocess.run(nothing, cwd=CHECKOUT, check=True)),
        "ms",
    )
    say("record, 60 steps, no photo", median_ms(lambda: write_pdf(without, {}.get, path)), "ms")
    say("   its size", path.stat().st_size / 1000, "kB")
    say(
        "record, 60 steps, 4 photos of 12 MP",
        median_ms(lambda: write_pdf(record, photos.get, path)),
        "ms",
    )
    say("   its size", path.stat().st_size / 1000, "kB")
    say("checking it, pages and all", median_ms(lambda: check_pdf(path)), "ms")
    text = encode(record)
    say("label, encoding", median_ms(lambda: encode(record)), "ms")
    say("label, decoding", median_ms(lambda: decode(text)), "ms")
    say("   its QR version, level M", symbol(text).version, "")
    say("label as PDF", median_ms(lambda: write_label_pdf(record, folder / "l.pdf")), "ms")
    say("label as picture", median_ms(lambda: write_label_png(record, folder / "l.png")), "ms")


if __name__ == "__main__":
    main()
