"""Winter shelters for tender trees: size, check, cut, label and raise a demountable framed box."""

__version__ = "0.1.0"
