"""Do the finished papers agree with the design, with each other and with the saw?"""
