"""All pages begin alike, but for their names and for what the crew page and the pairing page need more."""

import re

import pytest
from stub_server import DASHBOARDS

PAGES = sorted(file.parent.name for file in DASHBOARDS.glob("*/index.html"))
HEAD = """<!doctype html>
<html lang="en" data-theme="sun">
<head>
<meta charset="utf-8">
<title>{title}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="/static/crew/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="/static/shared/theme.css">
{sheets}<script src="/static/shared/afresh.js"></script>
<script type="module" src="/static/{page}/{script}.js"></script>
</head>
"""
SHEETS = {
    "books": ["books/books.css", 'books/print.css" media="print'],
    "gallery": ["crew/crew.css", "gallery/gallery.css"],
}
SCRIPTS = {"gallery": "gallery", "pair": "pair"}
# The crew page fills the screen where it is installed, and names its scripts; who is not paired gets /pair and no more.
MORE = [
    ("crew", ", viewport-fit=cover", ""),
    ("crew", '<meta name="theme-color" content="#f6f4ee">\n', ""),
    ("crew", '<link rel="manifest" href="/static/crew/manifest.webmanifest" crossorigin="use-credentials">\n', ""),
    ("crew", '<link rel="apple-touch-icon" href="/static/crew/icon-192.png">\n', ""),
    ("pair", '<meta name="referrer" content="no-referrer">\n', ""),
    ("pair", 'data:,"', '/static/crew/icon.svg" type="image/svg+xml"'),
    ("pair", "/pair/", "/static/pair/"),
    ("pair", "/static/pair/theme.css", "/static/shared/theme.css"),
    ("pair", '<script type="module"', '<script src="/static/shared/afresh.js"></script>\n<script type="module"'),
]


@pytest.mark.parametrize("page", PAGES)
def test_a_page_begins_as_all_do(page: str) -> None:
    text = (DASHBOARDS / page / "index.html").read_text(encoding="utf-8")
    title = re.findall(r"<title>(.+)</title>", text)[0]
    for of, more, plain in MORE:
        if of == page:
            assert more in text, "named above, and gone"
            text = text.replace(more, plain)
    text = re.sub(r'<link rel="modulepreload" href="[^"]+">\n', "", text)
    sheets = "".join(
        f'<link rel="stylesheet" href="/static/{sheet}">\n' for sheet in SHEETS.get(page, [f"{page}/{page}.css"])
    )
    assert text.startswith(HEAD.format(title=title, sheets=sheets, page=page, script=SCRIPTS.get(page, "main")))


def test_no_two_pages_have_one_title() -> None:
    titles = [re.findall(r"<title>(.+)</title>", (DASHBOARDS / page / "index.html").read_text()) for page in PAGES]
    assert len({title for (title,) in titles}) == len(PAGES)
