"""A small client of the page for tests: the application in this process, no socket, no second process."""

from __future__ import annotations

import html
import json
import re
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

from enclosure.workbench.app import Settings, create_app

TOKEN = "a-random-word"
HOST = "127.0.0.1:8765"
ORIGIN = f"http://{HOST}"


class Page:
    """One browser window, without a browser."""

    def __init__(self, brief: Path | None = None, *, helpers: bool = False) -> None:
        self.app = create_app(Settings(TOKEN, (HOST, "localhost:8765"), brief, helpers))
        self.client = TestClient(self.app, base_url=ORIGIN, follow_redirects=False)
        self.desk = ""

    def __enter__(self) -> Page:
        self.client.__enter__()
        return self

    def __exit__(self, *stop: object) -> None:
        self.client.__exit__(*stop)

    def begin(self, template: str = "tree-fern") -> Page:
        """Put a shipped brief on a desk and stay there."""
        answer = self.post(f"/{TOKEN}/begin", {"template": template})
        assert answer.status_code == 303, answer.text
        self.desk = answer.headers["location"]
        return self

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> Any:
        return self.client.get(self._at(path), headers=dict(headers or {}))

    def post(self, path: str, form: Mapping[str, str] | None = None, headers: Mapping[str, str] | None = None) -> Any:
        given = {"origin": ORIGIN, "content-type": "application/x-www-form-urlencoded", **(headers or {})}
        return self.client.post(self._at(path), content=urlencode(form or {}), headers=given)

    def edit(self, **changes: str) -> dict[str, Any]:
        """Change fields, dots written as double underscores; return what the page's script gets."""
        answer = self.post("edit", {key.replace("__", "."): value for key, value in changes.items()})
        assert answer.status_code == 200, answer.text
        return answer_in(answer.text)

    def answer(self) -> dict[str, Any]:
        """Return the state of the desk as the page's script gets it."""
        return answer_in(self.get("").text)

    def brief(self) -> str:
        return str(self.get("brief.toml").text)

    def _at(self, path: str) -> str:
        return path if path.startswith("/") else f"{self.desk}{path}"


def answer_in(text: str) -> dict[str, Any]:
    """Return the data for the page's script in an answer."""
    found = re.search(r'<div id="answer" hidden[^>]*>(.*?)</div>', text, re.DOTALL)
    assert found is not None
    data = json.loads(html.unescape(found.group(1)))
    assert isinstance(data, dict)
    return data
