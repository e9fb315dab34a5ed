"""What do all files in share: reading, line numbers, quantities?"""
