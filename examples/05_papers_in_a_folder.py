"""Write all papers of a shipped brief into a folder (without the solid model, which needs a CAD kernel)."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from enclosure import make
from enclosure.templates_home import find_template

brief = find_template("briefs", sys.argv[1] if len(sys.argv) > 1 else "potted-lemon")
with tempfile.TemporaryDirectory() as home:
    made = make(brief, Path(home) / "papers", solids=False)
    for line in made.summary:
        print(line)
    for name in made.files:
        print(f"  {name:<28} {(made.out_dir / name).stat().st_size:>8} bytes")
