"""The circuit: its immutable model, how it is made from the syntax tree, and its topology."""
