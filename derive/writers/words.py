"""The one word that writers add of their own, by language."""

CAUTION = {"en": "Caution"}
"""Opens a caution, so that its colour or frame never carries the meaning alone."""
