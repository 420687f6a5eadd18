"""Pages with live numbers: many changes of values, each against a page made anew.

``python -m tests.bench.live_pages --changes 34`` fills the fields of a page of each scene with
random values, that often, in Chromium; the page must then say what the page of the changed file
says.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

from tests.writers.browser import chromium
from tests.writers.test_html_live import SCENES, compare


def main() -> int:
    """Run all scenes and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=34, help="of each scene")
    parser.add_argument("--seed", type=int, default=2)
    options = parser.parse_args()
    faults = 0
    with chromium() as browser, tempfile.TemporaryDirectory() as folder:
        for scene in sorted(SCENES):
            began = time.perf_counter()
            told = "as made anew"
            try:
                compare(browser, Path(folder, "page.html"), scene, options.seed, options.changes)
            except AssertionError as error:
                faults += 1
                told = f"NOT as made anew: {error}"
            print(f"{scene:10} {time.perf_counter() - began:5.1f} s  {told}", flush=True)
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
