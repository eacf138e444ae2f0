"""The page in a browser, as one who uses it: by mouse, by keyboard, at three widths, in two lights.

Left out where there is no Chromium or no Playwright.
"""

import io
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from recommender.inputs.files import shipped

sync_api = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
openpyxl = pytest.importorskip("openpyxl")
pytest.importorskip("starlette")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")

axe = pytest.importorskip("axe_playwright_python")
AXE = Path(axe.__file__).with_name("axe.min.js")
FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
PATIENCE = 120_000
"""Milliseconds: the machine may have other things to do."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    command = [sys.executable, "-m", "recommender", "page", "--quiet"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        yield server.stdout.readline().strip()
        server.terminate()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="module")
def page(browser: Any, address: str) -> Iterator[Any]:
    """The page with the answer to the crate; what its console says is a failure at the end."""
    found = browser.new_page(viewport={"width": 1280, "height": 900})
    found.set_default_timeout(PATIENCE)
    complaints: list[str] = []
    found.on("console", lambda said: complaints.append(f"{said.type}: {said.text}"))
    found.on("pageerror", lambda error: complaints.append(str(error)))
    found.on("request", lambda asked: complaints.extend(elsewhere(asked.url, address)))
    found.goto(address)
    answered(found)
    yield found
    assert complaints == []


def elsewhere(url: str, address: str) -> list[str]:
    return [] if url.startswith((address, "blob:", "data:")) else [f"asked {url}"]


def answered(page: Any) -> str:
    """The answer in a line, once all of it is there."""
    page.wait_for_selector(".standing.done")
    return page.inner_text("#standing")


def fill(page: Any, name: str, text: str) -> None:
    field = page.locator(f'[id="{name}"]')
    field.fill(text)
    field.press("Tab")


def expect_value(page: Any, name: str, text: str) -> None:
    # What waits for a function would evaluate text, which the policy of the page forbids.
    sync_api.expect(page.locator(f'[id="{name}"]')).to_have_value(text, timeout=PATIENCE)


def crate(page: Any) -> str:
    """The crate once more, whatever a test before has left."""
    page.evaluate("document.querySelector('#case > details').id = 'old'")
    page.select_option("#worked", "crate")
    page.click("#open-worked")
    page.wait_for_selector("#old", state="detached")
    expect_value(page, "load.mass", "30 kg")
    return answered(page)


def test_the_crate_is_answered(page):
    said = crate(page)
    assert re.fullmatch(r"bs-228_arc-280_x1 for 50,257\.00 EUR\.", said)
    assert page.inner_text("#answer .choice") == said.removesuffix(".")
    plan = page.locator("img.plan")
    assert plan.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0
    assert page.inner_text('[id="room-load.mass"]').startswith("holds up to ")


# What an element is called, whatever an answer that comes meanwhile changes about it.
NAMED = "e => e.id || e.dataset.ware || e.textContent.trim()"


def test_the_crate_filled_in_by_keyboard_alone_has_the_same_answer(browser, address):
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.set_default_timeout(PATIENCE)
    page.goto(address)
    page.wait_for_selector(".standing.done")
    page.locator("body").press("Tab")
    filled = {"load.mass": "66.5 lb", "title": "By keyboard"}
    for _ in range(200):
        name = page.evaluate(f"({NAMED})(document.activeElement)")
        if name in filled:
            page.keyboard.press("Control+a")
            page.keyboard.type(filled.pop(name))
        if not filled:
            break
        page.keyboard.press("Tab")
    # What can be reached changes while an answer comes; so once more when it has.
    page.wait_for_selector(".standing.working")
    page.wait_for_selector(".standing.done")
    seen = set()
    for _ in range(200):
        seen.add(page.evaluate(f"({NAMED})(document.activeElement)"))
        page.keyboard.press("Tab")
    reached = page.evaluate(
        "[...document.querySelectorAll('input[id], select[id], a[href], button')]"
        f".filter(e => e.checkVisibility()).map({NAMED})"
    )
    assert set(reached) <= seen
    note = page.locator('[id="note-load.mass"]')
    sync_api.expect(note).to_have_text("30.16 kg", timeout=PATIENCE)
    page.wait_for_selector(".standing.done")
    assert page.inner_text("#standing").startswith("bs-228_arc-280_x1 for ")
    page.close()


def test_beyond_its_headroom_the_mass_changes_the_choice(page):
    before = crate(page)
    room = page.inner_text('[id="room-load.mass"]')
    (most,) = re.findall(r"holds up to ([0-9.]+) kg", room)
    fill(page, "load.mass", f"{float(most) + 1:.1f} kg")
    page.wait_for_selector(".standing.working")
    after = answered(page)
    assert re.fullmatch(r"\S+ for [0-9,.]+ EUR\.", after)
    assert after != before


def test_a_wrong_unit_is_refused_beside_its_field_and_the_answer_stays(page):
    said = crate(page)
    fill(page, "load.mass", "30 mm")
    page.wait_for_selector(".standing.wrong")
    fault = page.locator('[id="fault-load.mass"]')
    assert "is not a mass" in fault.inner_text() and "30 kg" in fault.inner_text()
    field = page.locator('[id="load.mass"]')
    assert field.get_attribute("aria-invalid") == "true"
    assert "fault-load.mass" in field.get_attribute("aria-describedby")
    assert said.removesuffix(".") == page.inner_text("#answer .choice")
    assert "before" in page.inner_text("#standing")
    assert page.locator("a.button[href]").count() == 0
    fill(page, "load.mass", "30 kg")
    assert answered(page) == said
    assert not fault.is_visible()


def test_text_in_the_form_stays_text(page):
    crate(page)
    fill(page, "title", "<img src=x onerror=alert(1)>")
    fill(page, "station[1].name", "<b>load</b>")
    answered(page)
    assert page.locator("#answer b, #answer img[src=x]").count() == 0
    assert "<b>load</b>" in page.inner_text("#answer")


def test_files_are_saved_and_a_case_is_opened_again(page, tmp_path):
    crate(page)
    for name, begin in (
        ("parts.xlsx", b"PK"),
        ("plan.svg", b"<svg"),
        ("sheet.html", b"<!DOCTYPE html>"),
        ("case.toml", b"#"),
    ):
        with page.expect_download() as waiting:
            page.click(f"[data-ware='{name}'], [formaction='{name}']")
        assert waiting.value.suggested_filename == f"crate-transfer-at-end-of-line-{name}"
        waiting.value.save_as(tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(begin)
    book = openpyxl.load_workbook(io.BytesIO((tmp_path / "parts.xlsx").read_bytes()))
    cells = {cell.value for row in book.worksheets[0].iter_rows() for cell in row}
    assert "bs-228" in cells
    fill(page, "load.mass", "31")
    page.locator('[id="load.mass"]').press("Enter")
    page.wait_for_selector(".standing.wrong")
    with page.expect_download() as waiting:
        page.click("text=Save the case")
    waiting.value.save_as(tmp_path / "begun.toml")
    assert tomllib.loads((tmp_path / "begun.toml").read_text())["load"]["mass"] == "31"
    page.set_input_files("#file", tmp_path / "case.toml")
    expect_value(page, "load.mass", "30 kg")
    answered(page)


def test_a_case_is_opened_by_dropping_it(page):
    crate(page)
    text = (shipped("cases") / "cantilever.toml").read_text()
    drop(page, "cantilever.toml", text)
    mass = tomllib.loads(text)["load"]["mass"]
    expect_value(page, "load.mass", mass)
    drop(page, "bad.toml", "load = = 3")
    page.wait_for_selector("#refused:not([hidden])")
    assert "bad.toml: is not valid TOML" in page.inner_text("#refused")
    crate(page)
    assert not page.is_visible("#refused")


def drop(page: Any, name: str, text: str) -> None:
    data = page.evaluate_handle(
        """([name, text]) => {
            const data = new DataTransfer();
            data.items.add(new File([text], name));
            return data;
        }""",
        [name, text],
    )
    page.dispatch_event("main", "drop", {"dataTransfer": data})


def test_a_station_is_added_and_removed(page):
    crate(page)
    page.click("button[data-do=add]")
    page.wait_for_selector('[id="station[3].name"]')
    assert page.evaluate("document.activeElement.id") == "station[3].name"
    answered(page)
    page.click("button[data-do='remove 3']")
    page.wait_for_selector('[id="station[3].name"]', state="detached")
    assert answered(page).startswith("bs-228_arc-280_x1 for 50,257.00")


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_it_is_as_wide_as_the_window(page, width):
    crate(page)
    page.set_viewport_size({"width": width, "height": 800})
    unfold(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 900})


def unfold(page: Any) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_contrast_labels_and_landmarks_are_in_order(page, scheme, width):
    crate(page)
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    unfold(page)
    assert_accessible(page)
    fill(page, "load.mass", "30 mm")
    page.wait_for_selector(".standing.wrong")
    assert_accessible(page)
    page.set_viewport_size({"width": 1280, "height": 900})
    page.emulate_media(color_scheme="light")


def assert_accessible(page: Any) -> None:
    # Run in the page's own world it would be refused by the policy, as any script from elsewhere.
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations', 'incomplete']})")
    told = [
        f"{entry['id']}: {[node['target'] for node in entry['nodes']]}"
        for entry in found["violations"]
    ]
    assert told == []
    assert len(found["passes"]) > 20
