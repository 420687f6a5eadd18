"""The derivation: a tuple of typed steps, each of which an independent checker can verify."""
