"""Cutting plans: which sheets and sticks to buy and how to cut them."""
