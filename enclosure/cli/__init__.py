"""How does a person drive the program from a terminal?"""
