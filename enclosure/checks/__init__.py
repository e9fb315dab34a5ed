"""Will it stand, live and last? One question a module; each answer is a `Check`."""
