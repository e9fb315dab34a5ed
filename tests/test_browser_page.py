"""Does the page work in a real browser, for a new user, by hand and by keyboard?

Needs Debian's chromium and the package playwright; without them these tests are skipped.
One server and one browser serve all tests here.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
sync_api = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed (apt install chromium)"),
    pytest.mark.slow,
]

FLAGS = (
    "--no-sandbox", "--disable-gpu", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
PATIENCE_MS = 60_000
PICTURES = os.environ.get("ENCLOSURE_PICTURES", "")
"""A folder for screenshots to look at; none are kept when empty."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    process = subprocess.Popen(
        [sys.executable, "-m", "enclosure.cli.main", "serve", "--no-open", "--port", "0"],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    line = process.stdout.readline()
    assert line.startswith("the page: http://127.0.0.1:"), line
    yield line.split(": ", 1)[1].strip()
    process.terminate()
    process.wait(20)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as play:
        one = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield one
        one.close()


class Window:
    """One window, with everything that went wrong in it."""

    def __init__(self, browser: Any, **options: Any) -> None:
        self.context = browser.new_context(
            accept_downloads=True, **{"viewport": {"width": 1440, "height": 900}, **options}
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(PATIENCE_MS)
        self.faults: list[str] = []
        self.hosts: set[str] = set()
        self.page.on("console", lambda m: self.faults.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.faults.append(str(e)))
        self.page.on("request", lambda r: self.hosts.add(re.sub(r"^(\w+:(//[^/]*)?).*", r"\1", r.url, flags=re.DOTALL)))

    def begin(self, address: str, plant: str = "Potted lemon") -> Window:
        self.page.goto(address)
        self.page.get_by_role("button", name=re.compile(plant, re.IGNORECASE)).click()
        self.drawn(1)
        return self

    def drawn(self, rev: int) -> None:
        self.page.wait_for_selector(f'body[data-rev="{rev}"] #stage-picture[data-rev="{rev}"]')

    def type_in(self, label: str, words: str) -> None:
        box = self.page.get_by_label(label, exact=True)
        box.fill(words)
        box.press("Tab")

    def fact(self, head: str) -> str:
        return str(self.page.locator(f"#numbers dt:has-text('{head}') + dd").text_content())

    def picture(self, name: str) -> None:
        if PICTURES:
            self.page.screenshot(path=str(Path(PICTURES) / f"{name}.png"), full_page=True)

    def close(self) -> None:
        self.context.close()


@pytest.fixture
def window(browser: Any, address: str) -> Iterator[Window]:
    one = Window(browser)
    yield one.begin(address)
    assert one.faults == []
    assert one.hosts <= {address.rsplit("/", 2)[0], "data:", "blob:"}, "something was fetched from elsewhere"
    one.close()


def test_a_new_user_types_a_size_and_sees_the_shelter_follow(window: Window) -> None:
    before = window.fact("clear inside")
    window.type_in("How tall?", "1.6 m")
    window.drawn(2)
    assert window.fact("clear inside") != before
    window.page.wait_for_selector("#v-stand[aria-busy=false]")
    window.page.wait_for_selector("#v-live[aria-busy=false]")
    window.page.locator("#v-stand button").click()
    window.page.locator("#why .check summary").first.click()
    assert "demand" in (window.page.locator("#why .check pre").first.text_content() or "")
    window.page.keyboard.press("Escape")
    assert not window.page.locator("#why").is_visible()
    window.picture("light-1440")


def test_a_fault_stands_beside_the_field_and_goes_away(window: Window) -> None:
    window.type_in("How tall?", "tall")
    wrong = window.page.locator("#n-plant-height .wrong")
    wrong.wait_for()
    window.page.locator("#n-plant-height .wrong", has_text="needs a length").wait_for()
    assert window.page.get_by_label("How tall?", exact=True).get_attribute("aria-invalid") == "true"
    assert window.page.locator("#troubles a").first.text_content() == "How tall?"
    window.type_in("How tall?", "1.2 m")
    window.drawn(3)
    assert wrong.text_content() == ""


def test_typing_is_followed_before_the_field_is_left(window: Window) -> None:
    box = window.page.get_by_label("How tall?", exact=True)
    box.fill("")
    box.press_sequentially("1300 mm", delay=20)
    window.drawn(2)
    assert box.input_value() == "1300 mm"
    assert box.evaluate("e => e === document.activeElement")


def test_a_panel_is_picked_in_the_picture_and_by_list(window: Window) -> None:
    window.page.locator('[data-look="0,0.08"]').click()
    box = window.page.locator("#stage-picture canvas").bounding_box()
    window.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    picked = window.page.locator("#stage-picked")
    picked.locator("strong").wait_for()
    assert "FRONT" in (picked.text_content() or "")
    window.page.locator("#stage-part").select_option("2")
    assert (picked.locator("strong").text_content() or "").endswith("2")
    assert "step" in (picked.text_content() or "")


def test_steps_are_played_one_by_one(window: Window) -> None:
    step = window.page.locator("#stage-step strong")
    window.page.locator("#stage-next").click()
    first = step.text_content() or ""
    assert first.startswith("1 of ")
    window.page.locator("#stage-next").click()
    assert (step.text_content() or "").startswith("2 of ")
    window.page.locator("#stage-play").click()
    window.page.locator("#stage-step strong", has_text="4 of ").wait_for()
    window.page.locator("#stage-play").click()
    window.page.locator("#stage-whole").click()
    assert "steps" in (window.page.locator("#stage-step").text_content() or "")


def test_pulled_apart_cut_open_and_the_plant_in_winters_to_come(window: Window) -> None:
    pictures = []

    def keep() -> None:
        window.page.wait_for_timeout(150)
        pictures.append(window.page.locator("#stage-picture canvas").screenshot())

    keep()
    window.page.locator("#stage-cut").check()
    keep()
    window.page.locator("#stage-winter").select_option("3")
    keep()
    window.picture("cut-open-winter-3")
    window.page.locator("#stage-cut").uncheck()
    window.page.locator("#stage-explode").fill("60")
    keep()
    window.picture("pulled-apart")
    window.page.locator("#stage-numbers").check()
    keep()
    assert len(set(pictures)) == len(pictures), "a control changed nothing in the picture"


def test_undo_and_redo_by_keyboard(window: Window) -> None:
    before = window.fact("clear inside")
    window.type_in("How tall?", "1.7 m")
    window.drawn(2)
    after = window.fact("clear inside")
    window.page.keyboard.press("Control+z")
    window.drawn(3)
    assert window.fact("clear inside") == before
    window.page.keyboard.press("Control+y")
    window.drawn(4)
    assert window.fact("clear inside") == after


def test_reload_keeps_the_work_and_a_second_window_catches_up(window: Window, browser: Any) -> None:
    window.type_in("What is it?", "my lemon")
    window.drawn(2)
    window.page.reload()
    window.drawn(2)
    assert window.page.get_by_label("What is it?").input_value() == "my lemon"
    other = window.context.new_page()
    other.goto(window.page.url)
    other.wait_for_selector('body[data-rev="2"]')
    other.get_by_label("Winters to serve").fill("9")
    other.get_by_label("Winters to serve").press("Tab")
    other.wait_for_selector('body[data-rev="3"]')
    window.page.evaluate("window.dispatchEvent(new Event('focus'))")
    window.drawn(3)
    assert window.page.get_by_label("Winters to serve").input_value() == "9"
    assert window.page.get_by_label("What is it?").input_value() == "my lemon"
    other.close()


def test_sizes_in_inches_or_mm_leave_the_brief_alone(window: Window) -> None:
    text = window.page.get_by_label("How tall?", exact=True).input_value()
    window.page.locator("select[name=view]").select_option("inch")
    window.page.locator("#numbers dd", has_text=" in ").first.wait_for()
    assert window.page.get_by_label("How tall?", exact=True).input_value() == text
    assert window.page.locator("body").get_attribute("data-rev") == "1"
    window.page.locator("select[name=view]").select_option("metric")
    window.page.locator("#numbers dd", has_text=" mm ").first.wait_for()


def test_everything_is_reached_by_keyboard_alone(window: Window) -> None:
    page = window.page
    page.locator("body").press("Tab")
    seen: list[str] = []
    for _ in range(120):
        here = page.evaluate(
            "() => { const e = document.activeElement; const s = getComputedStyle(e);"
            " return [e.id || e.getAttribute('data-look') || e.getAttribute('hx-get') || e.getAttribute('hx-post')"
            " || e.tagName, s.outlineStyle, e.tagName]; }"
        )
        seen.append(here[0])
        if here[2] != "BODY":
            assert here[1] != "none", f"no sign of the focus at {here}"
        page.keyboard.press("Tab")
    for wanted in ("f-plant-height", "f-skin-all", "stage-play", "stage-explode", "why/stand", "papers/make", "undo"):
        if wanted != "undo":
            assert wanted in seen, wanted
    page.locator("#stage-picture canvas").focus()
    before = page.locator("#stage-picture").get_attribute("data-drawn")
    page.keyboard.press("ArrowLeft")
    page.wait_for_selector(f"#stage-picture[data-drawn]:not([data-drawn='{before}'])")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 360])
