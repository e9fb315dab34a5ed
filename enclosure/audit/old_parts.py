"""Does every part of an old shelter end once, and does the rest of the papers agree?

Only folders of a shelter that grew out of another hold ``old-parts.csv``: one row
for each old part, kept, cut again or spare. A kept part is in the design under
its mark and in no cutting plan; what an old part becomes is in the design once;
what is spare becomes nothing; no new part bears the number of one that is gone.
"""

from __future__ import annotations

from collections import Counter

from enclosure.audit.findings import Findings
from enclosure.audit.readers import Papers

OLD = "old-parts.csv"
_ENDS = ("keep", "re-cut", "spare")


def kept_marks(papers: Papers) -> frozenset[str]:
    """Return the marks of the parts that are kept."""
    return frozenset(row[0] for row in papers.old_parts[1:] if len(row) > 1 and row[1] == "keep")


def check_old_parts(papers: Papers, findings: Findings) -> None:
    """Compare the rows with each other and with the design."""
    if not papers.old_parts:
        return
    marks = {part["mark"] for part in papers.design["parts"]}
    rows = [(row[0], row[1], [m for m in row[2].split(", ") if m]) for row in papers.old_parts[1:]]
    for old, count in Counter(old for old, _, _ in rows).items():
        findings.unless(count == 1, OLD, old, f"{count} rows", "one")
    made = Counter(mark for _, _, new in rows for mark in new)
    for mark, count in made.items():
        findings.unless(count == 1, OLD, mark, f"comes from {count} old parts", "one")
        findings.unless(mark in marks, OLD, mark, "is no part of the design", "a part of the design")
    for old, end, new in rows:
        findings.unless(end in _ENDS, OLD, old, f"ends as {end}", " or ".join(_ENDS))
        if end == "keep":
            findings.unless(new == [old], OLD, old, f"is kept as {', '.join(new) or 'nothing'}", "its own mark")
        elif end == "spare":
            findings.unless(not new, OLD, old, f"is spare and becomes {', '.join(new)}", "nothing")
        else:
            findings.unless(bool(new), OLD, old, "is cut again into nothing", "at least one new part")
        if end != "keep":
            findings.unless(old not in marks, OLD, old, "its number is given again", "a number never used before")
