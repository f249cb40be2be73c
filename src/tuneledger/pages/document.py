"""The one file: markup, style, modules and samples, under a policy that lets nothing else in.

Modules that import one another do not load from a file on disk; named in an import map whose
addresses are `data:` URLs they do. Scripts and style carry a nonce, which the imported modules
inherit (HTML standard, descendant script fetch options), so the policy names no scheme.
"""

import base64
import hashlib
import json
from collections.abc import Mapping
from dataclasses import field
from importlib.resources import files
from typing import Any

from tuneledger.pages.tag import Markup, join, tag
from tuneledger.record import record


@record
class Parts:
    """What a document runs and how it looks, beside the page's own modules and style.

    main:    the module that starts it
    modules: specifier → source of modules beside the page's own
    style:   a style sheet beside the page's own
    connect: it may speak to the place that served it, and to no other
    salt:    goes into the nonce of a document that is served
    """

    main: str = "#page/main.js"
    modules: Mapping[str, str] = field(default_factory=dict)
    style: str = ""
    connect: bool = False
    salt: str = ""


FROM_DISK = Parts()


def modules() -> dict[str, str]:
    """Specifier → source of every module of the page."""
    return {f"#page/{name}": text for name, text in texts(__package__, ".js")}


def document(
    title: str, body: Markup, data: Any, samples: str, parts: Parts = FROM_DISK
) -> tuple[str, str]:
    """The whole HTML, and its content security policy, which stands in it as well.

    `data` is written as JSON, `samples` as base64; both are inert text.
    """
    written = script_safe(json.dumps(data, ensure_ascii=False, allow_nan=False))
    nonce = nonce_of(title, body, written, samples, parts.salt)
    imports = {
        name: "data:text/javascript;base64," + base64.b64encode(text.encode()).decode("ascii")
        for name, text in {**modules(), **parts.modules}.items()
    }
    style = Markup("\n".join([*(text for _, text in texts(__package__, ".css")), parts.style]))
    policy = _policy(nonce, connect=parts.connect)
    page = tag(
        "html",
        tag(
            "head",
            tag("meta", charset="utf-8"),
            tag("meta", http_equiv="Content-Security-Policy", content=policy),
            tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
            tag("meta", name="color-scheme", content="light dark"),
            tag("meta", name="referrer", content="no-referrer"),
            # So that a browser does not ask the server for an icon.
            tag("link", rel="icon", href="data:,") if parts.connect else "",
            tag("title", title),
            tag("style", style, nonce=nonce),
            tag("script", Markup(json.dumps({"imports": imports})), type="importmap", nonce=nonce),
        ),
        tag(
            "body",
            body,
            tag("script", Markup(written), type="application/json", id="statement-data"),
            tag("script", Markup(samples), type="text/plain", id="statement-samples"),
            tag("script", Markup(f'import "{parts.main}";'), type="module", nonce=nonce),
        ),
        lang="en",
    )
    return join(Markup("<!doctype html>\n"), page, Markup("\n")), policy


def script_safe(text: str) -> str:
    """JSON that can stand inside a script element: no text in it can end or open anything."""
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def texts(package: str, ending: str) -> list[tuple[str, str]]:
    """(name, text) of the files with that ending in a package's folder `web`, by name."""
    web = files(package).joinpath("web")
    found = (part for part in web.iterdir() if part.name.endswith(ending))
    return [(p.name, p.read_text(encoding="utf-8")) for p in sorted(found, key=lambda p: p.name)]


def nonce_of(*parts: str) -> str:
    """A nonce drawn from all that a page says, so that the same statement gives the same page and
    no text in it can know the nonce beforehand."""
    digest = hashlib.sha256("\x00".join(parts).encode("utf-8", "surrogatepass")).digest()
    return base64.b64encode(digest[:18]).decode("ascii")


def _policy(nonce: str, *, connect: bool) -> str:
    reach = "connect-src 'self'; " if connect else ""
    return (
        f"default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; {reach}"
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
