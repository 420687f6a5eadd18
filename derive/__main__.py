"""``python -m derive`` is ``loopwalk``."""

import sys

from derive.cli import main

sys.exit(main())
