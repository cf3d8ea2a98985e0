"""`python -m liningbook`."""

import sys

from liningbook.cli import main

sys.exit(main())
