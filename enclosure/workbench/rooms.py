"""What does the page answer to each thing that a person does?

An edit is answered with faults, picture and numbers; that answer asks the browser to
come back for the checks, and then for ways out and cutting plans, which another
process makes. Answers that are no longer wanted, because a newer edit came, are left
out. Every function here runs in a thread.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from typing import Any

from starlette.responses import HTMLResponse, PlainTextResponse, Response

from enclosure.errors import EnclosureError
from enclosure.outputs.page import scene_json, shelter_page, stage_html
from enclosure.outputs.view_svg import view_svg
from enclosure.workbench.choices import choices_for
from enclosure.workbench.desk import Bench, Desk, check_size
from enclosure.workbench.render import Render
from enclosure.workbench.state import Books, DeskBook

STUDIES = ("skins", "size")
SVG_HEADERS = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'"}


class Rooms:
    """Answers for all desks.

    Args:
        bench: The desks.
        root: Beginning of every path, with the token.
        helpers: False starts no second process.
    """

    def __init__(self, bench: Bench, root: str, *, helpers: bool = True) -> None:
        self.bench = bench
        self.books = Books(helpers)
        self.render = Render(root)

    def open(self) -> None:
        """Start what must be warm."""
        self.books.open()

    def close(self) -> None:
        """End the second processes and remove their folders."""
        self.books.close()

    def start(self, trouble: str = "") -> Response:
        """Return the page where one begins."""
        return HTMLResponse(self.render.start(self.bench.all(), trouble), 400 if trouble else 200)

    def page(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the whole page of a desk."""
        book = self.books.of(desk)
        with desk.lock:
            first = book.first()
            facts = self._facts(desk, book)
        return HTMLResponse(self.render.page(desk, book, facts, stage_html(), self._answer(desk, book, first)))

    # --- edits ------------------------------------------------------------------------

    def edit(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Change fields of the brief and answer."""
        changes = {key: value for key, value in said.items() if not key.startswith("_")}
        live = said.get("_live") == "1"
        try:
            with desk.lock:
                before = desk.state()
                desk.edit(changes, live=live)
                rev = desk.rev
                if live and self.books.of(desk).first().troubles:
                    # half a word is no fault yet: nothing is said until the field is left
                    desk.restore(before)
                    return Response(status_code=204)
        except EnclosureError as error:
            return self._complain(error)
        return self._answered(desk, rev)

    def undo(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Go one step back."""
        words = "undone" if desk.undo() else "nothing to undo"
        return self._answered(desk, desk.rev, words, force=True)

    def redo(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Go one step forward."""
        words = "done again" if desk.redo() else "nothing to do again"
        return self._answered(desk, desk.rev, words, force=True)

    def view(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Show sizes in other units; the brief stays as it is."""
        if said.get("view") in ("inch", "metric"):
            desk.view = "inch" if said["view"] == "inch" else "metric"
        return self._answered(desk, desk.rev)

    def now(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the state of the desk, for a window that was left behind by another."""
        if said.get("rev") == str(desk.rev):
            return Response(status_code=204)
        return self._answered(desk, desk.rev)

    def save(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Write the brief back to its file."""
        try:
            path = desk.save()
        except EnclosureError as error:
            return self._complain(error)
        return self._answered(desk, desk.rev, f"saved in {path.name}")

    def _complain(self, error: EnclosureError) -> Response:
        words = f"{error.message}; {error.hint}" if error.hint else error.message
        return PlainTextResponse(words, 409)

    def _answered(self, desk: Desk, rev: int, said: str = "", force: bool = False) -> Response:
        book = self.books.of(desk)
        with desk.lock:
            if desk.rev != rev:
                # a newer edit waits for its own answer, which will say all of this
                return Response(status_code=204)
            first = book.first()
            facts = self._facts(desk, book) | {"said": said}
            answer = self._answer(desk, book, first, force)
        return HTMLResponse(self.render.piece("answer.html", desk, facts, answer))

    def _answer(self, desk: Desk, book: DeskBook, first: Any, force: bool = False) -> str:
        """Return what the page's script needs: values, notes and the scene."""
        notes = {}
        for trouble in first.troubles:
            if trouble.key and trouble.key not in notes:
                notes[trouble.key] = trouble.words + (f"; {trouble.hint}" if trouble.hint else "")
        answer = {
            "rev": desk.rev, "view": desk.view, "force": force, "values": first.values,
            "wrong": notes, "read": book.read_back(desk.view, first.values), "stale": bool(first.troubles),
            "choices": choices_for(desk, first.values),
        }  # fmt: skip
        scene = book.scene_text()
        return scene_json(answer)[:-1] + f',"scene":{scene}}}'

    def _facts(self, desk: Desk, book: DeskBook) -> dict[str, Any]:
        return self.render.facts(desk, book)

    # --- what comes later ---------------------------------------------------------------

    def second(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the checks of the state that was asked for."""
        book = self.books.of(desk)
        if said.get("rev") != str(desk.rev):
            return Response(status_code=204)
        book.second()
        return HTMLResponse(self.render.piece("second.html", desk, self.render.later(desk, book)))

    def third(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return how far cutting plans and ways out have come, or what they say."""
        book = self.books.of(desk)
        if said.get("rev") != str(desk.rev):
            return Response(status_code=204)
        book.begin_deep()
        return HTMLResponse(self.render.piece("third.html", desk, self.render.later(desk, book)))

    def why(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return how a verdict was reckoned."""
        book = self.books.of(desk)
        if said.get("key") not in ("fit", "stand", "live", "cost", "waste"):
            return PlainTextResponse("there is no such verdict\n", 404)
        return HTMLResponse(self.render.why(said["key"], desk, book))

    def cut_picture(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the picture of one cutting pattern."""
        sheets = (self.books.of(desk).last_cut or {}).get("sheets", [])
        number = said.get("number", "")
        if not number.isdecimal() or len(number) > 4 or not 1 <= int(number) <= len(sheets):
            return PlainTextResponse("there is no such sheet\n", 404)
        return Response(sheets[int(number) - 1]["svg"], media_type="image/svg+xml", headers=SVG_HEADERS)

    # --- things to take away -------------------------------------------------------------

    def brief(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the brief as a file."""
        return _download(desk.text.encode(), f"{_slug(desk.text)}.toml", "application/toml")

    def picture(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return a plain picture of the shelter, or of the variant set aside."""
        book = self.books.of(desk)
        shelter = book.pinned_first().shelter if said.get("of") == "pinned" else book.good.shelter
        if shelter is None:
            return PlainTextResponse("there is no picture yet\n", 404)
        return Response(view_svg(shelter.design), media_type="image/svg+xml", headers=SVG_HEADERS)

    def shared(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the page to give away."""
        book = self.books.of(desk)
        if book.good.shelter is None:
            return PlainTextResponse("there is no shelter yet\n", 404)
        second = book.second()
        text = shelter_page(book.good.shelter.design, None, second.checks)
        return _download(text.encode(), "shelter.html", "text/html")

    def papers_make(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Begin to make the papers."""
        book = self.books.of(desk)
        book.begin_papers()
        return self._papers(desk, book)

    def papers_cancel(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Stop making the papers."""
        book = self.books.of(desk)
        book.cancel_papers()
        return self._papers(desk, book)

    def papers_state(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return how far the papers have come."""
        return self._papers(desk, self.books.of(desk))

    def _papers(self, desk: Desk, book: DeskBook) -> Response:
        return HTMLResponse(self.render.piece("papers.html", desk, self.render.facts(desk, book)))

    def papers_file(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return one finished paper, or all of them as a zip."""
        files = self.books.of(desk).paper_files()
        name = said.get("name", "")
        if name == "all.zip" and files:
            data = io.BytesIO()
            with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
                for inner, path in files.items():
                    archive.write(path, f"{_slug(desk.text)}/{inner}")
            return _download(data.getvalue(), f"{_slug(desk.text)}.zip", "application/zip")
        if name not in files:
            return PlainTextResponse("there is no such paper\n", 404)
        return _paper(name, files[name].read_bytes())

    # --- comparing ------------------------------------------------------------------------

    def pin(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Set the brief aside as the variant to compare with."""
        book = self.books.of(desk)
        if not book.first().troubles:
            check_size(desk.text)
            desk.pinned = desk.text
        return self.compare(desk, said)

    def compare(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return the variant set aside and the brief as it stands, side by side."""
        book = self.books.of(desk)
        return HTMLResponse(self.render.compare(desk, book))

    def study(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Return all skins side by side, or the cheapest size, or how far that has come."""
        kind = said.get("kind", "")
        if kind not in STUDIES:
            return PlainTextResponse("there is no such study\n", 404)
        return HTMLResponse(self.render.study(kind, desk, self.books.of(desk).begin_study(kind)))

    def study_cancel(self, desk: Desk, said: Mapping[str, str]) -> Response:
        """Stop a study."""
        kind = said.get("kind", "")
        if kind in STUDIES:
            self.books.of(desk).cancel_study(kind)
        return HTMLResponse("<p id='why-title'>Stopped.</p>")


def _download(data: bytes, name: str, kind: str) -> Response:
    return Response(data, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'})


_SHOWN = {".pdf": "application/pdf", ".txt": "text/plain; charset=utf-8", ".svg": "image/svg+xml"}


def _paper(name: str, data: bytes) -> Response:
    last = name.rsplit("/", 1)[-1]
    ending = last[last.rfind(".") :]
    if ending not in _SHOWN:
        return _download(data, last, "application/octet-stream")
    headers = {"content-disposition": f'inline; filename="{last}"', **SVG_HEADERS}
    return Response(data, media_type=_SHOWN[ending], headers=headers)


def _slug(text: str) -> str:
    """Return a file name for a brief: letters, digits and hyphens of its own name."""
    import tomllib

    try:
        name = str(tomllib.loads(text).get("name", ""))
    except ValueError:
        name = ""
    letters = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in name.lower())
    return "-".join(word for word in letters.split("-") if word)[:60] or "shelter"
