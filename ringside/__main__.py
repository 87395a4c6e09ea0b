"""`python -m ringside`."""

import sys

from ringside.cli import main

sys.exit(main())
