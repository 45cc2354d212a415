"""HTML that an output holds, for a page on which nothing may lead away, load, run, or lay itself over anything else.

Only what is on the lists below stays a tag, written strictly; whatever else begins with ``<`` is shown as the text that
it is. So there is nothing that one reader takes for a tag and another does not. A style sheet is no text for a reader:
what of it concerns a site's tables alone stays, the rest goes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache


def _words(*lines: str) -> frozenset[str]:
    return frozenset(word for line in lines for word in line.split())


_VOID = _words("br hr img col")
_TAGS = _words(
    "a abbr b blockquote caption code col colgroup dd del details div dl dt em figcaption figure h1 h2 h3 h4 h5 h6",
    "hr i img ins kbd li ol p pre q s samp section small span strong sub summary sup table tbody td tfoot th thead",
    "tr u ul br",
    "math mfrac mi mn mo mover mphantom mroot mrow mspace msqrt mstyle msub msubsup msup mtable mtd mtext mtr munder",
    "munderover semantics",
)
_ATTRIBUTES = _words(
    "align alt class colspan dir display height href lang role rowspan scope span src start style title width",
    "mathvariant stretchy fence separator accent columnalign",
)
_SIDES = "margin{0} padding{0} border{0}"
_PROPERTIES = _words(
    "background background-color color font-family font-size font-style font-variant-numeric font-weight line-height",
    "letter-spacing list-style-type max-width min-width overflow-x width height text-align text-decoration text-indent",
    "vertical-align white-space border-collapse border-spacing caption-side border-color border-radius border-style",
    "border-width column-gap row-gap table-layout word-break",
    *(_SIDES.format(side) for side in ("", "-top", "-right", "-bottom", "-left")),
)
_ACTING = re.compile(r"url|\(|\\|expression|&|@|/\*")
_TAG = re.compile(
    r"<(?P<end>/?)(?P<name>[A-Za-z][A-Za-z0-9]*)(?P<rest>(?:\s+[A-Za-z][\w-]*(?:=(?:\"[^\"<>]*\"|'[^'<>]*'|[\w.#%+-]+))?)*)"
    r"\s*/?>"
)
_ATTRIBUTE = re.compile(r"\s+([A-Za-z][\w-]*)(?:=(?:\"([^\"<>]*)\"|'([^'<>]*)'|([\w.#%+-]+)))?")
_PICTURE = re.compile(r"data:image/(?:png|jpeg|gif|svg\+xml)[;,][^\"<>]*")
_BESIDE = re.compile(r"(?!.*\.\.)[\w%-][\w%./-]*\.(?:html|pdf|ipynb|csv|xlsx)(?:#[\w.-]*)?|#[\w.-]*")
_STYLE = re.compile(r"<style(?=[\s/>])[^>]{0,500}>(.*?)</style\s*>", re.DOTALL | re.IGNORECASE)
_STYLE_END = re.compile(r"</style\s*>", re.IGNORECASE)
_SHEET = re.compile(r"(?:[^{}<'\"\\@]*\{[^{}<'\"\\@]*\})*\s*")
_RULE = re.compile(r"\s*([^{}]*)\{([^{}]*)\}")
_LONGEST_SELECTOR = 200
_PART = r"(?:[a-z][a-z0-9]*)?(?:\.[A-Za-z][\w-]*)*"
_SELECTOR = re.compile(rf"{_PART}\.site(?![\w-]){_PART}(?: (?=[a-z.])(?:{_PART})(?::visited|:hover)?)*")


@lru_cache(maxsize=64)
def inert_html(text: str) -> str:
    """Return an output's HTML with nothing in it that acts; tags that it leaves open are closed."""
    out: list[str] = []
    open_tags: list[str] = []
    place = 0
    last_end = max((end.start() for end in _STYLE_END.finditer(text)), default=-1)
    while (start := text.find("<", place)) >= 0:
        out.append(text[place:start])
        style = _STYLE.match(text, start) if start < last_end else None
        tag = _TAG.match(text, start)
        if style is not None:
            out.append(_style(style[1]))
            place = style.end()
        elif tag is not None and (written := _write(tag, open_tags)) is not None:
            out.append(written)
            place = tag.end()
        else:
            out.append("&lt;")
            place = start + 1
    out.append(text[place:])
    return "".join([*out, *(f"</{name}>" for name in reversed(open_tags))])


def _write(tag: re.Match[str], open_tags: list[str]) -> str | None:
    """Return a tag as the page has it, and keep account of what is open; None for one that is shown as text."""
    name = tag["name"].lower()
    if name not in _TAGS:
        return None
    if tag["end"]:
        if name not in open_tags:
            return None
        closed = ""
        while not closed.endswith(f"</{name}>"):
            closed += f"</{open_tags.pop()}>"
        return closed
    if name not in _VOID:
        open_tags.append(name)
    return f"<{name}{''.join(_attributes(tag['rest']))}>"


def _attributes(rest: str) -> Iterator[str]:
    for found in _ATTRIBUTE.finditer(rest):
        name = found[1].lower()
        value = next((part for part in found.groups()[1:] if part is not None), "")
        if name == "style":
            value = _declarations(value)
        if name in _ATTRIBUTES and _may_stay(name, value):
            yield f' {name}="{value.replace(chr(34), "&quot;")}"'


def _may_stay(name: str, value: str) -> bool:
    """A picture comes along with the page; a link leads to a file of this folder or below it, or within the page."""
    if name == "src":
        return _PICTURE.fullmatch(value) is not None
    return name != "href" or _BESIDE.fullmatch(value) is not None


def _style(sheet: str) -> str:
    """Return what of a style sheet gives the tables of a site their looks, whichever release wrote it.

    A rule stays where each of its selectors begins at an element of the class ``site``, with what a style of one
    element may hold. A sheet that is more than plain rules goes altogether.
    """
    if _SHEET.fullmatch(sheet) is None:
        return ""
    rules = []
    for selectors, style in _RULE.findall(sheet):
        declared = _declarations(style, ";")
        if declared and all(map(_is_of_a_site, selectors.split(","))):
            rules.append(f"{selectors.strip()}{{{declared}}}")
    return f"<style>{''.join(rules)}</style>" if rules else ""


def _is_of_a_site(selector: str) -> bool:
    return len(selector) <= _LONGEST_SELECTOR and _SELECTOR.fullmatch(selector.strip()) is not None


def _declarations(style: str, between: str = "; ") -> str:
    """Return what of a style changes no more than the looks of its element."""
    kept = []
    for declaration in style.split(";"):
        name, _, value = declaration.partition(":")
        harmless = not _ACTING.search(value.casefold().replace("rgb(", "").replace("rgba(", ""))
        beside = declaration.replace(" ", "").casefold() == "display:inline-block"
        if harmless and (beside or name.strip().casefold() in _PROPERTIES):
            kept.append(declaration.strip())
    return between.join(kept)
