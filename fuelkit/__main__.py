"""``python -m fuelkit``: checks the version of Python, then hands over to the command line."""

import sys

import fuelkit

if __name__ == "__main__":
    fault = fuelkit._python_fault(sys.version_info)
    if fault:
        sys.exit(fault)

    from fuelkit.command.main import main

    sys.exit(main(sys.argv[1:]))
