"""Copy the published cases with sources, switches, meters, capacitors, and values sought.

Run by hand when the collection changes: ``python tests/reference/pick_other_parts.py COLLECTION``.
"""

import json
import sys
from pathlib import Path

WANTED = (
    "K07", "B11", "B19", "W12", "C01", "C03", "C05", "C07", "C07b", "C09", "C11", "C13", "C15",
    "C23", "C25", "B04", "C17", "C21",
)  # fmt: skip
KEPT = ("id", "title", "source", "read", "elements", "note", "given")


def main() -> None:
    whole = {case["id"]: case for case in json.loads(Path(sys.argv[1]).read_text("utf-8"))["cases"]}
    cases = []
    for name in WANTED:
        case = whole[name]
        kept = {k: case[k] for k in KEPT if case.get(k)}
        cases.append(kept | {"answers": case["answers"]})
    text = json.dumps({"cases": cases}, indent=1, ensure_ascii=False)
    (Path(__file__).parent / "other_parts.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
