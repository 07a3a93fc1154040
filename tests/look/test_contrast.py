"""Every text of the look can be read.  Formula and limits: WCAG 2.2 (W3C Recommendation, 1.4.3, 1.4.11)."""

import pytest

from tests.statement import keeps

from . import css


def test_the_formula_gives_the_known_ends():
    # WCAG 2.2, definition of contrast ratio: from 1 to 1 up to 21 to 1.
    assert css.contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert css.contrast("#615951", "#615951") == pytest.approx(1.0)
    # From memory, widely tabulated: #767676 is the lightest grey that passes 4.5 on white, #777777 does not.
    assert css.contrast("#767676", "#ffffff") >= 4.5 > css.contrast("#777777", "#ffffff")


# The figures stated with the design (common practice: two decimals of the WCAG ratio).
@pytest.mark.parametrize(
    ("scheme", "text", "ground", "ratio"),
    [
        ("light", "dmax", "paper", 15.84),
        ("light", "rule", "paper", 3.47),
        ("light", "blue", "paper", 7.45),
        ("light", "selenium", "paper", 8.36),
        ("light", "copper", "paper", 5.96),
        ("light", "sepia", "paper", 6.47),
        ("light", "vanadium", "paper", 6.61),
        ("light", "blue", "step2", 2.99),
        ("dark", "ink", "paper", 15.94),
        ("dim-red", "text", "ground", 5.25),
        ("dim-amber", "text", "ground", 11.46),
    ],
)
def test_a_token_has_the_contrast_the_design_states(scheme, text, ground, ratio):
    found = schemes()[scheme]
    assert css.contrast(found[text], found[ground]) == pytest.approx(ratio, abs=0.006)


def schemes():
    return {"light": css.light(), "dark": css.dark()} | {
        look: css.tablet(look) for look in ("dim-red", "dim-amber", "plain")
    }


TEXT_ON = [
    *(("ink", ground) for ground in ("desk", "sheet", "bare", "step1", "step2")),
    *(("pencil", ground) for ground in ("desk", "sheet", "bare")),
    *(("blue", ground) for ground in ("desk", "sheet", "bare")),
    ("selenium", "bare"),
    ("on-dark", "step3"),
    ("on-dark", "dmax"),
    ("on-blue", "blue"),
    *((accent, ground) for accent in ("copper", "sepia", "vanadium") for ground in ("desk", "sheet")),
    *(("ink", f"tint-{accent}") for accent in ("blue", "copper", "sepia", "vanadium")),
]


@keeps("contrast")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), TEXT_ON)
def test_a_text_stands_out_from_its_ground(scheme, text, ground):
    found = schemes()[scheme]
    assert css.contrast(found[text], found[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("line", "ground"),
    [
        ("rule", "desk"),
        ("rule", "sheet"),
        ("copper", "sheet"),
        ("ink", "sheet"),
        *(("ink", band) for band in ("fan95", "fan80", "fan50")),
    ],
)
def test_the_edge_of_a_field_or_button_and_a_drawn_line_can_be_seen(scheme, line, ground):
    found = schemes()[scheme]
    assert css.contrast(found[line], found[ground]) >= 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_more_taken_is_always_darker(scheme):
    found = schemes()[scheme]
    for scale in (["bare", "step1", "step2", "step3", "dmax"], ["bare", *(f"tone{n}" for n in range(1, 11))]):
        tones = [css.luminance(found[name]) for name in scale]
        assert tones == sorted(tones, reverse=True)
        assert len(set(tones)) == len(tones)


@pytest.mark.parametrize("look", ["dim-red", "dim-amber", "plain"])
def test_the_tablet_has_one_text_tone_that_reads_on_ground_and_fill(look):
    found = css.tablet(look)
    assert css.contrast(found["text"], found["ground"]) >= 4.5
    # On the fill stand figures of 24 px and more only: large text, 3 to 1.
    assert css.contrast(found["text"], found["fill"]) >= 3
    # Pure red cannot reach more than 5.25 on black; its lines are for shapes, 3 to 1.
    assert css.contrast(found["line"], found["ground"]) >= 3


def test_every_token_of_dim_red_is_red_alone():
    for colour in css.tablet("dim-red").values():
        assert css.channels(colour)[1:] == (0, 0)


@pytest.mark.parametrize(("scheme", "likelier"), [("light", -1), ("dark", 1)])
def test_the_likelier_band_of_a_fan_stands_out_more_from_the_sheet(scheme, likelier):
    """Darker on light paper, lighter on dark: each step of the ramp away from the ground."""
    found = schemes()[scheme]
    shades = [css.luminance(found[name]) * likelier for name in ("sheet", "fan95", "fan80", "fan50")]
    assert shades == sorted(shades) and len(set(shades)) == 4


def test_what_is_printed_is_in_light_colours():
    assert "@media screen and (prefers-color-scheme: dark)" in css.source("studio.css")
