"""Does the page do what a grower asks: edit, see, undo, save, compare, take away?"""

from __future__ import annotations

import json
import re
import threading
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all, read_all_text
from enclosure.files.fields import file_key
from enclosure.pipeline.check import checks_of
from enclosure.pipeline.walk import design_from, rebuild
from enclosure.templates_home import find_template, template_names
from enclosure.workbench.edit import changed, values_of
from enclosure.workbench.fields import FIELDS
from tests.workbench_client import TOKEN, Page, answer_in

BRIEFS = template_names("briefs")


@pytest.fixture
def page() -> Iterator[Page]:
    with Page() as one:
        yield one.begin()


# --- the form and the file -------------------------------------------------------------


@pytest.mark.parametrize("name", BRIEFS)
def test_writing_every_field_back_as_it_is_changes_nothing(name: str) -> None:
    text = find_template("briefs", name).read_text(encoding="utf-8")
    values = values_of(tomllib.loads(text))
    assert changed(text, {key: value for key, value in values.items() if value}) == text


@pytest.mark.parametrize("name", BRIEFS)
def test_the_form_shows_every_line_of_a_brief(name: str) -> None:
    content = tomllib.loads(find_template("briefs", name).read_text(encoding="utf-8"))

    def lines(table: dict[str, object], base: str = "") -> Iterator[str]:
        for key, value in table.items():
            if isinstance(value, dict):
                yield from lines(value, f"{base}{key}.")
            else:
                yield f"{base}{key}"

    missing = [key for key in lines(content) if key not in FIELDS and f"{key}.least" not in FIELDS]
    assert missing == []


def test_the_form_has_every_key_that_a_brief_may_hold() -> None:
    def keys(model: type[BaseModel], base: str = "") -> Iterator[str]:
        for name, info in model.model_fields.items():
            key = str(info.validation_alias) if info.validation_alias else file_key(name)
            kinds = [kind for kind in (info.annotation, *get_args(info.annotation)) if isinstance(kind, type)]
            inner = next((kind for kind in kinds if issubclass(kind, BaseModel)), None)
            if inner is not None:
                yield from keys(inner, f"{base}{key}.")
            else:
                yield f"{base}{key}"

    known = set(keys(Brief))
    assert len(known) > 50
    given = {"frame.bays" if key.startswith("frame.bays.") else key for key in FIELDS} - {"skin.all"}
    assert given == known


def test_notes_and_order_of_the_file_stay() -> None:
    text = find_template("briefs", "tree-fern").read_text(encoding="utf-8")
    new = changed(text, {"plant.height": "2 m", "winters": "7"})
    old_lines, new_lines = text.splitlines(), new.splitlines()
    assert len(old_lines) == len(new_lines)
    differ = [(a, b) for a, b in zip(old_lines, new_lines, strict=True) if a != b]
    assert [b.split("=")[0].strip() for _, b in differ] == ["winters", "height"]
    assert all(("#" in a) == ("#" in b) for a, b in differ)


@pytest.mark.parametrize(
    ("changes", "key", "value"),
    [
        ({"winters": "6"}, "winters", 6),
        ({"clearance.side.most": ""}, "clearance.side", "4 in"),
        ({"clearance.top.most": "6 in"}, "clearance.top", {"least": "4 in", "most": "6 in"}),
        ({"vent.wall": ""}, "vent", None),
        ({"frame.bays.front": "2"}, "frame.bays", {"front": 2}),
        ({"heat.tent": "no"}, "heat.tent", False),
        ({"heat.price_kwh": "0,2"}, "heat.price_kwh", 0.2),
        ({"skin.back": "foam-50"}, "skin.back", "foam-50"),
        ({"papers.labels": ""}, "papers.labels", None),
        ({"winters": "many"}, "winters", "many"),
    ],
)
def test_an_edit_is_written_as_the_file_wants_it(changes: dict[str, str], key: str, value: object) -> None:
    text = changed(find_template("briefs", "tree-fern").read_text(encoding="utf-8"), changes)
    place: object = tomllib.loads(text)
    for part in key.split("."):
        place = place.get(part) if isinstance(place, dict) else None
    assert place == value


