"""What the tape measure said after building."""

from __future__ import annotations

from pathlib import Path

import pytest

from enclosure.brief.model import Anchors
from enclosure.errors import BriefError, FaultsError
from enclosure.pipeline.walk import design_from, rebuild
from enclosure.reuse.as_built import AsBuilt, corrected, differences, read_as_built
from enclosure.reuse.match import match
from enclosure.shape.model import Design, SheetCut, StickCut

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


@pytest.fixture(scope="module")
def olive() -> Design:
    """The olive, held by four posts whatever the template says."""
    shelter = design_from(BRIEFS / "olive-glass.toml")
    brief = shelter.brief.model_copy(update={"anchors": Anchors(posts=4)})
    return rebuild(brief, shelter.site, shelter.stock).design


def written(folder: Path, text: str) -> AsBuilt:
    file = folder / "as-built.toml"
    file.write_text(text, encoding="utf-8")
    return read_as_built(file)


def test_a_longer_opening_and_a_short_panel(tmp_path: Path, olive: Design) -> None:
    panel = next(p for p in olive.parts if p.kind == "panel" and p.material == "twin-wall-10")
    stick = next(p for p in olive.parts if p.kind == "member")
    assert isinstance(panel.cut, SheetCut)
    assert isinstance(stick.cut, StickCut)
    text = (
        f'[parts.{panel.mark}]\nheight = "{panel.cut.height_mm - 12:g} mm"\n'
        f'[parts.{stick.mark}]\nlength = "{stick.cut.length_mm + 3:g} mm"\n'
        f'[opening]\nwidth = "{olive.clear_mm[0] + 12:g} mm"\n'
        '[posts.P1]\nout_of_plumb = "15 mm"\ntoward = "left"\n'
    )
    built = corrected(olive, written(tmp_path, text))
    after = built.part(panel.mark)
    assert isinstance(after.cut, SheetCut)
    assert after.cut.height_mm == pytest.approx(panel.cut.height_mm - 12)
    assert max(y for _, y in after.cut.outline) == pytest.approx(panel.cut.height_mm - 12)
    assert built.clear_mm[0] == pytest.approx(olive.clear_mm[0] + 12)
    assert built.anchors == olive.anchors, "a leaning post has its foot where it was driven"
    words = differences(olive, built)
    assert set(words) == {panel.mark, stick.mark}
    assert words[stick.mark] == f"as built {stick.cut.length_mm + 3:g} mm long (drawn {stick.cut.length_mm:g} mm)"
    # a part that came out otherwise is no longer kept as it is
    kept = {k.old for k in match(built, olive).keeps}
    assert panel.mark not in kept
    assert stick.mark not in kept


def test_slips_of_the_pen_are_refused(tmp_path: Path, olive: Design) -> None:
    with pytest.raises(BriefError, match="drawn"):
        corrected(olive, written(tmp_path, '[opening]\nwidth = "12 mm"\n'))
    with pytest.raises(BriefError, match="does not have"):
        corrected(olive, written(tmp_path, '[parts.ZZ9]\nlength = "500 mm"\n'))
    with pytest.raises(BriefError, match="post"):
        corrected(olive, written(tmp_path, '[posts.Q1]\nout_of_plumb = "5 mm"\ntoward = "back"\n'))
    with pytest.raises(FaultsError):
        written(tmp_path, "[opening]\nwidth = 980\n")
    stick = next(p for p in olive.parts if p.kind == "member")
    with pytest.raises(BriefError, match="length only"):
        corrected(olive, written(tmp_path, f'[parts.{stick.mark}]\nwidth = "38 mm"\n'))


def test_nothing_measured_changes_nothing(tmp_path: Path, olive: Design) -> None:
    assert corrected(olive, written(tmp_path, "[opening]\n")) == olive
    assert differences(olive, olive) == {}
