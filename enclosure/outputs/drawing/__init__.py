"""Which shapes stand behind a drawing, before anybody chooses a file format?"""
