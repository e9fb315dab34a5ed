"""What does the grower ask for?"""
