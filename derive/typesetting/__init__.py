"""How mathematics is set and how much room it takes, free of any output format."""