def test_another_kind_of_roof_is_chosen_without_a_fault(page: Page) -> None:
    for kind in ("flat", "gable", "mono", "gable", "flat", "mono"):
        assert not page.edit(roof__kind=kind)["wrong"], kind
    assert tomllib.loads(page.brief())["roof"]["fall"] == "10 deg"


def test_another_stock_list_offers_its_own_timbers(page: Page) -> None:
    inch = page.answer()["choices"]["frame.section"]
    answer = page.edit(stock="metric-stock.toml")
    assert answer["choices"]["frame.section"] != inch
    assert ["4x4", "89 x 89"] in answer["choices"]["frame.section"]
    text = page.brief().replace('section = "2x3"', 'section = "7x7"', 1)
    page.desk = page.post(f"/{TOKEN}/open", {"text": text, "name": "x.toml"}).headers["location"]
    answer = page.answer()
    assert "not among the timbers" in answer["wrong"]["frame.section"]
    assert ["7x7", "7x7 (not on offer)"] in answer["choices"]["frame.section"]
    assert len(answer["choices"]["frame.section"]) > 3, "a way out is offered"
    assert not page.edit(frame__section="2x3")["wrong"]


def test_a_panel_that_opens_can_be_switched_off_and_on_again(page: Page) -> None:
    assert not page.edit(vent__wall="")["wrong"]
    assert "[vent]" not in page.brief()
    assert not page.edit(vent__wall="left")["wrong"]
    assert tomllib.loads(page.brief())["vent"] == {"wall": "left", "share": "15 %"}


# --- edits and their answers -------------------------------------------------------------


def test_an_edit_changes_numbers_and_picture(page: Page) -> None:
    before = page.answer()
    after = page.edit(plant__height="2.4 m")
    assert after["rev"] == before["rev"] + 1
    assert after["scene"]["clear"][2] > before["scene"]["clear"][2] + 400
    assert after["scene"]["parts"] != before["scene"]["parts"]


@pytest.mark.parametrize("name", BRIEFS)
def test_page_and_command_line_are_the_same_program(name: str) -> None:
    design = design_from(find_template("briefs", name)).design
    with Page() as page:
        scene = page.begin(name).answer()["scene"]
    assert scene["clear"] == list(design.clear_mm)
    assert [p["mark"] for p in scene["parts"]] == [p.mark for p in design.parts if p.solids]
    assert sum(len(p["solids"]) for p in scene["parts"]) == sum(len(p.solids) for p in design.parts)
    assert [s["title"] for s in scene["steps"]["raising"]] == [s.title for s in design.steps if s.phase == "raising"]


def test_checks_are_those_of_the_command_line(page: Page) -> None:
    shelter = design_from(find_template("briefs", "tree-fern"))
    rows = checks_of(shelter, ways_out=False)
    shown = page.get("why/stand").text + page.get("why/live").text
    for row in rows:
        assert f"[{row.key}]" in shown, row.key
    over = [row for row in rows if not row.passes and not row.advice]
    assert shown.count('class="check bad"') == len(over)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("plant.height", "2", "no unit"),
        ("plant.height", "", "missing"),
        ("plant.height", "90 m", "outside its range"),
        ("plant.height", "tall", "needs a length"),
        ("winters", "many", "whole number of winters"),
        ("winters", "99", "from 1 to 40"),
        ("skin.all", "paper", "not among the skins"),
        ("roof.fall", "70 deg", "outside its range"),
        ("clearance.side.least", "12 in", "upside down"),
        ("heat.setpoint", "warm", "temperature"),
        ("front_faces", "upward", ""),
    ],
)
def test_a_fault_stands_beside_its_field_with_the_way_out(page: Page, key: str, value: str, words: str) -> None:
    before = page.answer()["scene"]
    answer = answer_in(page.post("edit", {key: value}).text)
    assert words in answer["wrong"][key]
    assert ";" in answer["wrong"][key], "no way out"
    assert answer["scene"] == before, "the last good picture stays"
    assert answer["stale"] is True
    assert page.post("undo").status_code == 200
    assert not page.answer()["wrong"]


