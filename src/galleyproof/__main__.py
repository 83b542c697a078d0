"""``python -m galleyproof``."""

import sys

from galleyproof.cli import main

sys.exit(main())