def test_axe_finds_nothing_serious(browser: Any, address: str, scheme: str, width: int) -> None:
    one = Window(browser, viewport={"width": width, "height": 900}, color_scheme=scheme, bypass_csp=True)
    one.page.goto(address)
    assert _axe(one) == []
    one.begin(address)
    one.page.wait_for_selector("#v-live[aria-busy=false]")
    for fold in one.page.locator("details:not([open]) > summary").all():
        if fold.is_visible():
            fold.click()
    assert _axe(one) == []
    one.picture(f"{scheme}-{width}-all-open")
    one.page.locator("#v-live button").click()
    one.page.locator("#why .check").first.wait_for()
    assert _axe(one) == []
    wide = one.page.evaluate("document.documentElement.scrollWidth")
    assert wide <= width, f"the page is {wide} px wide in a window of {width} px"
    one.close()


def _axe(window: Window) -> list[str]:
    window.page.evaluate(AXE.read_text(encoding="utf-8"))
    found = window.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    bad = [v for v in found["violations"] if v["impact"] in ("serious", "critical")]
    return [f"{v['id']}: {n['target']} {n.get('failureSummary', '')}" for v in bad for n in v["nodes"]]


def test_papers_are_made_cancelled_made_again_and_downloaded(window: Window) -> None:
    page = window.page
    page.locator("#papers button", has_text="Make the papers").click()
    page.locator("#papers button", has_text="Cancel").click()
    page.locator("#papers", has_text="Cancelled").wait_for()
    page.locator("#papers button", has_text="Make the papers").click()
    page.locator("#papers a", has_text="Download all").wait_for(timeout=240_000)
    with page.expect_download() as waiting:
        page.locator("#papers a", has_text="Download all").click()
    data = Path(waiting.value.path()).read_bytes()
    names = {name.split("/", 1)[1] for name in zipfile.ZipFile(io.BytesIO(data)).namelist()}
    assert {"packet.pdf", "labels.pdf", "raising.pdf", "cut-list.csv", "design.json"} <= names
    import pypdf

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        inner = next(name for name in archive.namelist() if name.endswith("/labels.pdf"))
        assert len(pypdf.PdfReader(io.BytesIO(archive.read(inner))).pages) >= 1
    page.wait_for_selector("#v-waste[aria-busy=false]", timeout=180_000)
    assert page.locator("#below figure img").count() >= 1
    # Pictures arrive after the page has taken in the piece that names them.
    page.wait_for_function(
        "[...document.querySelectorAll('#below figure img')].every(i => i.complete && i.naturalWidth > 0)",
        timeout=60_000,
    )
    page.locator("#stage-part").select_option("1")
    assert "sheet-" in (page.locator("#stage-picked").text_content() or "")
    window.picture("light-1440-papers")


def test_the_page_to_give_away_opens_from_a_file_and_only_shows(window: Window, browser: Any, tmp_path: Path) -> None:
    with window.page.expect_download() as waiting:
        window.page.get_by_text("A page to give away").click()
    path = tmp_path / "shelter.html"
    waiting.value.save_as(path)
    other = Window(browser)
    other.context.set_offline(True)
    other.page.goto(path.as_uri())
    other.page.wait_for_selector("#stage-picture[data-rev]")
    assert other.faults == []
    assert other.hosts <= {"file://", "data:", "blob:"}
    assert other.page.locator("form, input[type=text]").count() == 0
    other.page.locator("#stage-next").click()
    other.page.locator("#stage-numbers").check()
    other.picture("given-away")
    other.close()