def test_a_shelter_that_cannot_be_made_says_why(page: Page) -> None:
    answer = page.post("edit", {"anchors.posts": "20"})
    assert "20 anchor posts were asked for" in answer.text
    assert "Way out" in answer.text


def test_half_a_word_is_no_fault_while_it_is_typed(page: Page) -> None:
    before = page.brief()
    assert page.post("edit", {"plant.height": "6 f", "_live": "1"}).status_code == 204
    assert page.brief() == before
    assert page.post("edit", {"plant.height": "6 ft", "_live": "1"}).status_code == 200
    assert page.post("edit", {"plant.height": "6 ft 1 in", "_live": "1"}).status_code == 200
    page.post("undo")
    assert page.brief() == before, "typing one field is one step of undo"


def test_undo_and_redo_walk_over_all_texts(page: Page) -> None:
    texts = [page.brief()]
    for height in ("1.5 m", "1.6 m", "1.7 m"):
        page.edit(plant__height=height)
        texts.append(page.brief())
    for text in reversed(texts[:-1]):
        page.post("undo")
        assert page.brief() == text
    assert "nothing to undo" in page.post("undo").text
    for text in texts[1:]:
        page.post("redo")
        assert page.brief() == text
    page.post("undo")
    page.edit(winters="2")
    assert "nothing to do again" in page.post("redo").text


def test_units_shown_never_change_the_design(page: Page) -> None:
    text, scene = page.brief(), page.answer()["scene"]
    metric = answer_in(page.post("view", {"view": "metric"}).text)
    inch = answer_in(page.post("view", {"view": "inch"}).text)
    assert page.brief() == text
    assert metric["scene"] == inch["scene"] == scene
    assert metric["values"] == inch["values"]
    assert metric["read"]["plant.height"] == "= 1905 mm"  # 6 ft 3 in is 75 x 25.4 mm
    assert "plant.height" not in inch["read"]


def test_an_unknown_field_is_refused(page: Page) -> None:
    before = page.brief()
    answer = page.post("edit", {"plant.colour": "green"})
    assert answer.status_code == 409
    assert "not a line of the form" in answer.text
    assert page.brief() == before


# --- opening, saving, two windows ---------------------------------------------------------


def test_a_brief_with_notes_is_opened_changed_and_downloaded(page: Page) -> None:
    text = find_template("briefs", "potted-lemon").read_text(encoding="utf-8") + "\n# my own note\n"
    page.desk = page.post(f"/{TOKEN}/open", {"text": text, "name": "lemon.toml"}).headers["location"]
    page.edit(winters="8")
    answer = page.get("brief.toml")
    assert answer.text.endswith("# my own note\n")
    assert 'filename="' in answer.headers["content-disposition"]
    brief, _, _ = read_all_text(answer.text, Path("/dev/null/x.toml"))
    assert brief.winters == 8


@pytest.mark.parametrize(
    "text", ["", "not toml at all", "[plant\n", "a = 1\na = 2\n", "\ufeffname = 'x'\n", "x = " + "[" * 400]
)
def test_a_file_that_is_no_brief_opens_with_words(page: Page, text: str) -> None:
    answer = page.post(f"/{TOKEN}/open", {"text": text, "name": "x"})
    page.desk = answer.headers["location"]
    shown = page.get("")
    assert shown.status_code == 200
    assert "cannot be made like this yet" in shown.text


def test_save_writes_the_file_and_notices_a_strangers_change(tmp_path: Path) -> None:
    path = tmp_path / "fern.toml"
    path.write_bytes(find_template("briefs", "tree-fern").read_bytes())
    with Page(path) as page:
        page.desk = page.get(f"/{TOKEN}/").headers["location"]
        page.edit(winters="6")
        assert page.post("save").status_code == 200
        assert read_all(path)[0].winters == 6
        assert [p.name for p in tmp_path.iterdir()] == ["fern.toml"]
        page.edit(winters="7")
        path.write_text(path.read_text(encoding="utf-8") + "# from an editor\n", encoding="utf-8")
        answer = page.post("save")
        assert answer.status_code == 409
        assert "changed by another program" in answer.text
        assert read_all(path)[0].winters == 6


