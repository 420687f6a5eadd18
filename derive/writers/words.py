"""The words that writers add of their own, by language."""

CAUTION = {"en": "Caution"}
"""Opens a caution, so that its colour or frame never carries the meaning alone."""
DESCRIPTION = {"en": "The figure in words"}
"""Opens the description of a figure, on a page where it can be folded."""
FOLD = {"en": "Show or hide this part"}
"""Names what folds a section."""
PROMISE = {"en": "Every equation was checked before it was written."}
"""Ends a page of the web."""
LIVE = {
    "en": {
        "title": "Try other values",
        "invite": "The numbers on this page follow.",
        "reset": "Back to the values of the file",
        "changed": "The numbers on this page follow the values above.",
        "stale": "What is marked “for the values of the file” does not.",
        "back": "These are the values of the file.",
        "equation": "Equation",
        "fixed": "for the values of the file",
        "number": "{name}: write a number, such as 4.7 or 2/3.",
        "positive": "{name}: a resistance has to be more than zero here.",
        "tied": "{name} would be negative, which no resistance is.",
        "size": "{name}: this number is too large or too small.",
        "contradiction": "With these values the circuit has no single solution.",
        "kept": "The page still shows the last values that could be worked out.",
        "constant": "The numbers on this page are those of the file and cannot be changed here.",
    }
}
"""What a page with live numbers says by itself."""
