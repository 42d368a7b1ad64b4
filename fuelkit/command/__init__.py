"""The command line. Standard library only, so that it runs before anything is installed.

A command is one module of this room, listed in ``main.COMMANDS``, with a `SUMMARY` (one plain
line), `add_arguments(parser)` and `run(arguments)`, which returns the exit code.
"""