def test_a_brief_without_a_file_cannot_be_saved(page: Page) -> None:
    assert page.post("save").status_code == 409


def test_work_is_there_after_a_reload_and_in_a_second_window(page: Page) -> None:
    page.edit(plant__name="my fern")
    assert page.answer()["values"]["plant.name"] == "my fern"
    assert page.get("now?rev=2").status_code == 204
    page.edit(winters="9")
    late = page.get("now?rev=2")
    assert answer_in(late.text)["values"]["winters"] == "9"


def test_answers_to_an_earlier_state_are_left_out(page: Page) -> None:
    page.edit(winters="9")
    assert page.get("second?rev=1").status_code == 204
    assert page.get("second?rev=2").status_code == 200
    assert page.get("third?rev=1").status_code == 204


def test_200_edits_at_once_leave_one_sound_brief() -> None:
    with Page() as page:
        page.begin()
        statuses: list[int] = []

        def one(number: int) -> None:
            key, value = [("plant.height", f"{1500 + number} mm"), ("winters", str(1 + number % 9))][number % 2]
            statuses.append(page.post("edit", {key: value}).status_code)

        threads = [threading.Thread(target=one, args=(n,)) for n in range(200)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(statuses) == 200
        assert set(statuses) <= {200, 204}
        answer = page.answer()
        assert not answer["wrong"]
        assert re.fullmatch(r"\d{4} mm", answer["values"]["plant.height"])
        brief, site, stock = read_all_text(page.brief(), Path("/dev/null/x.toml"))
        assert answer["scene"]["clear"] == list(rebuild(brief, site, stock).design.clear_mm)


# --- taking away --------------------------------------------------------------------------


def test_the_page_to_give_away_stands_alone(page: Page) -> None:
    answer = page.get("shelter.html")
    text = answer.text
    assert "attachment" in answer.headers["content-disposition"]
    assert not re.search(r"<script[^>]+src=|<link|@import|url\(", text)
    scene = json.loads(re.search(r'<script id="scene" type="application/json">(.*?)</script>', text).group(1))  # type: ignore[union-attr]
    assert scene == page.answer()["scene"]
    assert "<input" not in text.replace('<input type="checkbox" id="stage-', "").replace(
        '<input type="range" id="stage-', ""
    )


def test_the_variant_set_aside_stands_beside_the_brief(page: Page) -> None:
    assert "Set this brief aside" in page.get("compare").text
    page.post("pin")
    page.edit(plant__height="2.5 m")
    shown = page.get("compare").text
    assert "6 ft 3 in" in shown
    assert "2.5 m" in shown
    assert page.get("picture.svg?of=pinned").text != page.get("picture.svg").text


@pytest.mark.parametrize("name", BRIEFS)
def test_every_shipped_brief_opens_without_fault(name: str) -> None:
    with Page() as page:
        answer = page.begin(name).answer()
        assert answer["wrong"] == {}
        for key in ("fit", "stand", "live", "cost", "waste"):
            assert page.get(f"why/{key}").status_code == 200


NASTY = (
    "1e999 mm", "-1 m", "nan m", "9" * 300, "\\", "'''\"\"\"", "\u00e9\U0001f4a5 m", "1/0 in", "[]", "{a=1}", "  ",
    "1 m\n2 m", "%00", "=1+1",
)  # fmt: skip


def test_nothing_that_is_typed_anywhere_breaks_the_page() -> None:
    """Each field takes one nasty value, the value changing from field to field; undo brings all back."""
    with Page() as page:
        before = page.begin("potted-lemon").brief()
        for number, key in enumerate(FIELDS):
            answer = page.post("edit", {key: NASTY[number % len(NASTY)]})
            assert answer.status_code in (200, 409), key
            while page.brief() != before:
                assert page.post("undo").status_code == 200
        assert page.answer()["wrong"] == {}
