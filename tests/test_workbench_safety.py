"""Who may use the page, and what can a request from outside do? Nothing, is the answer that is tested."""

from __future__ import annotations

import hashlib
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from enclosure.cli.serve import HERE as HERE_ONLY
from enclosure.cli.serve import _listen, serve
from enclosure.errors import OutputError
from enclosure.outputs.page import page_files
from enclosure.workbench.app import HERE, Settings, create_app
from enclosure.workbench.guard import MOST_BODY
from enclosure.workbench.run import hosts_of
from tests.workbench_client import HOST, ORIGIN, TOKEN, Page

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with Page() as one:
        yield one.begin()


@pytest.mark.parametrize(
    "path", ["/", "/favicon.ico", "/static/page.js", "/wrong-word/", "/a-random-wor/", f"/{TOKEN}x/", f"//{TOKEN}/"]
)
def test_no_token_no_page(page: Page, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code == 403
    assert "desk" not in answer.text


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1",
        "127.0.0.1:80",
        "evil.example:8765",
        "127.0.0.1.evil.example:8765",
        "",
        "a@127.0.0.1:8765",
    ],
)
def test_a_name_that_was_made_to_point_here_is_not_answered(page: Page, host: str) -> None:
    """DNS rebinding: the browser sends the foreign name as Host."""
    assert page.get(f"/{TOKEN}/", {"host": host}).status_code == 421


def test_localhost_is_answered(page: Page) -> None:
    assert page.get(f"/{TOKEN}/", {"host": "localhost:8765"}).status_code == 200


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "https://127.0.0.1:8765",
        "http://127.0.0.1:8766",
        "http://127.0.0.1:8765.evil.example",
        "",
    ],
)
def test_another_pages_post_changes_nothing(page: Page, origin: str) -> None:
    before = page.brief()
    answer = page.post("edit", {"plant.height": "3 m"}, {"origin": origin})
    assert answer.status_code == 403
    assert page.brief() == before


def test_a_post_without_origin_changes_nothing(page: Page) -> None:
    before = page.brief()
    answer = page.client.post(f"{page.desk}edit", content="plant.height=3+m")
    assert answer.status_code == 403
    assert page.brief() == before


def test_another_pages_get_is_turned_away_when_the_browser_says_so(page: Page) -> None:
    assert page.get("", {"sec-fetch-site": "cross-site"}).status_code == 403
    assert page.get("", {"origin": "http://evil.example"}).status_code == 403
    assert page.get("", {"sec-fetch-site": "none"}).status_code == 200


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_not_answered(page: Page, method: str) -> None:
    answer = page.client.request(method, page.desk, headers={"origin": ORIGIN})
    assert answer.status_code == 405
    assert "access-control-allow-origin" not in answer.headers


TRICKS = (
    "../../../../etc/passwd", "..%2f..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd", "/etc/passwd",
    "..\\..\\windows\\win.ini", "page.js/../../app.py", "file:///etc/passwd", "\x00", "vendor/../../app.py",
)  # fmt: skip


@pytest.mark.parametrize("trick", TRICKS)
@pytest.mark.parametrize("place", ["static", "stage", "papers"])
def test_paths_from_outside_open_nothing(page: Page, place: str, trick: str) -> None:
    base = f"/{TOKEN}/{place}/" if place != "papers" else f"{page.desk}papers/"
    with page.client as client:
        answer = client.get(base + trick.replace("\x00", "%00"))
    assert answer.status_code in (400, 403, 404)
    assert "root:" not in answer.text
    assert "def create_app" not in answer.text


@pytest.mark.parametrize(
    "name",
    ["/etc/passwd", "../../../etc/hostname", "/dev/zero", "~/.profile", "mild-coast/../../briefs/tree-fern.toml"],
)
@pytest.mark.parametrize("key", ["site", "stock"])
def test_a_brief_on_the_page_cannot_name_a_file_by_its_path(key: str, name: str) -> None:
    with Page() as page:
        page.begin()
        answer = page.edit(**{key: name})
        assert "neither beside the brief nor among the shipped" in answer["wrong"][key]
        assert "root:" not in json.dumps(answer)


def test_an_opened_brief_cannot_name_a_file_by_its_path_either() -> None:
    with Page() as page:
        text = (ROOT / "templates/briefs/tree-fern.toml").read_text(encoding="utf-8")
        text = text.replace('"cold-inland.toml"', '"/etc/passwd"', 1)
        answer = page.post(f"/{TOKEN}/open", {"text": text, "name": "x.toml"})
        page.desk = answer.headers["location"]
        assert "neither beside" in page.answer()["wrong"]["site"]


