"""``python -m cabapp`` is the command ``cabapp``."""

import sys

from cabapp.cli import main

sys.exit(main())
