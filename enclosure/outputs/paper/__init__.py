"""How are the printed papers made? The only package that knows reportlab."""
