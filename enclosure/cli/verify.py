"""``enclosure verify``: do finished papers agree with each other and with the saw?"""

from __future__ import annotations

import json
from pathlib import Path

import click


@click.command(short_help="Re-read finished papers and compare them.")
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("-q", "--quiet", is_flag=True, help="Say nothing when all agrees.")
@click.option("--json", "as_json", is_flag=True, help="Say what was found as JSON.")
def verify(folder: Path, quiet: bool, as_json: bool) -> int:
    """Re-read all papers in FOLDER and prove that they agree.

    Every part is cut once and has its right size in every file, a kerf lies between parts, cuts run
    from edge to edge, flutes run along the sheet, sums and numbers agree, every part has a label, and
    the order of work can be followed. FOLDER comes from make, outgrow or grove. Exit code 1 when anything does
    not agree.

    \b
    Examples:
      enclosure verify fern-papers
    """
    from enclosure.audit.folder import audit_folder

    audit = audit_folder(folder)
    code = 1 if audit.findings else 0
    if as_json:
        facts = {
            "folder": str(folder),
            "parts": audit.parts,
            "files": audit.files,
            "findings": [
                {"file": row.file, "part": row.part, "found": row.found, "expected": row.expected}
                for row in audit.findings
            ],
            "notes": list(audit.notes),
            "exit_code": code,
        }
        click.echo(json.dumps(facts, indent=2, ensure_ascii=False))
        return code
    for row in audit.findings:
        click.echo(str(row))
    if quiet and not code:
        return code
    for note in audit.notes:
        click.echo(f"note: {note}")
    if code:
        count = len(audit.findings)
        click.echo(f"{count} thing{'' if count == 1 else 's'} not in agreement in {folder}")
    else:
        click.echo(f"{audit.parts} parts in {audit.files} files agree in {folder}")
    return code
