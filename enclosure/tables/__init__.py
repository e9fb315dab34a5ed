"""Which published numbers does the program rely on?"""
