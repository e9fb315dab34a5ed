"""File formats: papers, drawings, solids, tables, pages. Each writer reads a Design and its plans, and changes neither."""
