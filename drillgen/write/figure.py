"""A plot as SVG: for a web page, and for the typesetter."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from markupsafe import escape

from drillgen.core.document import Axis, Mark, Plot
from drillgen.core.printable import squeeze

_WIDTH, _HEIGHT = 400, 158
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 20, 14, 36
"""Units of the drawing, and its margins."""

_FONT: Final = 'font-family="Source Sans Pro, sans-serif" font-size="11"'


def draw_plot(plot: Plot) -> str:
    """The drawing, in black on nothing; `alt` is its name for a screen reader.

    >>> svg = draw_plot(Plot(Axis("a", 0, 2), Axis("b", 0, 1), (Mark(1, 0.5, "x<"),), "one"))
    >>> "x&lt;" in svg, svg.startswith("<svg")
    (True, True)
    """
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        f'role="img" aria-label="{_text(plot.alt)}" {_FONT} fill="currentColor">',
        *_draw_axes(plot),
    ]
    places = [(_across(plot.across, m.across), _up(plot.up, m.up), m) for m in plot.marks]
    if plot.joined:
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y, _ in places)
        parts.append(f'<polyline points="{points}" fill="none" stroke="currentColor"/>')
    for x, y, mark in places:
        parts += _draw_mark(x, y, mark)
    return "".join([*parts, "</svg>"])


def _draw_axes(plot: Plot) -> Iterator[str]:
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    yield (
        f'<path d="M{_LEFT} {_TOP}V{bottom}H{right}" fill="none" stroke="currentColor" '
        'stroke-width="0.8"/>'
    )
    for tick in plot.across.ticks:
        x = _across(plot.across, tick)
        yield f'<path d="M{x:.1f} {bottom}v4" stroke="currentColor" stroke-width="0.8"/>'
        yield f'<text x="{x:.1f}" y="{bottom + 15}" text-anchor="middle">{tick:g}</text>'
    for tick in plot.up.ticks:
        y = _up(plot.up, tick)
        yield (
            f'<path d="M{_LEFT} {y:.1f}H{right}" stroke="currentColor" stroke-width="0.2"/>'
            f'<text x="{_LEFT - 5}" y="{y + 4:.1f}" text-anchor="end">{tick:g}</text>'
        )
    middle = (_LEFT + right) / 2
    yield (
        f'<text x="{middle}" y="{_HEIGHT - 4}" text-anchor="middle">{_text(plot.across.name)}'
        "</text>"
        f'<text transform="translate(11 {(_TOP + bottom) / 2}) rotate(-90)" '
        f'text-anchor="middle">{_text(plot.up.name)}</text>'
    )


def _draw_mark(x: float, y: float, mark: Mark) -> Iterator[str]:
    fill = "none" if mark.open else "currentColor"
    size = 1.6 if mark.small else 3.4
    yield (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size}" fill="{fill}" '
        'stroke="currentColor" stroke-width="0.9"/>'
    )
    if mark.label:
        yield f'<text x="{x + 6:.1f}" y="{y - 5:.1f}">{_text(mark.label)}</text>'


def _across(axis: Axis, value: float) -> float:
    return _LEFT + _share(axis, value) * (_WIDTH - _LEFT - _RIGHT)


def _up(axis: Axis, value: float) -> float:
    return _HEIGHT - _BOTTOM - _share(axis, value) * (_HEIGHT - _TOP - _BOTTOM)


def _share(axis: Axis, value: float) -> float:
    """Where a value stands between the ends, kept inside."""
    return min(1.0, max(0.0, (value - axis.low) / (axis.high - axis.low)))


def _text(text: str) -> str:
    return str(escape(squeeze(text)))
