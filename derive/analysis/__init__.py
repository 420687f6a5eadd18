"""Circuit analysis: which equations to write, and how a person would best solve them."""
