"""Read a shipped brief, build its shelter, and look at the sizes and the panels."""

from __future__ import annotations

from enclosure import design_from
from enclosure.templates_home import find_template

shelter = design_from(find_template("briefs", "tree-fern"))
design = shelter.design

width, depth, height = design.clear_mm
print(f"{design.name}: {width:.0f} x {depth:.0f} mm inside, {height:.0f} mm under the lowest point of the roof")
print(f"raised by {design.people}: {design.raising_method}, because {design.raising_reason}")
for panel in design.panels():
    cut = panel.cut
    print(
        f"  panel {panel.mark:>2}  {panel.address:<22} {cut.width_mm:7.1f} x {cut.height_mm:7.1f} mm  "
        f"{panel.mass_kg:.1f} kg"
    )
