"""Whoever comes to the classroom over the network: with a browser's cookies or a server's token."""

import asyncio
import http.cookiejar
import json
import re
import urllib.error
import urllib.parse
import urllib.request
import uuid

from tornado.httpclient import HTTPRequest
from tornado.websocket import websocket_connect


class Visitor:
    """Somebody with a browser, without its screen."""

    def __init__(self, address):
        self.address, self.jar = address, http.cookiejar.CookieJar()
        self._open = urllib.request.build_opener(
            urllib.request.ProxyHandler({}), urllib.request.HTTPCookieProcessor(self.jar)
        ).open

    def get(self, path, **headers):
        """Return (status, text) of a page."""
        return self._answer(urllib.request.Request(self.address + path, headers=headers))

    def sign_in(self, code, word, **headers):
        """Sign in; return (status, text) of where that leads."""
        status, text = self.get("/hub/login?next=%2Fhub%2Fhome")
        form = re.search(r'name="_xsrf" value="([^"]+)"', text)
        assert form, f"no form to sign in with: {status} {text[:500]}"
        token = form[1]
        data = urllib.parse.urlencode({"username": code, "password": word, "_xsrf": token}).encode()
        where = f"{self.address}/hub/login?next=%2Fhub%2Fhome"
        return self._answer(urllib.request.Request(where, data, headers))

    def ask_for_server(self):
        """Ask the hub to start the visitor's own server."""
        return self.get("/hub/spawn")

    def _answer(self, request):
        try:
            with self._open(request, timeout=60) as answer:
                return answer.status, answer.read().decode("utf-8", "replace")
        except urllib.error.HTTPError as problem:
            return problem.code, problem.read().decode("utf-8", "replace")
        except OSError as problem:
            return 0, str(problem)


class Notebook:
    """A learner's server: runs code in a kernel, and lines in a terminal."""

    def __init__(self, address, token):
        self.address, self.token, self._kernel = address, token, ""

    def ask(self, path, data=None, method=None):
        """Return (status, text) of the server's own interface."""
        request = urllib.request.Request(
            f"{self.address}/api/{path}",
            None if data is None else json.dumps(data).encode(),
            {"Authorization": f"token {self.token}", "Content-Type": "application/json"},
            method=method,
        )
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as problem:
            return problem.code, problem.read().decode("utf-8", "replace")
        except OSError as problem:
            return 0, str(problem)

    def answers(self):
        """Whether the server answers."""
        return self.ask("status")[0] == 200

    def new_kernel(self, folder="exercises"):
        """Start another kernel, as opening a notebook of a folder does; return its name."""
        body = {
            "kernel": {"name": "python3"}, "name": "", "type": "notebook",
            "path": f"{folder}/{uuid.uuid4().hex}.ipynb",
        }  # fmt: skip
        status, text = self.ask("sessions", body)
        assert status == 201, text
        return json.loads(text)["kernel"]["id"]

    def kernels(self):
        """Return the names of the kernels that run."""
        return [kernel["id"] for kernel in json.loads(self.ask("kernels")[1])]

    def end_kernels(self):
        """End the kernels that run, which take memory of the learner's."""
        for kernel in self.kernels():
            self.ask(f"kernels/{kernel}", method="DELETE")
        self._kernel = ""

    def run(self, source, kernel=None, patience=180):
        """Run code in a kernel and return all that it printed, errors included."""
        self._kernel = kernel or self._kernel or self.new_kernel()
        return asyncio.run(asyncio.wait_for(self._run(source, self._kernel), patience))

    async def _run(self, source, kernel):
        socket = await self._socket(f"api/kernels/{kernel}/channels")
        head = {"msg_id": uuid.uuid4().hex, "msg_type": "execute_request", "session": "test",
                "username": "", "version": "5.3"}  # fmt: skip
        content = {"code": source, "silent": False, "store_history": False, "allow_stdin": False}
        await socket.write_message(json.dumps(
            {"header": head, "parent_header": {}, "metadata": {}, "content": content,
             "channel": "shell", "buffers": []}
        ))  # fmt: skip
        printed = []
        while (text := await socket.read_message()) is not None:
            message = json.loads(text)
            if message["parent_header"].get("msg_id") != head["msg_id"]:
                continue
            kind, body = message["msg_type"], message["content"]
            if kind == "stream":
                printed.append(body["text"])
            elif kind == "execute_result":
                printed.append(body["data"].get("text/plain", ""))
            elif kind == "error":
                printed.append(f"{body['ename']}: {body['evalue']}")
            elif kind == "status" and body["execution_state"] == "idle":
                break  # comes last of what the code showed; the reply may overtake it
        socket.close()
        return "".join(printed)

    def terminal(self, line, patience=60):
        """Type a line in a fresh terminal and return all that it showed."""
        return asyncio.run(asyncio.wait_for(self._terminal(line), patience))

    async def _terminal(self, line):
        status, text = self.ask("terminals", {})
        assert status == 200, text
        socket = await self._socket(f"terminals/websocket/{json.loads(text)['name']}")
        await socket.write_message(json.dumps(["stdin", f"{line}; echo END=$?\r"]))
        shown = ""
        while not re.search(r"END=\d", shown):
            message = json.loads(await socket.read_message())
            shown += message[1] if message[0] == "stdout" else ""
        socket.close()
        return shown

    def _socket(self, path):
        where = self.address.replace("http://", "ws://")
        return websocket_connect(
            HTTPRequest(f"{where}/{path}", headers={"Authorization": f"token {self.token}"})
        )
