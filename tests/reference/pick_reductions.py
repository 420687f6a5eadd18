"""Copy the published cases of reductions, bridges and ladders that are not in the other files.

Run by hand when the collection changes: ``python tests/reference/pick_reductions.py COLLECTION``.
"""

import json
import sys
from pathlib import Path

WANTED = (
    "W05a", "P10", "P12", "P14", "F01", "F03", "F05", "F09", "F11", "F13", "F15", "F17", "F19",
    "F21", "F23", "F25",
)  # fmt: skip
KEPT = ("id", "title", "source", "read", "elements", "answers", "note", "custom")


def main() -> None:
    whole = {case["id"]: case for case in json.loads(Path(sys.argv[1]).read_text("utf-8"))["cases"]}
    cases = [{k: whole[name][k] for k in KEPT if whole[name].get(k)} for name in WANTED]
    text = json.dumps({"cases": cases}, indent=1, ensure_ascii=False)
    (Path(__file__).parent / "reductions.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
