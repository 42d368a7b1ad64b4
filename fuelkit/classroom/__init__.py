"""The classroom server: JupyterHub on one machine, a system account a learner, a desk for sheets.

`layout`, `register`, `words`, `accounts`, `working_copy` and `handed_in` need the standard library
alone; `settings`, `sign_in`, `spawner` and `desk` run in the classroom's own Python, with JupyterHub.
"""
