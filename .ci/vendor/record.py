"""Writes VENDOR.json beside vendored files: where they come from, version, licence, sha256."""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path


def main(folder: str, package: str, *names: str) -> None:
    """Write the record of one package."""
    about = json.loads((Path("node_modules") / package / "package.json").read_text(encoding="utf-8"))
    lock = json.loads(Path("package-lock.json").read_text(encoding="utf-8"))
    entry = lock["packages"][f"node_modules/{package}"]
    record = {
        "package": package,
        "version": about["version"],
        "licence": about["license"],
        "registry": "npm",
        "integrity": entry["integrity"],
        "files": {name: hashlib.sha256((Path(folder) / name).read_bytes()).hexdigest() for name in names},
    }
    if package == "three":
        record["bundled_with"] = "esbuild " + lock["packages"]["node_modules/esbuild"]["version"]
    (Path(folder) / "VENDOR.json").write_text(json.dumps(record, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
