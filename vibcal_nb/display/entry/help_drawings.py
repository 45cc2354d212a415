"""Drawings of how a sensor is put on a shaker: the right way in ink, the wrong one dashed, what moves in blue."""

from __future__ import annotations

from html import escape

_SHAKER = (
    '<rect class="part" x="{x}" y="96" width="96" height="44" rx="4"/><rect class="part" x="{x2}" y="84" width="56" '
    'height="12"/>'
)


def _shaker(x: float) -> str:
    return _SHAKER.format(x=x, x2=x + 20)


def _svg(body: str, text: str) -> str:
    return f'<svg viewBox="0 0 320 164" role="img" aria-label="{escape(text)}">{body}</svg>'


def mounting_drawing() -> str:
    """A sensor flat on the armature, its axis upright; beside it one that stands on its edge."""
    body = (
        f'{_shaker(22)}<rect class="part" x="50" y="48" width="40" height="36" rx="3"/>'
        '<path class="move" d="M70 42V20M64 28L70 20L76 28"/><text x="12" y="16">flat, clean, greased</text>'
        f'{_shaker(196)}<rect class="wrong" x="222" y="46" width="40" height="36" rx="3" transform="rotate(9 242 64)"/>'
        '<text x="190" y="16">on an edge or on dirt</text>'
    )
    return _svg(body, "A sensor flat on the shaker's armature, and one that stands tilted.")


def cable_drawing() -> str:
    """A cable led out in a wide bend and held beside the shaker; beside it one that pulls."""
    body = (
        f'{_shaker(22)}<rect class="part" x="50" y="48" width="40" height="36" rx="3"/>'
        '<path class="wire" d="M70 48C70 14 134 14 138 60V140"/><circle class="part" cx="138" cy="104" r="6"/>'
        '<text x="10" y="158">wide bend, held beside it</text>'
        f'{_shaker(196)}<rect class="part" x="224" y="48" width="40" height="36" rx="3"/>'
        '<path class="wrong" d="M264 66H312V140"/><text x="196" y="16">pulls to one side</text>'
    )
    return _svg(body, "A cable in a wide bend that is held beside the shaker, and one that pulls sideways.")


def torque_drawing() -> str:
    """A hand that holds the armature while the other one tightens."""
    body = (
        f'{_shaker(110)}<rect class="part" x="138" y="48" width="40" height="36" rx="3"/>'
        '<path class="move" d="M176 36A24 14 0 1 0 140 36M140 36L138 26M140 36L150 32"/>'
        '<path class="wire" d="M70 90H130M70 80V100"/><text x="10" y="94">hold</text>'
        '<text x="196" y="40">turn by hand</text><text x="196" y="58">no wrench torque here</text>'
    )
    return _svg(body, "One hand holds the armature, the other one tightens the sensor by hand.")


def payload_drawing() -> str:
    """A mass whose centre lies over the armature; beside it one that hangs over."""
    body = (
        f'{_shaker(22)}<rect class="part" x="38" y="36" width="64" height="48" rx="3"/>'
        '<path class="move" d="M70 60V96"/><circle class="now" cx="70" cy="60" r="5"/>'
        '<text x="12" y="16">centre over it</text>'
        f'{_shaker(196)}<rect class="wrong" x="232" y="36" width="80" height="48" rx="3"/>'
        '<circle class="now" cx="272" cy="60" r="5"/><path class="wrong" d="M272 60V136"/>'
        '<text x="196" y="16">hangs over: tilts</text>'
    )
    return _svg(body, "A payload centred over the armature, and one that hangs over its side.")


def warm_drawing() -> str:
    """A reading that creeps after switching on, and comes to rest."""
    body = (
        '<path class="axis" d="M30 130H300M30 20V130"/>'
        '<path class="wire" d="M30 110C70 40 110 56 150 52S250 50 300 50"/>'
        '<path class="set" d="M170 20V130"/><text x="176" y="36">read from here on</text>'
        '<text x="120" y="152">time since switched on</text>'
    )
    return _svg(body, "A reading that creeps at first and then rests.")


def settle_drawing() -> str:
    """A level that comes to rest after it was set, and one that goes on wandering."""
    body = (
        '<path class="axis" d="M30 130H300M30 20V130"/>'
        '<path class="wire" d="M30 120C44 30 58 74 74 56S100 60 130 58S220 58 300 58"/>'
        '<path class="wrong" d="M30 120C60 90 80 110 110 84S150 104 190 76S250 96 300 70"/>'
        '<text x="160" y="50">settles: read</text><text x="160" y="120">wanders: do not read yet</text>'
    )
    return _svg(body, "A level that settles, and one that wanders.")
