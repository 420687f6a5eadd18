"""Copy the published cases of resistors and batteries with values from the shared collection.

Run by hand when the collection changes: ``python tests/reference/pick.py COLLECTION``.
"""

import json
import re
import sys
from pathlib import Path

NUMBER = re.compile(r"[0-9.]+(e-?[0-9]+)?(/[0-9]+)?")
SUPPORTED = re.compile(r"(I|V|P|Pd)\([A-Za-z0-9]+\)|U\([A-Za-z0-9]+,[A-Za-z0-9]+\)|[-+*/() 0-9.]")


def fits(case: dict) -> bool:
    elements = case.get("elements", [])
    return bool(elements) and all(
        e["type"] in ("R", "E") and NUMBER.fullmatch(str(e["value"])) for e in elements
    )


def main() -> None:
    whole = json.loads(Path(sys.argv[1]).read_text("utf-8"))
    kept = []
    for case in whole["cases"]:
        answers = [a for a in case["answers"] if not SUPPORTED.sub("", a["q"])]
        if fits(case) and answers:
            wanted = ("id", "title", "source", "read", "elements")
            kept.append({k: case[k] for k in wanted} | {"answers": answers})
    data = {"wrong": whole["expected_disagreements"], "cases": kept}
    text = json.dumps(data, indent=1, ensure_ascii=False)
    (Path(__file__).parent / "published.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
