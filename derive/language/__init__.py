"""The circuit language: grammar, syntax tree, messages for mistakes."""
