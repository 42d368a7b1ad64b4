"""The classroom server: JupyterHub on one machine, a system account a learner, a desk for sheets.

`sign_in`, `spawner`, `desk` and `settings` run in the classroom's own Python, with JupyterHub; the
other modules need the standard library alone.
"""
