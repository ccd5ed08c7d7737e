#!/usr/bin/env python3
"""Every command of Makegood starts here, also on a machine where nothing is installed yet."""

import os
import sys

from config import bootstrap


def main() -> None:
    if sys.version_info < (3, 11):  # noqa: UP036 - an older one must be told, not crash
        bootstrap.stop("Makegood needs Python 3.11 or newer.")
    bootstrap.prepare(sys.argv)
    if sys.argv[1:2] == ["run_tests"]:
        from tests.run import run_tests

        sys.exit(run_tests())
    if sys.argv[1:2] == ["start_demo"]:
        bootstrap.demo_environment()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
