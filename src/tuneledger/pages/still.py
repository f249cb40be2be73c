"""A page that runs nothing: markup and style in one file, made to be printed or sent."""

import re
from importlib.resources import files

from tuneledger.pages.document import nonce_of
from tuneledger.pages.tag import Markup, join, tag

# So many letters fill a sheet in the usual print, in a smaller one; beyond, the smallest.
_FULL, _FULLER = 3900, 5200


def density(*body: Markup) -> str:
    """How small a page has to be printed to fit on one sheet: "", `dense` or `denser`."""
    letters = len(re.sub(r"<[^>]*>", "", join(*body)))
    return "" if letters <= _FULL else "dense" if letters <= _FULLER else "denser"


def still(title: str, *body: Markup, print_as: str = "") -> str:
    """The whole HTML of a page without scripts; it needs no other file and no network.

    print_as: what `density` says of a page that is to print on one sheet
    """
    style = files(__package__).joinpath("still.css").read_text(encoding="utf-8")
    return without_scripts(title, tag("main", *body), style, print_as)


def without_scripts(title: str, body: Markup, style: str, print_as: str = "") -> str:
    """The whole HTML of a page that may run nothing and ask for nothing, in a style of its own."""
    nonce = nonce_of(title, body)
    policy = f"default-src 'none'; style-src 'nonce-{nonce}'; base-uri 'none'; form-action 'none'"
    page = tag(
        "html",
        tag(
            "head",
            tag("meta", charset="utf-8"),
            tag("meta", http_equiv="Content-Security-Policy", content=policy),
            tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
            tag("meta", name="color-scheme", content="light dark"),
            tag("meta", name="referrer", content="no-referrer"),
            tag("title", title),
            tag("style", Markup(style), nonce=nonce),
        ),
        tag("body", body, cls=print_as or None),
        lang="en",
    )
    return join(Markup("<!doctype html>\n"), page, Markup("\n"))


def listed(title: str, texts: list[str], *, numbered: bool = False) -> Markup:
    """A heading with what stands under it; nothing where there is nothing."""
    if not texts:
        return Markup("")
    items = (tag("li", text) for text in texts)
    return tag("section", tag("h2", title), tag("ol" if numbered else "ul", *items))
