"""Read by JupyterHub when it starts; all settings are in ``fuelkit.classroom.settings``."""

from fuelkit.classroom.layout import Classroom
from fuelkit.classroom.settings import anywhere, one_machine

if "get_config" in globals():  # JupyterHub gives it
    c = globals()["get_config"]()
    anywhere(c, Classroom.of_variable())
    one_machine(c, Classroom.of_variable())
