"""Lets `python -m quizapp` do what the command `quizapp` does."""

import sys

from quizapp.cli import main

sys.exit(main())
