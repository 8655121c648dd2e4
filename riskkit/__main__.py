"""``python -m riskkit``."""

import sys

from riskkit.cli import main

sys.exit(main())
