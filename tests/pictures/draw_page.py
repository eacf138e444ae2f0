"""Draws the picture of the page for the README into ``.pictures``; needs Chromium and Playwright.

python tests/pictures/draw_page.py
"""

import io
import shutil
import subprocess
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

FOLDER = Path(__file__).parents[2] / ".pictures"
WIDTH, HEIGHT = 1240, 1040
SHOWN = 780
COLOURS = 240
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]


def photographed(address: str, chromium: str) -> bytes:
    """The page with the whole answer to the crate, as a PNG picture."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        page.goto(address)
        page.wait_for_selector(".standing.done", timeout=240_000)
        picture = page.screenshot()
        browser.close()
        return picture


def main() -> int:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("there is no Chromium here", file=sys.stderr)
        return 4
    command = [sys.executable, "-m", "recommender", "page", "--quiet"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        picture = photographed(server.stdout.readline().strip(), chromium)
        server.terminate()
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    small = image.resize((SHOWN, round(SHOWN * HEIGHT / WIDTH)), Image.Resampling.LANCZOS)
    FOLDER.mkdir(exist_ok=True)
    few = small.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE)
    few.save(FOLDER / "page.png", optimize=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
