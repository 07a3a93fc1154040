"""The stylesheets keep the design's laws: small, square, flat, no colour outside the tokens on the tablet."""

import gzip
import re

from tests.statement import keeps

from . import css

COLOUR = re.compile(r"#[0-9a-fA-F]{3,8}\b|\b(?:rgb|hsl|oklch|color)a?\(", re.IGNORECASE)
# 50 px and 88, 104 are the tablet's headings and targets; the scale is 16 × 1.26, and 12.8 for labels.
SIZES = {"12.8px", "16px", "20px", "25px", "32px", "40px"}
TABLET_SIZES = {"18.7px", "20px", "24px", "32px", "40px", "50px"}


def sizes(text):
    return set(re.findall(r"font-size:\s*([^;}]+)", text)) | set(re.findall(r"font:\s*\d+\s+([\d.]+px)", text))


def test_a_page_loads_one_stylesheet_and_it_is_small():
    assert {path.name for path in css.STATIC.glob("*.css")} == {"studio.css", "tablet.css"}
    assert len(gzip.compress((css.STATIC / "studio.css").read_bytes())) <= 20_000  # bytes, the design's ceiling


def test_no_page_names_another_stylesheet():
    named = [
        (path.name, name)
        for path in css.TEMPLATES
        for name in re.findall(r"static \"([\w/.-]+\.css)\"", path.read_text(encoding="utf-8"))
    ]
    assert sorted(named) == [("base.html", "studiodesk/studio.css"), ("base.html", "studiodesk/tablet.css")]


def test_dark_by_wish_and_dark_by_choice_are_one_dark():
    wished, chosen = css.raw("(prefers-color-scheme: dark)"), css.raw("\n  .dark {")
    assert wished == chosen and len(wished) > 30


def test_fonts_and_styles_and_our_scripts_leave_room_in_the_first_load():
    # The bar: 150 kB and 40 kB of scripts; htmx (about 17 kB gzipped) and the page itself come on top of these.
    served = sum(path.stat().st_size for path in (css.STATIC / "fonts").glob("*.woff2"))
    assert served <= 40_000
    assert len(gzip.compress((css.STATIC / "js" / "studio.js").read_bytes())) <= 4_000


def test_the_scripts_of_the_tablet_are_small():
    scripts = b"".join(path.read_bytes() for path in sorted((css.STATIC / "js").glob("tablet*.js")))
    assert 4_000 < len(gzip.compress(scripts)) <= 15_000  # bytes, the design's ceiling; about 8,300 now
    assert all(path.read_text("utf-8").count("\n") <= 300 for path in (css.STATIC / "js").glob("tablet*.js"))


def test_nothing_is_round_and_nothing_throws_a_shadow():
    for name in ("studio.css", "tablet.css"):
        text = css.source(name)
        assert set(re.findall(r"border-radius:\s*([^;}]+)", text)) <= {"0"}
        assert "shadow" not in text


MOVES = re.compile(r"\b(?:transition|animation|scroll-behavior)[a-z-]*\s*:|@keyframes")


@keeps("motion")
def test_nothing_moves_unless_the_person_lets_it():
    asked = "@media (prefers-reduced-motion: no-preference)"
    for path in css.STATIC.glob("*.css"):
        text = css.source(path.name)
        while asked in text:  # what stands there is left out by a browser that was told to keep still
            text = text.replace(css.block(text, asked), "").replace(asked, "", 1)
        assert not MOVES.search(text), path.name
    assert MOVES.search("a { transition: color 1s }") and MOVES.search("a { animation-name: x }")


def test_type_keeps_to_its_scale():
    assert sizes(css.source("studio.css")) == SIZES
    assert sizes(css.source("tablet.css")) == TABLET_SIZES


def test_the_tablet_takes_every_colour_from_its_tokens():
    rest = re.sub(r"html\.(dim-red|dim-amber|plain)\s*\{[^}]*\}", "", css.source("tablet.css"))
    assert not COLOUR.search(rest)
    assert not re.search(r":\s*(white|black|gray|grey|red|silver|canvas\w*)\b", rest, re.IGNORECASE)


def test_the_pages_take_every_colour_from_their_tokens():
    text = css.source("studio.css")
    rest = re.sub(r"--[a-z0-9-]+:\s*#[0-9a-f]{6};", "", text)
    assert not COLOUR.search(rest)
    assert len(text) - len(rest) > 500, "the tokens themselves were not found"


def test_the_grid_has_a_width_for_every_quantum_of_the_longest_day():
    rules = dict(re.findall(r"\.t(\d+)\{flex-grow:(\d+)\}", css.source("studio.css")))
    assert list(rules) == [str(n) for n in range(1, 301)]  # 25 hours of 5 minutes
    assert all(name == grow for name, grow in rules.items())


def test_nothing_is_fetched_from_elsewhere():
    for path in css.STATIC.rglob("*"):
        if path.suffix in {".css", ".js", ".svg"}:
            text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
            assert not re.search(r"https?://|url\([\"']?//|@import", text), path.name


def test_the_font_comes_with_its_licence():
    assert "SIL OPEN FONT LICENSE" in (css.STATIC / "fonts" / "OFL.txt").read_text(encoding="utf-8").upper()


def test_every_value_used_is_a_token_that_exists():
    for name, known in (("studio.css", css.light()), ("tablet.css", css.tablet("dim-red"))):
        used = set(re.findall(r"var\(--([a-z0-9-]+)", css.source(name)))
        assert used and used <= known.keys()
    assert css.tablet("dim-red").keys() == css.tablet("dim-amber").keys() == css.tablet("plain").keys()
