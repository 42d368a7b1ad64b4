"""Read by JupyterHub when it starts; all settings are in ``fuelkit.classroom.settings``."""

from fuelkit.classroom.layout import Classroom
from fuelkit.classroom.settings import anywhere, one_machine

c = get_config()  # noqa: F821 - JupyterHub gives it
anywhere(c, Classroom.of_variable())
one_machine(c, Classroom.of_variable())
