"""Allow ``python -m wayside_app``."""

import sys

from wayside_app.cli import main

sys.exit(main())
