"""The shape of a shelter: clear box, grid, frame, glazing, base, hardware, marks, order of work."""
