"""The desk: takes sheets in from learners' notebooks, and shows the instructor who handed in.

A service of the hub, with an account of its own that can do nothing else. Who hands in is told by
the hub from the token of the learner's server, never by what is sent.
"""

import asyncio
import contextlib
import json
import os
import sys
from html import escape
from pathlib import Path
from urllib.parse import urlsplit

from jupyterhub.services.auth import HubOAuthCallbackHandler, HubOAuthenticated
from jupyterhub.utils import url_path_join
from tornado import httpclient, web

from fuelkit.assess.papers.spoken import told
from fuelkit.assess.sheet import LARGEST_BYTES, SheetError
from fuelkit.classroom.handed_in import by_work, listed, take_in
from fuelkit.classroom.register import INSTRUCTOR

FOLDER_VARIABLE, HUB_VARIABLE = "FUELKIT_HANDED_IN", "FUELKIT_HUB"
"""Environment variables with the folder of the sheets and the process of the hub."""

ADDRESS_VARIABLE = "FUELKIT_DESK_ADDRESS"
"""Environment variable with another address to listen on than the one that the hub knows."""

_TRIES = 20
_PARENT_LOOK = 0.5  # s
_HEAD = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Who has handed in</title>'
    '<meta name="viewport" content="width=device-width">'
    "<style>:root{color-scheme:light dark}body{font:16px/1.5 sans-serif;margin:2em;max-width:60em}"
    "table{border-collapse:collapse;margin:0 0 2em}caption{text-align:left;font-weight:bold}"
    "th,td{text-align:left;padding:.3em 1em .3em 0;border-bottom:1px solid}"
    "code{white-space:nowrap}</style></head><body>"
    "<main><h1>Who has handed in</h1><p>Load the page again to see what is new. How to mark the "
    "sheets is told on the server by <code>python3 -m fuelkit classroom --handed-in</code>.</p>"
)


class SheetHandler(HubOAuthenticated, web.RequestHandler):
    """Takes a sheet in; who it is from is told by the token."""

    def check_xsrf_cookie(self):
        """Take tokens only: whoever comes with a browser's cookie is refused below."""

    @web.authenticated
    async def put(self):
        """Keep the sheet; 200 with a sentence, or 409 with the reason why not."""
        if not self.request.headers.get("Authorization", "").startswith("token "):
            raise web.HTTPError(403)
        code = self.current_user["name"].upper()
        try:
            said = await asyncio.to_thread(take_in, _folder(), code, self.request.body)
        except SheetError as problem:
            self.set_status(409)
            said = str(problem)
        self.finish({"said": said})


class ListHandler(HubOAuthenticated, web.RequestHandler):
    """Shows the instructor, and nobody else, who has handed in what."""

    @web.authenticated
    async def get(self):
        """Write the page."""
        if self.current_user["name"].upper() != INSTRUCTOR:
            raise web.HTTPError(403)
        learners = await _learners()
        self.set_header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
        self.finish(page(listed(_folder()), learners))


def page(sheets, learners):
    """Return the page of who has handed in and who has not, work by work."""
    tables = []
    for work, own, missing in by_work(sheets, learners):
        rows = "".join(
            f"<tr><th scope=row>{escape(i.sheet.learner)}</th>"
            f"<td>{i.arrived:%d %b %Y, %H:%M} UTC</td><td>{escape(told(i.sheet))}</td></tr>"
            for i in own
        )
        tables.append(
            f"<table><caption>{escape(work)}: {len(own)} of {len(learners)}</caption><thead><tr>"
            "<th scope=col>Learner</th><th scope=col>Handed in</th><th scope=col>Receipt</th></tr>"
            f"</thead><tbody>{rows}</tbody></table>"
            f"<p>Not yet: {escape(', '.join(missing)) or 'nobody'}.</p>"
        )
    return (
        _HEAD
        + ("".join(tables) or "<p>Nothing has been handed in yet.</p>")
        + "</main></body></html>"
    )


async def _learners():
    """Return the codes of the class, as the hub knows them."""
    answer = await httpclient.AsyncHTTPClient().fetch(
        url_path_join(os.environ["JUPYTERHUB_API_URL"], "users?limit=2000"),
        headers={"Authorization": f"token {os.environ['JUPYTERHUB_API_TOKEN']}"},
    )
    codes = {user["name"].upper() for user in json.loads(answer.body)}
    return sorted(codes - {INSTRUCTOR})


def _folder():
    return Path(os.environ[FOLDER_VARIABLE])


async def _end_with(parent):
    """End when the hub has ended, however: its successor starts a desk of its own."""
    while os.getppid() == parent:
        await asyncio.sleep(_PARENT_LOOK)
    sys.exit(0)


async def _listen(application, where):
    """Listen; the desk of a hub that was killed may still be there for a moment."""
    address = os.environ.get(ADDRESS_VARIABLE, where.hostname)
    for left in reversed(range(_TRIES)):
        try:
            application.listen(where.port, address, max_body_size=2 * LARGEST_BYTES)
            return
        except OSError:
            if not left:
                raise
        await asyncio.sleep(_PARENT_LOOK)


async def main():
    """Serve until the hub ends."""
    prefix = os.environ["JUPYTERHUB_SERVICE_PREFIX"]
    where = urlsplit(os.environ["JUPYTERHUB_SERVICE_URL"])
    application = web.Application(
        [
            (f"{prefix}sheet", SheetHandler),
            (f"{prefix}oauth_callback", HubOAuthCallbackHandler),
            (prefix, ListHandler),
        ],
        cookie_secret=os.urandom(32),
    )
    await _listen(application, where)
    await _end_with(int(os.environ[HUB_VARIABLE]))


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(main())
