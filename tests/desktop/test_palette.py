"""WCAG 2.1 contrast, and distances under simulated colour blindness.

The matrices are those of Machado, Oliveira and Fernandes (2009), "A physiologically-based model for
simulation of color vision deficiency", IEEE TVCG 15(6), severity 1.0, applied to linear RGB.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from companion.desktop.palette import DAY, NIGHT

PALETTES = pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
DEFICIENCIES = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}


def linear(colour):
    values = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def luminance(colour):
    return float(linear(colour) @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(linear_rgb):
    matrix = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    xyz = matrix @ np.clip(linear_rgb, 0, 1) / [0.9505, 1.0, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_formula_gives_the_contrast_of_black_and_white():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # WCAG 2.1, definition


@PALETTES
@pytest.mark.parametrize("text", ["ink", "graphite", "attention_text", "wrong_text"])
@pytest.mark.parametrize(
    "ground", ["paper", "sheet", "place_wash", "attention_wash", "well_of_sheet"]
)
def test_text_can_be_read_on_every_ground(palette, text, ground):
    assert contrast(getattr(palette, text), getattr(palette, ground)) >= 4.5


@PALETTES
@pytest.mark.parametrize("accent", ["place", "attention", "wrong"])
def test_shapes_stand_out_from_the_paper(palette, accent):
    assert contrast(getattr(palette, accent), palette.paper) >= 3.0  # WCAG 2.1, 1.4.11


@PALETTES
@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_accents_stay_apart_for_colour_blind_readers(palette, deficiency):
    matrix = np.array(DEFICIENCIES[deficiency])
    seen = {
        name: lab(matrix @ linear(getattr(palette, name)))
        for name in ("place", "attention", "wrong")
    }
    for one, other in combinations(seen, 2):
        # 2.3 is a just noticeable difference in CIELAB (Mahy et al. 1994, from memory); ten of
        # them is plainly another colour at a glance
        assert np.linalg.norm(seen[one] - seen[other]) >= 20, (one, other)