def test_a_file_beside_the_brief_is_offered_and_no_other(tmp_path: Path) -> None:
    for name in ("templates/briefs/tree-fern.toml", "templates/sites/cold-inland.toml"):
        (tmp_path / Path(name).name).write_bytes((ROOT / name).read_bytes())
    (tmp_path / "cold-inland.toml").rename(tmp_path / "my-yard.toml")
    (tmp_path / "letters.toml").write_text('secret = "a private word"\n', encoding="utf-8")
    with Page(tmp_path / "tree-fern.toml") as page:
        page.desk = page.get(f"/{TOKEN}/").headers["location"]
        assert "my-yard.toml" in page.get("").text
        assert not page.edit(site="my-yard.toml")["wrong"]
        answer = page.edit(site="letters.toml")
        assert answer["wrong"]["site"]
        assert "private" not in json.dumps(answer)


def test_bodies_are_limited_by_their_told_length(page: Page) -> None:
    answer = page.post("edit", headers={"content-length": "50000000"})
    assert answer.status_code == 413


def test_a_50_mb_body_without_a_told_length_is_cut_off(page: Page) -> None:
    taken = 0

    def flood() -> Iterator[bytes]:
        nonlocal taken
        for _ in range(50):
            taken += 1
            yield b"x" * 1_000_000

    answer = page.client.post(f"{page.desk}edit", content=flood(), headers={"origin": ORIGIN})
    assert answer.status_code == 413


def test_a_large_brief_is_refused_in_words() -> None:
    with Page() as page:
        answer = page.post(f"/{TOKEN}/open", {"text": "x" * (MOST_BODY - 100), "name": "x"})
        assert answer.status_code in (303, 400)
        if answer.status_code == 303:
            page.desk = answer.headers["location"]
            assert "TOML" in page.get("").text


def test_every_answer_carries_the_policy(page: Page) -> None:
    for path in (
        f"/{TOKEN}/",
        page.desk,
        f"/{TOKEN}/static/page.js",
        f"/{TOKEN}/nothing",
        "/",
        f"{page.desk}brief.toml",
    ):
        headers = page.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "script-src 'self'" in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["cache-control"] in ("no-store", "no-cache")
        assert "server" not in headers


def test_the_page_has_no_inline_script_and_no_address_elsewhere(page: Page) -> None:
    for path in (f"/{TOKEN}/", page.desk):
        text = page.get(path).text
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert not re.search(r"\son\w+=", text)
        assert "style=" not in text
        assert not re.search(r"(?:src|href|action)=\"(?:https?:)?//", text)


def test_what_is_typed_is_shown_as_text() -> None:
    bad = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
    with Page() as page:
        page.begin()
        page.edit(name=bad)
        text = page.get("").text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert "</div><script" not in text
        shared = page.get("shelter.html")
        assert shared.status_code == 200
        assert "<script>alert" not in shared.text
        assert "<img src=x" not in shared.text


def test_the_policy_of_a_picture_allows_its_own_style_only(page: Page) -> None:
    policy = page.get("picture.svg").headers["content-security-policy"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"


def test_the_server_listens_on_this_computer_only_unless_told() -> None:
    assert HERE_ONLY == "127.0.0.1"
    default = next(option for option in serve.params if option.name == "host").default
    with _listen(str(default), None) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"
        with _listen(str(default), None) as second:
            assert second.getsockname()[1] != listening.getsockname()[1], "a second page finds a port of its own"


def test_a_port_that_is_taken_is_an_error_with_a_way_out() -> None:
    with _listen(HERE_ONLY, 0) as first:
        first.listen()
        with pytest.raises(OutputError, match="cannot be used"):
            _listen(HERE_ONLY, first.getsockname()[1])


def test_listening_elsewhere_answers_to_that_name_only() -> None:
    assert hosts_of("127.0.0.1", 9000) == ("127.0.0.1:9000", "[::1]:9000", "localhost:9000")
    assert hosts_of("192.0.2.7", 9000) == ("192.0.2.7:9000",)
    assert "localhost" in hosts_of("localhost", 80)


def test_tokens_are_not_short() -> None:
    """144 random bits; OWASP asks for 128 in a session's word (Session Management Cheat Sheet)."""
    import inspect

    assert "secrets.token_urlsafe(18)" in inspect.getsource(sys.modules["enclosure.cli.serve"])
    assert HOST in create_app(Settings(TOKEN, (HOST,), helpers=False)).user_middleware[0].kwargs["hosts"]


@pytest.mark.parametrize(
    "folder",
    [HERE / "static/vendor", ROOT / "enclosure/outputs/page_files", ROOT / "tests/vendor"],
    ids=lambda p: p.name,
)
def test_vendored_files_are_what_was_fetched(folder: Path) -> None:
    record = json.loads((folder / "VENDOR.json").read_text(encoding="utf-8"))
    assert record["files"]
    assert any("LICENSE" in name for name in record["files"])
    for name, said in record["files"].items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == said, name
    lock = json.loads((ROOT / ".ci/vendor/package-lock.json").read_text(encoding="utf-8"))
    entry = lock["packages"][f"node_modules/{record['package']}"]
    assert (record["version"], record["integrity"]) == (entry["version"], entry["integrity"])


def test_the_bundle_keeps_its_licence_words() -> None:
    assert b"SPDX-License-Identifier: MIT" in page_files()["three.bundle.js"]
