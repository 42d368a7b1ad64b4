"""Bring a handed-in sheet to the instructor's desk, where there is one: in a classroom."""

import json
import os
import time
import urllib.error
import urllib.request

from fuelkit.assess.sheet import SheetError, sheet_text

VARIABLE = "FUELKIT_HAND_IN"
"""Environment variable with the address of the desk; set by a classroom server, not at home."""

_TOKEN = "JUPYTERHUB_API_TOKEN"  # tells the desk who hands in; JupyterHub gives it
_TRIES, _PAUSE, _PATIENCE = 5, 2.0, 20.0  # a hub that is started again is back in some seconds
_AWAY = (
    "Your sheet is kept here, but it has not reached your instructor's desk yet ({why}). Press "
    "Hand in again in a minute, or run this cell again."
)


def deliver(sheet, pause=_PAUSE):
    """Bring a sheet to the desk; nothing happens where there is none.

    Parameters
    ----------
    sheet : Sheet
        Handed in. Brought twice, it stays as it is.
    pause : float
        Between two tries. [s]

    Returns
    -------
    str
        A sentence for the learner; "" where there is no desk.

    Raises
    ------
    SheetError
        If the desk does not take it, or cannot be reached; says what to do.
    """
    address = os.environ.get(VARIABLE, "")
    if not address:
        return ""
    for left in reversed(range(_TRIES)):
        try:
            return _put(address, sheet_text(sheet).encode())
        except urllib.error.HTTPError as problem:
            if problem.code == 409:
                raise SheetError(f"The desk does not take your sheet: {_said(problem)}.") from None
            why = f"it answers {problem.code}"
        except OSError as problem:
            why = str(getattr(problem, "reason", problem))
        if left:
            time.sleep(pause)
    raise SheetError(_AWAY.format(why=why))


def _put(address, data):
    request = urllib.request.Request(address, data, method="PUT")
    request.add_header("Authorization", f"token {os.environ.get(_TOKEN, '')}")
    request.add_header("Content-Type", "application/json")
    # The desk is on this machine: no proxy of the network stands between.
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with opener.open(request, timeout=_PATIENCE) as answer:
        return _said(answer)


def _said(answer):
    try:
        return str(json.loads(answer.read(10_000))["said"])
    except (ValueError, KeyError, TypeError, OSError):
        return "it gives no reason"
