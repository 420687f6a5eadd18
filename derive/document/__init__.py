"""The document: what a solution says, free of any output format."""
