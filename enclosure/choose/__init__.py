"""Searches over designs: which skin, which size, how long it serves."""
