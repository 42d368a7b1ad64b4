"""Find the browser that the browser tests drive: one of the Chromium family, already installed."""

import os
import shutil
from pathlib import Path

VARIABLE = "FUELKIT_BROWSER"
"""Environment variable that names the browser's program and overrides the search."""

HOW_TO_GET = (
    "No Chromium or Chrome was found. On Debian or Ubuntu: sudo apt install chromium. Elsewhere "
    f"install Chrome or Edge, or set {VARIABLE} to the program of a browser of that family."
)

_NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
_WINDOWS_ROOTS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
_WINDOWS_PLACES = (
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
_MAC_ROOTS = ("/Applications", "~/Applications")
_MAC_PLACES = (
    "Google Chrome.app/Contents/MacOS/Google Chrome",
    "Chromium.app/Contents/MacOS/Chromium",
    "Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)


def find_browser(variables=os.environ):
    """Return the program of a browser that the tests can drive, or None.

    Parameters
    ----------
    variables : mapping of str to str
        The environment variables; `FUELKIT_BROWSER` in them overrides the search, also when
        it names a program that is not there.

    Returns
    -------
    str or None
    """
    if variables.get(VARIABLE):
        return shutil.which(variables[VARIABLE])
    for name in _NAMES:
        if found := shutil.which(name, path=variables.get("PATH")):
            return found
    places = [
        Path(variables[root], place)
        for root in _WINDOWS_ROOTS
        if variables.get(root)
        for place in _WINDOWS_PLACES
    ]
    places += [Path(root, place).expanduser() for root in _MAC_ROOTS for place in _MAC_PLACES]
    return next((str(place) for place in places if place.is_file()), None)
