"""What can be bought, and what is already owned?"""
