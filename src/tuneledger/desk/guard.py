"""What stands before every request: this machine only, with the token, from the desk's own pages.

A page of some other site can make a browser send requests here, and can have its name point to
this machine. So the Host must be ours, the address must hold the token, and what changes anything
must come from our own origin.
"""

import hmac
from collections.abc import Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_READING = ("GET", "HEAD")
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}
STRICT = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"


class Guard:
    """Lets through what may pass, and puts the safe headers on every answer.

    hosts: `127.0.0.1:8000` and its like, as a browser writes them in `Host`
    """

    def __init__(self, app: ASGIApp, token: str, hosts: Collection[str]) -> None:
        self._app = app
        self._token = token
        self._hosts = frozenset(hosts)
        self._origins = frozenset(f"http://{host}" for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        refusal = self._refusal(scope)

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers[name] = value
                headers.setdefault("Content-Security-Policy", STRICT)
            await send(message)

        if refusal is not None:
            await refusal(scope, receive, guarded)
            return
        await self._app({**scope, "path": self._inner(scope)}, receive, guarded)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        if headers.getlist("host") != [headers.get("host")] or headers["host"] not in self._hosts:
            return PlainTextResponse("This is not an address of the desk.", 421)
        token, _, _ = scope["path"].removeprefix("/").partition("/")
        if not hmac.compare_digest(token.encode(), self._token.encode()):
            return PlainTextResponse(
                "The desk's address holds a token: take the whole address from the terminal.", 404
            )
        site = headers.get("sec-fetch-site", "none")
        if scope["method"] not in _READING:
            if headers.get("origin") not in self._origins or site not in ("same-origin", "none"):
                return PlainTextResponse("Only the desk's own pages may change anything.", 403)
        elif site not in ("same-origin", "none"):
            return PlainTextResponse("Only the desk's own pages may read here.", 403)
        return None

    def _inner(self, scope: Scope) -> str:
        """The path without the token."""
        return str(scope["path"][len(self._token) + 1 :]) or "/"
