"""Inputs that nobody would write: mutated files, random legal briefs, stops at random moments. See ``__main__``."""
