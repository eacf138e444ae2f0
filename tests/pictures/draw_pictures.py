"""Draws the pictures of the README into ``.pictures``; needs Chromium.

python tests/pictures/draw_pictures.py
"""

import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

import recommender
from recommender.sheet import sheet_of

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / ".pictures"
WIDTH, HEIGHT = 1120, 1400
SHOWN = 780
COLOURS = 96
DATE = "25 November 2026"


def photographed(page: str, chromium: str) -> bytes:
    """A page as Chromium shows it, as a PNG picture."""
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.png"
        source.write_text(page, encoding="utf-8")
        subprocess.run(
            [
                chromium,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--hide-scrollbars",
                f"--user-data-dir={folder}/profile",
                f"--window-size={WIDTH},{HEIGHT}",
                f"--screenshot={target}",
                source.as_uri(),
            ],
            check=True,
            capture_output=True,
        )
        return target.read_bytes()


def main() -> int:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("there is no Chromium here", file=sys.stderr)
        return 4
    case = recommender.read_case(ROOT / "cases" / "crate.toml")
    answer = recommender.answer(case, recommender.read_catalogue())
    page = sheet_of(answer, date=DATE, customer_only=True)
    picture = Image.open(io.BytesIO(photographed(page, chromium))).convert("RGB")
    small = picture.resize((SHOWN, round(SHOWN * HEIGHT / WIDTH)), Image.Resampling.LANCZOS)
    FOLDER.mkdir(exist_ok=True)
    few = small.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE)
    few.save(FOLDER / "sheet.png", optimize=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
