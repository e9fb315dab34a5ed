"""The browser page: one brief as a form, the shelter in 3-D, the verdicts, and the papers."""
