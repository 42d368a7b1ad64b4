"""Signing in: a learner's code and the word that the instructor gave with it."""

import asyncio

from jupyterhub.auth import Authenticator
from tornado import web

from fuelkit.assess.sheet import SheetError, learner_code
from fuelkit.classroom.attempts import Attempts
from fuelkit.classroom.layout import Classroom
from fuelkit.classroom.register import read_register
from fuelkit.classroom.words import agrees


class WordAuthenticator(Authenticator):
    """Knows who is in the register, and nobody else; nobody can sign up.

    The register is read at each try, so that a new word counts at once.
    """

    def __init__(self, **more):
        super().__init__(**more)
        self._attempts = Attempts()

    async def authenticate(self, handler, data):
        """Return the user's name, or None; too many wrong words are told to wait."""
        code, place = _code(data.get("username", "")), handler.request.remote_ip
        wait = self._attempts.wait(code, place)
        if wait > 0.0:
            raise web.HTTPError(
                429, f"Too many wrong words. Wait {wait:.0f} seconds, then try again."
            )
        register = read_register(Classroom.of_variable())
        word = data.get("password", "")
        if await asyncio.to_thread(agrees, word, register.word(code)):
            return code.lower()
        self._attempts.failed(code, place)
        return None


def _code(text):
    try:
        return learner_code(text)
    except SheetError:
        return ""
