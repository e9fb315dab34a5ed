"""What are the climate and the ground like?"""
