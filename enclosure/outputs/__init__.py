"""File formats: papers, drawings, solids, tables, pages. A writer reads a Design and its plans, and changes neither."""
