"""``python -m riskkit``."""

import sys

from riskkit.cli.main import main

sys.exit(main())
