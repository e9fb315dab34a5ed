"""Searches over designs: fit to stock, growth, outgrowing, several shelters at once."""
